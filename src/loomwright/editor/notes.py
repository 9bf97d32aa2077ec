"""Findings as an editor shows them: each at its place, of the file that it stands in."""

from __future__ import annotations

import os
from collections.abc import Iterator
from functools import cache

from loomwright.record import Record
from loomwright.report.check import Report
from loomwright.report.text import finding_line
from loomwright.rulebook.finding import UNPROVEN, Finding
from loomwright.source import Problem, Span

LEVELS = {
    "error": "error",
    "dangerous": "error",
    "major": "warning",
    "minor": "information",
    UNPROVEN: "information",
}
IDLE = ("concession-idle", "concession-expired")


class Remark(Record):
    """One finding or error. `level` is error, warning, information or hint; `faded` is what could be taken out.
    `related` are places with what to look at there; `finding` is None for what could not be read."""

    span: Span
    level: str
    rule: str
    message: str
    related: tuple[tuple[Span, str], ...] = ()
    faded: bool = False
    finding: Finding | None = None


def remarks(report: Report) -> dict[str, list[Remark]]:
    """All findings and errors of a report by the real path of their file; the files of the report without any stand
    with an empty list."""
    real = cache(os.path.realpath)
    found: dict[str, list[Remark]] = {real(file.path): [] for file in report.files}
    for remark in _all(report):
        found.setdefault(real(remark.span.source.path), []).append(remark)
    return found


def _all(report: Report) -> Iterator[Remark]:
    yield from (_of_problem(problem) for problem in report.errors)
    yield from (_of_finding(finding) for finding in report.findings)


def _of_problem(problem: Problem) -> Remark:
    message = f"{problem.message}\n{problem.hint}" if problem.hint else problem.message
    return Remark(problem.span, LEVELS["error"], "", message)


def _of_finding(finding: Finding) -> Remark:
    related = tuple((wanted.span, f"look at {wanted.what}") for wanted in finding.missing)
    level = "hint" if finding.conceded else LEVELS[finding.severity]
    lines = [headline(finding), finding.why, finding.do if not finding.missing else ""]
    return Remark(
        finding.span,
        level,
        finding.rule,
        "\n".join(filter(None, lines)),
        related,
        finding.rule in IDLE,
        finding,
    )


def headline(finding: Finding) -> str:
    """The first line of a finding as `check` prints it, without its place: `major: … [rule]`."""
    line, column = finding.span.source.position(finding.span.start)
    return finding_line(finding).removeprefix(f"{finding.span.source.path}:{line}:{column}: ")
