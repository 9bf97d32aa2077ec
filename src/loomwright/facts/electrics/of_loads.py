"""Facts of loads in a mode."""

from __future__ import annotations

from loomwright.facts.electrics.asking import (
    METHOD,
    amps_through,
    node_at,
    plain_state,
    state_of,
    volts_between,
)
from loomwright.facts.electrics.wiring import node
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.model import things as t

IN_MODE = ("thing mode",)


@fact("load", "runs", "yes-no", "Whether the mode switches it on.", takes=IN_MODE)
def runs(load: t.Load, ledger: Ledger, mode: t.Mode) -> bool:
    on: frozenset[object] = ledger.index(("on in", mode), lambda: frozenset(each.thing for each in mode.on))
    return load in on


@fact(
    "load",
    "starved",
    "yes-no",
    "Whether it asks for more power than the network can give in a mode.",
    source=METHOD,
    takes=IN_MODE,
)
def starved(load: t.Load, ledger: Ledger, mode: t.Mode) -> bool:
    return load.name in state_of(mode, ledger).starved


def _must_run(load: t.Device, mode: t.Mode, ledger: Ledger) -> None:
    """Raises Missing where the load is on and its figures can't be had."""
    state = plain_state(mode, ledger)
    if load.name in state.omitted:
        raise Missing(*state.omitted[load.name])
    if load.name in state.starved:
        asked, at_most = state.starved[load.name]
        what = f"an operating point of {load.name} in mode {mode.name}"
        known = (
            f": it asks for {asked:.4g} W and can be given {at_most:.4g} W at most" if asked == asked else ""
        )
        raise Missing(t.Unknown(what + known, load.span))


@fact(
    "load",
    "current",
    "current",
    "What it draws in a mode, all that are alike together; 0 A where it is off.",
    source=METHOD,
    takes=IN_MODE,
)
def current(load: t.Load, ledger: Ledger, mode: t.Mode) -> float:
    _must_run(load, mode, ledger)
    return abs(amps_through(load.name, mode, ledger))


@fact("load", "volts", "voltage", "The voltage at its terminals in a mode.", source=METHOD, takes=IN_MODE)
def volts(load: t.Load, ledger: Ledger, mode: t.Mode) -> float:
    _must_run(load, mode, ledger)
    return volts_between(load, "pos", "neg", mode, ledger)


@fact("load", "watts", "power", "The power that it takes in a mode.", source="V I", takes=IN_MODE)
def watts(load: t.Load, ledger: Ledger, mode: t.Mode) -> float:
    amps = ledger.get(load, "current", mode)
    return amps * float(ledger.get(load, "volts", mode)) if amps else 0.0


@fact(
    "load", "peak-current", "current", "The most that it draws in any mode, its start apart.", source=METHOD
)
def peak_current(load: t.Load, ledger: Ledger) -> float:
    return max((ledger.get(load, "current", mode) for mode in ledger.installation.modes), default=0.0)


@fact(
    "load",
    "fed-by",
    "thing device",
    "The source whose terminals it is fed from in a mode.",
    source="the largest current upstream",
    takes=IN_MODE,
)
def fed_by(load: t.Load, ledger: Ledger, mode: t.Mode) -> t.Device | None:
    _must_run(load, mode, ledger)
    state_of(mode, ledger)
    heads, arriving = ledger.index(f"electrics feeding of mode {mode.name}", lambda: _feeding(mode, ledger))
    here, passed = node(load, "pos"), set()
    while here not in heads:
        passed.add(here)
        here = arriving.get(here, "")
        if not here or here in passed:
            return None
    device: t.Device = heads[here]
    return device


def _feeding(mode: t.Mode, ledger: Ledger) -> tuple[dict[str, t.Device], dict[str, str]]:
    """The plus terminals of live sources, and for each node the one that most of its current comes from."""
    state = plain_state(mode, ledger)
    assert state.bench is not None
    heads: dict[str, t.Device] = {}
    for device in ledger.installation.devices:
        if isinstance(device, t.Charger) and f"{device.name} out" in state.amps:
            heads[node(device, "out")] = device
        elif isinstance(device, (t.Battery, t.Alternator, t.Supply)) and device.name in state.amps:
            heads[node(device, "pos")] = device
    largest: dict[str, tuple[float, str]] = {}
    for link in state.bench.links:
        amps = state.amps[link.name]
        come_from, go_to = (link.a, link.b) if amps > 0 else (link.b, link.a)
        if abs(amps) > largest.get(go_to, (1e-9, ""))[0]:
            largest[go_to] = abs(amps), come_from
    return heads, {there: come_from for there, (_, come_from) in largest.items()}


@fact(
    "load",
    "lost-volts",
    "voltage",
    "The voltage lost between the terminals of the source that feeds it and its own, there and back.",
    source=METHOD,
    takes=IN_MODE,
)
def lost_volts(load: t.Load, ledger: Ledger, mode: t.Mode) -> float:
    own = ledger.get(load, "volts", mode)
    if not ledger.get(load, "current", mode):
        return 0.0
    source = ledger.get(load, "fed-by", mode)
    if source is None:
        raise Missing(t.Unknown(f"the source that feeds {load.name} in mode {mode.name}", load.span))
    given = source_volts(source, mode, ledger)
    ledger.note(f"{given:.4g} V at the terminals of {source.name}")
    return given - float(own)


def source_volts(source: t.Device, mode: t.Mode, ledger: Ledger) -> float:
    """Volts between a source's own terminals."""
    if isinstance(source, t.Supply):
        return float(ledger.get(source, "volts", mode))
    return volts_between(source, "out" if isinstance(source, t.Charger) else "pos", "neg", mode, ledger)


@fact(
    "load",
    "drop",
    "ratio",
    "The voltage lost on the way to it and back, of the system's nominal voltage.",
    source="definition",
    takes=IN_MODE,
)
def drop(load: t.Load, ledger: Ledger, mode: t.Mode) -> float:
    return float(ledger.get(load, "lost-volts", mode)) / _nominal(ledger)


def _nominal(ledger: Ledger) -> float:
    """The system's nominal volts, put into the derivation."""
    return float(ledger.known(ledger.installation.fitout.system, "of the nominal").quantity.si)


@fact(
    "load",
    "surge-drop",
    "ratio",
    "The voltage lost while it starts, of the nominal voltage: its surge through what the network resists at its terminals.",
    source="Thévenin's theorem at the solved point",
    takes=IN_MODE,
)
def surge_drop(load: t.Load, ledger: Ledger, mode: t.Mode) -> float | None:
    surge = ledger.get(load, "surge")
    if surge is None:
        return None
    running, lost = ledger.get(load, "current", mode), ledger.get(load, "lost-volts", mode)
    solution = plain_state(mode, ledger).solution
    assert solution is not None
    _, ohms = solution.thevenin(*(node_at(load, label, ledger) for label in ("pos", "neg")))
    ledger.note(f"{ohms * 1e3:.3g} mohm at its terminals", "Thévenin's theorem")
    return float((lost + max(0.0, surge - running) * ohms) / _nominal(ledger))
