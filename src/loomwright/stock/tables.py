"""Reads the tables in `data/`, each file once and only when it is asked for, and interpolates in them."""

from __future__ import annotations

import os.path
from collections.abc import Sequence
from functools import cache
from itertools import pairwise
from math import exp, log
from typing import Any

from loomwright.cache import kept
from loomwright.stock.cited import Cited, CitedRange, weakest

DATA = os.path.join(os.path.dirname(__file__), "data")

Table = dict[str, Any]


@cache
def subject(name: str) -> Table:
    """All tables of one file of `data/`."""
    with open(os.path.join(DATA, f"{name}.toml"), encoding="utf-8") as file:
        text = file.read()
    return kept(f"stock-{name}", text, lambda: _tables(text))


def _tables(text: str) -> Table:
    import tomllib  # slow enough to be felt at every start, and the tables seldom change

    return tomllib.loads(text)


def table(file: str, name: str) -> Table:
    """One table: its rows or values beside `unit`, `source` and `basis`."""
    found: Table = subject(file)[name]
    return found


def cite(value: float, table: Table, detail: str = "", basis: str = "") -> Cited:
    """A figure of a table, its source made precise by a detail (which row); a weaker basis replaces the table's."""
    return Cited(float(value), source_of(table, detail), weakest(table["basis"], basis or table["basis"]))


def cite_range(ends: Sequence[float], table: Table, detail: str = "") -> CitedRange:
    """As `cite`, for a range's two ends."""
    return CitedRange(float(ends[0]), float(ends[1]), source_of(table, detail), table["basis"])


def source_of(table: Table, detail: str = "") -> str:
    """The table's source, with a detail after it."""
    return f"{table['source']}, {detail}" if detail else str(table["source"])


def linear(points: Sequence[tuple[float, float]], x: float) -> float:
    """Straight line between the points (ascending x); the end values beyond the ends."""
    if x <= points[0][0]:
        return points[0][1]
    for (x0, y0), (x1, y1) in pairwise(points):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return points[-1][1]


def on_logs(x0: float, y0: float, x1: float, y1: float, x: float) -> float:
    """The value at x on the power law through two points (a straight line on log-log paper)."""
    return y0 * exp(log(y1 / y0) * log(x / x0) / log(x1 / x0))
