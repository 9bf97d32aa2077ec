"""What an editor may offer to write: the fixes of findings, concessions, and the one layout of a text."""

from __future__ import annotations

import os
from collections.abc import Iterator
from difflib import SequenceMatcher
from itertools import pairwise

from loomwright.editor.desk import Desk
from loomwright.editor.notes import Remark, remarks
from loomwright.record import Record
from loomwright.rulebook.finding import Finding
from loomwright.source import Source, Span
from loomwright.syntax.tidy import Untidy, tidy

NEVER_CONCEDED = ("concession-idle", "concession-expired", "licensed-work")


class Change(Record):
    """`edits` do not overlap and stand in their order, by file. One that `asks` touches a fuse or a conductor, or lacks a
    reason: it is for a person to decide. `remark` is what it answers."""

    title: str
    edits: tuple[tuple[Span, str], ...]
    asks: bool
    remark: Remark


def changes(desk: Desk, path: str, start: int, end: int) -> tuple[Change, ...]:
    """What can be done about the findings that a stretch of a file touches."""
    found: dict[tuple[object, ...], Change] = {}
    for spec in desk.specs_with(path):
        for remark in remarks(desk.report(spec)).get(path, ()):
            if remark.finding is not None and remark.span.start <= end and start <= remark.span.end:
                for change in _for_finding(desk, path, remark, remark.finding):
                    found.setdefault((change.title, change.edits[0][0].start), change)
    return tuple(found.values())


def _for_finding(desk: Desk, path: str, remark: Remark, finding: Finding) -> Iterator[Change]:
    edits = sorted(((edit.span, edit.text) for edit in finding.edits), key=lambda edit: edit[0].order())
    if edits and not _overlap(edits):
        title = f"{finding.do or finding.rule} [{finding.rule}]"
        yield Change(title, tuple(edits), any(edit.offered for edit in finding.edits), remark)
    sheet = desk.sheet(path)
    if sheet is not None and not finding.conceded and finding.things and finding.rule not in NEVER_CONCEDED:
        end = len(sheet.source.text)
        yield Change(
            f"Concede {finding.rule} on {finding.things[0]}: you write the reason",
            ((sheet.source.span(end, end), concession(sheet.source.text, finding)),),
            True,
            remark,
        )


def concession(text: str, finding: Finding) -> str:
    """The statement to be added to a text. What only a person can say is left open, so that the spec does not read until it
    is written: nothing is conceded by a keystroke. A dangerous finding is conceded for a time only."""
    gap = "" if text.endswith("\n\n") or not text else "\n" if text.endswith("\n") else "\n\n"
    until = "    until\n" if finding.rule_severity == "dangerous" else ""
    return f"{gap}concession {finding.rule} on {finding.things[0]} {{\n    reason\n    by\n{until}}}\n"


def _overlap(edits: list[tuple[Span, str]]) -> bool:
    return any(a.source.path == b.source.path and b.start < a.end for (a, _), (b, _) in pairwise(edits))


def laid_out(text: str) -> tuple[tuple[Span, str], ...]:
    """The edits that bring a text into its one layout, line by line; none for a text that can't be read."""
    try:
        after = tidy(text)
    except Untidy:
        return ()
    source = Source("", text)
    old, new = text.splitlines(keepends=True), after.splitlines(keepends=True)
    starts = [0]
    for line in old:
        starts.append(starts[-1] + len(line))
    return tuple(
        (source.span(starts[a], starts[b]), "".join(new[c:d]))
        for what, a, b, c, d in SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
        if what != "equal"
    )


def by_file(edits: tuple[tuple[Span, str], ...]) -> dict[str, list[tuple[Span, str]]]:
    """Edits by the real path of their file."""
    found: dict[str, list[tuple[Span, str]]] = {}
    for span, text in edits:
        found.setdefault(os.path.realpath(span.source.path), []).append((span, text))
    return found
