"""A bank of batteries through days: charge is conserved, the steps' length does not matter, and plain cases come out as by hand."""

from __future__ import annotations

from math import cos, pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.analysis.energy import Bank, Source, Spell, hours_until, simulate, unpaid, without

LITHIUM = Bank(100, 50, 0.1, efficiency=0.95, keeps=0.999, reserve=0.2)
LEAD = Bank(100, 20, 1.25, efficiency=0.85, exponent=1.25, keeps=0.998, reserve=0.5)
DAY = (
    Spell("driving", 3, {"fridge": 1.5, "radio": 0.6}),
    Spell("working", 7, {"fridge": 1.5, "pump": 7}),
    Spell("night", 14, {"fridge": 1.2, "lamps": 1.6}),
)


def sun(hour: float) -> float:
    return 8 * max(0.0, cos((hour % 24 - 7) / 12 * pi))


SOURCES = (
    Source("dcdc", lambda hour: 30.0 if hour % 24 < 3 else 0.0, "dcdc", 30.0),
    Source("dcdc solar", sun, "dcdc", 30.0),
)


@pytest.mark.parametrize("bank", [LITHIUM, LEAD])
def test_charge_is_conserved_over_ten_days(bank: Bank) -> None:
    course = simulate(bank, DAY, SOURCES, 10)
    turned = sum(course.given.values())
    assert turned > 300
    assert abs(unpaid(course, bank)) < 1e-6 * turned


@settings(max_examples=60, deadline=None)
@given(
    st.floats(10, 400), st.floats(1, 100), st.floats(0.05, 4), st.floats(0.6, 1), st.floats(1, 1.5), st.floats(0, 1),
    st.lists(st.tuples(st.floats(0.1, 12), st.floats(0, 60), st.floats(0, 60)), min_size=1, max_size=4),
)  # fmt: skip
def test_charge_is_conserved_whatever_happens(
    capacity: float, most: float, absorbing: float, efficiency: float, exponent: float, start: float,
    day: list[tuple[float, float, float]],
) -> None:  # fmt: skip
    bank = Bank(capacity, most, absorbing, efficiency, exponent, keeps=0.99)
    spells = [Spell(f"m{n}", hours, {"load": amps}) for n, (hours, amps, _) in enumerate(day)]
    ends = [sum(hours for hours, _, _ in day[: n + 1]) for n in range(len(day))]

    def amps(hour: float) -> float:
        return next((day[n][2] for n, end in enumerate(ends) if hour % ends[-1] < end), 0.0)

    course = simulate(bank, spells, [Source("s", amps)], 3, start)
    assert all(-1e-9 <= state <= 1 + 1e-9 for state in course.state)
    assert abs(unpaid(course, bank)) <= 1e-6 * (1 + sum(course.given.values()) + sum(course.taken.values()))


@pytest.mark.parametrize("bank", [LITHIUM, LEAD])
def test_steps_of_one_and_of_five_minutes_agree(bank: Bank) -> None:
    """Within 0.2 % of the capacity at each hour of ten days."""
    fine, coarse = (simulate(bank, DAY, SOURCES, 10, minutes=minutes) for minutes in (1, 5))
    for hour in range(1, 240):
        assert at(fine, hour) == pytest.approx(at(coarse, hour), abs=0.002)
    assert fine.lowest == pytest.approx(coarse.lowest, abs=0.002)


def at(course: object, hour: float) -> float:
    hours, state = course.hours, course.state  # type: ignore[attr-defined]
    return state[min(range(len(hours)), key=lambda index: abs(hours[index] - hour))]


def test_a_steady_load_empties_a_bank_at_the_hour_that_its_charge_lasts() -> None:
    bank, day = Bank(100, 50, 0.1), (Spell("parked", 24, {"fridge": 2.0}),)
    assert hours_until(bank, day, (), 1.0, 0.2, 10) == pytest.approx(40, abs=0.1)
    dry = simulate(bank, day, (), 3)
    assert dry.state[-1] == pytest.approx(0.0)
    assert dry.unserved == pytest.approx(72 * 2 - 100)
    assert dry.taken["fridge"] == pytest.approx(100)


def test_bulk_is_at_the_limit_and_the_rest_falls_off_by_its_time_constant() -> None:
    bank, day = Bank(100, 20, 1.25), (Spell("mains", 24, {}),)
    course = simulate(bank, day, (Source("charger", lambda _: 100.0),), 1, 0.0, minutes=1)
    # bulk until what is missing over 1.25 h is 20 A: 75 Ah at 20 A, then 25 % falling by e in 1.25 h
    assert at(course, 3.75) == pytest.approx(0.75, abs=0.005)
    assert at(course, 5.0) == pytest.approx(1 - 0.25 / 2.71828, abs=0.005)
    assert course.given["charger"] == pytest.approx(100, abs=0.01)


def test_a_charger_s_own_limit_holds_for_engine_and_sun_together() -> None:
    course = simulate(
        Bank(1000, 500, 0.1),
        (Spell("driving", 1, {}),),
        (Source("a", lambda _: 30, "c", 30), Source("b", lambda _: 10, "c", 30)),
        1,
        0.1,
    )
    assert sum(course.given.values()) == pytest.approx(30)
    assert course.given["a"] == pytest.approx(3 * course.given["b"])


def test_without_its_sun_a_bank_that_lives_on_it_goes_down() -> None:
    day = (Spell("parked", 24, {"fridge": 1.5}),)
    sunny = (Source("solar", sun),)
    assert simulate(LITHIUM, day, sunny, 10).lowest > 0.5
    assert simulate(LITHIUM, day, without(sunny, frozenset({"solar"})), 10).lowest == pytest.approx(0.0)
