"""Short texts for what a parse gave, so that tests read as tables."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from loomwright.source import Source
from loomwright.syntax.parse import Parsed, parse
from loomwright.syntax.tree import Clause, Date, Measure, Number, Size, Statement

HEADS = {
    "fitout": 'fitout "x"',
    "practice": "practice",
    "site": "site",
    "place": "place x",
    "structure": "structure x",
    "earthpoint": "earthpoint x on skin in toolbox",
    "multicore": "multicore x",
    "loom": "loom x",
    "mode": "mode x",
    "day": "day x",
    "concession": "concession no-sleeve on main",
    "readings": 'readings 2026-11-20 by "RM" in night',
}


def head(kind: str) -> str:
    """A sound head for a statement of that kind."""
    if kind in ("feed", "earth", "circuit", "signal"):
        return f"{kind} x from a.pos to b.pos"
    return HEADS.get(kind, f"{kind} x in toolbox")


def read(text: str) -> Parsed:
    return parse(Source("spec.fitout", text))


def sound(text: str) -> tuple[Statement, ...]:
    """The statements of a text without problems."""
    parsed = read(text)
    assert told(parsed) == []
    return parsed.document.statements


def clause(kind: str, text: str) -> Clause:
    (statement,) = sound(f"{head(kind)} {{ {text} }}")
    (only,) = statement.clauses
    return only


def told(parsed: Parsed) -> list[str]:
    """Line, column and message of every problem."""
    return [f"{problem.span.line}:{problem.span.column}: {problem.message}" for problem in parsed.problems]


def said(value: Any) -> str:
    """Parts and values as text: quantities in their own SI unit, words plain."""
    if isinstance(value, Mapping):
        return ", ".join(f"{name}={said(part)}" for name, part in value.items())
    if isinstance(value, tuple):
        return "[" + "; ".join(said(part) for part in value) + "]"
    if isinstance(value, Measure):
        return f"{value.quantity.si:.6g} {value.quantity.dimension}"
    if isinstance(value, Size):
        return f"{value.kind} {value.number}"
    if isinstance(value, Number):
        return f"{value.value:g}"
    if isinstance(value, Date):
        return value.value.isoformat()
    return str(value.text)
