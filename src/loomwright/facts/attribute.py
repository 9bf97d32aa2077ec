"""Plain attributes of the model as facts, in tables: one row a fact.

    attributes(
        "battery",
        ("capacity", "charge", "What the battery holds at the 20 h rate.", lambda battery: battery.capacity),
    )

A clause that nobody has looked at makes the fact unknown, `none` makes it None (it doesn't exist), and a measure is handed on
in SI with the writer's own figure in the derivation.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.model.things import Unknown
from loomwright.syntax.tree import Measure, Size

SIMPLE = frozenset((str, bool, int, float, tuple, type(None)))
"""Values of the model that are known and that a rule sees as they are."""

Row = tuple[str, str, str, Callable[[Any], Any]]


def attributes(kind: str, *rows: Row, source: str = "the spec") -> None:
    """Register rows of (name, type, sentence, getter) as facts of a kind."""
    for name, type_, says, get in rows:
        _attribute(kind, name, type_, says, get, source)


def plain(value: Any) -> Any:
    """What a rule sees of a value of the model: SI for a measure, the writer's word for a size."""
    if isinstance(value, Measure):
        return value.quantity.si
    return value.text if isinstance(value, Size) else value


def gather(ask: Callable[[Any], Any], things: Iterable[Any]) -> list[Any]:
    """The answers for all things; Missing with every reason, not only the first, when some are unknown."""
    answers: list[Any] = []
    reasons: list[Unknown] = []
    for thing in things:
        try:
            answers.append(ask(thing))
        except Missing as missing:
            reasons.extend(missing.reasons)
    if reasons:
        raise Missing(*reasons)
    return answers


def known_all(ledger: Ledger, values: Iterable[Any]) -> list[Any]:
    """All values of the model, or Missing with every reason."""
    return gather(ledger.known, values)


def any_known(holds: Callable[[Any], bool], things: Iterable[Any]) -> bool:
    """Whether it holds of any; Missing where it holds of none that is known and some are not."""
    reasons: list[Unknown] = []
    for thing in things:
        try:
            if holds(thing):
                return True
        except Missing as missing:
            reasons.extend(missing.reasons)
    if reasons:
        raise Missing(*reasons)
    return False


def _attribute(kind: str, name: str, type_: str, says: str, get: Callable[[Any], Any], source: str) -> None:
    @fact(kind, name, type_, says, source=source)
    def read(thing: Any, ledger: Ledger) -> Any:
        value = get(thing)
        return value if type(value) in SIMPLE else plain(ledger.known(value, name))


def when_known(value: Any, get: Callable[[Any], Any]) -> Any:
    """`get(value)`, or the value itself where it is unknown: for an attribute of a part that may be unknown."""
    return value if isinstance(value, Unknown) else get(value)
