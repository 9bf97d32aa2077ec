"""The energy sheet: the day's sums against each other, and a simulated course where there is one."""

from __future__ import annotations

import pytest
from tests.sheets.job import PLANNED, job_at, job_in, tables, words

from loomwright.sheets.document import Facts, Figure
from loomwright.sheets.energy import Course, sheet


def test_the_modes_add_up_to_what_the_house_uses() -> None:
    """What stands on the head of the sheet is the sum of its table (72 Ah is reckoned by the facts, the rows by the sheet)."""
    found = sheet(job_at(PLANNED))
    assert found is not None
    rows = [words(row) for row in tables(found, "Through the day")[0].rows]
    head = next(block for block in found.blocks if isinstance(block, Facts))
    used = float(str(dict(head.pairs)["The house uses"]).removesuffix(" Ah"))
    assert sum(float(row[3]) for row in rows) == pytest.approx(used, abs=0.6)
    for row in rows:
        assert float(row[1]) * float(row[2]) == pytest.approx(float(row[3]), rel=0.03)


def test_a_day_that_was_simulated_gets_its_chart_and_its_lowest_state() -> None:
    course = Course((0.0, 6.0, 12.0, 24.0), (90.0, 60.0, 41.0, 80.0))
    found = sheet(job_at(PLANNED), {"harvest": course})
    assert found is not None
    (figure,) = [block for block in found.blocks if isinstance(block, Figure)]
    assert "<svg" in figure.svg
    lowest = [block for block in found.blocks if isinstance(block, Facts)][-1]
    assert dict(lowest.pairs) == {"Lowest state of charge": "41 % after 12.0 h"}


def test_without_a_day_there_is_nothing_to_balance() -> None:
    text = 'fitout "T" { stage planned; system 12 V }\nplace box { }\nbattery house in box { serves house; capacity 100 Ah }'
    assert sheet(job_in(text)) is None
