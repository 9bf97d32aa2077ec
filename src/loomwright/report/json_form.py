"""Findings as JSON, version 1: the form that other programs may rely on."""

from __future__ import annotations

import json
from math import inf
from typing import Any

import loomwright
from loomwright.report.check import CLASSES, Report
from loomwright.rulebook.finding import Finding
from loomwright.rulebook.house import Changes
from loomwright.source import Problem, Span


def as_json(report: Report) -> str:
    return json.dumps(as_data(report), ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def as_data(report: Report) -> dict[str, Any]:
    """The report as plain data; see docs/outputs.md for each field."""
    counts = report.counts
    return {
        "version": 1,
        "tool": {"name": "loomwright", "version": loomwright.__version__},
        "files": [
            {
                "path": file.path,
                "title": file.title,
                "stage": file.stage,
                "runs": file.runs,
                "devices": file.devices,
                "house": _house(file.house),
            }
            for file in report.files
        ],
        "findings": [_finding(finding) for finding in report.findings],
        "errors": [_error(problem) for problem in report.errors],
        "summary": {name: counts[name] for name in (*CLASSES, "conceded", "errors")},
    }


def _house(changes: Changes | None) -> dict[str, Any] | None:
    if changes is None:
        return None
    return {
        "file": changes.path,
        "limits": list(changes.limits),
        "severities": list(changes.severities),
    }


def _whole_place(span: Span) -> dict[str, Any]:
    line, column = span.source.position(span.start)
    end_line, end_column = span.source.position(span.end)
    return {
        "file": span.source.path,
        "line": line,
        "column": column,
        "end_line": end_line,
        "end_column": end_column,
    }


def _place(span: Span) -> dict[str, Any]:
    line, column = span.source.position(span.start)
    return {"file": span.source.path, "line": line, "column": column}


def _finding(finding: Finding) -> dict[str, Any]:
    conceded = finding.conceded
    return {
        "rule": finding.rule,
        "severity": finding.severity,
        "rule_severity": finding.rule_severity,
        "conceded": {"reason": conceded.reason, "by": conceded.by, "until": conceded.until}
        if conceded
        else None,
        **_whole_place(finding.span),
        "things": list(finding.things),
        "message": finding.message,
        "why": finding.why,
        "do": finding.do,
        "sources": list(finding.sources),
        "facts": [
            {"name": fact.name, "value": _with_end(fact.value), "unit": fact.unit, "text": fact.text}
            for fact in finding.facts
        ],
        "missing": [{"what": wanted.what, **_place(wanted.span)} for wanted in finding.missing],
        "edits": [{**_whole_place(edit.span), "text": edit.text} for edit in finding.edits],
    }


def _with_end(value: float | str | bool | None) -> float | str | bool | None:
    """JSON has no number without end (a fuse that never opens): its text says so."""
    return None if value in (inf, -inf) else value


def _error(problem: Problem) -> dict[str, Any]:
    return {**_place(problem.span), "message": problem.message, "hint": problem.hint}
