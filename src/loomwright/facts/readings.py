"""A block of readings judged: each against its limit, and together for where an excess resistance sits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from loomwright.analysis.network import NoOperatingPoint
from loomwright.facts.attribute import attributes
from loomwright.facts.electrics.solve import State, solved
from loomwright.facts.electrics.warmth import warmth_of
from loomwright.facts.electrics.wiring import Link
from loomwright.facts.meter import Checked, checked, links_of, node_at, step_of
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.model import things as t
from loomwright.quantity import show
from loomwright.record import Record

if TYPE_CHECKING:
    from loomwright.analysis.readings import Diagnosis, Suspect

METHOD = "readings against the solved network, by sensitivity and solving again with the element raised"


class Place(Record):
    """A suspected group in the words of the trade: `pieces` are the places to look at, one or more for each element."""

    elements: tuple[str, ...]
    pieces: tuple[str, ...]
    ohms: float
    error: float
    drop: float  # what it costs at the current there, in volts


class Verdict(Record):
    """A block of readings judged. `diagnosis` is None where the network or the volts to judge by are missing."""

    rows: tuple[Checked, ...]
    diagnosis: Diagnosis | None = None
    places: tuple[Place, ...] = ()  # the most probable, or those that explain the readings together
    next_steps: tuple[str, ...] = ()


def judged(readings: t.Readings, ledger: Ledger) -> Verdict:
    """A block of readings, judged once. Raises Missing where its mode can't be solved."""
    made: Verdict = ledger.index(f"readings {id(readings)}", lambda: _judge(readings, ledger))
    return made


def _judge(readings: t.Readings, ledger: Ledger) -> Verdict:
    state = solved(readings.mode, ledger)
    if state.missing or state.solution is None:
        raise Missing(*state.missing)
    rows = tuple(checked(reading, readings.mode, state, ledger) for reading in readings.readings)
    volts, steps = _probed(readings, state)
    if not volts:
        return Verdict(rows)
    network, reference = state.solution.network, state.solution.reference
    from loomwright.analysis.readings import locate  # few specs hold readings: no other check waits for it

    diagnosis = locate(network, volts, reference, steps)
    if diagnosis.nothing_wrong or not (diagnosis.suspects or diagnosis.together):
        return Verdict(rows, diagnosis)
    blamed = diagnosis.together if diagnosis.doubtful else diagnosis.suspects[:1]
    places = tuple(
        sorted((_place(suspect, state, ledger) for suspect in blamed), key=lambda place: -place.drop)
    )
    return Verdict(rows, diagnosis, places, tuple(_next_steps(diagnosis, places, ledger)))


def _must_be_known(readings: t.Readings, ledger: Ledger) -> None:
    """Raise Missing where what was predicted is partly a guess: readings that agree with a guess prove nothing.

    That is where a reading could not be predicted, a cable or its warmth is unknown, or a battery's own resistance.
    """
    state = solved(readings.mode, ledger)
    runs = {id(link.of): link.of for link in links_of(state) if isinstance(link.of, t.Run)}.values()
    unknown = [reason for row in judged(readings, ledger).rows for reason in row.missing]
    unknown += [reason for reasons in state.unknown_links.values() for reason in reasons or ()]
    unknown += [reason for run in runs for reason in warmth_of(run, ledger).unknown]
    batteries = (device for device in ledger.installation.devices if isinstance(device, t.Battery))
    unknown += [battery.internal for battery in batteries if isinstance(battery.internal, t.Unknown)]
    if unknown:
        raise Missing(*unknown)


# ---------------------------------------------------------------- where an excess resistance sits


def _probed(
    readings: t.Readings, state: State
) -> tuple[dict[str | tuple[str, str], float], dict[str | tuple[str, str], float]]:
    """The volts that were read between nodes of the solved network, and the meter's step for each: two counts, as the last figure
    of a hand-held meter is good to one more or less."""
    volts: dict[str | tuple[str, str], float] = {}
    steps: dict[str | tuple[str, str], float] = {}
    reference = state.solution.reference if state.solution else ""
    for reading in readings.readings:
        if reading.what != "volts":
            continue
        red, black = (node_at(point) for point in reading.of)
        if red in state.volts and black in state.volts and red != black:
            where = red if black == reference else (red, black)
            volts[where] = reading.value.quantity.si
            steps[where] = 2 * step_of(reading.value)
    return volts, steps


def _place(suspect: Suspect, state: State, ledger: Ledger) -> Place:
    links = {link.name: link for link in links_of(state)}
    pieces = [piece for name in suspect.elements for piece in _pieces(name, links.get(name), ledger)]
    amps = _amps_with(suspect, state)
    return Place(
        suspect.elements,
        tuple(dict.fromkeys(pieces)),
        suspect.extra_ohms,
        suspect.extra_ohms_error,
        suspect.extra_ohms * amps,
    )


def _amps_with(suspect: Suspect, state: State) -> float:
    """What flows there with the excess in place: constant-power loads draw more for it."""
    assert state.solution is not None
    design, name = state.solution.network, suspect.elements[0]
    more = {name: design.elements[name].ohms + suspect.extra_ohms}
    try:
        return abs(design.with_values(ohms=more).solve(state.solution.reference).amps[name])
    except NoOperatingPoint:
        return abs(state.amps[name])


FITTINGS = {"lug": "lug", "ferrule": "ferrule", "blade-terminal": "blade terminal", "plug": "plug"}


