"""Facts of what would mend a finding: the fuse to fit and where, the cable to fit."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from loomwright.facts.attribute import gather
from loomwright.facts.electrics.resistances import segments
from loomwright.facts.fuse import is_main, near_made
from loomwright.facts.guard import live_before, serves
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.facts.run import adiabatic_k, size_of
from loomwright.facts.wiring import END
from loomwright.model import things as t
from loomwright.stock import ampacity, conductors
from loomwright.stock import fuses as stock
from loomwright.stock.conductors import ConductorSize

BLADE_TO = 40.0
"""A, from where a bolt-in fuse is suggested: the smallest strip fuse that is common."""

NEAR = 0.15
"""m from its source where a fuse is suggested: what a holder and a lug leave room for (common practice, no source)."""

BOLT_IN = ("strip", "class-t", "breaker")
"""The bolt-in kinds that are suggested, in this order, where a blade fuse won't do."""

PLUG_IN = ("blade", "mini")

CLOSE = 1e-9


# ---------------------------------------------------------------- fuses


@fact(
    "run",
    "fuse-to-fit",
    "current",
    "The largest rating made that is no more than the run carries, and clears a large fault before the cable is harmed.",
)
def fuse_to_fit(run: t.Run, ledger: Ledger) -> float | None:
    found = next(_fuses_for(run, ledger), None)
    return found[1] if found else None


@fact(
    "run",
    "fuse-clause",
    "text",
    "The clause of a fuse that protects the run from a source at one of its ends, and breaks a fault there; none where none made does.",
    takes=("thing point",),
    source="IEC 60364-4-43 clause 434.5.1 (from memory), and common practice for plug-in fuses",
)
def fuse_clause(run: t.Run, ledger: Ledger, point: t.Point) -> str | None:
    fault = ledger.get(run, "start-fault" if point is run.start else "end-fault")
    most = ledger.get(run, "fuse-to-fit")
    found = next(
        (
            (kind, amps)
            for kind, amps in _fuses_for(run, ledger)
            if amps <= most
            and stock.kind(kind).breaking_capacity_amps.value >= fault
            and (kind not in PLUG_IN or _suits_plug_in(run, ledger))
        ),
        None,
    )
    if found is None:
        return None
    at = min(NEAR, ledger.limit("fuse-distance"), ledger.get(run, "length") / 2)
    start = "" if point is run.start else f" from {point.name}"
    return f"fuse {found[0]} {found[1]:g} A at {at:.3g} m{start}"


def _fuses_for(run: t.Run, ledger: Ledger) -> Iterator[tuple[str, float]]:
    """Kinds and ratings, the likeliest first: the kind that it has, or blade for small cables and strip for the rest."""
    carries = ledger.get(run, "carries")
    own = ledger.get(run, "guard") if ledger.get(run, "own-guard") else None
    likely = own.kind if own else "blade" if carries < BLADE_TO else "strip"
    let_through = _withstood(run, ledger)
    for kind in dict.fromkeys((likely, "blade", *BOLT_IN)):
        most = min(carries * (1 + CLOSE), (let_through / _clearing(kind)) ** 0.5)
        rating = stock.next_rating_below(stock.kind(kind), most)
        if rating:
            yield kind, rating


def _suits_plug_in(run: t.Run, ledger: Ledger) -> bool:
    """Whether a blade fuse may stand in it: not in a main feed, nor where it would carry much for long."""
    amps = gather(lambda mode: ledger.get(run, "current", mode), ledger.installation.modes)
    return not is_main(run, ledger) and max(amps, default=0.0) <= ledger.limit("blade-feeder-current")


def _withstood(run: t.Run, ledger: Ledger) -> float:
    """The I²t in A² s that the cable bears once: (k S)²."""
    k = adiabatic_k(run, ledger)
    return float((k.value * ledger.get(run, "area") * 1e6) ** 2)


def _clearing(kind: str) -> float:
    """The I²t that a fuse of 1 A of a kind lets through at most when it clears a large fault: that of its last gate."""
    last = stock.kind(kind).gates[-1]
    return (last.max_s or 0.0) * last.multiple**2


@fact(
    "fuse",
    "nearer",
    "length",
    "Where it would be written to sit near enough to the source that it stands against.",
)
def nearer(fuse: t.Fuse, ledger: Ledger) -> float | None:
    side = serves(fuse, ledger)
    run, at = fuse.run, fuse.at
    if side is None or run is None or at is None:
        return None
    spent = float(sum(ledger.get(part, "length") for part in live_before(run, side, ledger)))
    near = min(NEAR, ledger.limit("fuse-distance") - spent)
    if near < 0.0:
        return None
    length, from_start = ledger.get(run, "length"), ledger.known(fuse.from_start_m)
    measured_from_end = abs(from_start - at.quantity.si) > CLOSE
    return near if measured_from_end is (side == END) else float(length - near)


@fact(
    "fuse",
    "least-rating",
    "current",
    "The smallest rating made of its kind, or else of a bolt-in kind, that bears a lasting current.",
    takes=("current",),
    source="ISO 8820-1 (from memory): 80 % of the rating",
)
def least_rating(fuse: t.Fuse, ledger: Ledger, amps: float) -> float | None:
    ratings = (_bearing(kind, amps, ledger) for kind in (fuse.kind, "strip", "strip-large"))
    return next((rating for rating in ratings if rating), None)


