"""What a fault at the far end of a run sends through each of the fuses that must end it, and when each has opened.

Several sources feed one fault, each through a fuse of its own: none of these sees the whole current. Once one has opened, the
others see more. So they are opened one after another, each at the slow edge of its band. A fuse that has carried one current
for a part of the time that it opens in has that part less to go at the next (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import inf

from loomwright.analysis.faults import Fault
from loomwright.facts.electrics import faults as f
from loomwright.facts.electrics import resistances as r
from loomwright.facts.electrics.wiring import node_of, run_key
from loomwright.facts.guard import holding
from loomwright.facts.registry import Ledger, Missing
from loomwright.facts.wiring import END, SIDES, START, feedings, point_at
from loomwright.model import things as t
from loomwright.record import Record

NOTHING = 1e-3
"""Less than this, A, does not flow: an open fuse lets some microamperes through."""
UNTOLD = 0.01
"""A share of a fault that passes none of the fuses known to hold it and is worth looking for."""


class Share(Record):
    """A fault as one fuse sees it: A through the fuse when its turn has come, and what the cable carries until it has opened,
    A and s, one after another."""

    fuse_amps: float
    cable: tuple[tuple[float, float], ...]

    @property
    def seconds(self) -> float:
        """When the fuse has surely opened."""
        return sum(seconds for _, seconds in self.cable)

    @property
    def run_amps(self) -> float:
        """Through the cable when the fuse's turn has come."""
        return self.cable[-1][0]


NO_SHARE = Share(0.0, ((0.0, 0.0),))


def far_of(side: str) -> str:
    return END if side == START else START


def clearing(run: t.Run, ledger: Ledger) -> Mapping[t.Fuse, str]:
    """The fuses that must open to end a fault at the far end of a run, with the end of it that their current comes in by."""
    kept: dict[t.Run, Mapping[t.Fuse, str]] = ledger.index("fuses that clear", dict)
    if run not in kept:
        found = holding(run, ledger)
        kept[run] = {**_beside(run, found, ledger), **found}
    return kept[run]


def share(fuse: t.Fuse, run: t.Run, ledger: Ledger, least: bool) -> Share:
    """The fault at the far end of a run through one of the fuses that must end it. Raises Missing."""
    found: Share = ledger.shared(("share", fuse, run, least), lambda: _share(fuse, run, ledger, least))
    return found


def _share(fuse: t.Fuse, run: t.Run, ledger: Ledger, least: bool) -> Share:
    fuses = clearing(run, ledger)
    side = fuses[fuse]
    at = _corner(fuse, run, ledger, least)
    element = f.element_of(fuse, ledger)
    faults = f.faults_at(_far_node(run, side, fuses, ledger), f.devices_at(run, far_of(side)), at)
    if not faults or element not in at.network.elements:
        f.nothing_through(fuse, ledger)
        return NO_SHARE
    worst = (min if least else max)(faults, key=lambda fault: abs(fault.through(element)))
    others = [one for one in fuses if one is not fuse]
    return _in_turn(fuse, others, worst, _piece(run, side, at, ledger), at, ledger)


def standing(run: t.Run, ledger: Ledger) -> Mapping[t.Fuse, str]:
    """The fuses of `clearing`, those in the run first, and with them its own that are larger than one before it."""
    found = clearing(run, ledger)
    side = found[next(iter(found))] if found else START
    return {**{fuse: found.get(fuse, side) for fuse in ledger.get(run, "fuses")}, **found}


def through_fuse(fuse: t.Fuse, run: t.Run, ledger: Ledger) -> float:
    """A through a fuse in a dead short at the end of a run that is far from where its current comes in."""
    fault, at = _far_short(run, standing(run, ledger).get(fuse, START), ledger)
    element = f.element_of(fuse, ledger)
    if fault is None or element not in at.network.elements:
        return f.nothing_through(fuse, ledger)
    return abs(fault.through(element))


def through_cable(run: t.Run, ledger: Ledger) -> float:
    """A through a run's own cable in a dead short at its far end, the most where it is fed from both."""
    most = 0.0
    for side in (side for side in SIDES if feedings(run, side, ledger)):
        fault, at = _far_short(run, side, ledger)
        if fault is not None:
            most = max(most, abs(fault.through(_piece(run, side, at, ledger))))
    return most


def _far_short(run: t.Run, side: str, ledger: Ledger) -> tuple[Fault | None, f.Corner]:
    at = f.corner(ledger)
    return f.fault_of_run(run, far_of(side), at), at


