"""Facts of conductors in a mode: runs, circuits, and the contacts and fuses that their current passes."""

from __future__ import annotations

from collections import defaultdict

from loomwright.facts.electrics import resistances as r
from loomwright.facts.electrics.asking import METHOD, amps_through, run_amps, state_of, volts_at
from loomwright.facts.electrics.warmth import warmth_of
from loomwright.facts.electrics.wiring import node_of, wiring
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.model import things as t
from loomwright.quantity import show
from loomwright.stock import fuses

IN_MODE = ("thing mode",)
HEAT = "heat balance on the IEC 60287 principle: θ = Ta + (Tc − Ta) (I / Iz)²"


@fact(
    "run",
    "resistance",
    "resistance",
    "The run at 20 °C: copper, lugs and joints, fuses.",
    source="sum in series",
)
def resistance(run: t.Run, ledger: Ledger) -> float:
    parts = r.segments(run, ledger)
    per_metre = r.ohm_per_metre(run, ledger)
    ledger.note(
        f"copper {r.run_length(run, ledger):.3g} m × {per_metre.value * 1e3:.4g} mohm/m",
        f"{per_metre.source} ({per_metre.mark})" if per_metre.mark else per_metre.source,
    )
    for name, count in r.contacts(run, ledger).items():
        one = ledger.limits[name]
        ledger.note(f"{count} × {one.text}, limit {name}", one.printed_source)
    for part in parts:
        if part.of is not None:
            ledger.note(
                f"fuse of {part.of.rating.text}: {show(part.fuse, 'resistance')}",
                fuse_source(part.of),
            )
    return sum(part.copper + part.contacts + part.fuse for part in parts)


def fuse_source(fuse: t.Fuse) -> str:
    """Where a fuse's typical resistance comes from."""
    cited = fuses.typical_ohm(fuses.kind(fuse.kind), fuse.rating.quantity.si)
    return f"{cited.source} ({cited.mark})" if cited.mark else cited.source


@fact(
    "run",
    "current",
    "current",
    "The current through the run in a mode, whichever way it flows.",
    source=METHOD,
    takes=IN_MODE,
)
def current(run: t.Run, ledger: Ledger, mode: t.Mode) -> float:
    return abs(run_amps(run, mode, ledger))


@fact(
    "run",
    "celsius",
    "temperature",
    "The conductor at its hottest place in a mode, when it has settled.",
    source=HEAT,
    takes=IN_MODE,
)
def celsius(run: t.Run, ledger: Ledger, mode: t.Mode) -> float:
    amps = ledger.get(run, "current", mode)
    warmth = warmth_of(run, ledger)
    if warmth.unknown:
        raise Missing(*warmth.unknown)
    ledger.note(f"{warmth.hottest:.3g} degC around it + {warmth.rise:.3g} K/A² × I²", HEAT)
    return warmth.celsius(amps)


@fact(
    "run",
    "warm-resistance",
    "resistance",
    "The run as warm as a mode makes it.",
    source="IEC 60028: 1 + 0.00393 (θ − 20)",
    takes=IN_MODE,
)
def warm_resistance(run: t.Run, ledger: Ledger, mode: t.Mode) -> float:
    cold, amps = ledger.get(run, "resistance"), ledger.get(run, "current", mode)
    copper = sum(part.copper for part in r.segments(run, ledger))
    warmth = warmth_of(run, ledger)
    mean = warmth.mean + warmth.rise * amps * amps
    said = "taken at" if warmth.unknown else "its copper at a mean of"
    ledger.note(f"{said} {mean:.3g} degC", HEAT)
    return float(cold + copper * (warmth.factor(amps) - 1.0))


@fact("run", "drop", "voltage", "The voltage lost along the run in a mode.", source="I R", takes=IN_MODE)
def drop(run: t.Run, ledger: Ledger, mode: t.Mode) -> float:
    amps = ledger.get(run, "current", mode)
    return amps * float(ledger.get(run, "warm-resistance", mode)) if amps else 0.0


@fact("run", "loss", "power", "The heat that the run makes in a mode.", source="I² R", takes=IN_MODE)
def loss(run: t.Run, ledger: Ledger, mode: t.Mode) -> float:
    return float(ledger.get(run, "current", mode) * ledger.get(run, "drop", mode))


@fact(
    "run",
    "volts-at-start",
    "voltage",
    "The voltage at the start of the run in a mode, against the battery's negative.",
    source=METHOD,
    takes=IN_MODE,
)
def volts_at_start(run: t.Run, ledger: Ledger, mode: t.Mode) -> float:
    state_of(mode, ledger)
    return volts_at(node_of(run.start), run.start_span, mode, ledger)


@fact(
    "run",
    "volts-at-end",
    "voltage",
    "The voltage at the end of the run in a mode, against the battery's negative.",
    source=METHOD,
    takes=IN_MODE,
)
def volts_at_end(run: t.Run, ledger: Ledger, mode: t.Mode) -> float:
    state_of(mode, ledger)
    return volts_at(node_of(run.end), run.end_span, mode, ledger)


@fact("run", "peak-current", "current", "The greatest current through the run in any mode.", source=METHOD)
def peak_current(run: t.Run, ledger: Ledger) -> float:
    return max((ledger.get(run, "current", mode) for mode in ledger.installation.modes), default=0.0)


# ---------------------------------------------------------------- circuits: both legs as one


