"""The system diagram: every run between what it joins, sources to the left and loads to the right."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.model import things as t
from loomwright.sheets.document import Block, Column, Figure, Note, Piece, Row, Sheet, Table
from loomwright.sheets.drawings.diagram import diagram
from loomwright.sheets.job import Job
from loomwright.sheets.terms import DASH, fuse_words, size_words
from loomwright.sheets.words import distinct, known, point_name


def sheet(job: Job) -> Sheet | None:
    """The drawing in as many parts as it needs, and the same connections in words."""
    drawings = diagram(job.ledger)
    if not job.installation.runs or not drawings:
        return None
    blocks: list[Block] = [
        Figure(each.title, each.description, each.svg, each.landscape) for each in drawings
    ]
    blocks.append(_connections(job))
    if any(known(job.ledger, device, "mains") for device in job.installation.devices):
        blocks.append(Note("Mains wiring is a boundary of this drawing: licensed electrician only."))
    return Sheet("diagram", "System diagram", "fitter", tuple(blocks), landscape=drawings[-1].landscape)


def _connections(job: Job) -> Table:
    columns = (Column("From"), Column("Run"), Column("To"), Column("Cable"), Column("Fuse"), Column("Label"))
    return Table("Connections, in the order of the spec", columns, tuple(_rows(job)))


def _rows(job: Job) -> Iterator[Row]:
    for run in job.installation.runs:
        if run.circuit and run.role == "earth":
            continue
        cells = (
            point_name(run.start),
            (Piece(run.name, run=run.name),),
            _to(run, job),
            size_words(run.cable),
            _fuses(run, job),
            run.label or DASH,
        )
        yield Row(cells, run=run.name)


def _to(run: t.Run, job: Job) -> str:
    """Where it ends; of a circuit the load, and where its other leg goes back to."""
    if run.circuit is None:
        return point_name(run.end)
    back = job.installation.legs_of[run.circuit][1]
    return f"{run.circuit.load.name}, back to {point_name(back.end)}"


def _fuses(run: t.Run, job: Job) -> str:
    fuses = job.installation.fuses_of[run]
    if isinstance(fuses, t.Unknown):
        return "not known"
    way = known(job.ledger, run, "way")
    found = [*fuses, job.installation.fuse_of_way.get(way)] if way else list(fuses)
    return ", ".join(distinct(fuse_words(fuse) for fuse in found if isinstance(fuse, t.Fuse))) or DASH
