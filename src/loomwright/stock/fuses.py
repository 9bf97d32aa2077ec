"""The fuses and breakers that the language names: what is made, what they break, when they open."""

from __future__ import annotations

from functools import cache

from loomwright.record import Record
from loomwright.stock.cited import CUSTOM, MEMORY, Cited, CitedRange, CitedWords
from loomwright.stock.tables import Table, cite, cite_range, linear, table


class Gate(Record):
    """At this multiple of the rating a fuse opens no sooner than `min_s` and no later than `max_s` (None: no bound)."""

    multiple: float
    min_s: float | None
    max_s: float | None


class FuseKind(Record):
    """One kind of fuse. `ratings` are those to choose from, in A; `rare_ratings` are made too, but seldom.

    The rated voltage is as firm as the breaking capacity, of one scope with it; stud and hole pitch are as firm as
    the torque.
    """

    name: str
    title: str
    standard: str
    ratings: tuple[float, ...]
    rare_ratings: tuple[float, ...]
    ratings_source: str
    ratings_basis: str
    breaking_capacity_amps: Cited
    rated_volts: float
    gates: tuple[Gate, ...]
    gates_source: str
    gates_basis: str
    bolt_in: bool
    stud: str | None
    hole_pitch_mm: float | None
    torque: CitedRange | None

    @property
    def resets(self) -> bool:
        """Whether it closes again (a breaker) instead of being replaced."""
        return self.name in ("breaker", "breaker-auto", "electronic")

    def is_made(self, amps: float) -> bool:
        """Whether there is such a rating, common or rare."""
        return amps in self.ratings or amps in self.rare_ratings

    def rating_basis(self, amps: float) -> str:
        """How firm it is that a rating is made: rare ratings are from memory."""
        return MEMORY if amps in self.rare_ratings else self.ratings_basis


@cache
def kinds() -> tuple[FuseKind, ...]:
    """All kinds, in the order of the language's list."""
    return tuple(_kind(name) for name in table("fuses", "kinds"))


@cache
def kind(name: str) -> FuseKind:
    """The kind that the language calls `name`. Raises `KeyError`."""
    for known in kinds():
        if known.name == name:
            return known
    raise KeyError(f"'{name}' is no kind of fuse: {', '.join(known.name for known in kinds())}")


def next_rating_above(fuse_kind: FuseKind, amps: float) -> float | None:
    """The smallest usual rating in A that is at least `amps`; None where the kind has none."""
    return next((rating for rating in fuse_kind.ratings if rating >= amps), None)


def next_rating_below(fuse_kind: FuseKind, amps: float) -> float | None:
    """The largest usual rating in A that is at most `amps`; None where the kind has none."""
    return next((rating for rating in reversed(fuse_kind.ratings) if rating <= amps), None)


def colour(fuse_kind: FuseKind, amps: float) -> CitedWords | None:
    """The colour of the body, where the kind has colours and the rating one."""
    name = _alike(fuse_kind.name)
    colours = table("fuses", "colours").get(name)
    if colours is None:
        return None
    words = next((word for rating, word in colours["rows"] if rating == amps), None)
    basis = MEMORY if amps in colours.get("from_memory", ()) else colours["basis"]
    return None if words is None else CitedWords((words,), f"{colours['source']}, {amps:g} A", basis)


def typical_ohm(fuse_kind: FuseKind, amps: float) -> Cited:
    """Typical resistance in ohm of a fuse of that rating: its voltage drop at the rating over the rating."""
    drop = table("fuses", "drop")
    name = _alike(fuse_kind.name)
    if name not in drop:
        return Cited(drop["other"] / amps, f"{drop['other']:g} V at the rating", CUSTOM)
    return cite(linear(drop[name], amps) / amps, drop, f"{amps:g} A")


def temperature_factor(celsius: float) -> Cited:
    """Multiplier on a fuse's rating for the temperature round it (1 at 23 degC; end values beyond the ends)."""
    temperature = table("fuses", "temperature")
    return cite(linear(temperature["rows"], celsius), temperature, f"{celsius:g} degC")


def continuous_share(where: str = "usual") -> Cited:
    """Share of its rating that a fuse may carry for hours: "usual", "cautious" or "engine-bay"."""
    share = table("fuses", "continuous_share")
    return cite(share[where], share, where)


def _kind(name: str) -> FuseKind:
    known: Table = table("fuses", "kinds")[name]
    ratings: Table = table("fuses", "ratings")[name]
    gates: Table = table("fuses", "gates")[_alike(name)]
    mounting: Table = table("fuses", "mounting").get(name, {})
    return FuseKind(
        name=name,
        title=known["title"],
        standard=known["standard"],
        ratings=tuple(float(value) for value in ratings["values"]),
        rare_ratings=tuple(float(value) for value in ratings.get("rare", ())),
        ratings_source=ratings["source"],
        ratings_basis=ratings["basis"],
        breaking_capacity_amps=cite(known["breaks"], known),
        rated_volts=float(known["volts"]),
        gates=tuple(
            Gate(float(multiple), _bound(low), _bound(high)) for multiple, low, high in gates["rows"]
        ),
        gates_source=gates["source"],
        gates_basis=gates["basis"],
        bolt_in=known["bolt_in"],
        stud=mounting.get("stud"),
        hole_pitch_mm=mounting.get("pitch"),
        torque=cite_range(mounting["torque"], mounting) if mounting else None,
    )


def _bound(seconds: float) -> float | None:
    return None if seconds < 0 else float(seconds)


def _alike(name: str) -> str:
    """The kind whose gates, colours and drop a kind shares: mini fuses have those of blade fuses."""
    shared: str = table("fuses", "alike").get(name, name)
    return shared
