"""What a conductor may carry without end, by insulation class, ambient and company in its bundle."""

from __future__ import annotations

from functools import cache, lru_cache
from math import sqrt

from loomwright.record import Record
from loomwright.stock.cited import COMPUTED, Cited, weakest
from loomwright.stock.conductors import ConductorSize, awg_area_mm2, sizes
from loomwright.stock.tables import cite, on_logs, table

REFERENCE_CELSIUS = 30.0
"""The ambient that 33 CFR 183.425 Table 5 is made for."""


class UnknownClass(ValueError):
    """An insulation class below the table's lowest column."""


class Carries(Record):
    """What a conductor carries, A, and the three figures that it is the product of."""

    amps: float
    table: Cited
    ambient_factor: float
    bundling: Cited


def carries(
    size: ConductorSize, class_celsius: float, ambient_celsius: float, loaded_conductors: int = 1
) -> Carries:
    """Continuous current of a conductor in A at an ambient, lying with so many loaded conductors (itself included).

    Raises `UnknownClass` for an insulation class below 60 degC.
    """
    by_table = table_current(size, class_celsius)
    ambient = ambient_factor(class_celsius, ambient_celsius)
    bundling = bundling_factor(loaded_conductors)
    return Carries(by_table.value * ambient * bundling.value, by_table, ambient, bundling)


@cache
def table_current(size: ConductorSize, class_celsius: float) -> Cited:
    """Current in A of 33 CFR 183.425 Table 5, by itself in 30 degC.

    A gauge that the table names has its row, whatever area its cable is sold with. Any other size stands by its area
    on log-log paper between the AWG areas of two rows; above 4/0 AWG on the last two rows' line; below 18 AWG in
    proportion to its area (the density of the last row, which is the cautious side). A class between two columns
    takes the lower one.
    """
    table_5 = table("ampacity", "table_5")
    column, celsius = _column(class_celsius)
    row = table_5["rows"].get(size.gauge)
    if row:
        return cite(row[column], table_5, f"{size.gauge} AWG, {celsius:g} degC")
    amps, where = _between_rows(size.area_mm2, column)
    return cite(amps, table_5, f"{size.label} {where}, {celsius:g} degC", weakest(size.basis, COMPUTED))


def ambient_factor(class_celsius: float, ambient_celsius: float) -> float:
    """Multiplier for an ambient other than 30 degC: sqrt((Tc − Ta) / (Tc − 30)); 0 at the class and above.

    Source: IEC 60287 principle, as CSA C22.1 Table 5A and IEC 60364-5-52 Table B.52.14 tabulate it.
    """
    rise = class_celsius - ambient_celsius
    if rise <= 0 or class_celsius <= REFERENCE_CELSIUS:
        return 0.0
    return sqrt(rise / (class_celsius - REFERENCE_CELSIUS))


@lru_cache(maxsize=256)
def bundling_factor(loaded_conductors: int) -> Cited:
    """Multiplier for so many loaded conductors lying together, the one in question included (1 or more)."""
    if loaded_conductors < 1:
        raise ValueError("a bundle holds at least the conductor itself")
    bundling = table("ampacity", "bundling")
    factor = next(factor for least, factor in reversed(bundling["rows"]) if loaded_conductors >= least)
    return cite(factor, bundling, f"{loaded_conductors} loaded")


def smallest_carrying(
    amps: float, kind: str, class_celsius: float, ambient_celsius: float, loaded_conductors: int = 1
) -> ConductorSize | None:
    """The thinnest stocked size of a kind that carries so many A; None where none does."""
    for size in sizes(kind):
        if carries(size, class_celsius, ambient_celsius, loaded_conductors).amps >= amps:
            return size
    return None


def _column(class_celsius: float) -> tuple[int, float]:
    columns: list[float] = table("ampacity", "table_5")["columns"]
    reached = [index for index, celsius in enumerate(columns) if celsius <= class_celsius]
    if not reached:
        raise UnknownClass(
            f"no current is published for insulation of {class_celsius:g} degC: {columns[0]} degC is the lowest"
        )
    return reached[-1], columns[reached[-1]]


@cache
def _areas() -> list[tuple[float, str]]:
    """Area in mm² and gauge of the table's rows, from thin to thick."""
    return [(awg_area_mm2(gauge), gauge) for gauge in table("ampacity", "table_5")["rows"]]


def _between_rows(area: float, column: int) -> tuple[float, str]:
    """Current in A, and a phrase for where the area stands among the rows."""
    rows = table("ampacity", "table_5")["rows"]
    areas = _areas()
    thinnest, gauge = areas[0]
    if area < thinnest:
        return rows[gauge][column] * area / thinnest, f"below {gauge} AWG in proportion to area"
    upper = next((index for index, (row, _) in enumerate(areas) if row >= area and index), len(areas) - 1)
    (a0, g0), (a1, g1) = areas[upper - 1], areas[upper]
    amps = on_logs(a0, rows[g0][column], a1, rows[g1][column], area)
    return amps, f"between {g0} and {g1} AWG" if area <= a1 else f"extrapolated above {g1} AWG"
