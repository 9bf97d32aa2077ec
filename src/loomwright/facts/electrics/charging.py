"""Chargers: when they work, and what goes in for what comes out.

A charger's two sides are tied together by power alone. The network holds the input as a constant power, the output as a regulated
source with a current limit and the solar input as a resistance; `carried_on` sets these from the volts and amps of the last
solution, until nothing moves.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import inf, sqrt

from loomwright.facts.electrics import resistances as r
from loomwright.facts.electrics.sources import Panel, system_volts
from loomwright.facts.electrics.wiring import node
from loomwright.facts.registry import Ledger
from loomwright.model import things as t
from loomwright.record import Record
from loomwright.syntax.tree import Measure

LEAST_EFFICIENCY = 0.01


class Nameplate(Record):
    """A charger's figures in SI; what its clauses don't limit is infinite."""

    name: str
    volts: float
    amps: float
    input_amps: float
    solar_amps: float
    efficiency: float


class Charging(Record):
    """What the network holds for one charger."""

    input_watts: float
    limit_amps: float
    sink_ohms: float


def nameplate(charger: t.Charger, ledger: Ledger) -> Nameplate:
    """Raises Missing where the output is not known."""
    return Nameplate(
        charger.name,
        ledger.known(charger.output_volts).quantity.si,
        ledger.known(charger.output_amps).quantity.si * charger.count,
        _si(charger.input, inf) * charger.count,
        _si(charger.solar_amps, inf) * charger.count,
        max(LEAST_EFFICIENCY, r.stated(charger.efficiency, ledger, "charger-efficiency-unstated")),
    )


def _si(value: Measure | t.Unknown | None, otherwise: float) -> float:
    return value.quantity.si if isinstance(value, Measure) else otherwise


def wants_to_work(
    charger: t.Charger, running: bool, volts: Mapping[str, float], landed: frozenset[str], ledger: Ledger
) -> bool:
    """Whether it would take current from its input at these volts: started above `starts` and not yet under `stops`, above
    `cuts-out`, with its sense wire live where it has one."""
    there, back = volts.get(node(charger, "in")), volts.get(node(charger, "neg"))
    if there is None or back is None:
        return False
    half = system_volts(ledger) / 2
    if node(charger, "sense") in landed and volts.get(node(charger, "sense"), back) - back < half:
        return False
    least = max(_si(charger.cuts_out, half), _si(charger.stops if running else charger.starts, 0.0))
    return there - back >= least


def at_first(plate: Nameplate, works: bool, panel: Panel | None) -> Charging:
    """Where the search for the common state begins."""
    watts = plate.volts * plate.amps
    sink = panel.at_peak / max(1e-6, panel.amps(panel.at_peak)) if panel else 0.0
    return Charging(watts / plate.efficiency if works and not panel else 0.0, plate.amps, sink)


def carried_on(
    plate: Nameplate, works: bool, mains: bool, panel: Panel | None, was: Charging, seen: Seen
) -> Charging:
    """The next state from the last solution. The sun is taken first, the input gives the rest."""
    line = (
        max(0.0, (seen.panel_volts - seen.solar_volts) / seen.solar_amps) if seen.solar_amps > 1e-9 else 0.0
    )
    sun = 0.0
    if panel:
        amps = panel.amps(panel.at_peak)
        sun = (panel.at_peak - amps * line) * amps * plate.efficiency
    out_volts = max(seen.out_volts, plate.volts / 10, 0.1)
    sun = max(0.0, min(sun, plate.solar_amps * out_volts))
    grid = inf if mains else plate.input_amps * seen.in_volts * plate.efficiency if works else 0.0
    limit = min(plate.amps, (sun + grid) / out_volts)
    asked = out_volts * seen.out_amps
    from_sun = min(asked, sun)
    watts = (asked - from_sun) / plate.efficiency if works and not mains else 0.0
    sink = _sink(panel, from_sun / plate.efficiency, line) if panel else was.sink_ohms
    return Charging(watts, limit, sink)


def _sink(panel: Panel, watts: float, line: float) -> float:
    """The resistance at the solar input that takes so many watts through a line of `line` ohms, on the panel's upper side.

    On the straight line of the panel, (open − v) / ohms amperes give (v − line · i) · i watts; at the peak that is the most.
    """
    if watts <= 0.0:
        return 1e6
    total = panel.ohms + line
    root = panel.open * panel.open - 4.0 * total * watts
    peak = panel.amps(panel.at_peak)
    amps = min(peak, 2.0 * watts / (panel.open + sqrt(root))) if root > 0.0 else peak
    return max(1e-3, (panel.open - total * amps) / amps)


class Seen(Record):
    """What the last solution shows at a charger and at its panels; volts are against the charger's neg."""

    in_volts: float
    out_volts: float
    out_amps: float
    solar_volts: float
    solar_amps: float
    panel_volts: float


def together(panels: list[Panel]) -> Panel | None:
    """Several panels side by side as one; volts are those of the lowest."""
    if not panels:
        return None
    at_peak = min(panel.at_peak for panel in panels)
    opened = min(panel.open for panel in panels)
    amps = sum(panel.amps(at_peak) for panel in panels)
    return Panel(opened, at_peak, sum(panel.short for panel in panels), (opened - at_peak) / amps)
