"""Facts of a run as something to be protected: what feeds a fault in it, and which fuse stops that."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from math import inf

from loomwright.facts.attribute import gather
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.facts.wiring import END, SIDES, START, feedings, lets_through, point_at, smallest, way_at
from loomwright.model import things as t
from loomwright.model.graph import Feeding
from loomwright.record import Record
from loomwright.syntax.tree import Measure

CLOSE = 1e-9
"""Currents nearer than this share of themselves are equal."""

JOINS = (t.Hub, t.Busbar, t.Contact, t.Relay, t.Plug, t.Splice)
"""Devices that only hand current on: what is fused behind them is fused."""


# ---------------------------------------------------------------- the fuses in it


@fact("run", "fuses", "things fuse", "The fuses in the run, from its start.")
def fuses(run: t.Run, ledger: Ledger) -> tuple[t.Fuse, ...]:
    own: tuple[t.Fuse, ...] = ledger.known(ledger.installation.fuses_of[run])
    return own


@fact("run", "way", "thing way", "The way of a hub that the run is wired to.")
def way(run: t.Run, ledger: Ledger) -> t.Way | None:
    at_start = way_at(ledger.installation, run.start)
    return at_start or way_at(ledger.installation, run.end)


@fact("run", "fuse", "thing fuse", "The first fuse in the run; without one, that of the way it is wired to.")
def fuse(run: t.Run, ledger: Ledger) -> t.Fuse | None:
    own = ledger.get(run, "fuses")
    if own:
        first: t.Fuse = own[0]
        return first
    hub_way = ledger.get(run, "way")
    found: t.Fuse | None = ledger.get(hub_way, "fuse") if hub_way else None
    return found


# ---------------------------------------------------------------- what feeds a fault in it


@fact("run", "sources-at-start", "things device", "The sources that can overload the run by its start.")
def sources_at_start(run: t.Run, ledger: Ledger) -> tuple[t.Device, ...]:
    return tuple(each.source.device for each in exposures(run, START, ledger, fused=True))


@fact("run", "sources-at-end", "things device", "The sources that can overload the run by its end.")
def sources_at_end(run: t.Run, ledger: Ledger) -> tuple[t.Device, ...]:
    return tuple(each.source.device for each in exposures(run, END, ledger, fused=True))


def exposures(run: t.Run, side: str, ledger: Ledger, fused: bool = False) -> tuple[Feeding, ...]:
    """The sources that a fuse of the run's own must stand against at one end.

    A battery is one unless a fuse before the run already holds it to what the run carries; any other source is one only
    if it can deliver more than that. With `fused` a battery counts whatever stands before it. Raises Missing
    where it depends on something unknown whether there is any.
    """
    return _all_that(feedings(run, side, ledger), lambda each: _endangers(each, run, ledger, fused))


def unfused(run: t.Run, side: str, ledger: Ledger) -> tuple[Feeding, ...]:
    """Those of `exposures` that reach the end without passing any fuse."""
    live = [each for each in feedings(run, side, ledger) if not each.fuses]
    return _all_that(live, lambda each: _endangers(each, run, ledger, False))


def _all_that(given: Iterable[Feeding], asks: Callable[[Feeding], bool]) -> tuple[Feeding, ...]:
    """Those that a question is true of; unknown only where none is certain and one is unknown."""
    found: list[Feeding] = []
    reasons: list[t.Unknown] = []
    for feeding in given:
        try:
            if asks(feeding):
                found.append(feeding)
        except Missing as missing:
            reasons.extend(missing.reasons)
    if reasons and not found:
        raise Missing(*reasons)
    return tuple(found)


def _endangers(feeding: Feeding, run: t.Run, ledger: Ledger, fused: bool) -> bool:
    """Whether a source can overload a run. Fuses on its way that nobody has looked for could still prevent it."""
    battery = isinstance(feeding.source.device, t.Battery)
    if battery and fused:
        return True
    amps = lets_through(feeding)
    if not battery:
        amps = min(amps, can_deliver(feeding.source.device, ledger))
    if amps < inf and amps <= ledger.get(run, "carries") * (1 + CLOSE):
        return False
    if feeding.unsure:
        raise Missing(*feeding.unsure)
    return True


def can_deliver(source: t.Device, ledger: Ledger) -> float:
    """The most that a source other than a battery puts out, A."""
    amps: float = ledger.known(_rated(source), f"{source.name} delivers").quantity.si
    in_series = isinstance(source, t.Solar) and source.arrangement == "series"
    return amps if in_series else amps * source.count


def _rated(source: t.Device) -> Measure | t.Unknown:
    if isinstance(source, (t.Alternator, t.Supply)):
        return source.rated
    if isinstance(source, t.Charger):
        return source.output_amps
    assert isinstance(source, t.Solar)
    return source.short


@fact(
    "run",
    "leaves-source",
    "yes-no",
    "Whether an end lies on a source that a fuse must stand against, with none between.",
)
def leaves_source(run: t.Run, ledger: Ledger) -> bool:
    return ledger.get(run, "source-point") is not None


@fact(
    "run",
    "source-point",
    "thing point",
    "The end that lies on a source with no fuse between; of two the first.",
)
def source_point(run: t.Run, ledger: Ledger) -> t.Point | None:
    live = gather(lambda side: side if unfused(run, side, ledger) else None, SIDES)
    return next((point_at(run, side) for side in live if side), None)


@fact(
    "run",
    "linked",
    "yes-no",
    "Whether it joins sources: both ends are reached by ones that could overload it, fused on the way or not.",
)
def linked(run: t.Run, ledger: Ledger) -> bool:
    reasons: list[t.Unknown] = []
    for side in SIDES:
        try:
            if not exposures(run, side, ledger, fused=True):
                return False
        except Missing as missing:
            reasons.extend(missing.reasons)
    if reasons:
        raise Missing(*reasons)
    return True


def exposed_sides(run: t.Run, ledger: Ledger) -> list[str]:
    """The ends at which a fuse of the run's own must stand."""
    exposed = gather(lambda side: side if exposures(run, side, ledger) else None, SIDES)
    return [side for side in exposed if side]


