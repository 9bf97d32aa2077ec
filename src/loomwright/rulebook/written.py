"""A rule file as it was parsed, before it is checked: clauses with their parts as the parser gave them."""

from __future__ import annotations

from typing import Any

from loomwright.record import Record


class Clause(Record):
    """`keyword` as in the grammar (`when`, `for`, …; `severity` for `major when …`), `parts` as the parser gave them."""

    keyword: str
    parts: tuple[Any, ...]
    start: int
    end: int


class RuleText(Record):
    """A rule as written: name, severity and title are (text, start, end). `broken` names the clauses that could not be read."""

    name: tuple[str, int, int]
    severity: tuple[str, int, int]
    title: tuple[str, int, int]
    clauses: tuple[Clause, ...]
    broken: frozenset[str] = frozenset()
