"""Published examples of conductor heating; every number and its source stand in data/adiabatic_examples.toml."""

from __future__ import annotations

import tomllib
from math import sqrt
from pathlib import Path
from typing import Any

import pytest

from loomwright.analysis.heating import adiabatic_amps, adiabatic_celsius, steady_celsius
from loomwright.analysis.withstand import adiabatic_area_mm2, adiabatic_seconds

BOOK: dict[str, Any] = tomllib.loads(
    Path(__file__).with_name("data").joinpath("adiabatic_examples.toml").read_text("utf-8")
)
MM2_PER_CIRCULAR_MIL = 5.0671e-4


@pytest.mark.parametrize("case", [0, 1])
def test_the_smallest_protective_conductor(case: int) -> None:
    page = BOOK["protective_conductor"]
    area = adiabatic_area_mm2(page["amps"][case], page["seconds"], page["k"])
    assert area == pytest.approx(page["area_mm2"][case], rel=page["tolerance"])
    assert adiabatic_seconds(page["amps"][case], area, page["k"]) == pytest.approx(page["seconds"])


@pytest.mark.parametrize("case", range(6))
def test_k_is_the_current_that_takes_one_square_millimetre_to_its_end_in_a_second(case: int) -> None:
    page = BOOK["k"]
    start, end = page["start_celsius"][case], page["end_celsius"][case]
    assert adiabatic_amps(1.0, 1.0, start, end) == pytest.approx(page["k"][case], rel=page["tolerance"])
    assert adiabatic_celsius(page["k"][case], 1.0, 1.0, start) == pytest.approx(end, abs=2.0)


def test_the_north_american_short_circuit_formula() -> None:
    page = BOOK["icea"]
    ours = adiabatic_amps(MM2_PER_CIRCULAR_MIL, 1.0, page["start_celsius"], page["end_celsius"])
    assert ours == pytest.approx(page["amps_root_second_per_circular_mil"], rel=page["tolerance"])


@pytest.mark.parametrize("seconds", [0.1, 1.0, 5.0])
def test_the_melting_current_of_copper(seconds: float) -> None:
    page = BOOK["onderdonk"]
    ours = adiabatic_amps(2.5, seconds, page["start_celsius"], page["end_celsius"])
    printed = page["amps_root_second_per_mm2"] * 2.5 / sqrt(seconds)
    assert ours == pytest.approx(printed, rel=page["tolerance"])


@pytest.mark.parametrize("insulation", ["pvc_70", "xlpe_90"])
def test_the_rise_at_a_corrected_ampacity_is_what_the_ambient_leaves(insulation: str) -> None:
    """The table scales the ampacity of a 30 °C ambient so that the class temperature is met from another ambient. It holds
    the resistance at that of the class temperature, hence no temperature coefficient here. A factor printed to 0.01."""
    page, limit = BOOK["ambient"], float(insulation[-2:])
    for ambient, factor in zip(
        page[f"{insulation}_ambient_celsius"], page[f"{insulation}_factor"], strict=True
    ):
        low, high = (
            steady_celsius(factor + off, 1.0, 30.0, limit) - 30.0
            for off in (-page["tolerance"], page["tolerance"])
        )
        assert low <= limit - ambient <= high, ambient
