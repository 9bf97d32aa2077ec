"""Numbers with units.

Pint decides what a unit is. For the units that specs really use, a table of factors spares its import; a test proves the table
equal to pint's. Everything is held in SI; what is printed keeps the writer's unit. Held not as the base unit but as specs
think of it: temperatures in degrees Celsius (an SI unit), angles in degrees (accepted for use with the SI), a ratio as a
plain number (35 % is 0.35). A charge is in coulomb, whatever its ampere-hours; a temperature difference is in kelvin.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from loomwright.record import Record


class QuantityError(ValueError):
    """A number and unit that mean nothing here: `message` says what is wrong, `hint` what to write instead."""

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint


class Quantity(Record):
    """`si` in the unit of `dimension` that DIMENSIONS names; `unit` as its writer wrote it."""

    si: float
    unit: str
    dimension: str

    @property
    def text(self) -> str:
        """Number and the writer's unit, in print: `16 mm²`, `0.15 m`, `1 800 A`, `-33.4°`."""
        return written(convert(self.si, self.unit, self.dimension), self.unit)


class Dimension(Record):
    """`unit` is what `si` is in; `ladder` the units to print in, each from a least value up, greatest first."""

    noun: str
    unit: str
    example: str
    ladder: tuple[tuple[float, str], ...]


DIMENSIONS: Mapping[str, Dimension] = {
    "length": Dimension("a length", "m", "0.15 m", ((1, "m"), (0, "mm"))),
    "area": Dimension("an area", "m²", "16 mm2", ((0.1, "m²"), (0, "mm²"))),
    "volume": Dimension("a volume", "m³", "0.2 m3", ((0.5, "m³"), (0, "L"))),
    "current": Dimension("a current", "A", "15 A", ((0.1, "A"), (1e-4, "mA"), (0, "µA"))),
    "voltage": Dimension("a voltage", "V", "14.2 V", ((0.1, "V"), (0, "mV"))),
    "power": Dimension("a power", "W", "45 W", ((1e5, "kW"), (0.1, "W"), (0, "mW"))),
    "resistance": Dimension(
        "a resistance", "Ω", "6 mohm", ((1e6, "MΩ"), (1e3, "kΩ"), (1, "Ω"), (1e-5, "mΩ"), (0, "µΩ"))
    ),
    "resistance-per-length": Dimension(
        "a resistance per length", "Ω/m", "1.2 mohm/m", ((1, "Ω/m"), (0, "mΩ/m"))
    ),
    "charge": Dimension("a charge", "C", "120 Ah", ((360, "Ah"), (0, "mAh"))),
    "energy": Dimension("an energy", "J", "1500 Wh", ((3.6e8, "kWh"), (360, "Wh"), (0, "J"))),
    "time": Dimension(
        "a time", "s", "0.4 s", ((172800, "d"), (7200, "h"), (120, "min"), (0.1, "s"), (0, "ms"))
    ),
    "temperature": Dimension("a temperature", "°C", "60 degC", ((0, "°C"),)),
    "temperature-difference": Dimension("a temperature difference", "K", "20 K", ((0, "K"),)),
    "ratio": Dimension("a ratio", "", "35 %", ((0, "%"),)),
    "angle": Dimension("an angle", "°", "15 deg", ((0, "°"),)),
    "irradiance": Dimension("an irradiance", "W/m²", "800 W/m2", ((0, "W/m²"),)),
    "temperature-coefficient": Dimension("a temperature coefficient", "1/K", "-0.28 %/K", ((0, "%/K"),)),
    "mass": Dimension("a mass", "kg", "24 kg", ((1, "kg"), (0, "g"))),
    "force": Dimension("a force", "N", "200 N", ((1e4, "kN"), (0, "N"))),
    "torque": Dimension("a torque", "N·m", "12 N*m", ((0, "N·m"),)),
    "pressure": Dimension("a pressure", "Pa", "2 bar", ((1e5, "bar"), (1e3, "kPa"), (0, "Pa"))),
    "frequency": Dimension("a frequency", "Hz", "50 Hz", ((1e6, "MHz"), (1e3, "kHz"), (0, "Hz"))),
    "speed": Dimension("a speed", "m/s", "80 km/h", ((0, "m/s"),)),
    "let-through": Dimension("a let-through", "A²·s", "900 A^2*s", ((0, "A²·s"),)),
}