# ---------------------------------------------------------------- how it is served


@fact(
    "run",
    "bare-ends",
    "things point",
    "The ends at which a source must be fused against and no fuse of the run's own stands near: of a link each end counts.",
)
def bare_ends(run: t.Run, ledger: Ledger) -> tuple[t.Point, ...]:
    sides = exposed_sides(run, ledger)
    own = ledger.get(run, "fuses") if sides else ()
    if own:
        far = END if serves(own[0], ledger) == START else START
        sides = [far] if len(sides) > len(own) and not _near(own[0], far, ledger) else []
    return tuple(point_at(run, side) for side in sides if not mended(run, side, ledger))


def _near(fuse: t.Fuse, side: str, ledger: Ledger) -> bool:
    """Whether a fuse in a run sits as near to one of its ends as a fuse must to a source."""
    reach = to_end(fuse, side, ledger)
    if reach <= ledger.limit("fuse-distance"):
        return True
    return reach <= ledger.limit("fuse-distance-sheathed") and sheathed(fuse, side, ledger)


@fact(
    "run",
    "open-end",
    "thing point",
    "Of the bare ends of a link the one that is told last: a fuse there is forgotten first.",
)
def open_end(run: t.Run, ledger: Ledger) -> t.Point | None:
    bare = ledger.get(run, "bare-ends")
    if len(bare) < 2:
        return bare[0] if bare else None
    first = ledger.get(run, "source-point")
    last: t.Point = next(point for point in reversed(bare) if point is not first)
    return last


def serves(fuse: t.Fuse, ledger: Ledger) -> str | None:
    """The end (`start` or `end`) whose source a fuse in a run stands against; None for one that is only extra."""
    run = fuse.run
    if run is None:
        return None
    sides, own = exposed_sides(run, ledger), ledger.get(run, "fuses")
    if len(sides) == 2 and len(own) == 1:
        return min(SIDES, key=lambda side: to_end(fuse, side, ledger))
    nearest = {START: own[0], END: own[-1]}
    return next((side for side in sides if nearest[side] is fuse), None)


def to_end(fuse: t.Fuse, side: str, ledger: Ledger) -> float:
    """Metres of cable from a fuse to an end of its run."""
    from_start: float = ledger.known(fuse.from_start_m)
    assert fuse.run is not None
    return from_start if side == START else max(0.0, ledger.get(fuse.run, "length") - from_start)


def sheathed(fuse: t.Fuse, side: str, ledger: Ledger) -> bool:
    """Whether the cable between a fuse and an end of its run lies in a sheath or sleeve all the way."""
    run = fuse.run
    assert run is not None
    at: float = ledger.known(fuse.from_start_m)
    low, high = (0.0, at) if side == START else (at, inf)
    return in_sheath(run, low, high, ledger)


def in_sheath(run: t.Run, low: float, high: float, ledger: Ledger) -> bool:
    """Whether a run lies in a sheath or sleeve between two distances along it, m."""
    if run.multicore or (not isinstance(run.cable, t.Unknown) and run.cable.twin):
        return True
    stretches = ledger.known(ledger.installation.stretches_of[run])
    sleeves = [s.sleeve for s in stretches if s.stop_m > low and s.start_m < high and s.stop_m > s.start_m]
    if any(sleeve is None for sleeve in sleeves):
        return False
    return all(ledger.known(sleeve) for sleeve in sleeves)


def live_before(run: t.Run, side: str, ledger: Ledger) -> tuple[t.Run, ...]:
    """The runs without a fuse between an end of a run and the nearest unfused source, the maker's own left out."""
    paths = [tuple(part for part in each.runs if not part.maker) for each in unfused(run, side, ledger)]
    return min(paths, key=len, default=())


@fact(
    "run",
    "live-length",
    "length",
    "How much cable with no fuse lies between the source and the far end of the run.",
)
def live_length(run: t.Run, ledger: Ledger) -> float:
    before: tuple[t.Run, ...] = ()
    if ledger.get(run, "leaves-source"):
        side = START if ledger.get(run, "source-point") is run.start else END
        before = live_before(run, side, ledger)
    return float(sum(ledger.get(part, "length") for part in (run, *before)))


