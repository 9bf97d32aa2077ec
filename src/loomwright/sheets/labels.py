"""The labels: one for each end of a run and one for each fuse."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.model import things as t
from loomwright.sheets.cords import cords
from loomwright.sheets.document import Column, Piece, Row, Sheet, Table
from loomwright.sheets.job import Job
from loomwright.sheets.making import leg_name
from loomwright.sheets.terms import DASH, fuse_title, over_insulation_mm
from loomwright.sheets.words import known, listed, place_name, place_of, point_name


def sheet(job: Job) -> Sheet | None:
    """For what is to be built or was built; none for what came in."""
    if job.as_found:
        return None
    ends = (*_end_rows(job), *_sheath_rows(job))
    fuses = tuple(_fuse_rows(job))
    if not ends and not fuses:
        return None
    run_columns = (
        Column("First line"), Column("Second line"), Column("On run", narrow=True), Column("At", narrow=True), Column("Place", narrow=True),
        Column("Over conductor of", "mm", number=True),
    )  # fmt: skip
    fuse_columns = (Column("First line"), Column("Second line"), Column("For", narrow=True), Column("Place"))
    return Sheet(
        "labels",
        "Labels",
        "label printer",
        (Table("Run ends", run_columns, ends), Table("Fuses", fuse_columns, fuses)),
    )


def label_of(run: t.Run) -> str:
    """What the label of a run says first: its own words, or its name."""
    leg = {"feed": " +", "earth": " −"}[run.role] if run.circuit else ""
    return f"{run.label or run.name}{leg}"


def _end_rows(job: Job) -> Iterator[Row]:
    for run in job.installation.runs:
        if run.maker:
            continue
        thick = over_insulation_mm(run)
        for here, there in ((run.start, run.end), (run.end, run.start)):
            place = place_of(here)
            cells = (
                label_of(run),
                f"{point_name(here)}, to {point_name(there)}",
                (Piece(leg_name(run), run=run.name),),
                point_name(here),
                place_name(place) if place else DASH,
                f"{thick:.1f}" if thick else DASH,
            )
            yield Row(cells, run=run.name, place=place.name if place else "")


def _sheath_rows(job: Job) -> Iterator[Row]:
    """One on the sheath at each end of a multicore; its cores have their own."""
    for cord in cords(job.ledger):
        multicore = cord.run.multicore
        if multicore is None or not isinstance(cord.stretches, tuple) or not cord.stretches:
            continue
        ends = cord.stretches[0].place, cord.stretches[-1].place
        for here, there in (ends, ends[::-1]):
            cells = (
                multicore.label or multicore.name,
                f"{place_name(here)}, to {place_name(there)}",
                multicore.name,
                "its sheath",
                place_name(here),
                f"{cord.outside_mm:.1f}" if cord.outside_mm else DASH,
            )
            yield Row(cells, place=here.name)


def _fuse_rows(job: Job) -> Iterator[Row]:
    for run in job.installation.runs:
        fuses = job.installation.fuses_of[run]
        for fuse in () if run.maker or isinstance(fuses, t.Unknown) else fuses:
            place = known(job.ledger, fuse, "place")
            where = place_name(place) if place else DASH
            first = (Piece(leg_name(run), run=run.name),)
            yield Row(
                (label_of(run), fuse_title(fuse), first, where),
                run=run.name,
                place=place.name if place else "",
            )
    for way, found in job.installation.fuse_of_way.items():
        if isinstance(found, t.Fuse) and not way.hub.maker:
            runs = known(job.ledger, way, "runs") or ()
            names = listed(dict.fromkeys(run.label or run.name for run in runs)) if runs else "spare"
            second = f"way {way.number}, {fuse_title(found)}"
            yield Row(
                (names, second, f"{way.hub.name}, way {way.number}", place_name(way.hub.place)),
                place=way.hub.place.name,
            )
