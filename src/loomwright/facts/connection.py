"""Facts of connections: the ends of runs, the joins in mid-run and the splices, as far as they are alike.

Each is made somehow (crimped, soldered, twisted) and covered somehow (sealed, taped, bare), lies in a place, and carries a
current. A connection is judged once: what one clause says of several ends that are alike is said of the first.
"""

from __future__ import annotations

from loomwright.facts.attribute import attributes, gather
from loomwright.facts.live import Limit, limit_at_end, limit_at_joint, limit_at_splice
from loomwright.facts.place import enclosed, exposed, shaken
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.model.things import (
    Earthpoint,
    End,
    Fuse,
    Inverter,
    Joint,
    Load,
    Place,
    Run,
    Solar,
    Splice,
    Terminal,
    Unknown,
)
from loomwright.syntax.hints import listed

Connection = End | Joint | Splice


@fact("connection", "made", "word crimped|soldered|twisted", "How it is made.")
def made(connection: Connection, ledger: Ledger) -> str:
    if isinstance(connection, End) and is_unseen(connection):
        raise Missing(not_seen(connection))
    how: str = ledger.known(connection.made)
    return how


@fact("connection", "cover", "word sealed|taped|bare", "What covers it; an earth point's own sealing counts.")
def cover(connection: Connection, ledger: Ledger) -> str:
    if isinstance(connection, End):
        if isinstance(connection.point, Earthpoint) and connection.point.sealed:
            return "sealed"
        if is_unseen(connection):
            raise Missing(not_seen(connection))
    what: str = ledger.known(connection.cover)
    return what


def is_unseen(end: End) -> bool:
    return all(isinstance(value, Unknown) for value in (end.fitting, end.made, end.cover, end.held))


def not_seen(end: End) -> Unknown:
    """One thing to look at, where all four are unknown: one for all ends that one clause, or none, speaks of."""
    alone = end.span.text.split(maxsplit=1)[0] == "end"
    spot = spoken(end) if alone else f"the ends of {end.run.name}"
    return Unknown(f"{spot}: the fitting, how it is made and covered, whether it is tight", end.span)


@fact("connection", "place", "thing place", "Where it is.")
def place(connection: Connection, ledger: Ledger) -> Place:
    if isinstance(connection, Splice):
        return connection.place
    if isinstance(connection, Joint):
        return _place_along(connection.run, connection.at.quantity.si, ledger)
    point = connection.point
    if isinstance(point, Terminal):
        return point.device.place
    if isinstance(point, Earthpoint):
        return point.place
    if isinstance(point, Fuse):
        if point.place is not None:
            return point.place
        return _place_along(connection.run, ledger.known(point.from_start_m), ledger)
    path = ledger.known(ledger.installation.stretches_of[connection.run])
    found: Place = path[0 if connection.side == "start" else -1].place
    return found


def _place_along(run: Run, metres: float | None, ledger: Ledger) -> Place:
    """The place that a run passes at a distance from its start."""
    path = ledger.known(ledger.installation.stretches_of[run])
    here = (stretch.place for stretch in path if stretch.length and stretch.stop_m >= (metres or 0.0))
    found: Place = next(here, path[-1].place)
    return found


@fact("connection", "positive", "yes-no", "Whether it is on the positive side.")
def positive(connection: Connection, ledger: Ledger) -> bool:
    return any(run.role != "earth" for run in _runs(connection, ledger))


def _runs(connection: Connection, ledger: Ledger) -> tuple[Run, ...]:
    if not isinstance(connection, Splice):
        return (connection.run,)
    installation = ledger.installation
    ends = (end for t in installation.terminals_of[connection] for end in installation.landing_on.get(t, ()))
    return tuple(dict.fromkeys(end.run for end in ends))


@fact("connection", "ahead-of-fuse", "yes-no", "Whether a battery feeds it with no fuse between.")
def ahead_of_fuse(connection: Connection, ledger: Ledger) -> bool:
    limit = _limit(connection, ledger)
    if limit is None or not limit.unfused:
        return False
    if limit.doubts:
        raise Missing(*limit.doubts)
    return True


def _limit(connection: Connection, ledger: Ledger) -> Limit | None:
    if not any(run.role != "earth" for run in _runs(connection, ledger)):
        return None
    if isinstance(connection, Splice):
        return limit_at_splice(connection, ledger)
    return (
        limit_at_end(connection, ledger)
        if isinstance(connection, End)
        else limit_at_joint(connection, ledger)
    )


@fact(
    "connection",
    "long-current",
    "current",
    "What it must pass for long: its load's current, or what the fuse or source lets through, out and back, or what the cable carries.",
)
def long_current(connection: Connection, ledger: Ledger) -> float:
    return float(
        max(gather(lambda run: ledger.get(run, "long-current"), _runs(connection, ledger)), default=0.0)
    )


