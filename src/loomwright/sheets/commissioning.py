"""The commissioning record: each test with what it should show, its limit, a box for the reading, pass or fail."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.sheets.document import (
    Blank,
    Block,
    Cell,
    Column,
    Facts,
    Heading,
    Note,
    Paragraph,
    Row,
    Sheet,
    Signature,
    Table,
    Tick,
)
from loomwright.sheets.job import Job
from loomwright.sheets.readings import Trial, sections, trials
from loomwright.sheets.record.reading import Reading

PREDICTED, LIMIT = Column("Predicted"), Column("Limit")
COLUMNS = (
    Column("On"),
    PREDICTED,
    LIMIT,
    Column("Reading"),
    Column("Pass", narrow=True),
    Column("Fail", narrow=True),
)


def sheet(job: Job) -> Sheet | None:
    """The record of what is to be tested; none for what came in."""
    if job.as_found:
        return None
    return Sheet("commissioning", "Commissioning record", "tester", (*_head(job), *_tests(job), *_foot()))


def _head(job: Job) -> Iterator[Block]:
    yield Facts(
        (
            ("Tested by", Blank("name")),
            ("Date", Blank("date")),
            ("Ambient", Blank("°C")),
            ("Instruments", Blank("multimeter, clamp, milliohm meter: numbers and calibration")),
        )
    )
    if job.installation.readings:
        yield Paragraph("Readings that stand in the spec are filled in, with who took them and when.")
    yield Paragraph(
        "In the order: look, dead tests, energise in steps, load tests, charge tests, soak, hand-over. A blank is not tested; it is never a"
        " pass. Predicted values are for the mode named, worked out from the spec; where a reading is beyond its limit, stop and find"
        " out why."
    )


def _tests(job: Job) -> Iterator[Block]:
    made = trials(job)
    for section, title in sections().items():
        mine = [test for test in made if test.section == section]
        if mine:
            yield Heading(title)
        for test in mine:
            yield from _test(test)


def _test(test: Trial) -> Iterator[Block]:
    yield Heading(f"{test.id} {test.name}", 3)
    yield Paragraph(f"How: {test.method}. Limit: {test.limit}. Source: {test.source}.")
    empty = {PREDICTED} if not any(one.predicted for one in test.rows) else set()
    empty |= {LIMIT} if not any(one.limit for one in test.rows) else set()
    columns = tuple(column for column in COLUMNS if column not in empty)
    yield Table(
        f"Readings of {test.id}", columns, tuple(_row(test, reading, columns) for reading in test.rows)
    )


def _row(test: Trial, reading: Reading, columns: tuple[Column, ...]) -> Row:
    """One line; the columns that are empty in the whole table are left out."""
    key = f"{test.id}-{reading.of}"
    cells: tuple[Cell, ...] = (
        reading.of,
        reading.predicted or "not predicted",
        reading.limit or "see Limit",
        reading.found or Blank(),
        Tick(f"{key}-pass"),
        Tick(f"{key}-fail"),
    )
    kept = tuple(cell for column, cell in zip(COLUMNS, cells, strict=True) if column in columns)
    return Row(kept, run=reading.run, place=reading.place, person="tester")


def _foot() -> Iterator[Block]:
    yield Note("A test that failed is made again after it was mended, and both readings are kept.")
    yield Signature(("Tested by, date", "Seen by, date"))
