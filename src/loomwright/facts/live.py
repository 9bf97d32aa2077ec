"""What is live where: the largest fuse (or none) behind which a battery's current gets to a place on the positive side.

Shared by facts of ends, of joints and of earths; no rule reads it. A fuse that nobody has looked for counts as none and is kept
as a doubt: the true limit can only be lower.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import inf

from loomwright.facts.registry import Ledger
from loomwright.facts.wiring import END, START, feedings, graph
from loomwright.model.graph import Feeding
from loomwright.model.things import Battery, End, Fuse, Joint, Run, Splice, Supply, Unknown
from loomwright.record import Record

Fuses = tuple[Fuse, ...] | Unknown


class Limit(Record):
    """The largest rating in A that lets a source's current get to a place (`inf`: nothing in the way), and what is in doubt.

    `fuse` is the one that sets it; none where it is the maker's own, of which only the rating is known.
    """

    amps: float
    doubts: tuple[Unknown, ...] = ()
    fuse: Fuse | None = None

    def behind(self, fuses: Fuses) -> Limit:
        """The limit behind some more fuses."""
        if isinstance(fuses, Unknown):
            return Limit(self.amps, (*self.doubts, fuses), self.fuse)
        least = min(fuses, key=lambda fuse: fuse.rating.quantity.si, default=None)
        if least is None or least.rating.quantity.si >= self.amps:
            return self
        return Limit(least.rating.quantity.si, self.doubts, least)

    @property
    def unfused(self) -> bool:
        return self.amps == inf

    def order(self) -> tuple[float, bool]:
        """Sorts the least limited and least doubtful first."""
        return -self.amps, bool(self.doubts)


def freest(limits: Iterable[Limit]) -> Limit | None:
    """The limit that lets most through; of two alike the one with less doubt. None when there is none."""
    return min(limits, key=Limit.order, default=None)


def limit_of(feeding: Feeding) -> Limit:
    """What gets to the end of a source's way. A point of the vehicle's own wiring is fused by its maker at its rating."""
    device = feeding.source.device
    own = device.rated if isinstance(device, Supply) else None
    rated = inf if own is None or isinstance(own, Unknown) else own.quantity.si
    return Limit(rated, feeding.unsure).behind(feeding.fuses)


def stands(feeding: Feeding) -> bool:
    """Whether a source is one that fuses stand against: a battery, or the vehicle's own wiring."""
    return isinstance(feeding.source.device, (Battery, Supply))


def limit_at_end(end: End, ledger: Ledger) -> Limit | None:
    """The limit at one end of a positive run; None where no battery's current gets to it."""
    fuses = ledger.installation.fuses_of[end.run]
    if end.side == START:
        return _limit_between(end.run, (), fuses, ledger)
    if end.side == END or isinstance(fuses, Unknown) or not isinstance(end.point, Fuse):
        return _limit_between(end.run, fuses, (), ledger)
    passed = fuses.index(end.point) + (end.side == "fuse-out")
    return _limit_between(end.run, fuses[:passed], fuses[passed:], ledger)


def limit_at_joint(joint: Joint, ledger: Ledger) -> Limit | None:
    """The limit at a join in mid-run."""
    fuses = ledger.installation.fuses_of[joint.run]
    if isinstance(fuses, Unknown):
        return _limit_between(joint.run, fuses, fuses, ledger)
    here = joint.at.quantity.si
    before = tuple(
        fuse for fuse in fuses if isinstance(fuse.from_start_m, float) and fuse.from_start_m <= here
    )
    return _limit_between(joint.run, before, fuses[len(before) :], ledger)


def limit_at_splice(splice: Splice, ledger: Ledger) -> Limit | None:
    first = ledger.installation.terminals_of[splice][0]
    return freest(limit_of(feeding) for feeding in graph(ledger).feeds(first) if stands(feeding))


def limits_along(run: Run, ledger: Ledger) -> Iterator[tuple[str, Limit]]:
    """For each source by name the limit in each piece of a positive run between its ends and its fuses."""
    fuses = ledger.installation.fuses_of[run]
    cuts: list[tuple[Fuses, Fuses]]
    if isinstance(fuses, Unknown):
        cuts = [((), fuses), (fuses, ())]
    else:
        cuts = [(fuses[:index], fuses[index:]) for index in range(len(fuses) + 1)]
    for before, after in cuts:
        yield from _from_both_sides(run, before, after, ledger)


def _limit_between(run: Run, before: Fuses, after: Fuses, ledger: Ledger) -> Limit | None:
    """The limit at a place of a run with some fuses before it (towards the run's start) and some after it."""
    return freest(limit for _, limit in _from_both_sides(run, before, after, ledger))


def _from_both_sides(run: Run, before: Fuses, after: Fuses, ledger: Ledger) -> Iterator[tuple[str, Limit]]:
    for side, fuses in ((START, before), (END, after)):
        for feeding in feedings(run, side, ledger):
            if stands(feeding):
                yield feeding.source.name, limit_of(feeding).behind(fuses)
