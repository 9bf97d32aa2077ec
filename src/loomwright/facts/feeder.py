"""Facts of what several things share: the current through a hub or bar, cables side by side, the way to an inverter."""

from __future__ import annotations

from loomwright.facts.attribute import gather
from loomwright.facts.electrics.resistances import ohm_per_metre
from loomwright.facts.registry import Ledger, fact
from loomwright.facts.wiring import graph
from loomwright.model import things as t
from loomwright.model.links import runs_of

PASSING = (t.Hub, t.Busbar, t.Contact, t.Relay)
JUDGED_ELSEWHERE = ("isolator", "shunt")
"""Contacts whose rating rules of their own judge."""


@fact(
    "device",
    "passes-rated",
    "current",
    "What a hub, busbar, switch or relay may pass for good, a hub no more than the fuse of its feed; none for other devices.",
)
def passes_rated(device: t.Device, ledger: Ledger) -> float | None:
    if not isinstance(device, PASSING) or device.kind in JUDGED_ELSEWHERE or device.maker:
        return None
    amps: float = ledger.known(device.rated, "rated").quantity.si
    return min([amps, *_feed_fuses(device, ledger)]) if isinstance(device, t.Hub) else amps


def _feed_fuses(hub: t.Hub, ledger: Ledger) -> list[float]:
    """What the fuses before a hub let through, of several feeds together."""
    inlet = ledger.installation.terminals.get(f"{hub.name}.in")
    ends = ledger.installation.landing_on.get(inlet, ()) if inlet else ()
    runs = list(dict.fromkeys(end.run for end in ends if end.run.role == "feed"))
    let_through = gather(lambda run: ledger.get(run, "let-through"), runs)
    return [sum(let_through)] if let_through and all(let_through) else []


@fact(
    "device",
    "passes",
    "current",
    "What a hub, busbar, switch or relay passes in a mode.",
    takes=("thing mode",),
)
def passes(device: t.Device, ledger: Ledger, mode: t.Mode) -> float:
    amps: float = ledger.get(device, "current", mode)
    return amps


@fact(
    "run",
    "parallel-spread",
    "ratio",
    "How far the resistances of cables side by side differ, of the least of them.",
)
def parallel_spread(run: t.Run, ledger: Ledger) -> float | None:
    others = ledger.get(run, "parallels")
    if not others:
        return None
    ohms = gather(lambda one: _ohms(one, ledger), (run, *others))
    return max(ohms) / min(ohms) - 1.0 if min(ohms) > 0.0 else None


@fact("run", "leads-parallels", "yes-no", "Whether it is the first of cables side by side.")
def leads_parallels(run: t.Run, ledger: Ledger) -> bool:
    others = ledger.get(run, "parallels")
    runs = ledger.installation.runs
    return bool(others) and all(runs.index(run) < runs.index(other) for other in others)


def _ohms(run: t.Run, ledger: Ledger) -> float:
    per_metre = ohm_per_metre(run, ledger).value
    length: float = ledger.get(run, "length")
    return per_metre * length


@fact(
    "run",
    "loads-current",
    "current",
    "What its loads draw together at nominal voltage; none where it feeds no load.",
)
def loads_current(run: t.Run, ledger: Ledger) -> float | None:
    loads = ledger.get(run, "loads")
    amps = gather(lambda load: ledger.get(load, "nominal-current"), loads)
    return float(sum(amps)) if loads else None


@fact("run", "in-cable", "yes-no", "Whether it is a core of a sheathed cable, twin or multicore.")
def in_cable(run: t.Run, ledger: Ledger) -> bool:
    return run.multicore is not None or ledger.known(run.cable).twin


@fact("inverter", "cable-length", "length", "How much positive cable lies between its battery and it.")
def cable_length(inverter: t.Inverter, ledger: Ledger) -> float | None:
    fed = [one for one in graph(ledger).feeds_device(inverter) if not one.charging]
    if not fed:
        return None
    return float(sum(gather(lambda run: ledger.get(run, "length"), runs_of(fed[0].path))))
