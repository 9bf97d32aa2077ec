"""What the chemistry of a battery says when its label doesn't. All voltages are of a 12 V battery."""

from __future__ import annotations

from loomwright.stock.cited import Cited, CitedRange
from loomwright.stock.tables import Table, cite, cite_range, linear, table

CHEMISTRIES = ("lead-acid", "agm", "gel", "lifepo4")


def open_circuit_volts(chemistry: str, charge: float) -> Cited:
    """Voltage at rest and 25 degC at a state of charge from 0 to 1 (held at the ends), linear between the rows.

    Raises `KeyError` for another chemistry, as all look-ups here do.
    """
    rest: Table = table("batteries", "rest")[chemistry]
    return cite(linear(rest["rows"], charge * 100), rest, f"{chemistry} at {charge * 100:g} %")


def state_of_charge(chemistry: str, volts: float) -> Cited:
    """State of charge from 0 to 1 at a voltage at rest; says little for lifepo4, whose curve is flat."""
    rest: Table = table("batteries", "rest")[chemistry]
    swapped = [(at_rest, percent) for percent, at_rest in rest["rows"]]
    return cite(linear(swapped, volts) / 100, rest, f"{chemistry} at {volts:g} V")


def absorption_volts(chemistry: str) -> CitedRange:
    """Charging voltage at 25 degC until full."""
    return _range("absorption", chemistry)


def float_volts(chemistry: str) -> CitedRange:
    """Charging voltage at 25 degC held when full."""
    return _range("float", chemistry)


def charge_celsius(chemistry: str) -> CitedRange:
    """The temperatures in degC between which the cells may be charged."""
    return _range("charge_temperature", chemistry)


def charge_amps(chemistry: str, capacity_ah: float) -> Cited:
    """The largest charging current in A for a capacity in Ah, where the label names none."""
    found = _value("charge_current", chemistry)
    return Cited(found.value * capacity_ah, f"{found.source}, {found.value:g} A per Ah", found.basis)


def internal_ohm(chemistry: str, capacity_ah: float) -> CitedRange:
    """Internal resistance in ohm for a capacity in Ah: the low figure for fault currents, the high one for sag.

    Raises `ValueError` for a capacity that isn't above 0.
    """
    if not capacity_ah > 0:
        raise ValueError("internal resistance needs a capacity above 0 Ah")
    at_100 = _range("internal", chemistry)
    scale = 1e-3 * 100 / capacity_ah
    return CitedRange(
        at_100.low * scale, at_100.high * scale, f"{at_100.source}, {capacity_ah:g} Ah", at_100.basis
    )


def peukert_exponent(chemistry: str) -> CitedRange:
    """Exponent k of Peukert's law t = H (C / (I H))^k, C being the capacity at the H-hour rate."""
    return _range("peukert", chemistry)


def compensation_volts_per_kelvin(chemistry: str) -> Cited:
    """Change of the charging voltage per kelvin away from 25 degC."""
    return _value("compensation", chemistry)


def alternator_volts(regulation: str) -> CitedRange:
    """Between what voltages an alternator holds: "fixed" or "smart"."""
    return _range("alternator", regulation)


def _range(name: str, key: str) -> CitedRange:
    found = table("batteries", name)
    return cite_range(found[key], found, key)


def _value(name: str, key: str) -> Cited:
    found = table("batteries", name)
    return cite(found[key], found, key)
