"""The work order: what is done in which order, by whom, where, with a box for each step."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from loomwright.sheets.document import Block, Heading, Paragraph, Sheet, Steps, numbered
from loomwright.sheets.job import Job
from loomwright.sheets.order import after, before, cables, joining
from loomwright.sheets.order.section import Section
from loomwright.sheets.rework import change_of, kept_names
from loomwright.sheets.words import place_name


def sheet(job: Job) -> Sheet | None:
    """The order of the work; none for what came in."""
    if job.as_found:
        return None
    blocks = [
        Paragraph(
            "Steps are done in this order and ticked when they are done, not before. Stop where something is not as drawn, and ask."
        )
    ]
    return Sheet("work-order", "Work order", "fitter, apprentice", (*blocks, *numbered(tuple(_blocks(job)))))


def _blocks(job: Job) -> Iterator[Block]:
    for section in sections(job):
        if section.steps:
            yield Heading(section.title)
            yield Paragraph(section.says)
            yield from _steps(section)


def _steps(section: Section) -> Iterator[Block]:
    if not section.by_place:
        yield Steps(section.steps, always=section.always)
        return
    for place, steps in groupby(section.steps, lambda step: step.place):
        yield Heading(f"In the {place_name(place)}" if place else "Elsewhere", 3)
        yield Steps(tuple(steps))


def sections(job: Job) -> tuple[Section, ...]:
    """The parts of the work in their order."""
    change, kept = change_of(job), kept_names(job)
    made = (
        before.isolate(job),
        before.strip_out(job, change),
        before.fix(job, kept),
        cables.lay(job, kept),
        cables.terminate(job, kept),
        after.inspect(job),
        after.test_dead(job),
        joining.join_batteries(job),
        joining.insert_fuses(job),
        joining.join_panels(job),
        after.test_live(job),
        after.hand_over(job),
    )
    return tuple(section for section in made if section is not None)
