"""Conductor temperatures."""

from __future__ import annotations

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.analysis.heating import (
    Warming,
    adiabatic_amps,
    adiabatic_celsius,
    resistance_factor,
    solve_warm,
    steady_celsius,
)
from loomwright.analysis.network import Network


@given(st.floats(1, 500), st.floats(-40, 80), st.floats(85, 200))
def test_a_conductor_at_its_ampacity_is_at_its_class_temperature(
    carries: float, ambient: float, limit: float
) -> None:
    assert steady_celsius(carries, carries, ambient, limit) == pytest.approx(limit)
    assert steady_celsius(0.0, carries, ambient, limit) == pytest.approx(ambient)


@given(st.floats(0, 1.6), st.floats(0, 60))
def test_heat_made_equals_heat_lost(load: float, ambient: float) -> None:
    """I² R(θ) against (θ − θa), both as fractions of those at the ampacity, by hand."""
    found = steady_celsius(load, 1.0, ambient, 90.0)
    made = load**2 * resistance_factor(found) / resistance_factor(90.0)
    assert made == pytest.approx((found - ambient) / (90.0 - ambient), abs=1e-9)


def test_far_beyond_its_ampacity_a_conductor_never_settles() -> None:
    assert steady_celsius(30.0, 1.0, 30.0, 90.0) == inf


def test_a_basis_that_means_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="no basis"):
        steady_celsius(1.0, 1.0, 90.0, 90.0)
    with pytest.raises(ValueError, match="no basis"):
        steady_celsius(1.0, 0.0, 30.0, 90.0)


@given(st.floats(0.1, 5), st.floats(0, 100), st.floats(1, 300))
def test_the_current_that_reaches_a_temperature_reaches_it(seconds: float, start: float, rise: float) -> None:
    amps = adiabatic_amps(6.0, seconds, start, start + rise)
    assert adiabatic_celsius(amps, seconds, 6.0, start) == pytest.approx(start + rise)


def test_warm_copper_and_its_current_agree_with_one_another() -> None:
    network = Network()
    network.battery("pos", "neg", 12.8, 0.01)
    network.resistor("pos", "load", 0.05, name="feed")
    network.constant_power("load", "neg", 300, name="load")
    warming = Warming(carries_amps=30.0, ambient_celsius=40.0, class_celsius=90.0)
    solution, celsius = solve_warm(network, "neg", {"feed": warming})
    amps = solution.amps["feed"]
    assert celsius["feed"] == pytest.approx(steady_celsius(amps, 30.0, 40.0, 90.0), abs=0.01)
    drop = solution.volts["pos"] - solution.volts["load"]
    assert drop / amps == pytest.approx(0.05 * resistance_factor(celsius["feed"]), rel=1e-4)
    assert amps > network.solve("neg").amps["feed"]


def test_no_conductor_counts_as_hotter_than_the_cap() -> None:
    network = Network()
    network.battery("pos", "neg", 12.8, 0.01)
    network.resistor("pos", "neg", 0.05, name="feed")
    _, celsius = solve_warm(network, "neg", {"feed": Warming(10.0, 40.0, 90.0)}, cap_celsius=200.0)
    assert celsius == {"feed": 200.0}
