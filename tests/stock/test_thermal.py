"""Heat in a short circuit and the temperatures round a cable."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.stock.thermal import (
    adiabatic_k,
    class_celsius,
    component_limit,
    design_ambient,
    final_celsius,
    melting_celsius,
)


@given(st.floats(-40, 240), st.floats(0.1, 100))
def test_a_hotter_start_leaves_less_room_for_heat(initial: float, hotter: float) -> None:
    assert adiabatic_k(initial + hotter, 250.0).value < adiabatic_k(initial, 250.0).value


def test_a_conductor_that_starts_at_its_end_temperature_takes_nothing() -> None:
    assert adiabatic_k(160.0, 160.0).value == adiabatic_k(200.0, 160.0).value == 0.0


def test_another_metal_is_refused() -> None:
    with pytest.raises(KeyError, match="lead"):
        adiabatic_k(30.0, 160.0, "lead")


def test_an_end_temperature_names_the_insulation_it_takes() -> None:
    assert "PVC" in final_celsius(105.0).source
    assert "thermosetting" in final_celsius(150.0).source
    assert melting_celsius().value == 1083


def test_temperatures_by_place_and_letter() -> None:
    assert design_ambient("engine-space").value == 50
    assert design_ambient("cabin").mark == "from memory"
    assert component_limit("engine-bay").value > design_ambient("engine-bay").value
    assert class_celsius("C").value == 125
