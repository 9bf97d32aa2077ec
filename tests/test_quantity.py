"""Numbers with units: what is read, what is refused, what is printed. Pint is the authority for every factor."""

from __future__ import annotations

import contextlib
import math
import subprocess
import sys

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.quantity import (
    DIMENSIONS,
    FACTORS,
    Quantity,
    QuantityError,
    _pint_dimensions,
    _spelled,
    convert,
    decimal,
    read,
    show,
)

REGISTRY = pint.UnitRegistry()
OWN = {
    "amps": "ampere", "volts": "volt", "watts": "watt", "Nm": "N*m", "t": "metric_ton", "uohm": "microohm",
}  # fmt: skip
"""Words of the trade that pint reads as something else, and what they mean."""


def pint_unit(unit: str) -> pint.Unit:
    return REGISTRY.parse_units(OWN.get(unit) or _spelled(unit) or "")


@pytest.mark.parametrize(
    ("dimension", "unit"), [(name, unit) for name, units in FACTORS.items() for unit in units]
)
def test_every_factor_is_pints(dimension: str, unit: str) -> None:
    target = REGISTRY.parse_units(_spelled(DIMENSIONS[dimension].unit) or "")
    factor = REGISTRY.Quantity(1.0, pint_unit(unit)).to(target).magnitude
    assert FACTORS[dimension][unit] == pytest.approx(factor, rel=1e-12)
    assert read("1", unit, dimension).si == pytest.approx(factor, rel=1e-12)
    assert convert(read("3.7", unit, dimension).si, unit, dimension) == pytest.approx(3.7, rel=1e-12)


def test_no_unit_is_listed_under_two_dimensions() -> None:
    names = [unit for units in FACTORS.values() for unit in units]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("name", DIMENSIONS)
def test_every_dimension_reads_its_own_example(name: str) -> None:
    example = DIMENSIONS[name].example
    number, unit = example.split(" ")
    assert read(number, unit, name).dimension == name
    assert show(0, name)


@pytest.mark.parametrize(
    ("number", "unit", "dimension", "si"),
    [
        ("0.5", "mile", "length", 804.672),
        ("200", "degF", "temperature", 200 / 1.8 - 160 / 9),
        ("300", "K", "temperature", 26.85),
        ("1", "Btu/h", "power", 1055.056 / 3600),
        ("250", "kcmil", "area", 126.6769e-6),
        ("1", "turn", "angle", 360),
        ("2", "kgf", "force", 19.6133),
        ("12", "ft*lbf", "torque", 16.2698),
    ],
)
def test_units_that_the_table_lacks_go_to_pint(number: str, unit: str, dimension: str, si: float) -> None:
    """Values: NIST Special Publication 811, Appendix B."""
    assert read(number, unit, dimension).si == pytest.approx(si, rel=1e-5)


def test_hundredths_and_thousandths_are_the_nearest_numbers() -> None:
    assert read("35", "%", "ratio").si == 0.35
    assert read("150", "mm", "length").si == 0.15
    assert read("7", "mohm", "resistance").si == 0.007
    assert convert(0.35, "%") == 35
    assert convert(0.15, "mm") == 150


@pytest.mark.parametrize(
    ("number", "unit", "dimension", "message"),
    [
        ("15", "V", "length", "'15 V' is a voltage; a length is wanted here"),
        ("15", "furlong", "current", "'15 furlong' is a length; a current is wanted here"),
        ("8", "AWG", "length", "'8 AWG' is the size of a conductor; a length is wanted here"),
        ("90", "C", "temperature", "'C' is the coulomb: did you mean 'degC'?"),
        ("90", "degC", "length", "'90 degC' is a temperature; a length is wanted here"),
        ("15", "deg", "ratio", "'15 deg' is an angle; a ratio is wanted here"),
        ("50", "%", "angle", "'50 %' is a ratio; an angle is wanted here"),
        ("50", "percent", "angle", "'50 percent' is a ratio; an angle is wanted here"),
        ("15", "a", "current", "'a' is no unit here: did you mean 'A'?"),
        ("8", "BS", "area", "'BS' is no unit here: did you mean 'B&S'?"),
        ("15", "Degc", "temperature", "'Degc' is no unit here: did you mean 'degC'?"),
        ("15", "vlots", "voltage", "'vlots' is no unit; a voltage is wanted here"),
        ("15", "mol", "length", "'15 mol' measures something else; a length is wanted here"),
        ("15", "", "length", "'' is no unit; a length is wanted here"),
        ("15", "9**9**9", "length", "'9**9**9' is no unit; a length is wanted here"),
        ("15", "m**99", "length", "'m**99' is no unit; a length is wanted here"),
        ("15", "().__class__", "length", "'().__class__' is no unit; a length is wanted here"),
        ("1e999", "m", "length", "'1e999' is too large a number for anything real"),
        ("nan", "m", "length", "'nan' is too large a number for anything real"),
        ("2/0", "A", "current", "'2/0' is no number"),
        ("1e308", "Ah", "charge", "'1e308 Ah' is too large for anything real"),
        ("1e300", "petameter", "length", "'1e+300 petameter' is too large for anything real"),
        ("5", "J", ("power", "current"), "'5 J' is an energy; a power or a current is wanted here"),
    ],
)
def test_what_means_nothing_is_refused(
    number: str, unit: str, dimension: str | tuple[str, ...], message: str
) -> None:
    with pytest.raises(QuantityError) as caught:
        read(number, unit, dimension)
    assert caught.value.message == message