def _pieces(name: str, link: Link | None, ledger: Ledger) -> Iterator[str]:
    """Where a hand finds an element: the joints of a run from its start to its end, the contacts of a switch, a battery."""
    of = link.of if link else None
    if isinstance(of, t.Run):
        yield from _run_pieces(of, ledger)
    elif isinstance(of, t.Way):
        yield f"the fuse of {of.name} and its contacts"
    elif isinstance(of, t.Earthpoint):
        yield f"the metal face under {of.name}"
    elif isinstance(of, t.Structure):
        yield f"the bond of {of.name}"
    elif isinstance(of, t.Plug):
        yield f"the pole {name.removeprefix(of.name).strip()} of {of.name}"
    elif isinstance(of, (t.Contact, t.Relay)):
        yield f"the contacts of {of.name}"
    elif isinstance(of, t.Alternator):
        yield f"the case of {of.name} and its strap"
    else:
        yield f"{name.removesuffix(' tail')} itself"


def _run_pieces(run: t.Run, ledger: Ledger) -> Iterator[str]:
    installation = ledger.installation
    fitted, joints = installation.fuses_of[run], installation.joints_of[run]
    ends = installation.ends_of[run]
    yield f"the {_fitting(ends[0])} of {run.name} on {run.start.name}"
    for fuse in () if isinstance(fitted, t.Unknown) else fitted:
        yield f"the {show(fuse.rating.quantity.si, 'A')} fuse of {run.name} with the crimp on each side of it"
    if joints and not isinstance(joints, t.Unknown):
        yield f"the joint in {run.name}"
    yield f"the cable of {run.name}"
    yield f"the {_fitting(ends[-1])} of {run.name} on {run.end.name}"


def _fitting(end: t.End) -> str:
    return FITTINGS.get(end.fitting, "joint") if isinstance(end.fitting, str) else "joint"


def _next_steps(diagnosis: Diagnosis, places: Iterable[Place], ledger: Ledger) -> Iterator[str]:
    """What to do with the meter next: the reading that parts the suspects, else the meter across each joint."""
    if diagnosis.next_reading:
        yield f"Read the volts at {diagnosis.next_reading} next, in the same mode: it tells these apart."
    for place in places:
        yield (
            f"With the current on, put the meter across each joint in turn, from metal to copper: a sound one shows"
            f" {ledger.limits['joint-drop'].text} at most, the bad one about {figure(place.drop, 'voltage')}."
        )
        break


# ---------------------------------------------------------------- as facts

attributes(
    "readings",
    ("mode", "thing mode", "The mode that they were taken in.", lambda readings: readings.mode),
    ("taken", "date", "When they were taken.", lambda readings: readings.taken),
    ("by", "text", "Who took them.", lambda readings: readings.by or None),
)


@fact(
    "readings",
    "out-of-limit",
    "text",
    "The readings that are beyond their limits, each with what was predicted; none where all are within.",
    source="the limits of the commissioning tests",
)
def out_of_limit(readings: t.Readings, ledger: Ledger) -> str | None:
    found = [row for row in judged(readings, ledger).rows if row.is_within is False]
    if not found:
        _must_be_known(readings, ledger)
    return "; ".join(told(row) for row in found) or None


def told(row: Checked) -> str:
    """A reading in words: `house.pos to dcdc.out shows 0.31 V, predicted 80 mV, at most 0.1 V`."""
    said = f"{row.of} shows {row.reading.value.text}"
    if row.predicted is not None:
        said += f", predicted {row.shown(row.predicted)}"
    return f"{said}, {row.limit}" if row.limit else said


@fact(
    "readings",
    "excess-drop",
    "voltage",
    "What the excess resistance that explains the readings costs at its current; none where nothing is wrong or nothing explains them.",
    source=METHOD,
)
def excess_drop(readings: t.Readings, ledger: Ledger) -> float | None:
    _must_be_known(readings, ledger)
    return max((place.drop for place in judged(readings, ledger).places), default=None)


@fact("readings", "excess", "text", "In words how much excess resistance there is, and where.", source=METHOD)
def excess(readings: t.Readings, ledger: Ledger) -> str | None:
    _must_be_known(readings, ledger)
    said = [
        f"{in_words(place)} has {figure(place.ohms, 'resistance')} (± {figure(place.error, 'resistance', 1)}) too much"
        for place in judged(readings, ledger).places
    ]
    return ", and ".join(said) or None


def in_words(place: Place) -> str:
    """The elements of a place: `main`, or `main or house-iso`."""
    return " or ".join(dict.fromkeys(name.removesuffix(" tail") for name in place.elements))


def figure(value: float, dimension: str, digits: int = 2) -> str:
    """In print with no more figures than a meter gives."""
    return show(float(f"{value:.{digits}g}"), dimension)


@fact("readings", "excess-pieces", "text", "The places where a hand may find it.", source=METHOD)
def excess_pieces(readings: t.Readings, ledger: Ledger) -> str | None:
    pieces = [piece for place in judged(readings, ledger).places for piece in place.pieces]
    return "; ".join(pieces) or None


@fact("readings", "next-step", "text", "What to do with the meter next.", source="common practice, no source")
def next_step(readings: t.Readings, ledger: Ledger) -> str | None:
    return " ".join(judged(readings, ledger).next_steps) or None
