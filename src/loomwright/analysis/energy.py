"""A bank of batteries through the hours: what sources give, loads take, charging loses, and what is left.

Currents are in A and charges in Ah, all at the bank. Losses in cables are left out, and voltages are taken as constant.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from math import expm1
from typing import NamedTuple

from loomwright.record import Record, made, replace

FULL = 1.0
NEARLY = 0.99
"""From here a bank counts as full: the rest trickles in without end."""
MINUTES = 5.0
"""A step, where none is asked for."""
SAME = 1e-9
"""Two states of charge that are no further apart count as one."""


class Bank(Record):
    """House batteries as one. `capacity_ah` at the `rated_hours` rate; `charge_amps` they take in bulk; `absorbing_hours` the
    time constant with which the current falls once they are nearly full: they take no more than what is missing over it.
    `efficiency` is the share of a charge that comes out again, `exponent` Peukert's, `keeps` what a day's standing leaves,
    `reserve` what must be left as a share."""

    capacity_ah: float
    charge_amps: float
    absorbing_hours: float
    efficiency: float = 1.0
    exponent: float = 1.0
    rated_hours: float = 20.0
    keeps: float = 1.0
    reserve: float = 0.0

    def takes(self, state: float, hours: float) -> float:
        """The charging current in A that it takes on average over some hours from a state of charge from 0 to 1."""
        falling = -expm1(-hours / self.absorbing_hours) / hours
        return min(self.charge_amps, max(0.0, FULL - state) * self.capacity_ah * falling)

    def drain(self, amps: float) -> float:
        """The current in A that a discharge costs it: more than flows above the rate that it is rated at, by Peukert's law.

        Below that rate the law promises more than the capacity; that is not counted on.
        """
        rate = amps * self.rated_hours / self.capacity_ah
        return float(amps * max(1.0, rate) ** (self.exponent - 1.0))


def peukert_hours(capacity_ah: float, rated_hours: float, exponent: float, amps: float) -> float:
    """Hours that a steady current empties a battery in: t = H (C / (I H))^k, C being its capacity at the H-hour rate."""
    return float(rated_hours * (capacity_ah / (amps * rated_hours)) ** exponent)


def autonomy_ah(daily_wh: float, days: float, depth: float, volts: float, cold: float = 1.0) -> float:
    """The capacity for so many days with nothing coming in, to a depth of discharge from 0 to 1, with a multiplier for cold (as in
    IEEE 1013, in principle)."""
    return daily_wh * days / depth * cold / volts


class Source(Record):
    """What can charge the bank: A that it could give at an hour of the run, no more than `most` together with those of its `group`
    (a charger that takes both the engine's current and the sun's)."""

    name: str
    amps: Callable[[float], float]
    group: str = ""
    most: float = float("inf")


class Spell(Record):
    """A mode's stretch of the day: how long, and what each load takes on average, A. `by_hour` are those of them that change
    meanwhile: A at an hour of the run."""

    name: str
    hours: float
    loads: Mapping[str, float]
    by_hour: Mapping[str, Callable[[float], float]] = made(factory=dict)

    def drawn(self, hour: float) -> Mapping[str, float]:
        """What each load takes at an hour of the run, A."""
        if not self.by_hour:
            return self.loads
        return {**self.loads, **{name: amps(hour) for name, amps in self.by_hour.items()}}


class Course(Record):
    """What came of it. `hours` and `state` (0 to 1) go together, `given` and `taken` are Ah by source and load; `lost` Ah went
    in charging, fast discharge and standing, and `unserved` Ah were asked of an empty bank."""

    hours: tuple[float, ...]
    state: tuple[float, ...]
    given: Mapping[str, float]
    taken: Mapping[str, float]
    lost: float
    unserved: float
    lowest: float = 0.0
    lowest_at: float = 0.0


class Step(NamedTuple):
    """One step: its end and length in hours, what sources could give and loads ask, A; which share of the one was taken and of the
    other served; the state that it leaves, and what was lost and unserved in it, Ah."""

    ends: float
    hours: float
    offers: Mapping[str, float]
    loads: Mapping[str, float]
    taken: float
    served: float
    state: float
    lost: float
    unserved: float


def simulate(
    bank: Bank,
    spells: Sequence[Spell],
    sources: Sequence[Source],
    days: float,
    start: float = FULL,
    minutes: float = MINUTES,
) -> Course:
    """The bank over days of the same spells, in equal steps; sources are asked for the middle of each.

    Loads are served first from what comes in, the bank takes what it can of the rest. Raises ValueError for spells without length.
    """
    hours, states = [0.0], [start]
    given = {source.name: 0.0 for source in sources}
    taken = {name: 0.0 for spell in spells for name in spell.loads}
    lost = unserved = 0.0
    for step in _walk(bank, spells, sources, days, start, minutes):
        lost, unserved = lost + step.lost, unserved + step.unserved
        for name, amps in step.offers.items():
            given[name] += amps * step.taken * step.hours
        for name, amps in step.loads.items():
            taken[name] += amps * step.served * step.hours
        hours.append(step.ends)
        states.append(step.state)
    least = min(range(len(states)), key=states.__getitem__)
    return Course(tuple(hours), tuple(states), given, taken, lost, unserved, states[least], hours[least])


def _walk(
    bank: Bank, spells: Sequence[Spell], sources: Sequence[Source], days: float, state: float, minutes: float
) -> Iterator[Step]:
    length = sum(spell.hours for spell in spells)
    if length <= 0.0:
        raise ValueError("the spells of a day must have some length")
    for at, hours, spell in _steps(spells, length, days, minutes / 60):
        loads, offers = spell.drawn(at + hours / 2), _offers(sources, at + hours / 2)
        asked, offered = sum(loads.values()), sum(offers.values())
        share = min(1.0, (asked + bank.takes(state, hours)) / offered) if offered else 0.0
        state, lost, short = _next(bank, state, offered * share, asked, hours)
        served = (asked - short) / asked if asked else 0.0
        yield Step(at + hours, hours, offers, loads, share, served, state, lost, short * hours)


def _next(bank: Bank, state: float, inflow: float, asked: float, step: float) -> tuple[float, float, float]:
    """The state after a step, Ah lost in it, and the A that an empty bank left unserved."""
    stood = state * (1.0 - bank.keeps ** (step / 24)) * bank.capacity_ah
    if inflow >= asked:
        stored = (inflow - asked) * bank.efficiency
        after = state + (stored * step - stood) / bank.capacity_ah
        over = max(0.0, after - FULL) * bank.capacity_ah
        return after - over / bank.capacity_ah, (inflow - asked - stored) * step + stood + over, 0.0
    out = asked - inflow
    drained, here = bank.drain(out) * step, state * bank.capacity_ah - stood
    part = 1.0 if drained <= here else max(0.0, here / drained)
    return (
        (here - drained * part) / bank.capacity_ah,
        stood + (drained - out * step) * part,
        out * (1.0 - part),
    )


def _offers(sources: Sequence[Source], hour: float) -> dict[str, float]:
    """What each source could give at an hour, each group held to its most."""
    offers = {source.name: max(0.0, source.amps(hour)) for source in sources}
    for group in {source.group for source in sources if source.group}:
        fellows = [source for source in sources if source.group == group]
        whole = sum(offers[source.name] for source in fellows)
        most = min(source.most for source in fellows)
        if whole > most:
            for source in fellows:
                offers[source.name] *= most / whole
    return offers


def _steps(
    spells: Sequence[Spell], length: float, days: float, step: float
) -> Iterator[tuple[float, float, Spell]]:
    """Hour, length in hours and spell of each step; a spell's last step ends with it."""
    day, end = 0, days * length
    while day * length < end - 1e-9:
        start = day * length
        for spell in spells:
            count = max(1, round(spell.hours / step)) if spell.hours > 0 else 0
            for index in range(count):
                each = spell.hours / count
                at = start + index * each
                if at >= end - 1e-9:
                    return
                yield at, each, spell
            start += spell.hours
        day += 1


def hours_until(
    bank: Bank, spells: Sequence[Spell], sources: Sequence[Source], start: float, goal: float, days: int
) -> float | None:
    """The hours in which the bank first comes to `goal`, upward or downward from `start`; None within so many days.

    The search ends early where a day leaves the bank as it found it: all days are alike, so sources and loads must repeat with them.
    """
    if start == goal:
        return 0.0
    up, length = goal > start, sum(spell.hours for spell in spells)
    morning, next_day = start, length
    for step in _walk(bank, spells, sources, days, start, MINUTES):
        if step.state >= goal if up else step.state <= goal:
            return step.ends
        if step.ends >= next_day - 1e-9:
            if abs(step.state - morning) < SAME:
                return None
            morning, next_day = step.state, next_day + length
    return None


def unpaid(course: Course, bank: Bank) -> float:
    """What the account of a course is out by, Ah: 0 where charge is conserved."""
    stored = (course.state[-1] - course.state[0]) * bank.capacity_ah
    return sum(course.given.values()) - sum(course.taken.values()) - course.lost - stored


def without(sources: Sequence[Source], names: frozenset[str]) -> list[Source]:
    """The sources with some of them silent."""
    return [replace(source, amps=lambda _: 0.0) if source.name in names else source for source in sources]
