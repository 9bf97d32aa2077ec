"""Findings as SARIF 2.1.0 (OASIS Standard), the form that code review servers read.

Clauses named here are those of the standard. Of its choices we take: columns count code points (3.14.17); an unproven finding is
of kind `open`, "insufficient information to decide" (3.27.9); a conceded one stays in the list with a suppression (3.27.23).
"""

from __future__ import annotations

import json
import os
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any
from urllib.parse import quote

import loomwright
from loomwright.report.baseline import Occurrences, fingerprint
from loomwright.report.check import Report
from loomwright.rulebook.finding import UNPROVEN, Finding
from loomwright.rulebook.tree import Rule
from loomwright.source import Problem, Span

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
LEVELS = {"dangerous": "error", "major": "warning", "minor": "note", UNPROVEN: "none"}
FINGERPRINT = "ruleAndNames/v1"


def as_sarif(
    report: Report, rules: Mapping[str, Sequence[Rule]], known: Collection[Finding] | None = None
) -> str:
    """The report as text, all in ASCII so that it is right in any character set.

    `rules` are those that each file was held to; `known` the findings that a baseline has, None where there is no baseline.
    """
    return json.dumps(as_data(report, rules, known), indent=1, allow_nan=False) + "\n"


def as_data(
    report: Report, rules: Mapping[str, Sequence[Rule]], known: Collection[Finding] | None = None
) -> dict[str, Any]:
    declared = {rule.name: rule for book in rules.values() for rule in book}
    index = {name: number for number, name in enumerate(declared)}
    listed = None if known is None else {id(finding) for finding in known}
    run = {
        "tool": {
            "driver": {
                "name": "loomwright",
                "version": loomwright.__version__,
                "rules": [_rule(rule) for rule in declared.values()],
            }
        },
        "columnKind": "unicodeCodePoints",
        "invocations": [_invocation(report.errors)],
        "results": [_result(*pair, index, listed) for pair in _numbered(report.findings)],
    }
    return {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}


def uri(path: str) -> str:
    """A relative reference (3.4.4, RFC 3986): slashes, percent-escapes, from the folder that the program runs in where the file
    lies below it, else from its drive's root without the root."""
    relative = os.path.relpath(path) if os.path.isabs(path) else os.path.normpath(path)
    if relative.startswith(os.pardir):
        relative = os.path.splitdrive(os.path.abspath(path))[1].lstrip(os.sep)
    return quote(relative.replace(os.sep, "/").strip("<>"), safe="/")


def _rule(rule: Rule) -> dict[str, Any]:
    say, why, do = rule.texts
    sources = "; ".join(rule.sources)
    return {
        "id": rule.name,
        "shortDescription": {"text": rule.title},
        "fullDescription": {"text": why or rule.title},
        "help": {
            "text": f"{rule.title}.\n\n{why}\n\nWhat to do: {do}\n\nSource: {sources}",
            "markdown": f"**{rule.title}.**\n\n{why}\n\n**What to do:** {do}\n\n**Source:** {sources}",
        },
        "defaultConfiguration": {"level": LEVELS[rule.severity]},
        "properties": {"severity": rule.severity, "says": say, "sources": list(rule.sources)},
    }


def _numbered(findings: Iterable[Finding]) -> Iterable[tuple[Finding, int]]:
    """Each finding with how often its identity was met before: several of one rule on one thing stay apart."""
    met = Occurrences()
    for finding in findings:
        yield finding, met.of((uri(finding.span.source.path), *finding.identity))


def _result(
    finding: Finding, number: int, index: Mapping[str, int], known: set[int] | None
) -> dict[str, Any]:
    open_ = finding.severity == UNPROVEN
    result: dict[str, Any] = {
        "ruleId": finding.rule,
        "kind": "open" if open_ else "fail",
        "level": LEVELS[finding.severity],
        "message": {"text": _message(finding)},
        "locations": [_location(finding.span, finding.things)],
        "partialFingerprints": {FINGERPRINT: fingerprint(finding, number)},
        "suppressions": _suppressions(finding),
        "properties": {
            "severity": finding.severity,
            "ruleSeverity": finding.rule_severity,
            "things": list(finding.things),
            "sources": list(finding.sources),
        },
    }
    if finding.rule in index:
        result["ruleIndex"] = index[finding.rule]
    if finding.missing:
        result["relatedLocations"] = [
            {**_location(wanted.span), "message": {"text": f"look at: {wanted.what}"}}
            for wanted in finding.missing
        ]
    if known is not None:
        result["baselineState"] = "unchanged" if id(finding) in known else "new"
    return result


def _message(finding: Finding) -> str:
    wanted = ", ".join(one.what for one in finding.missing)
    rest = [f"Look at or measure: {wanted}."] if wanted else [finding.why, finding.do]
    return " ".join([f"{finding.message}.", *filter(None, rest)])


def _suppressions(finding: Finding) -> list[dict[str, Any]]:
    """3.35; the standard has no field for who agreed and until when."""
    agreed = finding.conceded
    if agreed is None:
        return []
    until = {"until": agreed.until} if agreed.until else {}
    return [
        {
            "kind": "inSource",
            "status": "accepted",
            "justification": agreed.reason,
            "properties": {"by": agreed.by, **until},
        }
    ]


def _location(span: Span, things: Sequence[str] = ()) -> dict[str, Any]:
    region = {
        "startLine": span.line,
        "startColumn": span.column,
        "endLine": span.end_line,
        "endColumn": span.end_column,
        "snippet": {"text": span.text},
    }
    place: dict[str, Any] = {
        "physicalLocation": {"artifactLocation": {"uri": uri(span.source.path)}, "region": region}
    }
    if things:
        place["logicalLocations"] = [{"name": name, "kind": "element"} for name in things]
    return place


def _invocation(errors: Iterable[Problem]) -> dict[str, Any]:
    """3.20: a spec that can't be read is a fault of the run and no result of a rule."""
    notes = [
        {
            "level": "error",
            "message": {"text": f"{error.message}{f': {error.hint}' if error.hint else ''}"},
            "locations": [_location(error.span)],
        }
        for error in errors
    ]
    made: dict[str, Any] = {"executionSuccessful": not notes}
    return {**made, "toolExecutionNotifications": notes} if notes else made
