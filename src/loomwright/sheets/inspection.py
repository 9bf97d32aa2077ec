"""The inspection report: what was found, worst first, in words for the owner. Nothing stands here that no finding says."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from loomwright.model import things as t
from loomwright.record import Record
from loomwright.rulebook.finding import SEVERITIES, UNPROVEN, Finding
from loomwright.sheets.document import (
    Block,
    Column,
    Heading,
    Note,
    Paragraph,
    Piece,
    Row,
    Sheet,
    Signature,
    Table,
)
from loomwright.sheets.job import Job
from loomwright.sheets.words import counted, distinct, ended, listed, place_name, sentence

MEANING = {
    "dangerous": (
        "Dangerous",
        "Do not use it until these are mended: they can start a fire, or fail at any moment.",
    ),
    "major": (
        "Must be mended",
        "These can harm the vehicle or leave it without power. Mend them before it goes back to work.",
    ),
    "minor": ("Should be mended", "No danger today. Mend them when the vehicle is next in the workshop."),
}
UNFIT = "Do not use the added electrical system until what is dangerous has been mended. Have its feeds taken off the batteries."


class Entry(Record):
    """All findings of one rule and one class: one fault, at one place or at many."""

    rule: str
    title: str
    severity: str
    findings: tuple[Finding, ...]


def sheet(job: Job) -> Sheet:
    """The findings of what came in, or of the design where the spec is one."""
    title, readers = (
        ("Inspection report", "customer, estimator")
        if job.as_found
        else ("Findings of the design", "reviewer")
    )
    blocks = (*_summary(job), *_by_class(job), *_not_seen(job), *_accepted(job), *_signed(job))
    return Sheet("inspection", title, readers, blocks)


def entries(job: Job) -> list[Entry]:
    """The proven findings that nobody conceded, gathered by fault under its worst class.

    Worst first: by that class, then by the class that the rule has as a rule, then most places, then by name.
    """
    rules = {rule.name: rule for rule in job.rulebook.rules}
    groups: dict[str, list[Finding]] = {}
    for finding in job.findings:
        if finding.severity != UNPROVEN and not finding.conceded:
            groups.setdefault(finding.rule, []).append(finding)
    made = [_gathered(rules[name].title, name, found) for name, found in groups.items()]
    rank = SEVERITIES.index
    return sorted(
        made,
        key=lambda one: (rank(one.severity), rank(rules[one.rule].severity), -len(one.findings), one.rule),
    )


def _gathered(title: str, rule: str, found: list[Finding]) -> Entry:
    worst_first = sorted(found, key=lambda one: SEVERITIES.index(one.severity))
    return Entry(rule, title, worst_first[0].severity, tuple(worst_first))


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
    yield Paragraph(
        sentence(f"{listed(found)}" if found else "Nothing was found") + (unseen if counts[UNPROVEN] else "")
    )
    if job.as_found and counts["dangerous"]:
        yield Paragraph((Piece(UNFIT, strong=True),))


def _by_class(job: Job) -> Iterator[Block]:
    last = ""
    for number, entry in enumerate(entries(job), 1):
        if entry.severity != last:
            last = entry.severity
            heading, meaning = MEANING[last]
            yield Heading(heading)
            yield Note(meaning)
        yield from _entry(number, entry, job)


def _entry(number: int, entry: Entry, job: Job) -> Iterator[Block]:
    """One fault: what it is, what it could do and what to do, said once where it is the same at all its places."""
    found = entry.findings
    where = f" ({counted(len(found), 'place')})" if len(found) > 1 else ""
    yield Heading(f"{number}. {entry.title}{where}", 3)
    if len(found) == 1:
        yield _labelled("Where.", where_of(found[0], job.installation))
        yield _labelled("What was found." if job.as_found else "What is drawn.", found[0].message)
    told = {"What it could do": [one.why for one in found], "What to do": [one.do for one in found]}
    same = {label: texts[0] for label, texts in told.items() if len(set(texts)) == 1}
    for label, text in same.items():
        yield _labelled(f"{label}.", text)
    if len(found) > 1:
        differing = {label: texts for label, texts in told.items() if label not in same}
        if len({one.severity for one in found}) > 1:
            differing = {"Class": [one.severity for one in found], **differing}
        yield _places(number, found, differing, job)


def _places(number: int, found: Sequence[Finding], differing: Mapping[str, Sequence[str]], job: Job) -> Table:
    """A fault's places, with what is not the same at all of them."""
    columns = (Column("Where"), Column("What was found"), *(Column(label) for label in differing))
    rows = (
        Row(
            (where_of(one, job.installation), ended(one.message), *(texts[n] for texts in differing.values()))
        )
        for n, one in enumerate(found)
    )
    return Table(f"Places of fault {number}", columns, tuple(rows))


def _labelled(label: str, text: str) -> Paragraph:
    return Paragraph((Piece(label, strong=True), Piece(f" {ended(text)}")))


def where_of(finding: Finding, installation: t.Installation) -> str:
    """The place of a finding as people say it: that of its terminal or device, or all that its cable passes."""
    for name in (finding.at, *reversed(finding.things)):
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
        Row(
            (
                sentence(what),
                where_of(found[0], job.installation),
                "; ".join(distinct(titles[one.rule] for one in found)),
            )
        )
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
