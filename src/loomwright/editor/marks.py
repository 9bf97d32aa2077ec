"""What each token of a text is: keyword, name, terminal, word, number, unit. Also of a text that can't be read whole.

Every head and clause runs through the parser's own tables, so a word is what the parser takes it for where it stands. From the
first token that fits nothing the rest of its line is only known by its look.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache

from loomwright.record import Record, replace
from loomwright.source import Source
from loomwright.syntax.forms import CLAUSES, STATEMENTS, block
from loomwright.syntax.lexer import DATE, NUMBER, PUNCTUATION, STRING, TERMINAL, WORD, Token, classes, lines
from loomwright.syntax.parse import tables
from loomwright.syntax.tables import END
from loomwright.syntax.tree import Comment

LOOKS = {STRING: "string", DATE: "date", NUMBER: "number", PUNCTUATION: "punctuation"}
TAKEN = {
    "{NAME}": "name",
    "{TERMINAL}": "terminal",
    "{UNIT}": "unit",
    "{THREAD}": "thread",
    "{TRACER}": "word",
    "{LOCAL}": "label",
    "{STRING}": "string",
    "{NUMBER}": "number",
    "{DATE}": "date",
}

HEAD_ROLES = {"in": "place", "is": "part", "on": "thing", "from": "point", "to": "point"}
CLAUSE_ROLES = {
    "along": "place",
    "loom": "loom",
    "core": "multicore",
    "return": "point",
    "bonded": "point",
    "end": "point",
    "volts": "point",
    "ohms": "point",
    "celsius": "point",
    "amps": "run",
    "closed": "contact",
    "open": "contact",
    "on": "device",
    "limits": "limits",
    "terminals": "label",
    "stud": "label",
    "measures": "word",
}
WITHIN_CLAUSE = {"in": "place", "from": "point", "to": "point", "with": "run"}


class Mark(Record):
    """One token. `what` is statement, clause, keyword, name, terminal, label, word, number, unit, thread, date, string,
    punctuation or comment; `role` says of a name what it names: `declares`, `rule`, or the kind of thing wanted there.
    `statement` and `clause` are the first words of what it stands in."""

    what: str
    text: str
    start: int
    statement: str = ""
    clause: str = ""
    role: str = ""

    @property
    def end(self) -> int:
        return self.start + len(self.text)

    @property
    def name(self) -> str:
        """Of a name or terminal the thing that it names."""
        return self.text.partition(".")[0]

    @property
    def name_end(self) -> int:
        return self.start + len(self.name)

    @property
    def is_name(self) -> bool:
        """Whether it names a thing of the spec."""
        return self.what in ("name", "terminal") and self.role not in ("", "rule", "limits", "label", "word")


class Line(Record):
    """The tokens of a head (`inside` false) or clause; `kind` is the kind of its statement as clauses go, a part's its
    device's. `stop` is what ended it."""

    tokens: tuple[Token, ...]
    kind: str
    inside: bool
    stop: str
    at: int


def lines_of(source: Source, comments: list[Comment]) -> Iterator[Line]:
    """The heads and clauses of a text, each with the statement that it stands in; a forgotten brace is closed where the next
    statement begins."""
    depth, kind = 0, ""
    for tokens, stop, at in lines(source, comments):
        if depth and tokens and _begins(source, tokens, stop, kind):
            depth = 0
        if not depth and tokens:
            kind = _kind(tokens)
        yield Line(tuple(tokens), kind, depth > 0, stop, at)
        depth = max(0, depth + (stop == "{") - (stop == "}"))


def _kind(tokens: list[Token]) -> str:
    word = tokens[1][1] if tokens[0][1] == "part" and len(tokens) > 1 else tokens[0][1]
    return word if word in CLAUSES else ""


def _begins(source: Source, tokens: list[Token], stop: str, kind: str) -> bool:
    first = tokens[0]
    if first[1] not in STATEMENTS:
        return False
    return stop == "{" or (first[1] not in CLAUSES.get(kind, ()) and source.position(first[2])[1] == 1)


def marks_of(source: Source) -> tuple[Mark, ...]:
    """Every token of a text in its order."""
    comments: list[Comment] = []
    found = [mark for line in lines_of(source, comments) for mark in _of_line(line)]
    found += (Mark("comment", comment.text, comment.span.start) for comment in comments)
    return tuple(sorted(found, key=lambda mark: mark.start))


def _of_line(line: Line) -> Iterator[Mark]:
    if not line.tokens:
        return
    rule = block(line.kind) if line.inside and line.kind else "statement"
    statement = line.kind if line.inside else line.tokens[0][1]
    clause = line.tokens[0][1] if line.inside else ""
    before = ""  # the last keyword
    named = 0
    for index, (token, taken) in enumerate(zip(line.tokens, taken_for(rule, line.tokens), strict=True)):
        what = TAKEN.get(taken, "keyword") if taken else _look(token)
        what = "punctuation" if token[0] == PUNCTUATION else what
        if what == "keyword":
            what = _keyword(index, line, taken)
            before = token[1]
        mark = Mark(what, token[1], token[2], statement, clause)
        if what in ("name", "terminal", "word"):
            role = _role(line, before, named, index)
            named += what == "name"
            mark = replace(mark, role=role) if what != "word" else mark
        yield mark