@fact(
    "run",
    "long-current",
    "current",
    "What it must pass for long: its load's current, or what the fuse or source lets through, out and back, or what the cable carries.",
)
def long_current_of_run(run: Run, ledger: Ledger) -> float:
    if run.circuit is not None and isinstance(run.circuit.load, Load):
        return float(ledger.get(run.circuit.load, "nominal-current"))
    let_through = _let_back(run, ledger) if run.role == "earth" else ledger.get(run, "let-through")
    return float(ledger.get(run, "carries") if let_through is None else let_through)


SINGLE_LOOP = (Load, Inverter, Solar)
"""Devices whose negative gives back what their feed takes in, or the other way round."""


def _let_back(earth: Run, ledger: Ledger) -> float | None:
    """What the one feed of a device lets through comes back by its earth; None where that is not known, or it has more feeds."""
    lands = ledger.installation.landing_on
    for point in (earth.start, earth.end):
        if isinstance(point, Terminal) and isinstance(point.device, SINGLE_LOOP) and point.label == "neg":
            feeds = [
                end.run
                for at, ends in lands.items()
                if isinstance(at, Terminal) and at.device is point.device
                for end in ends
                if end.run.role == "feed"
            ]
            entry = ledger.entry(feeds[0], "let-through") if len(feeds) == 1 else None
            if entry is not None and not entry.missing and entry.value is not None:
                return float(entry.value)
    return None


@fact(
    "connection",
    "judged",
    "yes-no",
    "Whether its workmanship is the fitter's, and not said already of another end that is alike.",
)
def judged(connection: Connection, ledger: Ledger) -> bool:
    if isinstance(connection, Splice):
        return not connection.maker
    if connection.run.maker:
        return False
    if isinstance(connection, Joint):
        return True
    if _left_to_others(connection):
        return False
    return not any(_alike(connection, other, ledger) for other in _before(connection, ledger))


def _left_to_others(end: End) -> bool:
    """Whether an end is no matter of its own: on a splice, which is judged, or on a fuse holder of which nothing is said."""
    if isinstance(end.point, Fuse):
        return is_unseen(end)
    return isinstance(end.point, Terminal) and isinstance(end.point.device, Splice)


def _before(end: End, ledger: Ledger) -> list[End]:
    """The ends of the same statement that come before it and are judged themselves."""
    ends = _of_statement(end, ledger)
    return [each for each in ends[: ends.index(end)] if not _left_to_others(each)]


def _of_statement(end: End, ledger: Ledger) -> list[End]:
    installation, run = ledger.installation, end.run
    legs = installation.legs_of[run.circuit] if run.circuit else (run,)
    return [each for leg in legs for each in installation.ends_of[leg]]


def _alike(end: End, other: End, ledger: Ledger) -> bool:
    """Whether one clause says the same of two ends, and they are in the same kind of place."""
    return end.span == other.span and _trait(end, ledger) == _trait(other, ledger)


def _trait(end: End, ledger: Ledger) -> tuple[object, ...]:
    where = None
    try:
        where = place(end, ledger)
        traits = exposed(where), shaken(where), enclosed(where)
    except Missing:
        return (where,)
    limit = _limit(end, ledger) if end.run.circuit is None else None
    return *traits, limit is not None and limit.unfused


def spoken(connection: Connection) -> str:
    """What a sentence calls it: the end of main at crank.pos, the fuse end of main, the joint of main, the splice tee."""
    if isinstance(connection, Splice):
        return f"the splice {connection.name}"
    if isinstance(connection, Joint):
        return f"the joint of {connection.name} at {connection.at.text}"
    if isinstance(connection.point, Fuse):
        return f"the end of {connection.name} at its fuse"
    return f"the end of {connection.name} at {connection.point.name}"


@fact("connection", "spoken", "text", "What a sentence calls it, and all that is judged with it.")
def spoken_with(connection: Connection, ledger: Ledger) -> str:
    ends = _judged_together(connection, ledger)
    if len(ends) < 2:
        return spoken(connection)
    names = list(dict.fromkeys("its fuse" if isinstance(e.point, Fuse) else e.point.name for e in ends))
    whole = len(ends) == sum(end.span == ends[0].span for end in _of_statement(ends[0], ledger))
    return f"the ends of {connection.name}" + ("" if whole else f" at {listed(names, 'and')}")


@fact(
    "connection",
    "verb",
    "text",
    "What a sentence goes on with: is, or are where several ends are judged as one.",
)
def verb(connection: Connection, ledger: Ledger) -> str:
    return "are" if len(_judged_together(connection, ledger)) > 1 else "is"


def _judged_together(connection: Connection, ledger: Ledger) -> list[End]:
    """The ends that one finding is about: those of one clause that are alike."""
    if not isinstance(connection, End) or _left_to_others(connection):
        return []
    ends = [end for end in _of_statement(connection, ledger) if not _left_to_others(end)]
    return [end for end in ends if end is connection or _alike(connection, end, ledger)]


attributes(
    "connection",
    (
        "seen",
        "yes-no",
        "Whether anything is known of how it is terminated.",
        lambda each: not (isinstance(each, End) and is_unseen(each)),
    ),
)
attributes(
    "joint",
    ("run", "thing run", "The run that it is in.", lambda joint: joint.run),
    ("at", "length", "How far along the run it is.", lambda joint: joint.at),
)