def test_of_several_dimensions_the_unit_decides() -> None:
    assert read("50", "%", ("ratio", "current", "power")).dimension == "ratio"
    assert read("3", "A", ("ratio", "current", "power")).dimension == "current"
    assert read("1", "hp", ("ratio", "current", "power")).dimension == "power"


@pytest.mark.parametrize(
    ("number", "unit", "dimension", "text"),
    [
        ("0.15", "m", "length", "0.15 m"),
        ("150", "mm", "length", "150 mm"),
        ("16", "mm2", "area", "16 mm²"),
        ("90", "degC", "temperature", "90 °C"),
        ("194", "degF", "temperature", "194 degF"),
        ("35", "%", "ratio", "35 %"),
        ("6", "mohm", "resistance", "6 mΩ"),
        ("1800", "A", "current", "1 800 A"),
        ("1234567", "W", "power", "1 234 567 W"),
        ("0.123456", "V", "voltage", "0.1235 V"),
        ("-0.28", "%/K", "temperature-coefficient", "-0.28 %/K"),
        ("-33.4", "deg", "angle", "-33.4°"),
        ("120", "Ah", "charge", "120 Ah"),
        ("800", "W/m2", "irradiance", "800 W/m²"),
        ("12", "N*m", "torque", "12 N·m"),
        ("5", "uA", "current", "5 µA"),
        ("0.5", "mile", "length", "0.5 mile"),
    ],
)
def test_printing_keeps_the_writers_unit(number: str, unit: str, dimension: str, text: str) -> None:
    assert read(number, unit, dimension).text == text


@pytest.mark.parametrize(
    ("si", "unit", "text"),
    [
        (0.178, "length", "178 mm"),
        (0.178, "m", "178 mm"),
        (4.8, "m", "4.8 m"),
        (0.178, "cm", "17.8 cm"),
        (1800, "A", "1 800 A"),
        (0.05, "current", "50 mA"),
        (0.00054, "ohm", "0.54 mΩ"),
        (12, "ohm", "12 Ω"),
        (0.0346, "voltage", "34.6 mV"),
        (16e-6, "area", "16 mm²"),
        (16e-6, "mm2", "16 mm²"),
        (432000, "charge", "120 Ah"),
        (0.0312, "ratio", "3.12 %"),
        (0.01, "time", "10 ms"),
        (10800, "time", "3 h"),
        (75, "temperature", "75 °C"),
        (75, "°C", "75 °C"),
        (-4.2, "temperature", "-4.2 °C"),
        (45, "K", "45 K"),
        (-0.0028, "temperature-coefficient", "-0.28 %/K"),
        (-500, "V", "-500 V"),
        (0, "current", "0 A"),
        (0, "length", "0 mm"),
        (68.54, "current", "68.5 A"),
        (11.013, "voltage", "11.01 V"),
        (0, "charge", "0 Ah"),
        (2400, "power", "2 400 W"),
        (3.6e6, "energy", "1 000 Wh"),
        (9000, "let-through", "9 000 A²·s"),
        (math.inf, "time", "no end"),
    ],
)
def test_what_was_reckoned_is_shown_in_the_best_multiple(si: float, unit: str, text: str) -> None:
    assert show(si, unit) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0, "0"),
        (-0.0, "0"),
        (1, "1"),
        (999.96, "1 000"),
        (1000, "1 000"),
        (12345.6, "12 346"),
        (0.000123456, "0.0001235"),
        (1e-15, "0"),
    ],
)
def test_numbers_are_rounded_thinly(value: float, text: str) -> None:
    assert decimal(value) == text


def test_kelvin_is_a_temperature_or_a_difference() -> None:
    assert convert(26.85, "K", "temperature") == pytest.approx(300)
    assert convert(20, "K") == 20
    assert read("20", "K", "temperature-difference").si == 20


def test_what_is_no_unit_can_not_be_converted_to() -> None:
    with pytest.raises(QuantityError):
        convert(1, "vlots")


@given(st.text(max_size=30), st.text(max_size=12), st.sampled_from(sorted(DIMENSIONS)))
def test_any_text_is_a_quantity_or_refused(number: str, unit: str, dimension: str) -> None:
    with contextlib.suppress(QuantityError):
        quantity = read(number, unit, dimension)
        assert math.isfinite(quantity.si)
        assert quantity.text


@given(
    st.floats(-1e6, 1e6), st.sampled_from([(name, unit) for name, units in FACTORS.items() for unit in units])
)
def test_reading_and_converting_are_inverse(value: float, pair: tuple[str, str]) -> None:
    quantity = read(repr(value), pair[1], pair[0])
    assert convert(quantity.si, pair[1], pair[0]) == pytest.approx(value, rel=1e-12, abs=1e-300)


def test_the_table_spares_pint() -> None:
    code = (
        "import sys; from loomwright.quantity import *; read('6','mohm','resistance').text; show(0.1,'length');"
        "read('90','degC','temperature').text; sys.exit('pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_angles_and_ratios_are_told_apart() -> None:
    assert _pint_dimensions("turn") == ["angle"]
    assert _pint_dimensions("ppm") == ["ratio"]
    assert Quantity(5.0, "A", "current").text == "5 A"
