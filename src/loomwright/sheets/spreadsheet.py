"""Rows as CSV that a spreadsheet opens without running any of it."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

STARTS = ("=", "+", "-", "@", "\t", "\r")
"""With what a spreadsheet begins a formula (OWASP, CSV Injection)."""


def as_csv(head: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """The head and the rows; a text of the spec that a spreadsheet would take for a formula has an apostrophe before it."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    writer.writerows([_harmless(cell) for cell in row] for row in rows)
    return out.getvalue()


def _harmless(cell: str) -> str:
    return f"'{cell}" if cell.startswith(STARTS) else cell
