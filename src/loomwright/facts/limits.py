"""Limits: the figures that codes set, as data with their sources. Rules call them `limit.NAME`."""

from __future__ import annotations

import os
from collections.abc import Mapping
from types import MappingProxyType

from loomwright import quantity, resources
from loomwright.cache import kept
from loomwright.record import Record
from loomwright.syntax.hints import listed, quoted

BASES = ("read", "computed", "memory", "common practice, no source")


class LimitsError(Exception):
    """A limits file is missing or wrong. The message says which, where and what to write."""


class Limit(Record):
    """`value` is in the unit of `dimension` ("length", "count", …), or a word; `text` is how the file writes it."""

    name: str
    value: float | str
    dimension: str
    text: str
    says: str
    source: str
    basis: str

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
    """The limit `name` with a workshop's own figure in place of `of`'s. Raises LimitsError for a figure of another kind."""
    try:
        value, dimension, shown = _value(text)
    except quantity.QuantityError as error:
        raise LimitsError(f"the limit {name}: {error.message}") from None
    if dimension != of.dimension:
        raise LimitsError(f"the limit {name} is a {of.dimension}, such as {of.text}: '{text}' is not")
    return Limit(
        name, value, dimension, shown, of.says, f"house rule ({file}); {of.source} has {of.text}", "read"
    )


Row = tuple[str, float | str, str, str, str, str, str]


def _read(text: str, path: str) -> tuple[Row, ...]:
    import tomllib

    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise LimitsError(f"{path}: {error}") from None
    return tuple(_row(name, table, path) for name, table in tables.items())


def _row(name: str, table: object, path: str) -> Row:
    wanted = {"value", "says", "source", "basis"}
    if (
        not isinstance(table, dict)
        or set(table) != wanted
        or not all(isinstance(part, str) for part in table.values())
    ):
        raise LimitsError(
            f"{path}: [{name}] must have the texts {', '.join(sorted(wanted))} and nothing else"
        )
    if table["basis"] not in BASES:
        raise LimitsError(
            f"{path}: [{name}] has the basis '{table['basis']}': it must be {listed(map(quoted, BASES))}"
        )
    try:
        value, dimension, shown = _value(table["value"])
    except quantity.QuantityError as error:
        raise LimitsError(f"{path}: [{name}] {error.message}") from None
    return name, value, dimension, shown, table["says"], table["source"], table["basis"]


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
