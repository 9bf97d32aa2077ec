"""Sizes of cables and lugs that nobody makes: a slip of the pen, told at its own place before anything is reckoned with it."""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.model.building.register import Register
from loomwright.stock.conductors import UnknownSize, conductor
from loomwright.syntax.hints import listed, quoted
from loomwright.syntax.tree import Size, Statement

KEYWORDS = frozenset(("cable", "end", "ends"))


def check_sizes(register: Register, statements: Sequence[Statement]) -> None:
    """Report every size that no table of conductors has."""
    for statement in statements:
        for clause in statement.clauses:
            if clause.keyword.text in KEYWORDS:
                for part in clause.parts.values():
                    if isinstance(part, Size):
                        _check(register, part)


def _check(register: Register, size: Size) -> None:
    try:
        conductor(size.kind, size.number)
    except UnknownSize as unknown:
        near = f"the nearest are {listed(unknown.nearest, 'and')}" if unknown.nearest else ""
        register.report(size.span, f"there is no conductor of {quoted(size.text)}", near)
