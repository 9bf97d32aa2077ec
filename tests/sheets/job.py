"""Jobs and sheets as the tests of single sheets need them."""

from __future__ import annotations

import datetime
from functools import cache
from pathlib import Path

from loomwright.sheets import render
from loomwright.sheets.catalogue import sheet_of
from loomwright.sheets.document import Papers, Piece, Revision, Row, Sheet, Table, plain
from loomwright.sheets.job import Job, job_of

TODAY = datetime.date(2026, 11, 20)
SPECS = Path(__file__).parent.parent.parent / "specs"
PLANNED = SPECS / "orchard-bees" / "planned.fitout"
ALL = tuple(sorted(SPECS.glob("**/*.fitout")))


@cache
def job_at(path: Path) -> Job:
    return job_of(path.read_text(encoding="utf-8"), str(path), TODAY)


def job_in(text: str) -> Job:
    """The job of a spec that stands in the test."""
    return job_of(text, None, TODAY)


def made(name: str, job: Job) -> Sheet:
    """A sheet that must have something to say."""
    found = sheet_of(name, job)
    assert found is not None
    return found


def markdown_of(sheet: Sheet) -> str:
    """The sheet alone, without what every set of papers says at its head."""
    revision = Revision("spec", "0", None, True, "")
    text = render.markdown(Papers("Papers", "", "", "", "planned", revision, (sheet,)))
    return text[text.index("## ") :]


def tables(sheet: Sheet, caption: str = "") -> list[Table]:
    return [block for block in sheet.blocks if isinstance(block, Table) and caption in block.caption]


def words(row: Row) -> tuple[str, ...]:
    """The cells of a row as text."""
    return tuple(plain(cell) if isinstance(cell, (str, tuple)) else _said(cell) for cell in row.cells)


def _said(cell: object) -> str:
    return str(getattr(cell, "colour", "") or getattr(cell, "label", ""))


def runs_named(sheet: Sheet) -> set[str]:
    """The runs that the rows of a sheet's tables belong to."""
    rows = [row for table in tables(sheet) for row in table.rows]
    pieces = {
        piece.run
        for row in rows
        for cell in row.cells
        if isinstance(cell, tuple)
        for piece in cell
        if isinstance(piece, Piece)
    }
    return ({row.run for row in rows} | pieces) - {""}
