"""The routing plan: the places of the vehicle, and the runs that pass each of them."""

from __future__ import annotations

from loomwright.model import things as t
from loomwright.rulebook.finding import Finding
from loomwright.sheets.cords import bundles, cords
from loomwright.sheets.document import Block, Column, Figure, Row, Sheet, Table, run_name
from loomwright.sheets.drawings.routing import routing
from loomwright.sheets.job import Job
from loomwright.sheets.terms import DASH, figure
from loomwright.sheets.words import distinct, listed, place_name


def sheet(job: Job) -> Sheet | None:
    """The drawing with the findings that stand at a run or a place, and each place with what passes it."""
    findings = _marked(job)
    drawings = routing(job.ledger, findings)
    if not drawings:
        return None
    blocks: list[Block] = [
        Figure(each.title, each.description, each.svg, each.landscape) for each in drawings
    ]
    blocks.append(_places(job))
    if findings:
        titles = {rule.name: rule.title for rule in job.rulebook.rules}
        rows = tuple(
            Row((str(number), each.severity, listed(each.things), titles[each.rule]), run=_run_of(each, job))
            for number, each in enumerate(findings, 1)
        )
        columns = (Column("Mark", number=True), Column("Class", narrow=True), Column("At"), Column("What"))
        blocks.append(Table("Findings that are marked", columns, rows))
    return Sheet("routing", "Routing plan", "fitter", tuple(blocks), landscape=drawings[-1].landscape)


def _marked(job: Job) -> tuple[Finding, ...]:
    """Findings about runs and places; the rest has no spot on the plan."""
    named = job.installation.named
    spots = (t.Run, t.Circuit, t.Place, t.Loom, t.Multicore)
    return tuple(
        each for each in job.findings if any(isinstance(named.get(name), spots) for name in each.things)
    )


def _run_of(finding: Finding, job: Job) -> str:
    named = job.installation.named
    return next((name for name in finding.things if isinstance(named.get(name), (t.Run, t.Circuit))), "")


def _places(job: Job) -> Table:
    around = bundles(cords(job.ledger, job.installation.runs))
    rows = []
    for place in job.installation.places:
        here = [bundle for bundle in around if bundle.place is place]
        if not here:
            continue
        names = distinct(run.name for bundle in here for cord in bundle.cords for run in cord.runs)
        passing = [piece for name in names for piece in (*run_name(name), *run_name(", "))][:-1]
        sleeves = distinct(bundle.sleeve_words for bundle in here if bundle.length_m)
        cells = (
            place_name(place),
            _degrees(place),
            _hazards(place),
            tuple(passing),
            str(len(names)),
            ", ".join(sleeves) or DASH,
        )
        rows.append(Row(cells, place=place.name))
    columns = (
        Column("Place", narrow=True), Column("Hottest", "°C", number=True), Column("Opening or hazards"), Column("Runs that pass"),
        Column("Runs", number=True), Column("Sleeves"),
    )  # fmt: skip
    return Table("Places and what passes them", columns, tuple(rows))


def _degrees(place: t.Place) -> str:
    """A hole that nobody gave a temperature needs none."""
    if isinstance(place.hottest, t.Unknown):
        return DASH if isinstance(place.opening, str) else "?"
    return figure(place.hottest.quantity.si, 0)


def _hazards(place: t.Place) -> str:
    told = [place.opening] if isinstance(place.opening, str) else []
    return ", ".join([*told, *sorted(place.stated_hazards)]) or DASH
