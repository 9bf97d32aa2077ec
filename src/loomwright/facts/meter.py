"""What one reading of a meter may be, by what the spec predicts there.

The limits are those of the commissioning tests: a drop at most a share above the computed one, a current within a share of the
schedule, a resistance at most a share above the computed one, a voltage near the predicted one.
"""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.analysis.network import Network
from loomwright.facts.electrics.solve import State
from loomwright.facts.electrics.wiring import Groups, Link, node_of, run_key, wiring
from loomwright.facts.registry import Ledger, Missing
from loomwright.model import things as t
from loomwright.quantity import show
from loomwright.record import Record
from loomwright.syntax.tree import Measure

UNITS = {"volts": "voltage", "amps": "current", "ohms": "resistance", "celsius": "temperature"}


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


def checked(reading: t.Reading, mode: t.Mode, state: State, ledger: Ledger) -> Checked:
    """A reading with what it may be; without where that can't be known."""
    of = {"volts": _volts, "amps": _amps, "ohms": _ohms, "celsius": _celsius}[reading.what]
    try:
        return of(reading, mode, state, ledger)
    except Missing as missing:
        return Checked(reading, None, missing=missing.reasons)


def _volts(reading: t.Reading, mode: t.Mode, state: State, ledger: Ledger) -> Checked:
    """A drop where wiring alone lies between the leads, otherwise a supply (E4 of the commissioning tests, T16 to T18)."""
    a, b = (node_at(point) for point in reading.of)
    if a not in state.volts or b not in state.volts:
        raise Missing(t.Unknown(f"volts from {a} to {b} in mode {mode.name}", reading.span))
    predicted = state.volts[a] - state.volts[b]
    groups = _groups(links_of(state))
    if groups.find(a) != groups.find(b):
        near = ledger.limits["reading-volts"].value
        return Checked(reading, predicted, predicted - near, predicted + near)
    # A drop that is lost in the meter's last figure is no better for being small.
    most = max(
        ledger.limits["reading-drop-share"].value * abs(predicted), abs(predicted) + step_of(reading.value)
    )
    if _is_face(a, b, links_of(state)):
        most = ledger.limits["earth-drop"].value
    return Checked(reading, predicted, -most if predicted < 0 else None, most if predicted >= 0 else None)


def links_of(state: State) -> Iterable[Link]:
    """The wiring that a mode is solved with; none where it could not be solved."""
    return state.bench.links if state.bench else ()


def _groups(links: Iterable[Link]) -> Groups:
    """What the wiring joins."""
    groups = Groups()
    for link in links:
        groups.join(link.a, link.b)
    return groups


def _is_face(a: str, b: str, links: Iterable[Link]) -> bool:
    """Whether the leads are on the two sides of an earth's metal face."""
    return any(link.name.endswith(" face") and {link.a, link.b} == {a, b} for link in links)


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
    a, b = (node_at(point) for point in reading.of)
    links = [link for link in wiring(ledger).links if link.contact is None or link.name in state.closed]
    groups, network = _groups(links), Network()
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
    if _is_face(a, b, links):
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


def node_at(point: t.Point | t.Run) -> str:
    """The node of the network that a lead of a voltmeter or an ohmmeter is on."""
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
