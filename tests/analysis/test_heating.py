"""Conductor temperatures."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.analysis.heating import adiabatic_amps, adiabatic_celsius, steady_celsius


@given(st.floats(1, 500), st.floats(-40, 80), st.floats(85, 200))
def test_a_conductor_at_its_ampacity_is_at_its_class_temperature(
    carries: float, ambient: float, limit: float
) -> None:
    assert steady_celsius(carries, carries, ambient, limit) == pytest.approx(limit)
    assert steady_celsius(0.0, carries, ambient, limit) == pytest.approx(ambient)


def test_a_basis_that_means_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="no basis"):
        steady_celsius(1.0, 0.0, 30.0, 90.0)


@given(st.floats(0.1, 5), st.floats(0, 100), st.floats(1, 300))
def test_the_current_that_reaches_a_temperature_reaches_it(seconds: float, start: float, rise: float) -> None:
    amps = adiabatic_amps(6.0, seconds, start, start + rise)
    assert adiabatic_celsius(amps, seconds, 6.0, start) == pytest.approx(start + rise)
