"""The cover: whose vehicle, which stage, what was found, what was conceded, which cautions apply, who signs."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.rulebook.finding import UNPROVEN, Finding
from loomwright.sheets.cautions import applying
from loomwright.sheets.document import (
    Blank,
    Block,
    Column,
    Facts,
    Heading,
    Note,
    Paragraph,
    Row,
    Sheet,
    Signature,
    Table,
)
from loomwright.sheets.job import Job
from loomwright.sheets.rework import is_new
from loomwright.sheets.words import counted, said, sentence, spoken

CLASSES = {
    "dangerous": "direct and immediate risk: out of use until mended",
    "major": "may harm safety or stop the system: mend before use",
    "minor": "no great effect on safety: mend when there is occasion",
    UNPROVEN: "not judged: something must be looked at or measured first",
    "conceded": "knowingly accepted, by name and for a stated time",
}


BEFORE = {"planned": "copper is cut", "installed": "the vehicle is handed over"}


def sheet(job: Job) -> Sheet:
    """The cover of every set of papers."""
    blocks = [
        _head(job),
        *_notes(job),
        *_findings(job),
        *_concessions(job),
        *_cautions(job),
        *_signatures(job),
    ]
    return Sheet("cover", "Cover", "everyone", tuple(blocks))


def _head(job: Job) -> Facts:
    fitout, installation = job.fitout, job.installation
    runs = len(installation.runs) - len(installation.circuits)
    new = sum(is_new(device, job) for device in installation.devices)
    drawn = " by ".join(filter(None, (fitout.drawn.isoformat() if fitout.drawn else "", fitout.drawn_by)))
    return Facts(
        (
            ("Job", fitout.job or Blank("number")),
            ("Customer", fitout.customer or Blank("name")),
            ("Vehicle", fitout.vehicle or Blank("make, body, registration")),
            ("Stage", fitout.stage.replace("-", " ")),
            ("System", said(fitout.system)),
            ("Drawn", drawn or Blank("date and name")),
            ("Runs", str(runs)),
            ("Devices", f"{len(installation.devices)}{'' if job.as_found else f', {new} of them new'}"),
        )
    )


def _notes(job: Job) -> Iterator[Block]:
    for note in job.installation.notes.get("fitout", ()):
        yield Note(sentence(note))


def _findings(job: Job) -> Iterator[Block]:
    counts = job.report.counts
    serious = counts["dangerous"] + counts["major"]
    yield Heading("Findings")
    if serious:
        yield Paragraph(
            f"{sentence(counted(serious, 'finding'))[:-1]} of the classes dangerous and major {'is' if serious == 1 else 'are'} open."
            + (
                " This is what came in, not how it should be."
                if job.as_found
                else f" Settle them before {BEFORE[job.fitout.stage]}."
            )
        )
    rows = tuple(
        Row((name, str(counts[name]), meaning), strong=bool(counts[name]) and name in ("dangerous", "major"))
        for name, meaning in CLASSES.items()
    )
    columns = (Column("Class"), Column("Count", number=True), Column("Meaning"))
    yield Table("Findings by class (classes of Directive 2014/45/EU)", columns, rows)
    if not job.as_found:
        yield from _open_findings(job)


def _open_findings(job: Job) -> Iterator[Block]:
    """The findings themselves: those who build from the spec, or test what was built, must know them."""
    ranks = list(CLASSES)
    found = sorted(
        (one for one in job.findings if not one.conceded), key=lambda one: ranks.index(one.severity)
    )
    rows = tuple(
        Row((one.severity, spoken(one.message, job.installation), _what_to_do(one, job))) for one in found
    )
    columns = (Column("Class", narrow=True), Column("Finding"), Column("What to do"))
    yield Table("Findings of this spec that are open", columns, rows)


def _what_to_do(finding: Finding, job: Job) -> str:
    if finding.missing:
        return sentence("find out " + "; ".join(one.what for one in finding.missing))
    return spoken(finding.do, job.installation)


def _concessions(job: Job) -> Iterator[Block]:
    if not job.installation.concessions:
        return
    rows = tuple(
        Row(
            (
                one.rule,
                one.name,
                sentence(one.reason),
                one.by,
                one.until.isoformat() if one.until else "no end",
            )
        )
        for one in job.installation.concessions
    )
    columns = (Column("Rule"), Column("Thing"), Column("Reason"), Column("By"), Column("Until"))
    yield Table("Concessions: findings knowingly accepted", columns, rows)


def _cautions(job: Job) -> Iterator[Block]:
    yield Heading("Cautions that apply to this job")
    yield Paragraph(
        "Read them before anything is touched."
        if job.as_found
        else "Read them before work starts. Those about a step of the work order stand there again, before it; those for the owner"
        " stand on the owner's card."
    )
    columns = (Column("No.", narrow=True), Column("Caution"), Column("Source"))
    groups: dict[str, list[Row]] = {}
    for each in applying(job):
        one = each.caution
        groups.setdefault(each.group, []).append(Row((one.number, one.text, one.source)))
    for group, rows in groups.items():
        yield Table(group, columns, tuple(rows))


def _signatures(job: Job) -> Iterator[Block]:
    yield Heading("Signatures")
    if job.as_found:
        yield Signature(("Looked over by, date", "Handed to the customer, date"))
    else:
        yield Signature(
            (
                "Drawn and checked by, date",
                "Fitted by, date",
                "Tested by, date",
                "Accepted by the owner, date",
            )
        )
