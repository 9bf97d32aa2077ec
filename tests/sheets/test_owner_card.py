"""The owner's card: switches, fuses to carry, what not to do."""

from __future__ import annotations

from collections import Counter

from syrupy.assertion import SnapshotAssertion
from tests.sheets.job import PLANNED, SPECS, job_at, made, markdown_of, tables, words

from loomwright.sheets.catalogue import sheet_of
from loomwright.sheets.owner_card import fuses_of

MARSH = SPECS / "marsh-lab" / "planned.fitout"


def test_the_card_of_the_planned_example_reads_so(snapshot: SnapshotAssertion) -> None:
    assert markdown_of(made("owner-card", job_at(PLANNED))) == snapshot


def test_there_is_a_spare_for_every_rating_that_is_in_use() -> None:
    job = job_at(MARSH)
    (table,) = tables(made("owner-card", job), "Spare fuses")
    in_use = Counter(f"{fuse.kind} {fuse.rating.quantity.si:g}" for fuse in fuses_of(job))
    assert sum(int(words(row)[3]) for row in table.rows) == sum(in_use.values())
    assert len(table.rows) == len(in_use)
    assert all(int(words(row)[4]) >= 1 for row in table.rows)


def test_each_switch_says_what_it_does() -> None:
    (table,) = tables(made("owner-card", job_at(MARSH)), "Switches")
    told = {words(row)[0]: words(row)[2] for row in table.rows}
    assert told["ways, way 2"] == "switches lamps"
    assert told["house-iso (isolator)"].startswith("off: parts sample-cooler, ")


def test_there_is_no_card_of_what_came_in() -> None:
    assert sheet_of("owner-card", job_at(SPECS / "orchard-bees" / "as-found.fitout")) is None