def _of_legs(circuit: t.Circuit, name: str, mode: t.Mode, ledger: Ledger) -> list[float]:
    return [ledger.get(leg, name, mode) for leg in ledger.installation.legs_of[circuit]]


@fact(
    "circuit",
    "current",
    "current",
    "The current in the circuit's feed in a mode.",
    source=METHOD,
    takes=IN_MODE,
)
def circuit_current(circuit: t.Circuit, ledger: Ledger, mode: t.Mode) -> float:
    return float(ledger.get(ledger.installation.legs_of[circuit][0], "current", mode))


@fact("circuit", "drop", "voltage", "The voltage lost in both legs in a mode.", source="I R", takes=IN_MODE)
def circuit_drop(circuit: t.Circuit, ledger: Ledger, mode: t.Mode) -> float:
    return sum(_of_legs(circuit, "drop", mode, ledger))


@fact("circuit", "loss", "power", "The heat that both legs make in a mode.", source="I² R", takes=IN_MODE)
def circuit_loss(circuit: t.Circuit, ledger: Ledger, mode: t.Mode) -> float:
    return sum(_of_legs(circuit, "loss", mode, ledger))


@fact(
    "circuit",
    "celsius",
    "temperature",
    "The warmer leg at its hottest place in a mode.",
    source=HEAT,
    takes=IN_MODE,
)
def circuit_celsius(circuit: t.Circuit, ledger: Ledger, mode: t.Mode) -> float:
    return max(_of_legs(circuit, "celsius", mode, ledger))


# ---------------------------------------------------------------- what current passes


@fact(
    "fuse", "load-current", "current", "The current through the fuse in a mode.", source=METHOD, takes=IN_MODE
)
def load_current(fuse: t.Fuse, ledger: Ledger, mode: t.Mode) -> float:
    if fuse.run is not None:
        return float(ledger.get(fuse.run, "current", mode))
    assert fuse.way is not None
    return float(ledger.get(fuse.way, "current", mode))


@fact("way", "current", "current", "The current through the way in a mode.", source=METHOD, takes=IN_MODE)
def way_current(way: t.Way, ledger: Ledger, mode: t.Mode) -> float:
    return abs(amps_through(way.name, mode, ledger)) if way.name in wiring(ledger).landed else 0.0


def _contact_current(device: t.Device, ledger: Ledger, mode: t.Mode) -> float:
    return abs(amps_through(device.name, mode, ledger))


for _kind in ("isolator", "switch", "shunt", "relay"):
    fact(
        _kind,
        "current",
        "current",
        f"The current through the {_kind} in a mode.",
        source=METHOD,
        takes=IN_MODE,
    )(_contact_current)


@fact("hub", "current", "current", "The current into the hub's bar in a mode.", source=METHOD, takes=IN_MODE)
def hub_current(hub: t.Hub, ledger: Ledger, mode: t.Mode) -> float:
    return sum(float(ledger.get(way, "current", mode)) for way in ledger.installation.ways_of[hub])


def _bar_current(device: t.Device, ledger: Ledger, mode: t.Mode) -> float:
    arriving = 0.0
    for run, sign in ledger.index("electrics runs by node", lambda: _runs_by_node(ledger)).get(
        device.name, ()
    ):
        arriving += max(0.0, sign * run_amps(run, mode, ledger))
    return arriving


def _runs_by_node(ledger: Ledger) -> dict[str, list[tuple[t.Run, int]]]:
    """Runs by the node that they land on, with the sign that turns their current into one that arrives."""
    found: dict[str, list[tuple[t.Run, int]]] = defaultdict(list)
    for run in ledger.installation.runs:
        found[node_of(run.start)].append((run, -1))
        found[node_of(run.end)].append((run, 1))
    return found


for _kind in ("busbar", "splice"):
    fact(
        _kind,
        "current",
        "current",
        f"The current that arrives at the {_kind} in a mode.",
        source=METHOD,
        takes=IN_MODE,
    )(_bar_current)


@fact(
    "terminal",
    "volts",
    "voltage",
    "The voltage of the terminal in a mode, against the battery's negative.",
    source=METHOD,
    takes=IN_MODE,
)
def terminal_volts(terminal: t.Terminal, ledger: Ledger, mode: t.Mode) -> float:
    state_of(mode, ledger)
    return volts_at(node_of(terminal), terminal.span, mode, ledger)


def _point_volts(point: t.Structure | t.Earthpoint, ledger: Ledger, mode: t.Mode) -> float:
    state_of(mode, ledger)
    return volts_at(point.name, point.span, mode, ledger)


for _kind in ("structure", "earthpoint"):
    fact(
        _kind,
        "volts",
        "voltage",
        f"The voltage of the {_kind} in a mode, against the battery's negative.",
        source=METHOD,
        takes=IN_MODE,
    )(_point_volts)


@fact(
    "mode",
    "has-operating-point",
    "yes-no",
    "Whether the network can give every load what it asks.",
    source=METHOD,
)
def has_operating_point(mode: t.Mode, ledger: Ledger) -> bool:
    return not state_of(mode, ledger).starved


@fact(
    "mode", "starves", "things load", "The loads that ask for more than the network can give.", source=METHOD
)
def starves(mode: t.Mode, ledger: Ledger) -> tuple[t.Device, ...]:
    state = state_of(mode, ledger)
    return tuple(device for device in ledger.installation.devices if device.name in state.starved)
