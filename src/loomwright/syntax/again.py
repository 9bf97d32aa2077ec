"""What an earlier text of the same file said: heads and clauses that stand unchanged are moved, and not read again.

An editor has a file read at every key, and a key changes one clause. What a clause says depends on its own text and on the kind
of its block, so the same text says the same elsewhere in the file. Where something was wrong on a line, its clauses are read anew.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from loomwright.source import Problem, Source, Span
from loomwright.syntax.tree import Clause, Date, Document, Measure, Number, Size, Statement, Text, Word


class Earlier:
    """The heads and clauses of a document on whose lines nothing was wrong, by their texts."""

    def __init__(self, document: Document, problems: tuple[Problem, ...]) -> None:
        self._heads: dict[str, Statement] = {}
        self._clauses: dict[tuple[str, str], Clause] = {}
        wrong = {line for one in problems for line in range(one.span.line, one.span.end_line + 1)}
        for statement in document.statements:
            if _is_sound(statement.head_span, wrong):
                self._heads.setdefault(statement.head_span.text, statement)
            for clause in statement.clauses:
                if _is_sound(clause.span, wrong):
                    self._clauses.setdefault((block_of(statement), clause.span.text), clause)

    def head(self, span: Span) -> dict[str, Any] | None:
        """The parts of a head with the text of the span, its name among them, as they stand there."""
        found = self._heads.get(span.text)
        if found is None:
            return None
        parts = found.head if found.name is None else {"name": found.name, **found.head}
        return {
            name: _moved(value, span.source, span.start - found.head_span.start)
            for name, value in parts.items()
        }

    def clause(self, kind: str, span: Span) -> Clause | None:
        """The clause of a block of that kind with the text of the span, as it stands there."""
        found = self._clauses.get((kind, span.text))
        if found is None:
            return None
        by = span.start - found.span.start
        return Clause(_moved(found.keyword, span.source, by), _moved(found.parts, span.source, by), span)


def block_of(statement: Statement) -> str:
    """The kind of block that the clauses of a statement stand in: that of `part lug …` is of the kind that it names."""
    kind = statement.head["kind"] if statement.kind.text == "part" else statement.kind
    return kind.text if isinstance(kind, Word) else ""


def _is_sound(span: Span, wrong: set[int]) -> bool:
    return not wrong or wrong.isdisjoint(range(span.line, span.end_line + 1))


# Spelt out because `record.replace`, which would do for all of them, takes three times as long.
_WITH_PLACE: Mapping[type, Callable[[Any, Span], Any]] = {
    Word: lambda one, span: Word(one.text, span),
    Text: lambda one, span: Text(one.text, span),
    Number: lambda one, span: Number(one.value, one.text, span),
    Measure: lambda one, span: Measure(one.quantity, one.text, span),
    Date: lambda one, span: Date(one.value, span),
    Size: lambda one, span: Size(one.kind, one.number, one.text, span),
}


def _moved(value: Any, source: Source, by: int) -> Any:
    """A value, or all values of some parts, with the places that they have in another text."""
    again = _WITH_PLACE.get(type(value))
    if again is not None:
        return again(value, Span(source, value.span.start + by, value.span.end + by))
    if isinstance(value, tuple):
        return tuple(_moved(one, source, by) for one in value)
    if isinstance(value, Mapping):
        return {name: _moved(one, source, by) for name, one in value.items()}
    return value
