"""Facts of a run's way through the vehicle: its stretches, what covers and holds it, and how near it comes to what harms it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from loomwright.facts.attribute import any_known, attributes, known_all
from loomwright.facts.live import limits_along
from loomwright.facts.place import hazards_of
from loomwright.facts.place import rough as is_rough
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.model.things import Battery, Point, Run, Stretch, Terminal, Unknown

attributes(
    "stretch",
    ("run", "thing run", "The run that it is part of.", lambda stretch: stretch.run),
    ("place", "thing place", "Where it is.", lambda stretch: stretch.place),
    ("length", "length", "How long it is; none for a hole.", lambda stretch: stretch.length),
    (
        "opening",
        "word grommet|bare|gland",
        "How the edge of the hole that it passes is guarded; none where it passes none.",
        lambda stretch: stretch.place.opening,
    ),
    (
        "sleeve",
        "word",
        "What covers the cable there; none where nothing does.",
        lambda stretch: stretch.sleeve,
    ),
    (
        "clips",
        "length",
        "How far apart its clips are; none where it has none.",
        lambda stretch: stretch.clips,
    ),
)

attributes(
    "run",
    (
        "second-leg",
        "yes-no",
        "Whether it is the return of a circuit, which lies beside its feed all the way.",
        lambda run: run.circuit is not None and run.role == "earth",
    ),
    (
        "battery-cable",
        "yes-no",
        "Whether it is a feed or an earth that is bolted to a battery.",
        lambda run: run.role != "signal" and any(map(_on_battery, (run.start, run.end))),
    ),
    ("positive", "yes-no", "Whether it is a feed or a signal.", lambda run: run.role != "earth"),
)


def _on_battery(point: Point) -> bool:
    return isinstance(point, Terminal) and isinstance(point.device, Battery)


# ---------------------------------------------------------------- a run's way as a whole


def way_of(run: Run, ledger: Ledger) -> tuple[Stretch, ...]:
    """The stretches of a run that have a length."""
    path: tuple[Stretch, ...] = ledger.known(ledger.installation.stretches_of[run])
    return tuple(stretch for stretch in path if stretch.length is not None)


@fact("run", "stretches", "things stretch", "The places that it passes, from its start.")
def stretches(run: Run, ledger: Ledger) -> tuple[Stretch, ...]:
    path: tuple[Stretch, ...] = ledger.known(ledger.installation.stretches_of[run])
    return path


@fact("run", "rough", "yes-no", "Whether any of its places is exposed, hot, or has moving parts or edges.")
def rough(run: Run, ledger: Ledger) -> bool:
    return any_known(lambda stretch: is_rough(stretch.place), way_of(run, ledger))


@fact("run", "sleeved", "yes-no", "Whether something covers it in all its places.")
def sleeved(run: Run, ledger: Ledger) -> bool:
    return all(_settled((stretch.sleeve for stretch in way_of(run, ledger)), lambda sleeve: sleeve is None))


@fact("run", "sleeve", "word", "What covers it where least does; none where something is bare.")
def sleeve(run: Run, ledger: Ledger) -> str | None:
    kinds = known_all(ledger, (stretch.sleeve for stretch in way_of(run, ledger)))
    return None if None in kinds else next(iter(kinds), None)


@fact("run", "bare-in", "words", "The places where nothing covers it.")
def bare_in(run: Run, ledger: Ledger) -> tuple[str, ...]:
    bare = (stretch.place.name for stretch in way_of(run, ledger) if ledger.known(stretch.sleeve) is None)
    return tuple(dict.fromkeys(bare))


@fact("run", "clipped", "yes-no", "Whether it is clipped in all its places.")
def clipped(run: Run, ledger: Ledger) -> bool:
    return all(_settled((stretch.clips for stretch in way_of(run, ledger)), lambda clips: clips is None))


@fact("run", "clips", "length", "The widest spacing of its clips; none where a piece has none.")
def clips(run: Run, ledger: Ledger) -> float | None:
    spacings = known_all(ledger, (stretch.clips for stretch in way_of(run, ledger)))
    return None if None in spacings else max((spacing.quantity.si for spacing in spacings), default=None)


def _settled(values: Iterable[Any], wrong: Callable[[Any], bool]) -> list[bool]:
    """For each value whether it is right; values that are not known count only when none is wrong."""
    all_values = list(values)
    if any(wrong(value) for value in all_values if not isinstance(value, Unknown)):
        return [False]
    unknown = tuple(value for value in all_values if isinstance(value, Unknown))
    if unknown:
        raise Missing(*unknown)
    return [True]


@fact(
    "run", "ahead-of-fuse", "yes-no", "Whether any piece of it is live with no fuse between it and a battery."
)
def ahead_of_fuse(run: Run, ledger: Ledger) -> bool:
    if run.role == "earth":
        return False
    unfused = [limit for _, limit in limits_along(run, ledger) if limit.unfused]
    if unfused and all(limit.doubts for limit in unfused):
        raise Missing(*unfused[0].doubts)
    return bool(unfused)


@fact("stretch", "slack", "length", "The cable left over there for movement; none where there is none.")
def slack(stretch: Stretch, ledger: Ledger) -> float | None:
    if stretch.slack is None and ledger.installation.fitout.stage == "as-found":
        what = f"the slack of {stretch.run.name} in {stretch.place.name}"
        raise Missing(Unknown(what, stretch.run.place_of("slack")))
    return None if stretch.slack is None else stretch.slack.quantity.si


# ---------------------------------------------------------------- support


@fact(
    "run",
    "support-limit",
    "length",
    "The widest spacing of supports that the limits allow it.",
    source="ISO 10133:2012 clauses 7.3 and 7.4",
)
def support_limit(run: Run, ledger: Ledger) -> float:
    name = "support-interval-battery" if ledger.get(run, "battery-cable") else "support-interval"
    return float(ledger.limit(name))


@fact(
    "run",
    "widest-gap",
    "length",
    "The longest piece of it that nothing holds: a clip's spacing, or a stretch without clips.",
)
def widest_gap(run: Run, ledger: Ledger) -> float:
    way = way_of(run, ledger)
    surely, perhaps = _gap(way, free_if_unknown=False), _gap(way, free_if_unknown=True)
    if surely < perhaps and ledger.get(run, "support-limit") >= surely:
        known_all(ledger, (stretch.clips for stretch in way))
    return surely


def _gap(way: tuple[Stretch, ...], free_if_unknown: bool) -> float:
    """The widest gap between supports, where clips that nobody has looked for are taken as absent or as there."""
    widest = hanging = 0.0
    for stretch in way:
        metres = stretch.stop_m - stretch.start_m
        free = stretch.clips is None or (free_if_unknown and isinstance(stretch.clips, Unknown))
        hanging = hanging + metres if free else 0.0
        spacing = (
            0.0
            if free or isinstance(stretch.clips, Unknown) or not stretch.clips
            else stretch.clips.quantity.si
        )
        widest = max(widest, hanging, min(spacing, metres))
    return widest


# ---------------------------------------------------------------- what it comes near to


@fact("run", "clearance", "length", "The least clearance stated, to whatever it is.")
def least_clearance(run: Run, ledger: Ledger) -> float | None:
    for clear in run.clearances:
        ledger.note(f"clearance {clear.distance.text} to {clear.hazard}", span=clear.span)
    return min((clear.distance.quantity.si for clear in run.clearances), default=None)


NEAR = {
    "wheel": ("wheel",),
    "moving": ("moving", "driveline"),
    "heat": ("heat", "exhaust"),
    "fuel": ("fuel", "brake-line"),
}
"""What a run keeps clear of, with the hazards that say that such a thing is near."""


def _register_clearance(kind: str, hazards: tuple[str, ...]) -> None:
    words = " or ".join(hazards)

    @fact(
        "run",
        f"{kind}-clearance",
        "length",
        f"The least clearance stated to {words}; none where it passes no such thing.",
    )
    def clearance(run: Run, ledger: Ledger) -> float | None:
        stated = [clear.distance for clear in run.clearances if clear.hazard in hazards]
        if stated:
            return min(distance.quantity.si for distance in stated)
        path = ledger.installation.stretches_of[run]
        if isinstance(path, Unknown):
            return None  # that the path is unknown is said once, by the rule on holes
        for stretch in path:
            near = stretch.place.stated_hazards.intersection(hazards)
            if near:
                what, where = "/".join(word for word in hazards if word in near), stretch.place.name
                raise Missing(Unknown(f"the clearance of {run.name} to {what} in {where}", stretch.span))
        for stretch in path:
            hazards_of(stretch.place)
        return None


for _kind, _hazards in NEAR.items():
    _register_clearance(_kind, _hazards)
