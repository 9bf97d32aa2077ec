"""The text of a spec after what a finding offers."""

from __future__ import annotations

from loomwright.rulebook.finding import Finding


def edited(text: str, finding: Finding) -> str:
    for edit in reversed(finding.edits):
        text = text[: edit.span.start] + edit.text + text[edit.span.end :]
    return text