# Factor to the unit of the dimension. One spelling a line would be long; the tests compare every one with pint.
FACTORS: Mapping[str, Mapping[str, float]] = {
    "length": {"m": 1, "mm": 1e-3, "cm": 1e-2, "km": 1e3, "ft": 0.3048, "foot": 0.3048, "feet": 0.3048, "inch": 0.0254,
               "inches": 0.0254, "yd": 0.9144, "metre": 1, "metres": 1},
    "area": {"mm2": 1e-6, "mm²": 1e-6, "cm2": 1e-4, "cm²": 1e-4, "m2": 1, "m²": 1, "inch2": 6.4516e-4, "inch²": 6.4516e-4},
    "volume": {"m3": 1, "m³": 1, "cm3": 1e-6, "cm³": 1e-6, "mm3": 1e-9, "mm³": 1e-9, "L": 1e-3, "l": 1e-3, "litre": 1e-3,
               "litres": 1e-3, "mL": 1e-6, "ml": 1e-6},
    "current": {"A": 1, "mA": 1e-3, "uA": 1e-6, "µA": 1e-6, "kA": 1e3, "amp": 1, "amps": 1},
    "voltage": {"V": 1, "mV": 1e-3, "kV": 1e3, "volt": 1, "volts": 1},
    "power": {"W": 1, "mW": 1e-3, "kW": 1e3, "MW": 1e6, "VA": 1, "kVA": 1e3, "watt": 1, "watts": 1},
    "resistance": {"ohm": 1, "mohm": 1e-3, "uohm": 1e-6, "µohm": 1e-6, "kohm": 1e3, "Mohm": 1e6, "ohms": 1,
                   "Ω": 1, "mΩ": 1e-3, "µΩ": 1e-6, "kΩ": 1e3, "MΩ": 1e6},
    "resistance-per-length": {"ohm/m": 1, "Ω/m": 1, "mohm/m": 1e-3, "mΩ/m": 1e-3, "ohm/km": 1e-3, "Ω/km": 1e-3},
    "charge": {"Ah": 3600, "mAh": 3.6, "C": 1, "kAh": 3.6e6},
    "energy": {"J": 1, "kJ": 1e3, "MJ": 1e6, "Wh": 3600, "kWh": 3.6e6},
    "time": {"s": 1, "ms": 1e-3, "us": 1e-6, "µs": 1e-6, "min": 60, "h": 3600, "hour": 3600, "hours": 3600, "d": 86400,
             "day": 86400, "days": 86400, "second": 1, "seconds": 1, "minute": 60, "minutes": 60},
    "ratio": {"%": 1e-2, "percent": 1e-2},
    "angle": {"deg": 1, "°": 1, "degree": 1, "degrees": 1, "rad": 180 / math.pi},
    "irradiance": {"W/m2": 1, "W/m²": 1, "kW/m2": 1e3, "kW/m²": 1e3},
    "temperature-coefficient": {"%/K": 1e-2, "%/degC": 1e-2, "%/°C": 1e-2, "1/K": 1},
    "temperature-difference": {"K": 1, "mK": 1e-3},
    "mass": {"kg": 1, "g": 1e-3, "t": 1e3, "lb": 0.45359237},
    "force": {"N": 1, "kN": 1e3},
    "torque": {"N*m": 1, "N·m": 1, "Nm": 1},
    "pressure": {"Pa": 1, "kPa": 1e3, "MPa": 1e6, "bar": 1e5, "mbar": 1e2, "psi": 6894.757293168361},
    "frequency": {"Hz": 1, "kHz": 1e3, "MHz": 1e6},
    "speed": {"m/s": 1, "km/h": 1 / 3.6},
    "let-through": {"A²·s": 1, "A^2*s": 1, "A2*s": 1},
}  # fmt: skip

CELSIUS = frozenset(("degC", "°C", "celsius"))
ZERO_CELSIUS = 273.15
GAUGES = frozenset(("AWG", "B&S"))
"""Words of the trade that number a conductor and measure nothing: no quantity has them as a unit."""

PRETTY: Mapping[str, str] = {
    "degC": "°C", "celsius": "°C", "deg": "°", "degree": "°", "degrees": "°", "percent": "%", "%/degC": "%/K", "%/°C": "%/K",
    "amp": "A", "amps": "A", "volt": "V", "volts": "V", "watt": "W", "watts": "W", "ohms": "Ω", "A^2*s": "A²·s", "A2*s": "A²·s",
    "Nm": "N·m", "l": "L", "litre": "L", "litres": "L", "ml": "mL", "metre": "m", "metres": "m",
}  # fmt: skip


def _scale(factor: float) -> tuple[float, float]:
    """A factor as times and over: 35 % is 35 / 100 and not 35 × 0.01, which binary numbers miss by a hair."""
    over = round(1 / factor) if factor < 1 else 1
    return (1, over) if math.isclose(factor * over, 1, rel_tol=1e-15) else (factor, 1)


_KNOWN: dict[str, tuple[str, float, float]] = {
    unit: (dimension, *_scale(factor))
    for dimension, units in FACTORS.items()
    for unit, factor in units.items()
}
_UNIT = re.compile(r"[^\W\d_]*[°%]?[^\W\d_]*(?:(?:\^|\*\*)?-?[23²³])?")
_MOST_DIGITS = 40


