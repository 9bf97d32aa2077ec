"""Names of conductors, and their resistance."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.stock.conductors import (
    KINDS,
    UnknownSize,
    conductor,
    copper_temperature_factor,
    resistance_per_metre,
    sizes,
    temperature_factor,
)


@pytest.mark.parametrize(
    ("kind", "number", "label", "gauge"),
    [
        ("area", "16", "16 mm²", None),
        ("area", "2.50", "2.5 mm²", None),
        ("bs", "8", "8 B&S", "8"),
        ("bs", "00", "00 B&S", "2/0"),
        ("bs", "2/0", "00 B&S", "2/0"),
        ("awg", "2/0", "2/0 AWG", "2/0"),
        ("awg", "0", "1/0 AWG", "1/0"),
        ("awg", "5", "5 AWG", "5"),
        ("auto", "6", "6 mm auto", None),
        ("auto", "2.5", "2.5 mm auto", None),
    ],
)
def test_a_size_is_printed_as_the_trade_prints_it(
    kind: str, number: str, label: str, gauge: str | None
) -> None:
    size = conductor(kind, number)
    assert (size.label, size.gauge) == (label, gauge)


@pytest.mark.parametrize(
    ("kind", "number", "nearest"),
    [
        ("bs", "10", ["8 B&S", "6 B&S"]),
        ("bs", "5", ["6 B&S", "4 B&S"]),
        ("bs", "0000", ["0 B&S", "00 B&S"]),
        ("auto", "8", ["5 mm auto", "6 mm auto"]),
        ("awg", "30", ["24 AWG", "22 AWG"]),
        ("area", "501", ["95 mm²", "120 mm²"]),
    ],
)
def test_a_name_that_is_no_size_names_the_nearest(kind: str, number: str, nearest: list[str]) -> None:
    with pytest.raises(UnknownSize) as caught:
        conductor(kind, number)
    assert caught.value.nearest == nearest
    assert all(label in str(caught.value) for label in nearest)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    "number", ["", "x", "-1", "0.0", "nan", "inf", "1e9", "1" * 400, "5/0", "8 ", "²", "١"]
)
def test_nonsense_is_an_unknown_size_and_nothing_else(kind: str, number: str) -> None:
    with pytest.raises(UnknownSize):
        conductor(kind, number)


@given(st.sampled_from(KINDS), st.text(max_size=12))
def test_any_text_is_a_size_or_an_unknown_one(kind: str, number: str) -> None:
    try:
        size = conductor(kind, number)
    except UnknownSize:
        return
    assert 0 < size.area_mm2 <= 500


def test_a_kind_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="no way to name a conductor"):
        conductor("swg", "8")


def test_a_gauge_number_means_less_copper_as_battery_cable_than_as_awg() -> None:
    for size in sizes("bs"):
        assert size.gauge is not None
        assert size.area_mm2 < conductor("awg", size.gauge).area_mm2
        assert size.basis == "memory"


def test_auto_cable_is_named_by_its_outside_and_not_its_copper() -> None:
    assert conductor("auto", "6").area_mm2 == 4.59
    assert conductor("auto", "4").area_mm2 == 1.84


@pytest.mark.parametrize(("number", "standard"), [("16", True), ("3", True), ("7.7", False), ("11", False)])
def test_an_area_knows_whether_it_is_in_the_nominal_series(number: str, standard: bool) -> None:
    assert conductor("area", number).standard is standard


@pytest.mark.parametrize("kind", KINDS)
def test_stocked_sizes_go_up_in_area(kind: str) -> None:
    areas = [size.area_mm2 for size in sizes(kind)]
    assert areas == sorted(set(areas))
    assert all(size.standard for size in sizes(kind))


@given(st.floats(0.1, 499), st.floats(1.001, 3))
def test_more_copper_has_less_resistance(area: float, ratio: float) -> None:
    thin, thick = conductor("area", f"{area:.6f}"), conductor("area", f"{min(area * ratio, 500):.6f}")
    assert resistance_per_metre(thick).value < resistance_per_metre(thin).value


@pytest.mark.parametrize("kind", KINDS)
def test_stocked_sizes_go_down_in_resistance(kind: str) -> None:
    ohms = [resistance_per_metre(size).value for size in sizes(kind)]
    assert ohms == sorted(ohms, reverse=True)


@given(st.floats(-40, 160), st.floats(0.1, 50))
def test_a_warmer_conductor_has_more_resistance(celsius: float, warmer: float) -> None:
    size = conductor("bs", "8")
    assert resistance_per_metre(size, celsius + warmer).value > resistance_per_metre(size, celsius).value


def test_tin_and_aluminium_cost_resistance() -> None:
    for number in ("1", "16", "17", "150"):
        size = conductor("area", number)
        plain = resistance_per_metre(size).value
        assert 1.017 < resistance_per_metre(size, tinned=True).value / plain < 1.031
        assert resistance_per_metre(size, metal="aluminium").value > 1.3 * plain


def test_another_metal_is_refused() -> None:
    with pytest.raises(ValueError, match="no resistivity for 'gold'"):
        resistance_per_metre(conductor("area", "16"), metal="gold")


def test_resistance_says_what_it_rests_on() -> None:
    row = resistance_per_metre(conductor("area", "16"), 60.0)
    assert row.source == "IEC 60228 Table 3, class 5, 16 mm²; to 60 degC by IEC 60028"
    assert row.mark == ""
    assert "between its rows" in resistance_per_metre(conductor("area", "17")).source
    assert "beyond its rows" in resistance_per_metre(conductor("area", "150")).source
    assert resistance_per_metre(conductor("bs", "8")).mark == "from memory"
    assert resistance_per_metre(conductor("auto", "6")).mark == "common practice, no source"


def test_temperature_factors_are_one_at_20_degc() -> None:
    assert copper_temperature_factor(20) == temperature_factor(20, "aluminium") == 1.0
