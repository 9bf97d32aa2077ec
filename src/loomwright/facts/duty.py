"""What loads that draw for only a part of the time amount to: of their current its root mean square heats a cable or a fuse."""

from __future__ import annotations

from math import sqrt

from loomwright.facts.earth import served_feeds
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.model import things as t
from loomwright.quantity import show

BY_HEAT = "root mean square, duties taken to fall together; common practice, no source"


@fact(
    "run",
    "lasting-current",
    "current",
    "What its current in a mode amounts to for heat: a load of a written duty counts by the root of it.",
    source=BY_HEAT,
    takes=("thing mode",),
)
def lasting_current(run: t.Run, ledger: Ledger, mode: t.Mode) -> float:
    return _by_heat(ledger.get(run, "demand", mode), _loads(run, ledger), ledger, mode)


@fact(
    "run",
    "duties",
    "text",
    "In words which of the loads that a mode switches on draw for only a part of the time; nothing where none does.",
    takes=("thing mode",),
)
def duties(run: t.Run, ledger: Ledger, mode: t.Mode) -> str:
    try:
        loads = _loads(run, ledger)
    except Missing:
        return ""
    return _told(loads, ledger, mode)


@fact(
    "fuse",
    "lasting-current",
    "current",
    "What it must bear for good in a mode: loads of a written duty by the root of it, yet never so little that its full current "
    "is above its rating.",
    source=BY_HEAT,
    takes=("thing mode",),
)
def lasting_through(fuse: t.Fuse, ledger: Ledger, mode: t.Mode) -> float:
    amps = ledger.get(fuse, "load-current", mode)
    by_heat = _by_heat(amps, ledger.get(fuse, "loads"), ledger, mode)
    return float(max(by_heat, amps * ledger.limit("continuous-fuse-share")))


@fact(
    "fuse",
    "duties",
    "text",
    "In words which of the loads that a mode switches on draw for only a part of the time; nothing where none does.",
    takes=("thing mode",),
)
def duties_through(fuse: t.Fuse, ledger: Ledger, mode: t.Mode) -> str:
    return _told(ledger.get(fuse, "loads"), ledger, mode)


def _loads(run: t.Run, ledger: Ledger) -> tuple[t.Load, ...]:
    """The loads whose current a run carries; of an earth those for which it is the only way back."""
    if run.role != "earth":
        return tuple(ledger.get(run, "loads"))
    if run.circuit is not None:
        return (run.circuit.load,) if isinstance(run.circuit.load, t.Load) else ()
    return tuple(
        dict.fromkeys(load for feed in served_feeds(run, ledger) for load in ledger.get(feed, "loads"))
    )


def _by_heat(amps: float, loads: tuple[t.Load, ...], ledger: Ledger, mode: t.Mode) -> float:
    """A current with each load's part of it weighted by the root of its duty.

    The root mean square of a sum is at most the sum of the root mean squares, however the times fall. What is not of these
    loads counts in full; where they share the way with another they count in proportion.
    """
    on = [load for load in loads if ledger.get(load, "runs", mode)]
    drawn = [(abs(ledger.get(load, "current", mode)), ledger.get(load, "duty")) for load in on]
    total = sum(part for part, _ in drawn)
    if total <= 0.0:
        return amps
    spared = sum(part * (1.0 - sqrt(share)) for part, share in drawn)
    return float(amps - spared * min(1.0, amps / total))


def _told(loads: tuple[t.Load, ...], ledger: Ledger, mode: t.Mode) -> str:
    told = []
    for load in loads:
        try:
            share = ledger.get(load, "duty") if ledger.get(load, "runs", mode) else 1.0
        except Missing:
            continue
        if share < 1.0:
            told.append(f"{load.name} runs {show(share, 'ratio')} of the time")
    return f" (of which {', '.join(told)})" if told else ""
