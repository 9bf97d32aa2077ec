"""The energy sheet: the day's sums against each other, and the state of charge followed through it."""

from __future__ import annotations

import pytest
from tests.sheets.job import PLANNED, job_at, job_in, tables, words
from tests.sheets.test_energy_course import WARM

from loomwright.sheets.document import Facts, Figure, Note, plain
from loomwright.sheets.energy import DAYS, sheet
from loomwright.sheets.energy_course import course_of


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


def test_each_day_is_followed_and_its_lowest_state_told() -> None:
    job = job_at(PLANNED)
    found = sheet(job)
    assert found is not None
    (figure,) = [block for block in found.blocks if isinstance(block, Figure)]
    assert "<svg" in figure.svg
    told = dict([block for block in found.blocks if isinstance(block, Facts)][-1].pairs)
    followed = course_of(job.installation.days[0], job.ledger, DAYS)
    assert told["Lowest state of charge in 3 such days"] == f"{100 * followed.course.lowest:.0f} %"
    assert followed.bank.reserve < followed.course.lowest < 1


def test_a_day_of_which_too_little_is_known_says_what_is_missing() -> None:
    job = job_in(
        'fitout "T" { stage planned; system 12 V }\nplace box { ambient 30 degC }\n'
        "battery house in box { serves house; chemistry agm }\n"
        "load lamp in box { draws 10 W }\nmode night { engine off; on lamp }\nday plain { night 24 h }"
    )
    found = sheet(job)
    assert found is not None
    notes = [plain(block.text) for block in found.blocks if isinstance(block, Note)]
    assert notes[0].startswith("The state of charge can't be followed through the day: this is not known: ")


def test_the_duty_of_a_load_that_follows_the_warmth_is_its_mean_and_a_note_says_of_what() -> None:
    """By hand the mean of the day is 39.1 % (tests/analysis/test_ambient.py)."""
    found = sheet(job_in(WARM))
    assert found is not None
    (row,) = [words(row) for row in tables(found, "Loads")[0].rows]
    assert row[2] == "39"
    notes = [plain(block.text) for block in found.blocks if isinstance(block, Note)]
    assert notes[0].startswith("fridge draws 30 % to 52 % of the time, 39 % on average")


def test_without_a_day_there_is_nothing_to_balance() -> None:
    text = 'fitout "T" { stage planned; system 12 V }\nplace box { }\nbattery house in box { serves house; capacity 100 Ah }'
    assert sheet(job_in(text)) is None