def read(number: str, unit: str, dimension: str | tuple[str, ...]) -> Quantity:
    """The quantity that `number` and `unit` write, which must be of the dimension (or of one of several).

    Raises QuantityError for a number that is none or has no end, an unknown unit, and a wrong dimension.
    """
    wanted = (dimension,) if isinstance(dimension, str) else dimension
    value = number_of(number)
    known = _KNOWN.get(unit)
    if known is not None and known[0] in wanted:
        si = value * known[1] / known[2]
        if math.isinf(si):
            raise QuantityError(f"'{clipped(number)} {unit}' is too large for anything real")
        return Quantity(si, unit, known[0])
    if "temperature" in wanted and (unit in CELSIUS or unit == "K"):
        return Quantity(value - ZERO_CELSIUS if unit == "K" else value, unit, "temperature")
    return _read_slowly(value, f"{number} {unit}", unit, wanted)


def number_of(text: str) -> float:
    """A finite number. Raises QuantityError."""
    if text.endswith("."):
        raise QuantityError(f"'{clipped(text)}' is no number", "digits stand after a point too: 3.0")
    try:
        value = float(text) if len(text) <= _MOST_DIGITS else math.inf
    except ValueError:
        raise QuantityError(f"'{text}' is no number") from None
    if not math.isfinite(value):
        raise QuantityError(f"'{clipped(text)}' is too large a number for anything real")
    return value


def clipped(text: str) -> str:
    """Text short enough for a message."""
    return text if len(text) <= _MOST_DIGITS else f"{text[: _MOST_DIGITS - 1]}…"


def _read_slowly(value: float, written_as: str, unit: str, wanted: tuple[str, ...]) -> Quantity:
    """What the table of factors does not settle: wrong dimensions, slips of the pen, and units that only pint knows."""
    *others, last = (DIMENSIONS[name].noun for name in wanted)
    nouns = " or ".join(filter(None, (", ".join(others), last)))
    example = f"for example: {DIMENSIONS[wanted[0]].example}"
    found = "temperature" if unit in CELSIUS else _KNOWN[unit][0] if unit in _KNOWN else None
    if unit == "C" and "temperature" in wanted:
        raise QuantityError("'C' is the coulomb: did you mean 'degC'?", example)
    if unit in GAUGES:
        raise QuantityError(
            f"'{clipped(written_as)}' is the size of a conductor; {nouns} is wanted here", example
        )
    if found is None:
        if meant := _other_case(unit, wanted):
            raise QuantityError(f"'{unit}' is no unit here: did you mean '{meant}'?", example)
        dimensions = _pint_dimensions(unit)
        for name in wanted:
            if name in dimensions:
                return Quantity(_pint_to(value, unit, DIMENSIONS[name].unit), unit, name)
        if not dimensions:
            raise QuantityError(f"'{clipped(unit)}' is no unit; {nouns} is wanted here", example)
        found = dimensions[0]
    measures = f"is {DIMENSIONS[found].noun}" if found in DIMENSIONS else "measures something else"
    raise QuantityError(f"'{clipped(written_as)}' {measures}; {nouns} is wanted here", example)


def _other_case(unit: str, wanted: tuple[str, ...]) -> str | None:
    """The unit that differs from what was written in capital and small letters only (`15 a`, `60 DegC`, `8 BS`)."""
    names = [name for dimension in wanted for name in FACTORS.get(dimension, ())]
    if "temperature" in wanted:
        names += sorted(CELSIUS)
    if "area" in wanted:
        names += sorted(GAUGES)
    folded = unit.casefold().replace("&", "")
    return next((name for name in names if name.casefold().replace("&", "") == folded), None)


_registry: Any = None


def _pint() -> Any:
    global _registry
    if _registry is None:
        import pint

        _registry = pint.UnitRegistry()
    return _registry


def _spelled(unit: str) -> str | None:
    """A unit as pint writes it, or None for text that can be no unit (and that pint should not evaluate)."""
    if not unit or len(unit) > _MOST_DIGITS:
        return None
    if unit.startswith("1/"):
        below = _spelled(unit[2:])
        return below and f"1/({below})"
    pieces = re.split(r"([/·]|(?<!\*)\*(?!\*))", unit)
    if not all(_UNIT.fullmatch(piece) and piece for piece in pieces[::2]):
        return None
    spelled = [re.sub(r"(?<=[^\W\d_])(?:\^|\*\*)?(-?[23])$", r"**\1", piece) for piece in pieces]
    return "".join("*" if piece == "·" else piece for piece in spelled)


