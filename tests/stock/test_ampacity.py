"""What conductors carry: order, interpolation, and the three factors."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.stock.ampacity import (
    UnknownClass,
    ambient_factor,
    bundling_factor,
    carries,
    smallest_carrying,
    table_current,
)
from loomwright.stock.conductors import awg_area_mm2, conductor

CLASSES = st.sampled_from([60.0, 75.0, 80.0, 90.0, 105.0, 125.0, 200.0])


def amps(area: float, class_: float) -> float:
    return table_current(conductor("area", f"{area:.6f}"), class_).value


@given(st.floats(0.1, 490), st.floats(1.001, 2), CLASSES)
def test_more_copper_carries_more(area: float, ratio: float, class_: float) -> None:
    assert amps(min(area * ratio, 500), class_) > amps(area, class_)


@given(st.floats(0.1, 500), CLASSES, CLASSES)
def test_better_insulation_never_carries_less(area: float, one: float, other: float) -> None:
    assert amps(area, max(one, other)) >= amps(area, min(one, other))


@pytest.mark.parametrize("gauge", ["18", "16", "8", "4", "3", "1", "4/0"])
def test_an_area_equal_to_a_gauges_carries_what_the_gauge_does(gauge: str) -> None:
    size = conductor("awg", gauge)
    assert amps(awg_area_mm2(gauge), 105.0) == pytest.approx(table_current(size, 105.0).value, rel=1e-4)


@pytest.mark.parametrize(
    ("kind", "number", "where"),
    [
        ("area", "16", "between 6 and 4 AWG"),
        ("area", "0.5", "below 18 AWG in proportion to area"),
        ("area", "120", "extrapolated above 4/0 AWG"),
        ("awg", "5", "between 6 and 4 AWG"),
        ("auto", "6", "between 12 and 10 AWG"),
    ],
)
def test_the_source_says_where_a_size_stands_in_the_table(kind: str, number: str, where: str) -> None:
    size = conductor(kind, number)
    found = table_current(size, 105.0)
    assert found.source == f"33 CFR 183.425 Table 5, {size.label} {where}, 105 degC"
    assert found.basis != "read"


def test_thin_wire_keeps_the_current_density_of_the_last_row() -> None:
    assert amps(0.4, 105.0) / amps(0.8, 105.0) == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("class_", "column"), [(60, 60), (70, 60), (85, 80), (100, 90), (110, 105), (250, 200)]
)
def test_a_class_between_columns_takes_the_lower(class_: float, column: float) -> None:
    size = conductor("awg", "10")
    assert table_current(size, class_).value == table_current(size, column).value
    assert table_current(size, class_).source.endswith(f"{column} degC")


def test_a_class_below_the_table_is_refused() -> None:
    with pytest.raises(UnknownClass, match="60 degC is the lowest"):
        carries(conductor("area", "16"), 55.0, 30.0)


@given(st.floats(60, 250), st.floats(-20, 260))
def test_the_ambient_factor_falls_to_nothing_at_the_class(class_: float, ambient: float) -> None:
    factor = ambient_factor(class_, ambient)
    assert (factor == 0.0) == (ambient >= class_)
    assert ambient_factor(class_, 30.0) == 1.0
    assert ambient_factor(class_, ambient + 1.0) <= factor


def test_what_a_conductor_carries_is_the_product_of_its_three_figures() -> None:
    found = carries(conductor("bs", "8"), 105.0, 60.0, 4)
    assert found.amps == pytest.approx(80 * (45 / 75) ** 0.5 * 0.6)
    assert found.table.value == 80
    assert found.bundling.value == 0.6
    assert found.bundling.mark == "from memory"


def test_an_empty_bundle_is_refused() -> None:
    with pytest.raises(ValueError, match="at least the conductor itself"):
        bundling_factor(0)


@pytest.mark.parametrize("kind", ["area", "awg", "bs", "auto"])
@given(needed=st.floats(0.1, 60))
def test_the_smallest_that_carries_is_the_smallest(kind: str, needed: float) -> None:
    found = smallest_carrying(needed, kind, 90.0, 45.0)
    if found is None:
        assert kind == "auto"
        return
    assert carries(found, 90.0, 45.0).amps >= needed
    thinner = smallest_carrying(needed * 0.999, kind, 90.0, 45.0)
    assert thinner is not None
    assert thinner.area_mm2 <= found.area_mm2


def test_nothing_carries_too_much() -> None:
    assert smallest_carrying(5000.0, "area", 105.0, 30.0) is None