@fact(
    "run",
    "short-link",
    "yes-no",
    "Whether it is a link from a source to where the fuses are, no longer than a fuse may be from the source.",
    source="33 CFR 183.455(b)",
)
def short_link(run: t.Run, ledger: Ledger) -> bool:
    far = run.end if ledger.get(run, "source-point") is run.start else run.start
    if not isinstance(far, t.Terminal) or not isinstance(far.device, JOINS):
        return False
    near: bool = ledger.get(run, "live-length") <= ledger.limit("fuse-distance")
    return near


@fact(
    "run",
    "mended-before",
    "yes-no",
    "Whether a feed nearer to the source lacks its fuse too, and the fuse that it needs will protect this one as well.",
)
def mended_before(run: t.Run, ledger: Ledger) -> bool:
    point = ledger.get(run, "source-point")
    return point is not None and mended(run, START if point is run.start else END, ledger)


def mended(run: t.Run, side: str, ledger: Ledger) -> bool:
    """Whether a feed between an end and its source lacks a fuse that will protect this run too: told of that one only."""
    before = live_before(run, side, ledger)
    bare = [part for part in before if not ledger.get(part, "exempt") and not ledger.get(part, "short-link")]
    return any(ledger.get(part, "carries") <= ledger.get(run, "carries") for part in bare)


# ---------------------------------------------------------------- the fuse that holds


class Held(Record):
    """What flows through a run for good at the most, A, by which fuse, and by which of its ends it comes in."""

    amps: float
    fuse: t.Fuse | None
    side: str


@fact(
    "run",
    "guard",
    "thing fuse",
    "The fuse that limits what flows through the run for good: its own, or one before it.",
)
def guard(run: t.Run, ledger: Ledger) -> t.Fuse | None:
    return held(run, ledger).fuse


@fact("run", "let-through", "current", "What the fuses, or the source itself, let through the run for good.")
def let_through(run: t.Run, ledger: Ledger) -> float | None:
    amps = held(run, ledger).amps
    return amps if 0.0 < amps < inf else None


@fact(
    "run",
    "fed-at-end",
    "yes-no",
    "Whether what its guard lets through comes in by its end, so that its start is the far end.",
)
def fed_at_end(run: t.Run, ledger: Ledger) -> bool:
    return held(run, ledger).side == END


@fact(
    "run",
    "own-guard",
    "yes-no",
    "Whether the fuse that limits it sits in the run or in the way that it is wired to.",
)
def own_guard(run: t.Run, ledger: Ledger) -> bool:
    found = ledger.get(run, "guard")
    if found is None:
        return False
    return found.run is run or (found.way is not None and found.way is ledger.get(run, "way"))


def held(run: t.Run, ledger: Ledger) -> Held:
    """The greatest current that can flow through a run for good.

    0 A where no source is reached, without end where one is that nothing limits. Of a run that is fed from both ends the end
    that lets through more counts.
    """
    own = ledger.get(run, "fuses")
    worst = Held(0.0, None, START)
    for side in SIDES:
        first = (own[0] if side == START else own[-1]) if own else None
        for feeding in feedings(run, side, ledger):
            worst = max(worst, _held(feeding, first, side, ledger), key=lambda each: each.amps)
    if worst.amps == 0.0 and own:
        return Held(own[0].rating.quantity.si, own[0], START)
    return worst


def holding(run: t.Run, ledger: Ledger) -> dict[t.Fuse, str]:
    """The fuses that must open to end a fault in the run, one for each way of a source into it, with the end it comes in by.

    Raises Missing as `held` does.
    """
    found: dict[t.Fuse, str] = {}
    for side, first in _first_fuses(run, ledger).items():
        for feeding in feedings(run, side, ledger):
            fuse = _held(feeding, first, side, ledger).fuse
            if fuse is not None:
                found.setdefault(fuse, side)
    return found


def _first_fuses(run: t.Run, ledger: Ledger) -> dict[str, t.Fuse | None]:
    """The run's own fuse that current meets first from each end; an only one of a link ends what comes in by the nearer end."""
    own = ledger.get(run, "fuses")
    if not own:
        return dict.fromkeys(SIDES)
    if len(own) == 1 and all(feedings(run, side, ledger) for side in SIDES):
        nearer = min(SIDES, key=lambda side: to_end(own[0], side, ledger))
        return {side: own[0] if side == nearer else None for side in SIDES}
    return {START: own[0], END: own[-1]}


def _held(feeding: Feeding, first: t.Fuse | None, side: str, ledger: Ledger) -> Held:
    """What one source gets through, and by which fuse: the run's own first one or the smallest before the run."""
    amps, fuse = lets_through(feeding), smallest(feeding)
    if first is not None and first.rating.quantity.si <= amps:
        amps, fuse = first.rating.quantity.si, first
    elif feeding.unsure:
        raise Missing(*feeding.unsure)
    device = feeding.source.device
    if not isinstance(device, t.Battery):
        delivers = can_deliver(device, ledger)
        if delivers < amps:
            return Held(delivers, None, side)
    return Held(amps, fuse, side)
