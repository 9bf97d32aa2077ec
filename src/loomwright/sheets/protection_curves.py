"""Protection curves: for each fuse when it opens, what its cables stand, and what a fault drives through it."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from loomwright.facts.registry import Missing
from loomwright.model import things as t
from loomwright.sheets.document import (
    Block,
    Column,
    Figure,
    Heading,
    Note,
    Piece,
    Row,
    Sheet,
    Table,
    run_name,
)
from loomwright.sheets.drawings.protection import curve_of
from loomwright.sheets.far_faults import far_fault
from loomwright.sheets.fuse_chart import entries
from loomwright.sheets.job import Job
from loomwright.sheets.making import leg_name
from loomwright.sheets.terms import DASH, figure, fuse_title, seconds, size_words
from loomwright.sheets.words import known, sentence
from loomwright.stock import fuses as stock
from loomwright.stock.cited import mark_of

TIMES_RATING = (1.35, 2.0, 6.0)


def sheet(job: Job) -> Sheet | None:
    """One section a fuse, those of the ways of hubs first; None without a fuse."""
    blocks: list[Block] = []
    told: list[t.Fuse] = []
    hubs, inline = entries(job)
    for entry in [*(each for _, ways in hubs for each in ways), *inline]:
        if entry.fuse is not None and entry.runs:
            told.append(entry.fuse)
            blocks += _fuse(entry.fuse, job)
    if not told:
        return None
    blocks += [
        Table(
            "All fuses at their fault currents",
            _COLUMNS,
            tuple(row for fuse in told for row in _rows(fuse, job)),
        )
    ]
    blocks.append(
        Note(
            f"Opening bands: {'; '.join(_sources(told))}. Cable: IEC 60364-5-54 clause 543.1.2, with its steady limit."
            " A curve counts what flows through its own fuse: what other sources send into the same fault does not pass it."
        )
    )
    return Sheet("protection-curves", "Protection curves", "reviewer", tuple(blocks))


_COLUMNS = (
    Column("Fuse"), Column("In", narrow=True), Column("At", narrow=True), Column("Current", "A", number=True), Column("May open after", "s", number=True),
    Column("Has opened by", "s", number=True), Column("Weakest cable"), Column("Bears it", "s", number=True), Column("Guards it at faults", narrow=True),
)  # fmt: skip


def _fuse(fuse: t.Fuse, job: Job) -> Iterator[Block]:
    yield Heading(f"{sentence(fuse_title(fuse)).rstrip('.')} in {fuse.name}")
    try:
        drawing = curve_of(job.ledger, fuse)
    except Missing as missing:
        yield Note(
            f"Its curve can't be drawn: {', '.join(reason.what for reason in missing.reasons)} not known."
        )
        return
    yield Figure(drawing.title, drawing.description, drawing.svg)


def _rows(fuse: t.Fuse, job: Job) -> Iterator[Row]:
    """At a few multiples of the rating and at each fault current, the fuse against the cable that stands least."""
    rating = fuse.rating.quantity.si
    for multiple in TIMES_RATING:
        yield _row(fuse, f"{multiple:g} × rating", multiple * rating, job, judged=False)
    far = far_fault(job.ledger, fuse)
    words = f"least fault, far end of {leg_name(far[0])}" if far else "least fault"
    yield _row(fuse, words, far[1] if far else None, job, judged=True)
    yield _row(fuse, "greatest fault", known(job.ledger, fuse, "fault"), job, judged=True)


def _row(fuse: t.Fuse, words: str, current: float | None, job: Job, judged: bool) -> Row:
    """Whether it guards its cable is `judged` at fault currents; overloads are kept off by the rating."""
    run = fuse.run.name if fuse.run else ""
    where: tuple[Piece, ...] = run_name(fuse.name) if run else (Piece(fuse.name),)
    head = (fuse_title(fuse), where, words)
    if current is None or current == inf:
        return Row(
            (*head, "?" if current is None else "no end", DASH, DASH, DASH, DASH, "not known"), run=run
        )
    holds, opens = (known(job.ledger, fuse, name, current) for name in ("holds-for", "opens-by"))
    weakest, bears = _weakest(fuse, current, job)
    cable = f"{weakest.name}, {size_words(weakest.cable)}" if weakest else DASH
    guards = "not known" if opens is None or bears is None else "yes" if opens <= bears else "no"
    times = (seconds(holds), seconds(opens), cable, seconds(bears))
    return Row((*head, figure(current, 0), *times, guards if judged else DASH), run=run)


def _weakest(fuse: t.Fuse, current: float, job: Job) -> tuple[t.Run | None, float | None]:
    """The protected run that stands a current for the least time."""
    times = [
        (bears, run)
        for run in known(job.ledger, fuse, "protects") or ()
        if (bears := known(job.ledger, run, "withstands", current)) is not None
    ]
    if not times:
        return None, None
    bears, run = min(times, key=lambda pair: pair[0])
    return run, bears


def _sources(fuses: list[t.Fuse]) -> list[str]:
    kinds = dict.fromkeys(stock.kind(fuse.kind) for fuse in fuses)
    told = [
        f"{kind.title}, {kind.gates_source}{f' ({mark})' if (mark := mark_of(kind.gates_basis)) else ''}"
        for kind in kinds
    ]
    return list(dict.fromkeys(told))
