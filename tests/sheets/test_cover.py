"""The cover and its cautions: which apply, and that what the spec leaves open keeps them."""

from __future__ import annotations

import re

import pytest
from syrupy.assertion import SnapshotAssertion
from tests.sheets.job import PLANNED, SPECS, job_at, job_in, made, markdown_of
from tests.sheets.test_papers import small

from loomwright.sheets.cautions import CONDITIONS, applying, entries
from loomwright.sheets.document import Caution, Steps
from loomwright.sheets.job import Job

MARSH = SPECS / "marsh-lab" / "planned.fitout"


def numbers(job: Job) -> set[str]:
    return {each.caution.number for each in applying(job)}


def test_the_cover_of_the_planned_example_reads_so(snapshot: SnapshotAssertion) -> None:
    assert markdown_of(made("cover", job_at(PLANNED))) == snapshot


def test_every_caution_has_a_text_a_known_condition_and_a_source_that_is_no_address() -> None:
    for each in entries():
        assert each.caution.text.endswith(".")
        assert each.when in CONDITIONS
        assert each.caution.source
        assert not re.search(r"https?:|www\.|\.(com|org|net|govt)\b", each.caution.source + each.caution.text)
    assert len({each.caution.number for each in entries()}) == len(entries())


def test_every_caution_stands_somewhere_besides_the_cover() -> None:
    """Welding is no step of these papers: its caution is for whoever does it all the same."""
    assert {each.caution.number for each in entries() if not each.stands} == {"W33"}


def everything() -> Job:
    """Marsh Lab with every hazard, a lead-acid house battery in an unnamed box beside it, and mains plugged in."""
    text = MARSH.read_text(encoding="utf-8").replace("hazards spray", "hazards spray, gas, fuel, wheel")
    text = text.replace(
        "# Loads of the trailer", "battery aux-house in lab { chemistry agm; capacity 100 Ah; stud M8 }"
    )
    return job_in(text.replace('"dark, nothing charging" {', '"dark" { mains on;'))


def test_every_caution_that_applies_stands_before_a_step_or_on_the_card() -> None:
    job = everything()
    assert {each.when for each in applying(job)} == set(CONDITIONS)
    told = {
        one.number
        for name in ("work-order", "owner-card")
        for block in made(name, job).blocks
        for one in ([block] if isinstance(block, Caution) else _before(block))
    }
    assert {each.caution.number for each in entries() if each.stands} <= told


def _before(block: object) -> list[Caution]:
    return [one for step in block.steps for one in step.cautions] if isinstance(block, Steps) else []


@pytest.mark.parametrize(
    ("old", "new", "come", "go"),
    [
        ("chemistry lead-acid", "chemistry lifepo4", {"W25", "W26"}, {"W6", "W20", "W23", "W29"}),
        ("chemistry lead-acid; ", "", {"W25", "W26"}, set()),  # nobody has looked: both kinds
        (
            "place bay { ambient 40 degC }",
            "place bay { ambient 40 degC; outside }",
            set(),
            {"W10", "W11", "W29"},
        ),
        ("ambient 40 degC", "ambient 40 degC; hazards gas, fuel", {"W30", "W40", "W41"}, set()),
        ("ambient 40 degC", "ambient 40 degC; hazards heat", {"W35"}, set()),
    ],
)
def test_a_caution_follows_what_the_spec_says(old: str, new: str, come: set[str], go: set[str]) -> None:
    text = small()
    assert old in text
    before, after = numbers(job_in(text)), numbers(job_in(text.replace(old, new)))
    assert after - before == come
    assert before - after == go


def test_an_inverter_brings_the_cautions_of_mains() -> None:
    assert {"W42", "W43"} <= numbers(job_at(MARSH))
    assert not {"W42", "W43"} & numbers(job_at(PLANNED))


def test_the_cover_counts_what_is_open() -> None:
    job = job_at(SPECS / "orchard-bees" / "as-found.fitout")
    counts = job.report.counts
    text = markdown_of(made("cover", job))
    assert (
        f"{counts['dangerous'] + counts['major']} findings of the classes dangerous and major are open"
        in text
    )
    assert f"| dangerous | {counts['dangerous']} |" in text


@pytest.mark.parametrize(
    ("stage", "count"),
    [("planned", "12, 8 of them new"), ("as-found", "7"), ("installed", "12, 8 of them new")],
)
def test_the_cover_counts_as_new_what_no_part_of_the_found_system_is(stage: str, count: str) -> None:
    """Planned: all but crank and gen, which the vehicle has, and incubator and syrup-pump, which stay. As found nothing is new."""
    text = markdown_of(made("cover", job_at(PLANNED.with_name(f"{stage}.fitout"))))
    assert f"- Devices: {count}\n" in text


def test_papers_without_a_work_order_do_not_speak_of_one() -> None:
    assert "work order" not in markdown_of(made("cover", job_at(PLANNED.with_name("as-found.fitout"))))