def _corner(fuse: t.Fuse, run: t.Run, ledger: Ledger, least: bool) -> f.Corner:
    _, before, after, _ = f.fuse_place(fuse, ledger)
    return f.least_corner((*f.nodes_of(run), before, after), ledger) if least else f.corner(ledger)


def _in_turn(
    fuse: t.Fuse, others: Iterable[t.Fuse], fault: Fault, cable: str, at: f.Corner, ledger: Ledger
) -> Share:
    """The fuses of a fault opened one after another until this one's turn has come, or nothing flows through it any more."""
    elements = {one: f.element_of(one, ledger) for one in (fuse, *others)}
    shut = {one: name for one, name in elements.items() if name in at.network.elements}
    opened, left = frozenset[str](), dict.fromkeys(shut, 1.0)
    amps, carried = abs(fault.through(shut[fuse])), list[tuple[float, float]]()
    if amps < NOTHING:
        return NO_SHARE
    while True:
        whole = {one: _opens(one, abs(fault.through(name)), ledger) for one, name in shut.items()}
        first = min(shut, key=lambda one: (left[one] * whole[one], one is not fuse))
        if whole[first] == inf:
            first = fuse
        passes = left[first] * whole[first]
        carried.append((abs(fault.through(cable)), passes))
        if first is fuse:
            return Share(amps, tuple(carried))
        opened |= {shut.pop(first)}
        fault = at.opened(opened).fault(fault.a, fault.b)
        now = abs(fault.through(shut[fuse]))
        if now < NOTHING:
            return Share(amps, tuple(carried))
        amps = now
        left = {one: part - passes / whole[one] for one, part in left.items() if one is not first}


def _opens(fuse: t.Fuse, amps: float, ledger: Ledger) -> float:
    seconds: float = ledger.get(fuse, "opens-by", amps) if amps >= NOTHING else inf
    return seconds


def _far_node(run: t.Run, side: str, fuses: Mapping[t.Fuse, str], ledger: Ledger) -> str:
    """The far end; of a link with a fuse at each end just ahead of the other one, which the far source's current passes."""
    own = ledger.get(run, "fuses")
    last = (own[-1] if side == START else own[0]) if own else None
    if last is not None and fuses.get(last, side) != side:
        _, before, after, _ = f.fuse_place(last, ledger)
        return before if side == START else after
    return node_of(point_at(run, far_of(side)))


def _piece(run: t.Run, side: str, at: f.Corner, ledger: Ledger) -> str:
    """The element of the run's cable at one of its ends. Raises Missing where the cable is not known."""
    key = run_key(run)
    last = 0 if side == START else 2 * len(ledger.get(run, "fuses"))
    for name in (key, f"{key}/{last}"):
        if name in at.network.elements:
            return name
    raise Missing(*r.unknowns(run, ledger))


def _beside(run: t.Run, held: Mapping[t.Fuse, str], ledger: Ledger) -> dict[t.Fuse, str]:
    """Fuses of a second way from a source that is known by one way only: without them current would be missing."""
    found: dict[t.Fuse, str] = {}
    for side in dict.fromkeys(held.values()):
        known = [fuse for fuse, by in held.items() if by == side]
        if any(fuse.run is run or _is_own_way(fuse, run, ledger) for fuse in known):
            continue
        at = f.least_corner(f.nodes_of(run), ledger)
        fault = f.fault_of_run(run, far_of(side), at)
        if fault is None:
            continue
        cable = abs(fault.through(_piece(run, side, at, ledger)))
        if sum(_through(fuse, fault, at, ledger) for fuse in known) < cable * (1 - UNTOLD) - NOTHING:
            every = ledger.index("every fuse", lambda: _every_fuse(ledger.installation))
            found |= {one: side for one in every if _through(one, fault, at, ledger) >= UNTOLD * cable}
    return found


def _every_fuse(installation: t.Installation) -> list[t.Fuse]:
    in_runs = [each for each in installation.fuses_of.values() if not isinstance(each, t.Unknown)]
    in_ways = [each for each in installation.fuse_of_way.values() if isinstance(each, t.Fuse)]
    return [*(fuse for fuses in in_runs for fuse in fuses), *in_ways]


def _is_own_way(fuse: t.Fuse, run: t.Run, ledger: Ledger) -> bool:
    return fuse.way is not None and fuse.way is ledger.get(run, "way")


def _through(fuse: t.Fuse, fault: Fault, at: f.Corner, ledger: Ledger) -> float:
    element = f.element_of(fuse, ledger)
    return abs(fault.through(element)) if element in at.network.elements else 0.0
