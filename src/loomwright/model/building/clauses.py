"""Reading clauses: from the parts of a statement's clauses to the fields of a thing.

The three words for a missing value are settled here: `unknown`, `none`, and a clause left out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from loomwright.model.building.register import Register, where
from loomwright.model.things import Unknown
from loomwright.record import Record
from loomwright.source import Span
from loomwright.syntax.hints import article
from loomwright.syntax.tree import Clause, Date, Measure, Number, Size, Statement, Text, Word

UNKNOWN: Any = object()  # the clause may not be left out without the value being unknown


class Written(Record):
    """A statement's clauses by keyword, in the order of the text; `own` maps each keyword to its first place.

    `span` is the statement's head, `whole` all of it.
    """

    kind: str
    name: str
    span: Span
    whole: Span
    clauses: Mapping[str, tuple[Clause, ...]]
    own: Mapping[str, Span]

    def first(self, keyword: str) -> Clause | None:
        found = self.clauses.get(keyword)
        return found[0] if found else None

    def all(self, keyword: str) -> tuple[Clause, ...]:
        return self.clauses.get(keyword, ())

    def has(self, keyword: str) -> bool:
        """Whether a flag is set: written, and not as `none`."""
        clause = self.first(keyword)
        return clause is not None and word_of(clause) is None


class Field(Record):
    """How one field of a thing is filled: from which part of which clause, and what it is when nothing is written.

    `says` names what a person must look at or measure ({} is the thing's name). `nothing` allows `none`.
    """

    name: str
    clause: str
    says: str
    part: str = "value"
    nothing: bool = False
    left_out: Any = UNKNOWN


def written(statement: Statement, name: str = "") -> Written:
    clauses: dict[str, list[Clause]] = {}
    for clause in statement.clauses:
        clauses.setdefault(clause.keyword.text, []).append(clause)
    own = {keyword: found[0].span for keyword, found in clauses.items()}
    called = name or (statement.name.text if statement.name else statement.kind.text)
    kept = {keyword: tuple(found) for keyword, found in clauses.items()}
    return Written(statement.kind.text, called, statement.head_span, statement.span, kept, own)


def word_of(clause: Clause, part: str = "value") -> str | None:
    """`none` or `unknown` where it stands for the whole clause or for one part of it; else None."""
    for each in (clause.parts.get(part), clause.parts.get("value")):
        if isinstance(each, Word) and each.text in ("none", "unknown"):
            return each.text
    return None


def plain(part: object) -> Any:
    """A part without its wrapping: words and texts as strings, dates as dates; measures and sizes stay."""
    if isinstance(part, (Word, Text)):
        return part.text
    if isinstance(part, (Number, Date)):
        return part.value
    if isinstance(part, tuple):
        return tuple(plain(each) for each in part)
    return part


def value(register: Register, source: Written, field: Field) -> Any:
    """What a field holds: the plain value, None, or Unknown with what to look at and where."""
    says = field.says.format(source.name)
    clause = source.first(field.clause)
    if clause is None:
        return Unknown(says, source.span) if field.left_out is UNKNOWN else field.left_out
    missing = word_of(clause, field.part)
    if missing == "none" and not field.nothing:
        register.report(
            clause.span,
            f"{says} can't be none",
            "write what it is, or 'unknown' when nobody has looked",
        )
    if missing == "none":
        return None
    part = clause.parts.get(field.part)
    if missing == "unknown" or part is None:
        return Unknown(says, clause.span)
    return plain(part)


def values(register: Register, source: Written, fields: Sequence[Field]) -> dict[str, Any]:
    return {field.name: value(register, source, field) for field in fields}


def optional(source: Written, keyword: str, part: str = "value") -> Any:
    """A value that may simply be absent: its plain value, or None when left out, `none` or `unknown`."""
    clause = source.first(keyword)
    if clause is None or word_of(clause, part):
        return None
    return plain(clause.parts.get(part))


def one_of(source: Written, words: Sequence[str], says: str) -> str | Unknown:
    """Which of some flags that exclude one another is set, one's own before a part's; Unknown when none is."""
    found = [word for word in words if source.has(word)]
    found.sort(key=lambda word: word not in source.own)
    return found[0] if found else Unknown(says.format(source.name), source.span)


def whole(register: Register, clause: Clause, part: str, most: int = 1000) -> int | None:
    """A count: a whole number from 1. Otherwise None, and it is reported."""
    number = clause.parts.get(part)
    if not isinstance(number, Number):
        return None
    if not 1 <= number.value <= most or number.value != int(number.value):
        register.report(
            number.span,
            f"'{clause.keyword.text}' counts from 1 to {most}, and {number.text} is no such number",
        )
        return None
    return int(number.value)


def as_word(part: object) -> Word:
    """A part that the grammar makes a word."""
    assert isinstance(part, Word), part
    return part


def as_measure(part: object) -> Measure:
    assert isinstance(part, Measure), part
    return part


def as_size(part: object) -> Size | None:
    return part if isinstance(part, Size) else None


def once(register: Register, statements: Sequence[Statement], kind: str) -> Statement | None:
    """The one statement of a kind that may stand once; a second is reported."""
    found = [statement for statement in statements if statement.kind.text == kind]
    for extra in found[1:]:
        register.report(
            extra.kind.span,
            f"there is {article(kind)} already, and there can be only one",
            f"the first is at {where(found[0].head_span)}",
        )
    return found[0] if found else None
