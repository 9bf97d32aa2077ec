"""Currents at which a fact of a current is worth asking, where no rule asked for it: the load's, a start's, a fault's."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from loomwright.facts.registry import Definition, Ledger, answer
from loomwright.model.things import Fuse, Load, Run

LOADS: dict[type, tuple[str, ...]] = {Fuse: ("greatest-load",), Run: ("peak-current",)}
FAULTS: dict[type, tuple[str, ...]] = {
    Fuse: ("least-fault", "fault"),
    Run: ("least-start-fault", "least-end-fault", "start-fault", "end-fault"),
}

Offer = tuple[str, float]
"""What the current is, and its amperes."""


def currents(thing: Any, definition: Definition, ledger: Ledger) -> list[Offer]:
    """The currents of a fuse or run that are known and more than none, each once, the least first.

    Starts and faults only for a time (how long something bears or takes): nobody sizes a cable for a fault.
    """
    short = definition.type == "time"
    names = LOADS.get(type(thing), ()) + (FAULTS.get(type(thing), ()) if short else ())
    offers = [*_of_facts(thing, names, ledger)]
    if short and isinstance(thing, Fuse):
        offers += _of_starts(thing, ledger)
    first = {amps: what for what, amps in reversed(offers) if amps > 0.0}
    return [(first[amps], amps) for amps in sorted(first)]


def _of_facts(thing: Any, names: Iterable[str], ledger: Ledger) -> Iterator[Offer]:
    for name in names:
        entry = ledger.entry(thing, name)
        if not entry.missing and entry.value is not None:
            yield f"its {name}", float(entry.value)


def _of_starts(fuse: Fuse, ledger: Ledger) -> Iterator[Offer]:
    """Of each load behind a fuse the most that its start sends through it, as the start-up rule reckons."""
    for load in answer(ledger, fuse, "loads") or ():
        starts = [amps for mode in ledger.installation.modes if (amps := _start(fuse, load, mode, ledger))]
        if starts:
            yield f"the start of {load.name}", max(starts)


def _start(fuse: Fuse, load: Load, mode: Any, ledger: Ledger) -> float | None:
    surge, runs = answer(ledger, load, "surge"), answer(ledger, load, "runs", mode)
    others, own = answer(ledger, fuse, "load-current", mode), answer(ledger, load, "current", mode)
    if not runs or surge is None or others is None or own is None:
        return None
    return float(others - own + surge)
