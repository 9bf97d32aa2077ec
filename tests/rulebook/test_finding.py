"""What a finding carries: rows that are made when somebody looks at them, and hold nothing after that."""

from __future__ import annotations

import pickle
from pathlib import Path

from loomwright.report.check import Wishes, check
from loomwright.report.many import checked
from loomwright.rulebook.finding import Later

AS_FOUND = Path(__file__).parents[2] / "specs" / "orchard-bees" / "as-found.fitout"


def test_a_row_is_made_once_and_only_when_it_is_looked_at() -> None:
    made = []

    def make() -> tuple[str, ...]:
        made.append("row")
        return "a", "b"

    row = Later(make)
    assert made == []
    assert list(row) == ["a", "b"]
    assert (len(row), row[1], row[:1], bool(row)) == (2, "b", ("a",), True)
    assert made == ["row"]


def test_a_row_is_what_it_holds() -> None:
    row = Later(lambda: ("a",))
    assert row == ("a",) == Later(lambda: ("a",))
    assert row != ("b",)
    assert (hash(row), repr(row)) == (hash(("a",)), "('a',)")
    assert type(pickle.loads(pickle.dumps(row))) is tuple


def test_a_report_that_is_kept_without_its_facts_has_all_rows_made() -> None:
    report = checked(str(AS_FOUND), Wishes(), keep=False)
    rows = [
        row for finding in report.findings for row in (finding.facts, finding.edits) if isinstance(row, Later)
    ]
    assert rows
    assert all(isinstance(row._made, tuple) for row in rows)


def test_rows_are_the_same_however_late_they_are_made() -> None:
    text = AS_FOUND.read_text(encoding="utf-8")
    late, soon = (check(text, str(AS_FOUND)).findings for _ in range(2))
    for finding in soon:
        finding.settle()
    told = [(finding.rule, finding.facts) for finding in reversed(late)]
    assert told[::-1] == [(finding.rule, finding.facts) for finding in soon]
