"""The termination schedule: how each end is stripped, pressed, covered and tightened."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from loomwright.sheets.cautions import standing
from loomwright.sheets.document import Block, Cell, Column, Note, Piece, Row, Sheet, Swatch, Table, Tick
from loomwright.sheets.job import Job
from loomwright.sheets.making import MadeUp, all_made_up, leg_name, odd_lugs
from loomwright.sheets.terms import DASH, reach, size_words
from loomwright.sheets.words import distinct, known, place_of, said
from loomwright.stock import making
from loomwright.stock.cited import mark_of
from loomwright.syntax.tree import Measure

COLUMNS = (
    Column("Run", narrow=True),
    Column("End at"),
    Column("Cable", narrow=True),
    Column("Fitting"),
    Column("Crimp"),
    Column("Strip", "mm", number=True),
    Column("Heat-shrink", narrow=True),
    Column("Bore", "mm", number=True),
    Column("Cut", "mm", number=True),
    Column("Torque", "N m", number=True),
    Column("Made", narrow=True),
)
FOUND = (
    Column("Run", narrow=True), Column("End at"), Column("Cable", narrow=True), Column("Fitting"), Column("Stud", narrow=True),
    Column("Made"), Column("Cover"), Column("Held"),
)  # fmt: skip
OPEN = " *"


def sheet(job: Job) -> Sheet | None:
    """Every end that is not the vehicle maker's; of what came in how it was found, and nothing of how to make it."""
    made = all_made_up(job.ledger, (run for run in job.installation.runs if not run.maker))
    if not made:
        return None
    if job.as_found:
        rows = tuple(_found(each, job) for each in made)
        return Sheet("terminations", "Termination schedule", "bench", (Table("Ends as found", FOUND, rows),))
    rows = tuple(_row(number, each) for number, each in enumerate(made, 1))
    blocks: list[Block] = [*standing(job, "terminate"), Table("Ends", COLUMNS, rows), *_notes(made)]
    return Sheet("terminations", "Termination schedule", "bench", tuple(blocks), landscape=True)


def _row(number: int, made: MadeUp) -> Row:
    run, place = made.end.run, place_of(made.end.point)
    tube, length = made.tube, made.tube_mm
    cells: tuple[Cell, ...] = (
        (Piece(leg_name(run), run=run.name),),
        made.at,
        size_words(run.cable),
        _fitting(made),
        made.crimp or DASH,
        f"{made.strip.value:g}" if made.strip else DASH,
        Swatch(made.tube_colour) if tube else _cover(made),
        f"{tube.supplied_mm:g} ({tube.ratio})" if tube else DASH,
        f"{length:g}" if length else DASH,
        reach(made.torque.low, made.torque.high) if made.torque else DASH,
        Tick(f"terminations-{number}"),
    )
    return Row(cells, run=run.name, place=place.name if place else "")


def _found(made: MadeUp, job: Job) -> Row:
    end, place = made.end, place_of(made.end.point)
    cells: tuple[Cell, ...] = (
        (Piece(leg_name(end.run), run=end.run.name),),
        made.at,
        size_words(end.run.cable),
        made.fitting,
        known(job.ledger, end, "stud") or DASH,
        said(end.made),
        said(end.cover),
        said(end.held) + (f", first clip {said(end.clip)} off" if isinstance(end.clip, Measure) else ""),
    )
    return Row(cells, run=end.run.name, place=place.name if place else "")


def _fitting(made: MadeUp) -> str:
    shared = "" if made.first_in_barrel else f", in one barrel with {made.end.shares_with or 'another run'}"
    return f"{made.fitting}{OPEN if made.derived else ''}{shared}"


def _cover(made: MadeUp) -> str:
    """What covers an end that gets no tube."""
    cover = made.end.cover
    if cover == "sealed":
        return "none" if made.strip else "not known"
    return said(cover)


def _notes(made: Iterable[MadeUp]) -> Iterator[Note]:
    made = list(made)
    if any(each.derived for each in made):
        yield Note(
            "* The spec leaves this fitting open; it follows from the cable and from the fuse that it goes to."
        )
    if odd := odd_lugs(made):
        yield Note(odd)
    yield Note(
        "Measure the barrel in hand before the first cut: strip to its depth and 1 mm, so that the strands can be seen (common practice)."
        " Slide the tube on before crimping. Bore is as supplied, with the shrink ratio. No solder on a strand that is crimped."
    )
    yield Note(
        "Torque: the figure of the equipment's maker comes first; these stand where he gives none. Mark each joint once it is tight."
    )
    yield Note(f"Sources: {'; '.join(_sources(made))}.")


def _sources(made: Iterable[MadeUp]) -> list[str]:
    """Each source once, with how firm it is; which row it was is left out."""
    made = list(made)
    strips = [(each.strip.source.rpartition(", ")[0], each.strip.basis) for each in made if each.strip]
    torques = [(each.torque.source.partition(", M")[0], each.torque.basis) for each in made if each.torque]
    tube = making.source("heat_shrink") if any(each.tube for each in made) else None
    told = [f"to strip, {_cited(source, basis)}" for source, basis in strips]
    told += [f"tube, {_cited(tube.source, tube.basis)}"] if tube else []
    told += [f"torque, {_cited(source, basis)}" for source, basis in torques]
    return distinct(told)


def _cited(source: str, basis: str) -> str:
    mark = mark_of(basis)
    return f"{source} ({mark})" if mark else source
