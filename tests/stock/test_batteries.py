"""What a battery's chemistry says."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.stock.batteries import (
    CHEMISTRIES,
    absorption_volts,
    alternator_volts,
    charge_amps,
    charge_celsius,
    compensation_volts_per_kelvin,
    float_volts,
    internal_ohm,
    open_circuit_volts,
    peukert_exponent,
    state_of_charge,
)


@given(st.sampled_from(CHEMISTRIES), st.floats(0, 1), st.floats(0.001, 0.5))
def test_a_fuller_battery_rests_higher(chemistry: str, charge: float, more: float) -> None:
    low, high = open_circuit_volts(chemistry, charge), open_circuit_volts(chemistry, min(charge + more, 1.0))
    assert low.value <= high.value
    assert low.mark


@given(st.sampled_from(CHEMISTRIES), st.floats(0, 1))
def test_charge_and_rest_voltage_undo_each_other(chemistry: str, charge: float) -> None:
    volts = open_circuit_volts(chemistry, charge).value
    assert state_of_charge(chemistry, volts).value == pytest.approx(charge, abs=1e-9)


def test_beyond_full_and_empty_the_ends_hold() -> None:
    assert open_circuit_volts("agm", 1.7).value == 12.85
    assert open_circuit_volts("agm", -1.0).value == 11.80


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_charging_stands_above_rest_and_floating_below_absorption(chemistry: str) -> None:
    absorption = absorption_volts(chemistry)
    assert absorption.low > open_circuit_volts(chemistry, 1.0).value
    assert float_volts(chemistry).high < absorption.low
    assert 1.0 < peukert_exponent(chemistry).low <= peukert_exponent(chemistry).high


def test_lithium_is_not_charged_below_freezing() -> None:
    assert charge_celsius("lifepo4").low == 0
    assert charge_celsius("agm").holds(-5.0)
    assert compensation_volts_per_kelvin("lifepo4").value == 0.0


@given(st.sampled_from(CHEMISTRIES), st.floats(10, 500))
def test_resistance_falls_and_charging_current_rises_with_capacity(chemistry: str, capacity: float) -> None:
    small, large = internal_ohm(chemistry, capacity), internal_ohm(chemistry, 2 * capacity)
    assert large.low == pytest.approx(small.low / 2)
    assert small.low < small.high
    assert charge_amps(chemistry, 2 * capacity).value == pytest.approx(
        2 * charge_amps(chemistry, capacity).value
    )


def test_a_battery_without_capacity_and_another_chemistry_are_refused() -> None:
    with pytest.raises(ValueError, match="above 0 Ah"):
        internal_ohm("agm", 0.0)
    with pytest.raises(KeyError):
        open_circuit_volts("nickel", 0.5)


def test_a_smart_alternator_holds_a_wider_range() -> None:
    fixed, smart = alternator_volts("fixed"), alternator_volts("smart")
    assert smart.low < fixed.low < fixed.high < smart.high
