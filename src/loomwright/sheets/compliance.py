"""The compliance table: every rule of the book, how this spec stands under it, with limit and source."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from os.path import basename

from loomwright.rulebook.verdicts import OUTCOMES, Verdict, verdicts
from loomwright.sheets.document import Block, Column, Facts, Paragraph, Row, Sheet, Table
from loomwright.sheets.job import Job
from loomwright.sheets.words import counted, distinct

COLUMNS = (
    Column("Rule"),
    Column("Fault that it looks for"),
    Column("Class", narrow=True),
    Column("Outcome"),
    Column("Asked of", "things", number=True),
    Column("Limits"),
    Column("Source"),
)


def sheet(job: Job) -> Sheet:
    """Every rule's verdict, by the file that it stands in."""
    all_rules = verdicts(job.rulebook.rules, job.ledger, job.findings)
    counts = {outcome: sum(one.outcome == outcome for one in all_rules) for outcome in OUTCOMES}
    blocks: list[Block] = [
        Paragraph(
            f"{counted(len(all_rules), 'rule')} were put to this spec. A rule holds where all that it asks is proved from the"
            " spec; it does not apply where there is nothing for it to ask about. Concessions are judged as of the day of"
            " printing."
        ),
        Facts(tuple((outcome, str(count)) for outcome, count in counts.items())),
    ]
    for file, group in groupby(all_rules, lambda one: one.rule.span.source.path):
        blocks.append(_table(file, tuple(group)))
    return Sheet("compliance", "Compliance table", "reviewer", tuple(blocks), landscape=True)


def _table(file: str, group: Sequence[Verdict]) -> Table:
    subject = basename(file).removesuffix(".rules").replace("-", " ")
    own = f" (the workshop's own: {file})" if group[0].rule.file else ""
    return Table(f"Rules on {subject}{own}", COLUMNS, tuple(map(_row, group)))


def _row(one: Verdict) -> Row:
    limits = "; ".join(f"{limit.name} {limit.text} ({limit.printed_source})" for limit in one.limits)
    cells = (
        one.rule.name,
        one.rule.title,
        one.rule.severity,
        _outcome(one),
        str(one.things),
        limits or "none",
        "; ".join(one.rule.sources),
    )
    return Row(cells, strong=one.outcome == OUTCOMES[0])


def _outcome(one: Verdict) -> str:
    things = distinct(finding.things[0] for finding in one.findings)
    shown = ", ".join(things[:4]) + (f" and {len(things) - 4} more" if len(things) > 4 else "")
    return f"{one.outcome}: {shown}" if things else one.outcome
