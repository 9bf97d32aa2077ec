"""Findings as JUnit XML, the form that build servers read: a suite for each spec, a test case for each rule.

The form is common practice of build servers, no standard. A case fails where the rule has a finding at or over the threshold of
the exit status, so that the server is red exactly when the command is; what is below it is printed in the case.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any
from xml.etree import ElementTree

from loomwright.report.check import CLASSES, Report
from loomwright.report.text import finding_line
from loomwright.rulebook.finding import Finding
from loomwright.rulebook.tree import Rule
from loomwright.source import Problem

# What XML 1.0 (section 2.2) has no character for, not even escaped.
_FORBIDDEN = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
READING = "spec-can-be-read"


def as_junit(report: Report, rules: Mapping[str, Sequence[Rule]], threshold: str = "major") -> str:
    """The report as text, all in ASCII so that it is right in any character set.

    `rules` are those that each file was held to. An included file's findings stand in a suite of its own.
    """
    root = ElementTree.Element("testsuites", name="loomwright")
    for path in _paths(report):
        root.append(_suite(path, report, rules.get(path, ()), threshold))
    for total in ("tests", "failures", "errors", "skipped"):
        root.set(total, str(sum(int(suite.get(total, "0")) for suite in root)))
    ElementTree.indent(root, " ")
    body = ElementTree.tostring(root, encoding="us-ascii", xml_declaration=False).decode("ascii")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{body}\n'


def clean(text: str) -> str:
    """Text without the characters that XML forbids."""
    return _FORBIDDEN.sub("", text)


def _paths(report: Report) -> list[str]:
    places = [*(error.span for error in report.errors), *(finding.span for finding in report.findings)]
    return list(
        dict.fromkeys([*(file.path for file in report.files), *(span.source.path for span in places)])
    )


def _suite(path: str, report: Report, rules: Sequence[Rule], threshold: str) -> ElementTree.Element:
    found: dict[str, list[Finding]] = {rule.name: [] for rule in rules}
    for finding in report.findings:
        if finding.span.source.path == path:
            found.setdefault(finding.rule, []).append(finding)
    errors = [error for error in report.errors if error.span.source.path == path]
    suite = ElementTree.Element("testsuite", name=clean(path) or "spec")
    suite.append(_reading(path, errors))
    for rule, findings in found.items():
        suite.append(_case(path, rule, findings, threshold))
    for total, tag in (("tests", None), ("failures", "failure"), ("errors", "error"), ("skipped", "skipped")):
        suite.set(total, str(sum(1 for case in suite if tag is None or case.find(tag) is not None)))
    return suite


def _reading(path: str, errors: Sequence[Problem]) -> ElementTree.Element:
    """Every suite has this case, so that a report is never empty."""
    case = ElementTree.Element("testcase", classname=clean(path), name=READING)
    if errors:
        lines = [f"{e.span.source.path}:{e.span.line}:{e.span.column}: {e.message}" for e in errors]
        _told(case, "error", f"{len(lines)} to mend", lines, type="error")
    return case


def _case(path: str, rule: str, findings: Sequence[Finding], threshold: str) -> ElementTree.Element:
    case = ElementTree.Element("testcase", classname=clean(path), name=clean(rule))
    failing = CLASSES[: CLASSES.index(threshold) + 1]
    bad = [each for each in findings if not each.conceded and each.severity in failing]
    rest = [each for each in findings if each.conceded or each.severity not in failing]
    if bad:
        worst = min(bad, key=lambda each: CLASSES.index(each.severity)).severity
        _told(case, "failure", bad[0].message, [_whole(each) for each in bad], type=worst)
    elif any(each.missing and not each.conceded for each in rest):
        wanted = dict.fromkeys(one.what for each in rest for one in each.missing)
        _told(case, "skipped", f"unproven; look at or measure: {', '.join(wanted)}", [])
    if rest:
        ElementTree.SubElement(case, "system-out").text = clean("\n".join(_whole(each) for each in rest))
    return case


def _whole(finding: Finding) -> str:
    return "\n".join([finding_line(finding), *(f"    {text}" for text in (finding.why, finding.do) if text)])


def _told(case: ElementTree.Element, tag: str, message: str, lines: Sequence[str], **more: Any) -> None:
    element = ElementTree.SubElement(case, tag, message=clean(message), **more)
    if lines:
        element.text = clean("\n".join(lines))
