"""Findings as text: one line that any editor can jump to, the spec's own line, then what a fitter needs, labelled."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from loomwright.report.check import CLASSES, Checked, Report
from loomwright.rulebook.finding import UNPROVEN, Finding, Wanted
from loomwright.source import Problem, Span

INDENT = "    "
LONGEST = 400  # characters of the spec's own line
LABEL = 8  # columns a label takes

PAINT = {
    "dangerous": "1;31",
    "major": "33",
    "minor": "36",
    "unproven": "35",
    "error": "1;31",
    "conceded": "2",
}


def text(report: Report, colour: bool = False) -> str:
    """Every error and finding, and a closing summary."""
    errors = [_error(problem, colour) for problem in report.errors]
    return "\n\n".join([*errors, *blocks(report.findings, colour), summary(report)]) + "\n"


def blocks(findings: Iterable[Finding], colour: bool = False) -> list[str]:
    """Each proven finding, and what must be looked at for the others."""
    found = list(findings)
    proven = [finding for finding in found if finding.conceded or finding.severity != UNPROVEN]
    wanting = _to_look_at(found, colour)
    return [*(_finding(finding, colour) for finding in proven), *(["\n".join(wanting)] if wanting else [])]


def _to_look_at(findings: Iterable[Finding], colour: bool) -> list[str]:
    """What must be looked at or measured, each thing once, with the rules that wait for it."""
    waiting: dict[tuple[object, ...], tuple[Wanted, list[str]]] = {}
    for finding in findings:
        if finding.conceded or finding.severity != UNPROVEN:
            continue
        for wanted in finding.missing:
            _, rules = waiting.setdefault((*wanted.span.order(), wanted.what), (wanted, []))
            if finding.rule not in rules:
                rules.append(finding.rule)
    return [
        _first_line(wanted.span, UNPROVEN, f"look at {wanted.what} [{', '.join(rules)}]", colour)
        for _, (wanted, rules) in sorted(waiting.items(), key=lambda item: item[0])
    ]


def _wanted(wanted: Wanted) -> str:
    line, column = wanted.span.source.position(wanted.span.start)
    return f"{wanted.what} ({wanted.span.source.path}:{line}:{column})"


def finding_line(finding: Finding) -> str:
    """A finding in the GNU form `file:line:column: class: message [rule]`."""
    return _first_line(finding.span, _class_of(finding), f"{finding.message} [{finding.rule}]")


def gnu(report: Report) -> str:
    """One line a finding, in the GNU form `file:line:column: class: message [rule]`."""
    lines = [_first_line(problem.span, "error", problem.message) for problem in report.errors]
    lines += (finding_line(finding) for finding in report.findings)
    return "".join(line + "\n" for line in lines)


def summary(report: Report) -> str:
    """Counts by class, errors, and what was checked."""
    counts = report.counts
    checked = [file for file in report.files if file.rules]
    lines = []
    if checked:
        found = ", ".join(f"{counts[name]} {name}" for name in CLASSES if counts[name]) or "nothing found"
        lines.append(found + (f"; {counts['conceded']} conceded" if counts["conceded"] else ""))
    if counts["errors"]:
        lines.append(f"{_number(counts['errors'], 'error')}; not checked until mended")
    if checked:
        rules = max(file.rules for file in checked)
        runs = sum(file.runs for file in checked)
        devices = sum(file.devices for file in checked)
        lines.append(
            f"checked {_number(rules, 'rule')} on {_number(runs, 'run')} and {_number(devices, 'device')}"
            f" in {_number(len(checked), 'file')}"
        )
        lines += _of_the_house(checked)
    if not lines:
        return "nothing checked: no file here has a 'fitout', and a fragment is checked where it is included"
    return "\n".join(lines)


def _of_the_house(checked: Iterable[Checked]) -> list[str]:
    """ "with 1 limit and 2 classes of loomwright.toml": a line for each workshop's file that changes what was checked."""
    lines = []
    for house in filter(None, dict.fromkeys(file.house for file in checked)):
        limits = [_number(len(house.limits), "limit")] if house.limits else []
        classes = [_number(len(house.severities), "class")] if house.severities else []
        lines.append(f"with {' and '.join([*limits, *classes])} of {house.path}")
    return lines


def _number(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}{'es' if noun.endswith('s') else 's'}"


def _class_of(finding: Finding) -> str:
    if finding.conceded:
        return f"conceded {finding.rule_severity}"
    return finding.severity


def _first_line(span: Span, word: str, message: str, colour: bool = False) -> str:
    line, column = span.source.position(span.start)
    shown = f"\x1b[{PAINT.get(word.split()[0], '0')}m{word}\x1b[0m" if colour else word
    return f"{span.source.path}:{line}:{column}: {shown}: {message}"


def _error(problem: Problem, colour: bool) -> str:
    lines = [_first_line(problem.span, "error", problem.message, colour), _own_line(problem.span, colour)]
    if problem.hint:
        lines.append(_labelled("do", problem.hint))
    return "\n".join(lines)


def _finding(finding: Finding, colour: bool) -> str:
    message = f"{finding.message} [{finding.rule}]"
    lines = [_first_line(finding.span, _class_of(finding), message, colour)]
    lines.append(_own_line(finding.span, colour))
    lines += (_labelled(label, value) for label, value in _labels(finding))
    return "\n".join(lines)


def _labels(finding: Finding) -> Iterator[tuple[str, str]]:
    if finding.at:
        yield "at", finding.at
    for wanted in finding.missing:
        yield "look at", _wanted(wanted)
    if finding.why:
        yield "why", finding.why
    if finding.do and not finding.missing:
        yield "do", finding.do
    for source in finding.sources:
        yield "source", source
    if finding.conceded:
        until = f" until {finding.conceded.until}" if finding.conceded.until else ""
        yield "agreed", f"{finding.conceded.reason} ({finding.conceded.by}{until})"
    if finding.rule_file:
        yield "rule", finding.rule_file


def _labelled(label: str, value: str) -> str:
    return f"{INDENT}{label.ljust(LABEL)}{value}"


def _own_line(span: Span, colour: bool) -> str:
    """The spec's own line without its indent; on a colour terminal the place stands out in it."""
    line, column = span.source.position(span.start)
    whole, start = span.source.line_text(line), column - 1
    if (
        len(whole) > LONGEST
    ):  # a window on the place: a text of one line would stand here once for each finding
        begin = max(0, min(start - LONGEST // 4, len(whole) - LONGEST))
        whole, start = whole[begin : begin + LONGEST], start - begin
    if colour:
        stop = max(min(start + span.end - span.start, len(whole)), start)
        whole = f"{whole[:start]}\x1b[4m{whole[start:stop]}\x1b[24m{whole[stop:]}"
    return INDENT + whole.strip()
