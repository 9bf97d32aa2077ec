"""Limits: the figures that codes set, as data with their sources. Rules call them `limit.NAME`."""

from __future__ import annotations

import os
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from loomwright import quantity, resources
from loomwright.cache import kept
from loomwright.record import Record
from loomwright.syntax.hints import listed, quoted

KEYS = frozenset(("value", "says", "source", "basis"))
BOUNDS = frozenset(("least", "most"))
COLDEST, HOTTEST = -60.0, 250.0
"""Temperatures in °C that wiring meets, from memory; a figure beyond them is a slip."""

BASES = ("read", "computed", "memory", "common practice, no source")


class LimitsError(Exception):
    """A limits file is missing or wrong. The message says which, where and what to write."""


class Limit(Record):
    """`value` is in the unit of `dimension` ("length", "count", …), or a word; `text` is how the file writes it. `least` and `most`
    are what a workshop's own figure may be, in the same unit; without `least` it must be above 0. `house` is the workshop's file
    that has put its own figure in place of the code's."""

    name: str
    value: float | str
    dimension: str
    text: str
    says: str
    source: str
    basis: str
    least: float | None = None
    most: float | None = None
    house: str = ""

    @property
    def printed_source(self) -> str:
        """The source, with how firm it is where it was not read."""
        if self.basis == BASES[-1]:
            return self.basis
        return f"{self.source} (from memory)" if self.basis == "memory" else self.source


def dimension_of(unit: str) -> str | None:
    """The dimension that a unit measures, or None for a unit that rule files and limits do not know."""
    if unit in quantity.CELSIUS:
        return "temperature"
    return next((name for name, units in quantity.FACTORS.items() if unit in units), None)


def limits_names() -> tuple[str, ...]:
    """The limits files that there are, by name."""
    folder = os.path.join(resources.folder("rules"), "limits")
    return tuple(sorted(file[:-5] for file in os.listdir(folder) if file.endswith(".toml")))


@cache
def load_limits(name: str = "general") -> Mapping[str, Limit]:
    """All limits of `rules/limits/NAME.toml`. Raises LimitsError for an unknown name or a file that is wrong."""
    known = limits_names()
    if name not in known:
        raise LimitsError(f"there are no limits '{name}': the limits files are {', '.join(known)}")
    return limits_of(resources.text("rules", "limits", f"{name}.toml"), f"rules/limits/{name}.toml")


def limits_of(text: str, path: str) -> Mapping[str, Limit]:
    """The limits that a text in TOML states. Raises LimitsError."""
    rows = kept("limits", f"{path}\0{text}", lambda: _read(text, path))
    return MappingProxyType({row[0]: Limit(*row) for row in rows})


def limit_of(name: str, text: str, of: Limit, file: str) -> Limit:
    """The limit `name` with a workshop's own figure in place of `of`'s. Raises LimitsError for a figure of another kind, and
    for one that could not be, such as an efficiency above 100 %."""
    try:
        value, dimension, shown = _value(text)
    except quantity.QuantityError as error:
        raise LimitsError(f"the limit {name}: {error.message}") from None
    if dimension != of.dimension:
        raise LimitsError(f"the limit {name} is a {of.dimension}, such as {of.text}: '{text}' is not")
    wanted = _beyond(value, of)
    if wanted:
        raise LimitsError(f"the limit {name} must be {wanted}: '{text}' is not")
    source = f"house rule ({file}); {of.source} has {of.text}"
    return Limit(name, value, dimension, shown, of.says, source, "read", of.least, of.most, file)


def _beyond(value: float | str, of: Limit) -> str:
    """What a figure must be, where it is beyond the bounds of its limit; else nothing."""
    if isinstance(value, str):
        return ""
    least, most = of.least, of.most
    if of.dimension == "temperature":
        least, most = COLDEST if least is None else least, HOTTEST if most is None else most
    low = value < least if least is not None else value <= 0
    if not low and (most is None or value <= most):
        return ""
    above = f"above {_shown(0.0, of)}" if least is None else f"{_shown(least, of)} or more"
    return above if most is None else f"{above}, and at most {_shown(most, of)}"


def _shown(value: float, of: Limit) -> str:
    return f"{value:g}" if of.dimension == "count" else quantity.show(value, of.dimension)


Row = tuple[str, float | str, str, str, str, str, str, float | None, float | None]


def _read(text: str, path: str) -> tuple[Row, ...]:
    import tomllib

    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise LimitsError(f"{path}: {error}") from None
    return tuple(_row(name, table, path) for name, table in tables.items())


def _row(name: str, table: object, path: str) -> Row:
    if (
        not isinstance(table, dict)
        or set(table) - BOUNDS != KEYS
        or not all(isinstance(part, str) for part in table.values())
    ):
        raise LimitsError(
            f"{path}: [{name}] must have the texts {', '.join(sorted(KEYS))}, may have least and most, and nothing else"
        )
    if table["basis"] not in BASES:
        raise LimitsError(
            f"{path}: [{name}] has the basis '{table['basis']}': it must be {listed(map(quoted, BASES))}"
        )
    try:
        value, dimension, shown = _value(table["value"])
        least, most = (_bound(table.get(key), dimension) for key in ("least", "most"))
    except quantity.QuantityError as error:
        raise LimitsError(f"{path}: [{name}] {error.message}") from None
    return name, value, dimension, shown, table["says"], table["source"], table["basis"], least, most


def _bound(text: str | None, dimension: str) -> float | None:
    """Raises QuantityError for one of another kind than the limit."""
    if text is None:
        return None
    value, own, _ = _value(text)
    if own != dimension or isinstance(value, str):
        raise quantity.QuantityError(f"'{text}' bounds no {dimension}")
    return value


def _value(text: str) -> tuple[float | str, str, str]:
    """Value, dimension and printed text of "178 mm", "4" or "bare"."""
    number, _, unit = text.partition(" ")
    if not number[:1].isdigit() and number[:1] != "-":
        return text, "word", text
    if not unit:
        return quantity.number_of(number), "count", text
    dimension = dimension_of(unit)
    if dimension is None:
        raise quantity.QuantityError(f"'{unit}' is no unit")
    found = quantity.read(number, unit, dimension)
    return found.si, dimension, found.text
