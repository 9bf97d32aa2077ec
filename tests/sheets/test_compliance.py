"""The compliance table, and the verdicts that it is made of."""

from __future__ import annotations

from pathlib import Path

import pytest
from syrupy.assertion import SnapshotAssertion
from tests.sheets.job import ALL, PLANNED, SPECS, job_at, job_in, made, markdown_of, tables, words

from loomwright.record import replace
from loomwright.rulebook.verdicts import OUTCOMES, verdicts

each_spec = pytest.mark.parametrize("path", ALL, ids=lambda path: f"{path.parent.name}-{path.stem}")


def outcomes(path: Path) -> dict[str, str]:
    job = job_at(path)
    return {one.rule.name: one.outcome for one in verdicts(job.rulebook.rules, job.ledger, job.findings)}


def test_the_table_of_one_subject_reads_so(snapshot: SnapshotAssertion) -> None:
    sheet = made("compliance", job_at(PLANNED))
    assert markdown_of(replace(sheet, blocks=tuple(tables(sheet, "Rules on earth")))) == snapshot


@each_spec
def test_every_rule_of_the_book_has_one_line(path: Path) -> None:
    job = job_at(path)
    rows = [words(row)[0] for table in tables(made("compliance", job)) for row in table.rows]
    assert rows == [rule.name for rule in job.rulebook.rules]


@each_spec
def test_a_rule_is_found_unproven_or_conceded_exactly_where_it_has_such_findings(path: Path) -> None:
    job = job_at(path)
    for one in verdicts(job.rulebook.rules, job.ledger, job.findings):
        kinds = {
            "conceded" if each.conceded else "unproven" if each.severity == "unproven" else "found"
            for each in job.findings
            if each.rule == one.rule.name
        }
        assert one.outcome in (kinds or {"holds", "does not apply"})
        assert one.outcome in OUTCOMES
        assert (one.outcome == "does not apply") == (one.things == 0)


def test_a_rule_does_not_apply_where_there_is_nothing_to_ask_about() -> None:
    job = job_in('fitout "Empty" { stage planned; system 12 V }\n')
    told = {one.rule.name: one.outcome for one in verdicts(job.rulebook.rules, job.ledger, job.findings)}
    assert told["unfused-feed"] == "does not apply"
    assert outcomes(PLANNED)["unfused-feed"] == "holds"
    assert outcomes(SPECS / "orchard-bees" / "as-found.fitout")["unfused-feed"] == "found"


def test_a_limit_stands_with_its_figure_and_source() -> None:
    rows = {
        words(row)[0]: words(row)
        for table in tables(made("compliance", job_at(PLANNED)))
        for row in table.rows
    }
    assert "fuse-distance 178 mm" in rows["fuse-too-far"][5]
    assert "33 CFR 183.455" in rows["fuse-too-far"][5]
    assert all(row[6] for row in rows.values())
