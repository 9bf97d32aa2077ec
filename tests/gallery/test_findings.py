"""Every rule's failing example as its finding reads, one snapshot a chapter of the book."""

from __future__ import annotations

import pytest
from syrupy.assertion import SnapshotAssertion

from loomwright import resources
from loomwright.manual.chapters import Chapter, chapters_of
from loomwright.manual.examples import findings
from loomwright.rulebook.finding import Finding
from loomwright.rulebook.load import load_rules
from loomwright.rulebook.tree import Rule

CHAPTERS = chapters_of(load_rules())


def told(finding: Finding) -> list[str]:
    """The spec's own line, then all that is said of it."""
    span = finding.span
    lines = [
        f"    {span.line}:{span.column}  {span.source.line_text(span.line).strip()}",
        f"    {finding.severity}: {finding.message}",
        f"        why  {finding.why}",
        f"        do   {finding.do}",
    ]
    return [*lines, *(f"        mend {' '.join(edit.text.split())}" for edit in finding.edits)]


def shown(rule: Rule) -> str:
    found = findings(rule.name, resources.text("rules", "examples", rule.name, "fails.fitout"))
    assert found, rule.name
    return "\n".join([f"{rule.name}: {rule.title}", *(line for finding in found for line in told(finding))])


@pytest.mark.parametrize("chapter", CHAPTERS, ids=[chapter.name for chapter in CHAPTERS])
def test_what_is_found_in(chapter: Chapter, snapshot: SnapshotAssertion) -> None:
    assert "\n\n".join(map(shown, chapter.rules)) + "\n" == snapshot