def _look(token: Token) -> str:
    """What a token is by its look alone."""
    if token[0] != WORD:
        return LOOKS[token[0]]
    return "terminal" if TERMINAL.fullmatch(token[1]) else "word"


def _keyword(index: int, line: Line, taken: str) -> str:
    if index == 0:
        return "clause" if line.inside else "statement"
    return "word" if taken in _listed_words() else "keyword"


@lru_cache(maxsize=1)
def _listed_words() -> frozenset[str]:
    """The words of the grammar's closed lists."""
    return frozenset(word for words in tables().lists.values() for word in words)


def _role(line: Line, before: str, named: int, index: int) -> str:
    """What a name names, by the keyword before it."""
    if not line.inside:
        kind = line.tokens[0][1]
        if before in HEAD_ROLES and index > 1:
            if kind == "readings":
                return "mode"
            return "structure" if before == "on" and kind == "earthpoint" else HEAD_ROLES[before]
        return "rule" if kind == "concession" else "" if named else "declares"
    if line.kind == "day":
        return "mode"
    clause = line.tokens[0][1]
    role = CLAUSE_ROLES.get(clause, "")
    return role if before == clause else WITHIN_CLAUSE.get(before, role)


# ---------------------------------------------------------------- the parser's tables


def taken_for(rule: str, tokens: tuple[Token, ...]) -> list[str]:
    """What the parser takes each token for: a keyword's own text, a class such as `{NAME}`, or "" from the first that fits
    nothing."""
    walk = _Walk(rule)
    taken: list[str] = []
    for token in tokens:
        found = walk.take(token)
        if not found:
            break
        taken.append(found)
    return taken + [""] * (len(tokens) - len(taken))


def expected(rule: str, tokens: tuple[Token, ...]) -> dict[str, tuple[str, ...]] | None:
    """What may follow tokens of a head or clause: keywords and classes; `{NUMBER}` with the kinds of quantity that it may
    begin. None where the tokens themselves fit nothing."""
    walk = _Walk(rule)
    if not all(walk.take(token) for token in tokens):
        return None
    return {
        symbol: walk.quantities() if symbol == "{NUMBER}" else ()
        for symbol in walk.row
        if symbol != END and walk.fits(symbol)
    }


class _Walk:
    """The LALR machine without values."""

    def __init__(self, rule: str) -> None:
        self.tables = tables()
        self.states = [self.tables.starts[rule][0]]

    @property
    def row(self) -> Mapping[str, int]:
        return self.tables.rows[self.states[-1]]

    def take(self, token: Token) -> str:
        """Take a token for the first thing that fits; "" where nothing does."""
        kind, text, _ = token
        candidates = (text, *classes(kind, text)) if kind >= PUNCTUATION else classes(kind, text)
        for symbol in candidates:
            if after := self._after(symbol):
                self.states = after
                return symbol
        return ""

    def fits(self, symbol: str) -> bool:
        return self._after(symbol) is not None

    def _after(self, symbol: str) -> list[int] | None:
        """The states after a symbol is read, or None where it can't be."""
        states = list(self.states)
        while True:
            action = self.tables.rows[states[-1]].get(symbol)
            if action is None:
                return None
            if action >= 0:
                return [*states, action]
            origin, length = self.tables.reductions[~action][:2]
            if length >= len(states):
                return None
            del states[-length:]
            follow = self.tables.follow[states[-1]].get(origin)
            if follow is None:
                return None
            states.append(follow)

    def quantities(self) -> tuple[str, ...]:
        """The rules of quantities that a number here may begin."""
        number = self._after("{NUMBER}")
        unit = self.tables.rows[number[-1]].get("{UNIT}") if number else None
        return self._finished(unit) if unit is not None and unit >= 0 else ()

    def units(self) -> tuple[str, ...]:
        """The rules of quantities that a unit here may end."""
        unit = self.row.get("{UNIT}")
        return self._finished(unit) if unit is not None and unit >= 0 else ()

    def _finished(self, state: int) -> tuple[str, ...]:
        ends = {
            self.tables.reductions[~action][0] for action in self.tables.rows[state].values() if action < 0
        }
        return tuple(sorted(ends))


def units_expected(rule: str, tokens: tuple[Token, ...]) -> tuple[str, ...]:
    """The kinds of quantity whose unit may follow the tokens."""
    walk = _Walk(rule)
    return walk.units() if all(walk.take(token) for token in tokens) else ()


def mark_at(marks: tuple[Mark, ...], offset: int) -> Mark | None:
    """The mark at an offset; one that ends there where none begins there."""
    touching = [mark for mark in marks if mark.start <= offset <= mark.end and mark.what != "punctuation"]
    return touching[-1] if touching else None