@fact(
    "fuse",
    "bearing-rating",
    "current",
    "The smallest rating of its kind that bears a lasting current, if the cables that it protects carry it.",
    takes=("current",),
    source="ISO 8820-1 (from memory): 80 % of the rating",
)
def bearing_rating(fuse: t.Fuse, ledger: Ledger, amps: float) -> float | None:
    rating = _bearing(fuse.kind, amps, ledger)
    carried = gather(lambda run: ledger.get(run, "carries"), ledger.get(fuse, "protects"))
    return rating if rating and all(rating <= carries for carries in carried) else None


def _bearing(kind: str, amps: float, ledger: Ledger) -> float | None:
    wanted = amps / ledger.limit("continuous-fuse-share") * (1 - CLOSE)
    return stock.next_rating_above(stock.kind(kind), wanted)


@fact(
    "fuse",
    "smaller-made",
    "current",
    "The usual rating next below its own, where that bears what it carries, starts included, and the fuses behind it still open first.",
    source="ISO 8820-1 (from memory): 80 % of the rating",
)
def smaller_made(fuse: t.Fuse, ledger: Ledger) -> float | None:
    """Never the rating above: a smaller fuse protects whatever the larger one did."""
    ledger.known(fuse.rating, "rated")
    rating, modes = near_made(fuse)[0], ledger.installation.modes
    if rating is None or not modes:
        return None
    lasting = max(gather(lambda mode: ledger.get(fuse, "lasting-current", mode), modes))
    starts = gather(lambda load: ledger.get(load, "surge") or 0.0, ledger.get(fuse, "loads"))
    borne = lasting <= rating * ledger.limit("continuous-fuse-share")
    started = ledger.get(fuse, "greatest-load") + max(starts, default=0.0) <= rating
    return rating if borne and started and _parts_from_those_behind(fuse, rating, ledger) else None


def _parts_from_those_behind(fuse: t.Fuse, amps: float, ledger: Ledger) -> bool:
    """Whether of a rating in A it would still be larger by the ratio than every fuse that it stands before."""
    installation = ledger.installation
    runs = [ledger.known(installation.fuses_of[run]) for run in installation.runs if run.role != "earth"]
    ways = [each for each in installation.fuse_of_way.values() if isinstance(each, t.Fuse)]
    others = [each for each in (*(one for own in runs for one in own), *ways) if each is not fuse]
    behind = [each for each in others if ledger.get(each, "upstream") is fuse]
    return all(
        amps
        >= ledger.known(each.rating, "rated").quantity.si
        * ledger.limit("selectivity" if each.kind == fuse.kind else "selectivity-mixed")
        for each in behind
    )


# ---------------------------------------------------------------- cables


@fact(
    "run",
    "carrying-size",
    "text",
    "The thinnest size of the same trade that carries a current where this run lies; none where none does.",
    takes=("current",),
    source="33 CFR 183.425 Table 5",
)
def carrying_size(run: t.Run, ledger: Ledger, amps: float) -> str | None:
    names = ("class", "hottest", "bundled", "metal-factor")
    celsius, ambient, together, metal = (ledger.get(run, name) for name in names)

    def is_enough(size: ConductorSize) -> bool:
        able = ampacity.carries(size, celsius, ambient, max(1, together)).amps
        return bool(able * metal >= amps * (1 - CLOSE))

    return _thinnest(run, ledger, is_enough)


@fact(
    "run",
    "sturdy-size",
    "text",
    "The thinnest size of the same trade with at least so much copper.",
    takes=("area",),
)
def sturdy_size(run: t.Run, ledger: Ledger, area: float) -> str | None:
    return _thinnest(run, ledger, lambda size: size.area_mm2 >= area * 1e6 * (1 - CLOSE))


@fact(
    "load",
    "feed-size",
    "text",
    "The thinnest size of its circuit with which it loses no more than a share of the system's volts in a mode.",
    takes=("ratio", "thing mode"),
    source="drop of the copper in proportion to length over area; contacts and fuses stay as they are",
)
def feed_size(load: t.Load, ledger: Ledger, share: float, mode: t.Mode) -> str | None:
    feed = ledger.get(load, "feed")
    if feed is None:
        return None
    legs = ledger.installation.legs_of[feed.circuit] if feed.circuit else (feed,)
    own = sum(gather(lambda leg: _lost_in_copper(leg, ledger, mode), legs))
    volts = ledger.installation.fitout.system.quantity.si
    spare = share * volts - (ledger.get(load, "lost-volts", mode) - own)
    if spare <= 0.0 or own <= 0.0:
        return None
    wanted = ledger.get(feed, "area") * own / spare
    sturdy: str | None = ledger.get(feed, "sturdy-size", wanted)
    return sturdy


def _lost_in_copper(run: t.Run, ledger: Ledger, mode: t.Mode) -> float:
    """Volts lost in the cable itself, as warm as the mode makes it."""
    lost = ledger.get(run, "drop", mode)
    fixed = sum(part.contacts + part.fuse for part in segments(run, ledger))
    return float(lost - fixed * ledger.get(run, "current", mode))


def _thinnest(run: t.Run, ledger: Ledger, is_enough: Callable[[ConductorSize], bool]) -> str | None:
    """The first size that is enough, in the way the run's own is named; auto cable goes on as B&S."""
    kind = size_of(run, ledger).kind
    sizes = (*conductors.sizes(kind), *(conductors.sizes("bs") if kind == "auto" else ()))
    try:
        return next((size.label for size in sizes if is_enough(size)), None)
    except ampacity.UnknownClass as low:
        raise Missing(t.Unknown(f"what {run.name} carries: {low}", run.place_of("cable"))) from low
