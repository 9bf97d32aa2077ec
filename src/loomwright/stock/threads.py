"""Threads of studs, and the holes that go over them."""

from __future__ import annotations

from loomwright.stock.cited import Cited
from loomwright.stock.tables import cite, table

SERIES = ("fine", "medium", "coarse")


def threads() -> tuple[str, ...]:
    """The threads of the table, from M3 up."""
    return tuple(table("terminations", "clearance_holes")["rows"])


def nominal_mm(thread: str) -> float:
    """Outside diameter in mm of a metric thread ("M8" is 8). Raises `ValueError` for anything else."""
    if not thread.startswith("M"):
        raise ValueError(f"'{thread}' is no metric thread: written M8")
    return float(thread[1:])


def clearance_hole(thread: str, series: str = "fine") -> Cited:
    """Diameter in mm of the hole for a thread (ISO 273). Raises `KeyError` for a thread that isn't in the table."""
    holes = table("terminations", "clearance_holes")
    return cite(holes["rows"][thread][SERIES.index(series)], holes, f"{thread} {series}")
