"""How a spec stands under every rule of the book, those that found nothing included."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from loomwright.facts.limits import Limit
from loomwright.facts.registry import Ledger
from loomwright.record import Record
from loomwright.rulebook.finding import UNPROVEN, Finding
from loomwright.rulebook.judge import concerned
from loomwright.rulebook.tree import Node, Rule

FOUND, HOLDS, NOT_CONCERNED, CONCEDED = "found", "holds", "does not apply", "conceded"
OUTCOMES = (FOUND, UNPROVEN, CONCEDED, HOLDS, NOT_CONCERNED)
"""Gravest first: where a rule's findings differ, the first of these stands for the rule."""


class Verdict(Record):
    """One rule's outcome. `things` is how many things it has something to say of, `limits` the limits it compares with."""

    rule: Rule
    outcome: str
    things: int
    limits: tuple[Limit, ...]
    findings: tuple[Finding, ...]


def verdicts(rules: Iterable[Rule], ledger: Ledger, findings: Iterable[Finding]) -> tuple[Verdict, ...]:
    """The verdict on every rule, in the order of the book. `findings` are those of the same rules on the same ledger."""
    of_rule: dict[str, list[Finding]] = {}
    for finding in findings:
        of_rule.setdefault(finding.rule, []).append(finding)
    return tuple(_verdict(rule, ledger, tuple(of_rule.get(rule.name, ()))) for rule in rules)


def _verdict(rule: Rule, ledger: Ledger, findings: tuple[Finding, ...]) -> Verdict:
    things = max(concerned(rule, ledger), len(findings))
    limits = tuple(ledger.limits[name] for name in dict.fromkeys(_limits(rule)) if name in ledger.limits)
    outcomes = {_outcome(finding) for finding in findings} or {HOLDS if things else NOT_CONCERNED}
    return Verdict(rule, min(outcomes, key=OUTCOMES.index), things, limits, findings)


def _outcome(finding: Finding) -> str:
    if finding.conceded:
        return CONCEDED
    return UNPROVEN if finding.severity == UNPROVEN else FOUND


def _limits(rule: Rule) -> Iterator[str]:
    """The names of the limits that a rule's conditions read, in order."""
    for node in (*(node for _, node in rule.lets), *rule.whens, *rule.needs):
        yield from _limits_in(node)


def _limits_in(node: Node) -> Iterator[str]:
    if node.op == "limit":
        yield node.parts[0]
    for part in node.parts:
        if isinstance(part, Node):
            yield from _limits_in(part)
