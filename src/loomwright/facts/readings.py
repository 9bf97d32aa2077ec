"""What the meter showed against what the spec says: each reading with its limit, and where an excess resistance sits.

The limits are those of the commissioning tests: a drop at most a share above the computed one, a current within a share of the
schedule, a resistance at most a share above the computed one, a voltage near the predicted one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from loomwright.analysis.network import Network, NoOperatingPoint
from loomwright.facts.attribute import attributes
from loomwright.facts.electrics.solve import State, solved
from loomwright.facts.electrics.warmth import warmth_of
from loomwright.facts.electrics.wiring import Groups, Link, node_of, run_key, wiring
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.model import things as t
from loomwright.quantity import show
from loomwright.record import Record
from loomwright.syntax.tree import Measure

if TYPE_CHECKING:
    from loomwright.analysis.readings import Diagnosis, Suspect

UNITS = {"volts": "voltage", "amps": "current", "ohms": "resistance", "celsius": "temperature"}
METHOD = "readings against the solved network, by sensitivity and solving again with the element raised"


class Checked(Record):
    """One reading: `low` and `high` in SI are what it may be at least and at most, None where that has no limit.

    `predicted` is None where the spec can't say; the reading is then not judged.
    """

    reading: t.Reading
    predicted: float | None
    low: float | None = None
    high: float | None = None
    missing: tuple[t.Unknown, ...] = ()

    @property
    def measured(self) -> float:
        return self.reading.value.quantity.si

    @property
    def is_within(self) -> bool | None:
        if self.low is None and self.high is None:
            return None
        slack = 1e-9 + 1e-9 * abs(self.measured)
        return (self.low is None or self.measured >= self.low - slack) and (
            self.high is None or self.measured <= self.high + slack
        )

    @property
    def of(self) -> str:
        return " to ".join(point.name for point in self.reading.of)

    @property
    def limit(self) -> str:
        """The limit in words: `at most 0.3 V`."""
        low, high = (None if edge is None else self.shown(edge) for edge in (self.low, self.high))
        if low is None:
            return "" if high is None else f"at most {high}"
        return f"at least {low}" if high is None else f"{low} to {high}"

    def shown(self, value: float) -> str:
        """A figure beside the measured one in print: with as many places."""
        step = step_of(self.reading.value)
        return show(round(value / step) * step, UNITS[self.reading.what])


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
    rows = tuple(_checked(reading, readings.mode, state, ledger) for reading in readings.readings)
    volts, steps = _probed(readings, state)
    if not volts:
        return Verdict(rows)
    network, reference = state.solution.network, state.solution.reference
    from loomwright.analysis.readings import (
        locate,  # most specs hold no readings, and no check should wait for it
    )

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
    runs = {id(link.of): link.of for link in _links(state) if isinstance(link.of, t.Run)}.values()
    unknown = [reason for row in judged(readings, ledger).rows for reason in row.missing]
    unknown += [reason for reasons in state.unknown_links.values() for reason in reasons or ()]
    unknown += [reason for run in runs for reason in warmth_of(run, ledger).unknown]
    batteries = (device for device in ledger.installation.devices if isinstance(device, t.Battery))
    unknown += [battery.internal for battery in batteries if isinstance(battery.internal, t.Unknown)]
    if unknown:
        raise Missing(*unknown)


# ---------------------------------------------------------------- what each reading may be


def _checked(reading: t.Reading, mode: t.Mode, state: State, ledger: Ledger) -> Checked:
    of = {"volts": _volts, "amps": _amps, "ohms": _ohms, "celsius": _celsius}[reading.what]
    try:
        return of(reading, mode, state, ledger)
    except Missing as missing:
        return Checked(reading, None, missing=missing.reasons)


def _volts(reading: t.Reading, mode: t.Mode, state: State, ledger: Ledger) -> Checked:
    """A drop where wiring alone lies between the leads, otherwise a supply (E4 of the commissioning tests, T16 to T18)."""
    a, b = (_node(point) for point in reading.of)
    if a not in state.volts or b not in state.volts:
        raise Missing(t.Unknown(f"volts from {a} to {b} in mode {mode.name}", reading.span))
    predicted = state.volts[a] - state.volts[b]
    if not _joined(a, b, state):
        near = ledger.limits["reading-volts"].value
        return Checked(reading, predicted, predicted - near, predicted + near)
    # A drop that is lost in the meter's last figure is no better for being small.
    most = max(
        ledger.limits["reading-drop-share"].value * abs(predicted), abs(predicted) + step_of(reading.value)
    )
    if any(link.name.endswith(" face") and {link.a, link.b} == {a, b} for link in _links(state)):
        most = ledger.limits["earth-drop"].value
    return Checked(reading, predicted, -most if predicted < 0 else None, most if predicted >= 0 else None)


def _links(state: State) -> Iterable[Link]:
    return state.bench.links if state.bench else ()


def _joined(a: str, b: str, state: State) -> bool:
    groups = Groups()
    for link in _links(state):
        groups.join(link.a, link.b)
    return groups.find(a) == groups.find(b)


def _amps(reading: t.Reading, _mode: t.Mode, state: State, ledger: Ledger) -> Checked:
    (run,) = reading.of
    assert isinstance(run, t.Run)
    if state.unknown_links.get(run_key(run)):
        raise Missing(t.Unknown(f"amps of {run.name}", reading.span))
    predicted = state.amps.get(run_key(run), 0.0)
    near = max(ledger.limits["reading-amps-share"].value * abs(predicted), step_of(reading.value))
    return Checked(reading, predicted, predicted - near, predicted + near)


def _ohms(reading: t.Reading, _mode: t.Mode, state: State, ledger: Ledger) -> Checked:
    """The wiring alone, as dead tests find it: batteries and loads off, contacts as in the mode, copper at 20 °C."""
    a, b = (_node(point) for point in reading.of)
    links = [link for link in wiring(ledger).links if link.contact is None or link.name in state.closed]
    groups = Groups()
    for link in links:
        groups.join(link.a, link.b)
    network = Network()
    for link in links:
        if groups.find(link.a) == groups.find(a):
            if link.unknown:
                raise Missing(*link.unknown)
            network.resistor(link.a, link.b, link.ohms, name=link.name)
    if groups.find(a) != groups.find(b) or a == b:
        raise Missing(t.Unknown(f"a way from {a} to {b}", reading.span))
    network.constant_current(b, a, 1.0)
    predicted = network.solve(b).volts[a]
    most = ledger.limits["reading-ohms-share"].value * predicted
    if any(link.name.endswith(" face") and {link.a, link.b} == {a, b} for link in links):
        most = ledger.limits["bond-resistance"].value
    return Checked(reading, predicted, None, max(most, predicted + step_of(reading.value)))


def _celsius(reading: t.Reading, mode: t.Mode, _state: State, ledger: Ledger) -> Checked:
    """The warmest conductor that lands there, and the coolest of their classes less the margin (T21)."""
    (point,) = reading.of
    ends = [end for where, ends in ledger.installation.landing_on.items() for end in ends if where is point]
    runs = list(dict.fromkeys(end.run for end in ends))
    if not runs:
        raise Missing(t.Unknown(f"a run at {point.name}", reading.span))
    predicted = max(ledger.get(run, "celsius", mode) for run in runs)
    most = min(ledger.get(run, "class") for run in runs) - ledger.limits["reading-cool"].value
    return Checked(reading, predicted, None, most)


def _node(point: t.Point | t.Run) -> str:
    assert not isinstance(point, t.Run)
    return node_of(point)


def step_of(measure: Measure) -> float:
    """One count of the meter, from the figures that were written down: `12.60 V` is good to 0.01 V."""
    number = measure.text.strip().lstrip("+-").replace("_", "")
    digits = number[: next((k for k, c in enumerate(number) if not (c.isdigit() or c == ".")), len(number))]
    places = len(digits.partition(".")[2])
    written = float(digits or 1)
    unit = abs(measure.quantity.si) / written if written else _unit(measure)
    return float(unit * 10.0**-places)


def _unit(measure: Measure) -> float:
    from loomwright.quantity import read

    return read("1", measure.quantity.unit, measure.quantity.dimension).si


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
        red, black = (_node(point) for point in reading.of)
        if red in state.volts and black in state.volts and red != black:
            where = red if black == reference else (red, black)
            volts[where] = reading.value.quantity.si
            steps[where] = 2 * step_of(reading.value)
    return volts, steps


def _place(suspect: Suspect, state: State, ledger: Ledger) -> Place:
    links = {link.name: link for link in _links(state)}
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
