"""The inspection report: what was found, worst first, in words for the owner. Nothing stands here that no finding says."""

from __future__ import annotations

import re
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
from loomwright.sheets.words import counted, describe, distinct, ended, listed, place_name, sentence, spoken

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
STAGES = {
    "as-found": (
        "Inspection report",
        "customer, estimator",
        "This is what was seen when the vehicle was looked over, worst first: what it is, what it could do, and what to do about it.",
    ),
    "planned": (
        "Findings of the design",
        "reviewer",
        "This spec is a design: these are its own findings, not what was seen on a vehicle.",
    ),
    "installed": (
        "Findings of the installation",
        "reviewer, tester",
        "This spec is what was built and what was read on it: these are the findings to settle before it is handed over.",
    ),
}
"""By stage: the title of the sheet, whom it is for, and what it begins with."""
SIDES = {"pos": "positive", "neg": "negative", "in": "input", "out": "output"}
UNFIT = "Do not use the added electrical system until what is dangerous has been mended. Have its feeds taken off the batteries."


class Entry(Record):
    """All findings of one rule and one class: one fault, at one place or at many."""

    rule: str
    title: str
    severity: str
    findings: tuple[Finding, ...]


def sheet(job: Job) -> Sheet:
    """The findings of what came in, of a design, or of what was built from one."""
    title, readers, _ = STAGES[job.fitout.stage]
    blocks = (
        *_summary(job), *_by_class(job), *_not_seen(job), *_accepted(job), *_names(job), *_signed(job),
    )  # fmt: skip
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
    names = (
        " Names such as crank.pos are those of the drawings; the last table says what each is."
        if _named(job)
        else ""
    )
    yield Paragraph(STAGES[job.fitout.stage][2] + names)
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
        yield _labelled(
            "What is drawn." if job.fitout.stage == "planned" else "What was found.",
            spoken(found[0].message, job.installation),
        )
    told = {
        "What it could do": [spoken(one.why, job.installation) for one in found],
        "What to do": [spoken(one.do, job.installation) for one in found],
    }
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
    found_or_drawn = "What is drawn" if job.fitout.stage == "planned" else "What was found"
    columns = (Column("Where"), Column(found_or_drawn), *(Column(label) for label in differing))
    rows = (
        Row(
            (
                where_of(one, job.installation),
                spoken(one.message, job.installation),
                *(texts[n] for texts in differing.values()),
            )
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
    yield Table("Points that could not be judged", columns, rows)


def _accepted(job: Job) -> Iterator[Block]:
    rows = tuple(
        Row(
            (
                where_of(one, job.installation),
                spoken(one.message, job.installation),
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


# ---------------------------------------------------------------- what the names are


def _named(job: Job) -> list[str]:
    """The terminals that the findings name, in the order of the spec."""
    told = " ".join(f"{one.message} {one.why} {one.do}" for one in job.findings if one.severity != UNPROVEN)
    met = set(re.findall(r"[\w-]+\.[\w-]+", told))
    return [name for name in job.installation.terminals if name in met]


def _names(job: Job) -> Iterator[Block]:
    rows = []
    for name in _named(job):
        terminal = job.installation.terminals[name]
        what = f"{_side(terminal.label)} of {terminal.device.name}, {describe(terminal.device)}"
        rows.append(Row((name, sentence(what), place_name(terminal.device.place))))
    if rows:
        columns = (Column("Name", narrow=True), Column("What it is"), Column("Where"))
        yield Heading("Names")
        yield Table("Terminals that are named above", columns, tuple(rows))


def _side(label: str) -> str:
    return SIDES.get(label) or (f"way {label}" if label.isdigit() else f"terminal {label}")


def _signed(job: Job) -> Iterator[Block]:
    if job.as_found:
        yield Signature(("Looked over by, date", "Explained to the customer, date"))