def _pint_dimensions(unit: str) -> list[str]:
    """The dimensions of our list that a unit which the table lacks can be of; ["something else"] for a unit of none."""
    spelled = _spelled(unit)
    if spelled is None:
        return []
    registry = _pint()
    try:
        parsed = registry.parse_units(spelled)
        turns = "radian" in str(registry.get_base_units(parsed)[1])
    except Exception:  # pint raises many kinds for text that is no unit
        return []
    names = []
    for name, dimension in DIMENSIONS.items():
        same = registry.parse_units(_spelled(dimension.unit) or "").dimensionality == parsed.dimensionality
        if same and (name == "angle") == turns:
            names.append(name)
    return names or ["something else"]


def _pint_to(value: float, unit: str, target: str) -> float:
    """Raises QuantityError for what pint cannot convert (a product of temperatures with an offset, say)."""
    registry = _pint()
    try:
        amount = registry.Quantity(value, registry.parse_units(_spelled(unit) or ""))
        result = float(amount.to(registry.parse_units(_spelled(target) or "")).magnitude)
    except Exception as error:
        raise QuantityError(f"'{clipped(unit)}' can't be converted to {target}") from error
    if not math.isfinite(result):
        raise QuantityError(f"'{value:g} {clipped(unit)}' is too large for anything real")
    return result


def convert(si: float, unit: str, dimension: str = "") -> float:
    """A value held inside, as a number of `unit`. The dimension matters for kelvin only (a temperature or a difference).

    Raises QuantityError for what is no unit.
    """
    if unit in CELSIUS or unit == "":
        return si
    if unit == "K" and dimension == "temperature":
        return si + ZERO_CELSIUS
    if unit in _KNOWN:
        _, times, over = _KNOWN[unit]
        return si * over / times
    names = [dimension] if dimension else _pint_dimensions(unit)
    if not names or names[0] not in DIMENSIONS:
        raise QuantityError(f"'{clipped(unit)}' is no unit")
    return _pint_to(si, DIMENSIONS[names[0]].unit, unit)


def pretty(unit: str) -> str:
    """A unit as it is printed: `mm²`, `°C`, `mΩ`."""
    if unit in PRETTY:
        return PRETTY[unit]
    unit = re.sub(r"ohms?\b", "Ω", unit)
    unit = re.sub(r"(?<=[^\W\d_])(?:\^|\*\*)?([23])\b", lambda found: "²" if found[1] == "2" else "³", unit)
    return re.sub(r"^u(?=[AVΩs]$)", "µ", unit).replace("*", "·")


# A meter's last digit and a tape's tell something; of other figures three digits do.
FINE = ("voltage", "length")
# The unit in which there is nothing at all, where it is not the larger of the two in use.
NOUGHT = {"length": "mm", "area": "mm²", "resistance": "Ω"}


def decimal(value: float, digits: int = 4) -> str:
    """At most so many significant digits, never fewer than all before the point; thousands parted by a space from 1 000."""
    if not math.isfinite(value):
        return "no end" if value == math.inf else "no number" if math.isnan(value) else "-no end"
    if value == 0:
        return "0"
    places = min(12, max(0, digits - 1 - math.floor(math.log10(abs(value)))))
    text = f"{value:,.{places}f}".replace(",", " ")
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def written(value: float, unit: str, digits: int = 4) -> str:
    """A number and its unit in print: a space between, but none before the degree of an angle. No end has no unit."""
    unit = pretty(unit) if math.isfinite(value) else ""
    number = decimal(value, digits)
    return number if not unit else f"{number}{'' if unit == '°' else ' '}{unit}"


_HOME: dict[str, str] = {dimension.unit: name for name, dimension in DIMENSIONS.items() if dimension.unit}
_HOME |= {"ohm": "resistance", "degC": "temperature", "m2": "area", "m3": "volume", "deg": "angle"}


def _first_or_home(dimension: Dimension) -> str:
    home = dimension.unit
    return home if any(step == home for _, step in dimension.ladder) else dimension.ladder[0][1]


@lru_cache(maxsize=4096)
def show(si: float, unit: str) -> str:
    """A value held inside, in print. `unit` is a dimension (`length`) or its own unit (`m`, `A`, `ohm`), and then the
    best multiple is taken: 0.178 m is "178 mm", 0.00054 ohm "0.54 mΩ"; or any other unit, which is kept."""
    name = unit if unit in DIMENSIONS else _HOME.get(unit)
    if name is None:
        return written(convert(si, unit), unit)
    dimension = DIMENSIONS[name]
    size = abs(si) * (1 + 1e-9)
    if si == 0:
        best = NOUGHT.get(name) or _first_or_home(dimension)
    else:
        best = next(step for least, step in dimension.ladder if size >= least)
    return written(convert(si, best, name), best, 4 if name in FINE else 3)
