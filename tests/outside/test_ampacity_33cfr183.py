"""The currents and factors of `stock.ampacity` against the published tables that they come from or must agree with."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from loomwright.stock.ampacity import (
    ambient_factor,
    bundling_factor,
    carries,
    smallest_carrying,
    table_current,
)
from loomwright.stock.conductors import conductor, resistance_per_metre

DATA = Path(__file__).with_name("data")


def published(name: str) -> dict[str, Any]:
    return tomllib.loads((DATA / name).read_text(encoding="utf-8"))


TABLE_5 = published("33cfr183_425_table_5.toml")
TABLE_5A = published("csa_c22_1_table_5a.toml")


@pytest.mark.parametrize("column", TABLE_5["columns"])
@pytest.mark.parametrize("gauge", TABLE_5["gauges"])
def test_every_size_and_class_of_33_cfr_183_425_table_5_comes_out(gauge: str, column: str) -> None:
    amps = TABLE_5["columns"][column][TABLE_5["gauges"].index(gauge)]
    found = table_current(conductor("awg", gauge), float(column))
    assert (found.value, found.basis) == (amps, "read")
    assert carries(conductor("awg", gauge), float(column), 30.0).amps == amps


@pytest.mark.parametrize("gauge", ["8", "6", "4", "3", "2", "1", "1/0", "2/0"])
def test_battery_cable_has_the_table_5_row_of_its_number(gauge: str) -> None:
    amps = TABLE_5["columns"]["105"][TABLE_5["gauges"].index(gauge)]
    assert table_current(conductor("bs", gauge), 105.0).value == amps


def table_5a_cells() -> list[tuple[float, float, float]]:
    return [
        (float(ambient), float(class_), factor)
        for ambient, row in TABLE_5A["rows"].items()
        for class_, factor in zip(TABLE_5A["classes"], row, strict=True)
    ]


@pytest.mark.parametrize(("ambient", "class_", "factor"), table_5a_cells())
def test_the_ambient_factor_is_that_of_csa_c22_1_table_5a(
    ambient: float, class_: float, factor: float
) -> None:
    found = ambient_factor(class_, ambient)
    if factor:
        assert found == pytest.approx(factor, abs=0.006)
    else:
        assert found < 0.42  # left empty in the table: at or too near the insulation's own temperature


def test_the_ambient_factor_is_that_of_33_cfr_183_425_note_1_and_never_above_it() -> None:
    """Note 1 from memory. It rounds 105 degC down to 0.85 and takes 200 degC as 1.00, where the formula has 0.94."""
    note = TABLE_5["engine_space"]["values"]
    for class_, factor in note.items():
        assert ambient_factor(float(class_), 50.0) <= factor + 0.0065
        if class_ != "200":
            assert ambient_factor(float(class_), 50.0) == pytest.approx(factor, abs=0.0065)


@pytest.mark.parametrize(
    ("class_", "factors"),
    [
        (70.0, {25: 1.06, 35: 0.94, 40: 0.87, 45: 0.79, 50: 0.71, 55: 0.61, 60: 0.50}),
        (90.0, {40: 0.91, 50: 0.82, 60: 0.71, 70: 0.58, 80: 0.41}),
    ],
)
def test_the_ambient_factor_is_that_of_iec_60364_5_52_table_b_52_14(
    class_: float, factors: dict[int, float]
) -> None:
    """IEC 60364-5-52 Table B.52.14, PVC and XLPE columns, from memory save XLPE at 40 and 50 degC."""
    for ambient, factor in factors.items():
        assert ambient_factor(class_, ambient) == pytest.approx(factor, abs=0.01)


def test_bundling_is_that_of_33_cfr_183_425_note_2() -> None:
    """33 CFR 183.425 Table 5 note 2, from memory: 3 conductors 0.70, 4 to 6 0.60, 7 to 24 0.50, 25 and more 0.40."""
    expected = {1: 1.0, 2: 1.0, 3: 0.7, 4: 0.6, 6: 0.6, 7: 0.5, 24: 0.5, 25: 0.4, 99: 0.4}
    assert {count: bundling_factor(count).value for count in expected} == expected


def test_8_awg_of_105_degc_carries_68_amps_in_an_engine_space() -> None:
    """33 CFR 183.425 Table 5 with note 1: 80 A × 0.85 = 68 A; the formula behind the note gives 68.5 A."""
    assert carries(conductor("awg", "8"), 105.0, 50.0).amps == pytest.approx(68.0, rel=0.01)


@pytest.mark.parametrize(
    ("area", "amps"),
    [
        ("1.5", 25),
        ("2.5", 35),
        ("4", 45),
        ("6", 60),
        ("10", 90),
        ("16", 130),
        ("25", 170),
        ("35", 210),
        ("50", 270),
    ],
)
def test_areas_between_the_rows_lie_near_iso_10133_annex_a(area: str, amps: float) -> None:
    """ISO 10133 Annex A, 105 degC column, from memory: another table for the same duty, so within a sixth."""
    assert table_current(conductor("area", area), 105.0).value == pytest.approx(amps, rel=0.17)


# Common practice, no source.


def test_2_bs_cable_carries_about_190_amps() -> None:
    """Common practice, no source: at a usual class (105 degC) and a hot day's ambient (40 degC), within 5 %."""
    assert carries(conductor("bs", "2"), 105.0, 40.0).amps == pytest.approx(190.0, rel=0.05)


@pytest.mark.parametrize("amps", [30.0, 40.0])
def test_8_bs_suits_a_second_battery_charge_lead_of_30_to_40_amps(amps: float) -> None:
    """Common practice, no source: 6 m each way, 105 degC cable, engine bay at 60 degC.

    The charger stops below 12.7 V and the alternator holds 14.2 V: 8 B&S leaves it enough, 6 mm auto cable does not
    at the upper current.
    """
    eight, six_auto = conductor("bs", "8"), conductor("auto", "6")
    assert carries(eight, 105.0, 60.0).amps > amps

    def left_for_charger(size: Any) -> float:
        return 14.2 - amps * resistance_per_metre(size, 75.0).value * 12.0

    assert left_for_charger(eight) > 12.7
    if amps == 40.0:
        assert left_for_charger(six_auto) < 12.7


def test_the_smallest_bs_cable_for_a_charge_lead_is_8() -> None:
    """Common practice, no source."""
    smallest = smallest_carrying(40.0, "bs", 105.0, 60.0)
    assert smallest is not None
    assert smallest.label == "8 B&S"
