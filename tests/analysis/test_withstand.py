"""How long a cable stands a current."""

from __future__ import annotations

from math import inf, log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.analysis.withstand import adiabatic_area_mm2, adiabatic_seconds, withstands_seconds


def test_a_fault_is_stood_for_the_adiabatic_time() -> None:
    # IEC 60364-5-54 clause 543.1.2 with k = 115: 16 mm² and 1840 A make one second.
    assert adiabatic_seconds(1840, 16, 115) == pytest.approx(1.0)
    assert withstands_seconds(1840, 16, 115, 76) == pytest.approx(1.0, rel=1e-3)
    assert adiabatic_area_mm2(1840, 1.0, 115) == pytest.approx(16)


def test_what_a_cable_carries_for_ever_never_harms_it() -> None:
    assert withstands_seconds(76, 16, 115, 76) == inf
    assert withstands_seconds(0, 16, 115, 76) == inf


def test_a_cable_as_hot_as_it_may_get_stands_nothing() -> None:
    assert withstands_seconds(77, 16, 0.0, 76) == 0.0


@given(st.floats(1e-9, 1e4), st.floats(1e-9, 1e4))
def test_more_current_is_never_stood_longer(one: float, other: float) -> None:
    low, high = sorted((50 + one, 50 + other))
    assert withstands_seconds(high, 10, 115, 50) <= withstands_seconds(low, 10, 115, 50)
    assert withstands_seconds(low, 10, 115, 50) >= adiabatic_seconds(low, 10, 115)


@given(st.floats(1.01, 100), st.floats(1.001, 3))
def test_it_is_on_the_cautious_side_of_a_body_with_one_time_constant(
    over: float, end_over_steady: float
) -> None:
    """From the continuous temperature, towards the end temperature at If > Iz, with the same adiabatic limit."""
    area, k, steady = 10.0, 115.0, 50.0
    end = steady * end_over_steady
    amps = end * over
    tau = (k * area) ** 2 / (end**2 - steady**2)
    body = tau * log((amps**2 - steady**2) / (amps**2 - end**2))
    assert withstands_seconds(amps, area, k, steady) <= body * (1 + 1e-9)


@pytest.mark.parametrize(("area", "k", "carries"), [(0, 115, 50), (10, -1, 50), (10, 115, 0)])
def test_figures_that_mean_nothing_are_refused(area: float, k: float, carries: float) -> None:
    with pytest.raises(ValueError, match="withstand time"):
        withstands_seconds(100, area, k, carries)
