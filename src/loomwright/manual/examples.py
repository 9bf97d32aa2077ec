"""The two examples of a rule, as far as they differ, and what the rule says about the failing one."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from functools import cache

from loomwright import resources
from loomwright.manual.markdown import ManualError
from loomwright.record import Record
from loomwright.report.check import Wishes, check
from loomwright.rulebook.finding import UNPROVEN, Finding
from loomwright.source import Source
from loomwright.syntax.parse import parse

DAY = datetime.date(2026, 11, 18)
"""Examples are judged as of this day, so that one with a date stays what it is."""


class Example(Record):
    """`scene` says what is shown; `fails` and `holds` are the statements in which the two differ."""

    scene: str
    fails: str
    holds: str
    findings: tuple[Finding, ...]


@cache
def example_of(rule: str) -> Example:
    """Raises FileNotFoundError for a rule without examples, ManualError where the failing one does not fail."""
    fails, holds = (_source(rule, name) for name in ("fails", "holds"))
    found = findings(rule, fails.text)
    if not found:
        raise ManualError(f"nothing is found in the failing example of {rule}")
    pointed = found[0].span.start
    bad, good = _statements(fails), _statements(holds)
    beside = {text for text, start in bad if start <= pointed < start + len(text)}
    return Example(_scene(fails.text), _without(bad, good, beside), _without(good, bad, set()), found)


def findings(rule: str, text: str) -> tuple[Finding, ...]:
    """What a rule, judged with the whole book, finds in the text of an example of its own; what it could prove first."""
    report = check(text, f"{rule}.fitout", Wishes(today=DAY))
    found = [finding for finding in report.findings if finding.rule == rule]
    return tuple(sorted(found, key=lambda finding: finding.severity == UNPROVEN))


def _source(rule: str, name: str) -> Source:
    return Source(f"{name}.fitout", resources.text("rules", "examples", rule, f"{name}.fitout"))


def _scene(text: str) -> str:
    """The comment at the head of an example, as one paragraph."""
    lines = text.split("\n")
    head = [line.removeprefix("#").strip() for line in lines[: _first(lines, "#")]]
    return " ".join(" ".join(head).split())


def _first(lines: Sequence[str], mark: str) -> int:
    """How many lines begin with a mark before one that does not."""
    return next((number for number, line in enumerate(lines) if not line.startswith(mark)), len(lines))


def _statements(source: Source) -> list[tuple[str, int]]:
    statements = parse(source).document.statements
    return [(source.text[each.span.start : each.span.end].rstrip(), each.span.start) for each in statements]


def _without(own: Sequence[tuple[str, int]], other: Sequence[tuple[str, int]], beside: set[str]) -> str:
    """The statements that the other example lacks, and those beside them."""
    known = {text for text, _ in other}
    return "\n\n".join(text for text, _ in own if text not in known or text in beside)
