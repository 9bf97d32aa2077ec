"""What a fuse that must open in time asks of all the copper that a far-end fault flows through, out and back.

A fuse opens in time from some current on, and the least fault reaches that current up to some resistance of its loop. By
Thévenin's theorem the loop is open volts over that current, and each cable of it adds its own ohms times the square of its share
of the fault (Tellegen's theorem). With one way out and one way back every share is 1, and the budget is exact whatever the
sizes. Where ways lie side by side it is exact at the present sizes and never too generous at others, for resistances
in parallel rise less than their tangent; the search reckons it anew at each choice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from math import inf

from loomwright.analysis import opening
from loomwright.analysis.faults import Fault
from loomwright.analysis.withstand import withstands_seconds
from loomwright.facts.electrics import faults, resistances
from loomwright.facts.electrics.wiring import run_key
from loomwright.facts.gates import gates
from loomwright.facts.registry import Ledger, Missing
from loomwright.facts.run import adiabatic_k
from loomwright.model import things as t
from loomwright.quantity import show
from loomwright.sizing.needs import carries
from loomwright.sizing.paths import Budget
from loomwright.sizing.slots import Found
from loomwright.stock import conductors
from loomwright.stock.conductors import ConductorSize

NEGLIGIBLE = 1e-3
"""A share of a fault's current below which a cable counts as none of its loop."""
FINE = 1.2
"""From one current to the next that is looked at for harm; the rule book has the last word."""


def loops(ledger: Ledger, found: Found) -> Iterator[Budget]:
    """A budget in ohms for each feed behind a fuse of the workshop's, in its present state."""
    within = ledger.limit("fault-clears-within")
    for feed in ledger.installation.runs:
        try:
            fuse = (
                ledger.get(feed, "guard") if feed.role == "feed" and not ledger.get(feed, "exempt") else None
            )
            if fuse is not None and not ledger.get(fuse, "maker"):
                yield from _loop(feed, fuse, within, ledger, found)
        except Missing:
            continue


def _loop(feed: t.Run, fuse: t.Fuse, within: float, ledger: Ledger, found: Found) -> Iterator[Budget]:
    corner = faults.least_corner(faults.nodes_of(feed), ledger)
    fault = faults.fault_of_run(feed, "start" if ledger.get(feed, "fed-at-end") else "end", corner)
    if fault is None or fault.amps <= 0.0:
        return
    ways, volts = tuple(_ways(fault, corner, found)), _open_volts(fault, corner)
    yield from _unharmed(feed, fuse, fault.amps, volts, ways, ledger)
    needed = opens_from(gates(fuse, ledger), ledger.get(fuse, "rating-cold"), within)
    if needed == inf:
        return
    room = volts * (1 / needed - 1 / fault.amps)
    words = f"a far-end fault of {feed.name} must draw {show(needed, 'current')} to open the {fuse.rating.text} fuse in {show(within, 'time')}"
    # what the loop may resist more than now
    yield Budget(
        "fuse-never-blows", fuse.name, words, ways, 0.0, room, "fault-clears-within", within, "time", 0.0, hot_ohms
    )  # fmt: skip


def _unharmed(
    feed: t.Run,
    fuse: t.Fuse,
    amps: float,
    volts: float,
    ways: tuple[tuple[t.Run, float], ...],
    ledger: Ledger,
) -> Iterator[Budget]:
    """The same for a fuse that must open before the feed is harmed: how much current that takes goes by the size of the feed itself, so
    a size brings its own room along."""
    assert isinstance(feed.cable, t.Cable)
    clears = clears_from(feed, fuse, ledger)

    def spend(run: t.Run, part: float, size: ConductorSize, ledger: Ledger) -> float:
        return hot_ohms(run, part, size, ledger) - (volts / clears(size) if run is feed else 0.0)

    present = conductors.conductor(feed.cable.size.kind, feed.cable.size.number)
    room = volts / clears(present) - volts / amps
    words = f"a far-end fault that the {fuse.rating.text} fuse clears before {feed.name} is harmed"
    yield Budget("fuse-slower-than-cable", fuse.name, words, ways, 0.0, room, "", 0.0, "time", 0.0, spend)


def clears_from(feed: t.Run, fuse: t.Fuse, ledger: Ledger) -> Callable[[ConductorSize], float]:
    """The least current, A, from which on the fuse opens before a feed of some size is harmed; never below 1 A."""
    curve, rating = gates(fuse, ledger), ledger.get(fuse, "rating-cold")
    able, k = carries(feed, ledger), adiabatic_k(feed, ledger).value
    return lambda size: _clears_from(curve, rating, size.area_mm2, k, round(able(size), 3))


@cache
def _clears_from(
    curve: tuple[opening.Gate, ...], rating: float, area_mm2: float, k: float, steady: float
) -> float:
    def harmed(amps: float) -> bool:
        bears = withstands_seconds(amps, area_mm2, k, steady) if steady > 0.0 else 0.0
        return opening.opens_by(curve, rating, amps) > bears

    corners = {gate[0] * rating * near for gate in curve for near in (1 - 1e-9, 1.0)}
    steps = {max(1.0, steady) * FINE**step for step in range(40)}
    looks = sorted(amps for amps in corners | steps if amps >= steady)
    worst = max((index for index, amps in enumerate(looks) if harmed(amps)), default=None)
    if worst is None:
        return 1.0
    if worst + 1 == len(looks):
        return 1000.0 * rating
    low, high = looks[worst], looks[worst + 1]
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if harmed(middle) else (low, middle)
    return max(1.0, high)


def _ways(fault: Fault, corner: faults.Corner, found: Found) -> Iterator[tuple[t.Run, float]]:
    """The runs to be sized with what of their resistance the fault meets: the square of their share of it."""
    for run in found.of_run:
        key = run_key(run)
        element = key if key in corner.network.elements else f"{key}/0"
        if element in corner.network.elements:
            share = abs(fault.through(element)) / fault.amps
            if share > NEGLIGIBLE:
                yield run, share * share


def _open_volts(fault: Fault, corner: faults.Corner) -> float:
    """The volts that drive the fault, from it and a second one through an ohm more: I = V / Z and I' = V / (Z + 1 Ω)."""
    assert corner.study is not None
    weaker = corner.study.fault(fault.a, fault.b, corner.fault_ohms + 1.0).amps
    return fault.amps * weaker / (fault.amps - weaker)


def hot_ohms(run: t.Run, part: float, size: ConductorSize, ledger: Ledger) -> float:
    """What of the copper of a run in another size counts, as hot as its class lets it be: as in the least fault."""
    assert isinstance(run.cable, t.Cable)
    entry = ledger.entry(run, "class")
    hot = resistances.limit(ledger, "conductor-unstated") if entry.missing else entry.value
    per_metre = conductors.resistance_per_metre(size, tinned=run.cable.tinned).value
    length = resistances.run_length(run, ledger)
    return float(part * length * per_metre * conductors.copper_temperature_factor(hot))


@cache
def opens_from(curve: tuple[opening.Gate, ...], rating: float, within: float) -> float:
    """The least current, A, at which a fuse has surely opened within some seconds; infinite where there is none below 1000 times its
    rating."""
    low, high = 0.0, 1000.0 * rating
    if opening.opens_by(curve, rating, high) > within:
        return inf
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (low, middle) if opening.opens_by(curve, rating, middle) <= within else (middle, high)
    return high
