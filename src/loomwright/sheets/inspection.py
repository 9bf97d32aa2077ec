"""The inspection report: what was found, worst first, in words for the owner. Nothing stands here that no finding says."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from loomwright.model import things as t
from loomwright.rulebook.finding import SEVERITIES, UNPROVEN, Finding
from loomwright.sheets.document import Block, Column, Heading, Note, Paragraph, Piece, Row, Sheet, Signature, Table
from loomwright.sheets.job import Job
from loomwright.sheets.words import counted, distinct, ended, listed, place_name, sentence

MEANING = {
    "dangerous": ("Dangerous", "Do not use it until these are mended: they can start a fire, or fail at any moment."),
    "major": ("Must be mended", "These can harm the vehicle or leave it without power. Mend them before it goes back to work."),
    "minor": ("Should be mended", "No danger today. Mend them when the vehicle is next in the workshop."),
}
UNFIT = "Do not use the added electrical system until what is dangerous has been mended. Have its feeds taken off the batteries."


@dataclass(frozen=True, slots=True)
class Entry:
    """All findings of one rule and one class: one fault, at one place or at many."""

    rule: str
    title: str
    severity: str
    findings: tuple[Finding, ...]


def sheet(job: Job) -> Sheet:
    """The findings of what came in, or of the design where the spec is one."""
    title, readers = ("Inspection report", "customer, estimator") if job.as_found else ("Findings of the design", "reviewer")
    blocks = (*_summary(job), *_by_class(job), *_not_seen(job), *_accepted(job), *_signed(job))
    return Sheet("inspection", title, readers, blocks)


def entries(job: Job) -> list[Entry]:
    """The proven findings that nobody conceded, gathered by fault: worst class first, most places first, then by name."""
    titles = {rule.name: rule.title for rule in job.rulebook.rules}
    groups: dict[tuple[str, str], list[Finding]] = {}
    for finding in job.findings:
        if finding.severity != UNPROVEN and not finding.conceded:
            groups.setdefault((finding.severity, finding.rule), []).append(finding)
    made = [Entry(rule, titles[rule], severity, tuple(found)) for (severity, rule), found in groups.items()]
    return sorted(made, key=lambda one: (SEVERITIES.index(one.severity), -len(one.findings), one.rule))


def _summary(job: Job) -> Iterator[Block]:
    counts = job.report.counts
    if job.as_found:
        yield Paragraph(
            "This is what was seen when the vehicle was looked over, worst first: what it is, what it could do, and what to do"
            " about it. Names such as main or crank.pos are those of the cables and terminals on the drawings."
        )
    else:
        yield Paragraph("This spec is a design: these are its own findings, not what was seen on a vehicle.")
    found = [counted(counts[name], f"{name} finding") for name in SEVERITIES if counts[name]]
    unseen = f" {sentence(counted(counts[UNPROVEN], 'point') + ' could not be judged, because something was not seen or measured')}"
    yield Paragraph(sentence(f"{listed(found)}" if found else "Nothing was found") + (unseen if counts[UNPROVEN] else ""))
    if job.as_found and counts["dangerous"]:
        yield Paragraph((Piece(UNFIT, strong=True),))


def _by_class(job: Job) -> Iterator[Block]:
    number, last = 0, ""
    for entry in entries(job):
        if entry.severity != last:
            last = entry.severity
            heading, meaning = MEANING[last]
            yield Heading(heading)
            yield Note(meaning)
        number += 1
        yield from _entry(number, entry, job)


def _entry(number: int, entry: Entry, job: Job) -> Iterator[Block]:
    """One fault: what it is, what it could do and what to do said once where it is the same at all its places."""
    found = entry.findings
    whys, todos = distinct(one.why for one in found), distinct(one.do for one in found)
    where = f" ({counted(len(found), 'place')})" if len(found) > 1 else ""
    yield Heading(f"{number}. {entry.title}{where}", 3)
    if len(whys) == 1:
        yield _labelled("What it could do.", whys[0])
    if len(todos) == 1:
        yield _labelled("What to do.", todos[0])
    columns = [Column("Where"), Column("What was found" if job.as_found else "What is drawn")]
    columns += [Column("What it could do")] if len(whys) > 1 else []
    columns += [Column("What to do")] if len(todos) > 1 else []
    rows = []
    for one in found:
        cells = [where_of(one, job.installation), ended(one.message)]
        cells += [sentence(one.why)] if len(whys) > 1 else []
        cells += [sentence(one.do)] if len(todos) > 1 else []
        rows.append(Row(tuple(cells)))
    yield Table(f"Fault {number}: {counted(len(found), 'place')}", tuple(columns), tuple(rows))


def _labelled(label: str, text: str) -> Paragraph:
    return Paragraph((Piece(label, strong=True), Piece(f" {sentence(text)}")))


def where_of(finding: Finding, installation: t.Installation) -> str:
    """The place of a finding as people say it: that of its terminal or device, or all that its cable passes."""
    for name in reversed(finding.things):
        place = _place(name, installation)
        if place:
            return place
    return "the whole system"


def _place(name: str, installation: t.Installation) -> str:
    terminal = installation.terminals.get(name)
    thing = terminal.device if terminal else installation.named.get(name)
    match thing:
        case t.Device() | t.Earthpoint():
            return place_name(thing.place)
        case t.Place():
            return place_name(thing)
        case t.Run() | t.Circuit():
            legs = installation.legs_of[thing] if isinstance(thing, t.Circuit) else (thing,)
            return _along(legs, installation)
    return ""


def _along(legs: Sequence[t.Run], installation: t.Installation) -> str:
    stretches = installation.stretches_of[legs[0]]
    if isinstance(stretches, t.Unknown):
        return "path not seen"
    return listed(distinct(place_name(stretch.place) for stretch in stretches))


def _not_seen(job: Job) -> Iterator[Block]:
    """What nobody has looked at yet, each once, with the questions that wait for it."""
    titles = {rule.name: rule.title for rule in job.rulebook.rules}
    waiting: dict[str, list[Finding]] = {}
    for finding in job.findings:
        if finding.severity == UNPROVEN and not finding.conceded:
            for missing in finding.missing:
                waiting.setdefault(missing.what, []).append(finding)
    if not waiting:
        return
    yield Heading("Not seen")
    yield Paragraph("No judgement is made on these. Each must be looked at or measured first.")
    rows = tuple(
        Row((sentence(what), where_of(found[0], job.installation), "; ".join(distinct(titles[one.rule] for one in found))))
        for what, found in waiting.items()
    )
    columns = (Column("To look at or measure"), Column("Where"), Column("Could be, if it is not in order"))
    yield Table("Not seen", columns, rows)


def _accepted(job: Job) -> Iterator[Block]:
    rows = tuple(
        Row(
            (
                where_of(one, job.installation),
                ended(one.message),
                sentence(one.conceded.reason),
                one.conceded.by,
                one.conceded.until or "no end",
            )
        )
        for one in job.findings
        if one.conceded
    )
    if rows:
        columns = (Column("Where"), Column("Finding"), Column("Why accepted"), Column("By"), Column("Until"))
        yield Heading("Accepted as it is")
        yield Table("Findings knowingly accepted", columns, rows)


def _signed(job: Job) -> Iterator[Block]:
    if job.as_found:
        yield Signature(("Looked over by, date", "Explained to the customer, date"))
