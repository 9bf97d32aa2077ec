"""What nobody knows is never taken for sound: one value made `unknown` may leave a failing rule unproven, but not make it hold."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

import pytest

from loomwright import resources
from loomwright.facts.limits import load_limits
from loomwright.facts.registry import Ledger
from loomwright.model.building import build
from loomwright.model.load import load
from loomwright.model.things import Installation
from loomwright.rulebook.concessions import KIND
from loomwright.rulebook.judge import judge
from loomwright.rulebook.load import load_rules
from loomwright.rulebook.tree import Rule
from loomwright.source import Source, Span
from loomwright.syntax.parse import parse
from loomwright.syntax.tree import Statement

BOOK = load_rules()
DAY = datetime.date(2026, 11, 18)
SAMPLES = 8  # changed specs judged whole, of each system
EXAMPLES = Path(resources.folder("rules")) / "examples"
SPECS = sorted((EXAMPLES.parent.parent / "specs").glob("*/planned.fitout"))


@cache
def limits(name: str) -> Mapping[str, object]:
    return load_limits(name)


def found(rules: list[Rule], rule: Rule, installation: Installation) -> list[frozenset[str]]:
    """The things of each finding of the rule, proven or not."""
    ledger = Ledger(installation, limits(installation.fitout.limits), DAY)
    findings = judge(rules, ledger, [each.name for each in BOOK.rules])
    return [frozenset(each.things) for each in findings if each.rule == rule.name]


def values(part: object) -> Iterator[Span]:
    """The place of every value in a part of a clause or head, at any depth."""
    if isinstance(part, Mapping):
        for inner in part.values():
            yield from values(inner)
    elif isinstance(part, tuple):
        for inner in part:
            yield from values(inner)
    else:
        yield part.span  # type: ignore[attr-defined]


def places(statement: Statement) -> Iterator[Span]:
    """Where `unknown` may be put: in place of all that follows a clause's first word, of each value of it, and of each in the head."""
    found = list(values(statement.head))
    for clause in statement.clauses:
        inner = list(values(clause.parts))
        if inner:
            found += [clause.span.source.span(min(each.start for each in inner), clause.span.end), *inner]
    seen = {(span.start, span.end): span for span in found}
    return iter(seen.values())


def changed(text: str, statements: tuple[Statement, ...]) -> Iterator[tuple[str, list[Statement]]]:
    """The statements with one value unknown, where that can be read, and what was changed. Only the one statement is read anew."""
    for at, statement in enumerate(statements):
        whole = statement.span
        before = parse(Source("spec.fitout", whole.text))
        for span in places(statement):
            told = f"{text[whole.start : span.start]}unknown{text[span.end : whole.end]}"
            again = parse(Source("spec.fitout", told), before)
            if not again.problems and len(again.document.statements) == 1:
                yield (
                    f"line {span.line}: {span.text}",
                    [*statements[:at], again.document.statements[0], *statements[at + 1 :]],
                )


@pytest.mark.parametrize("rule", BOOK.rules, ids=lambda rule: rule.name)
def test_one_unknown_value_never_makes_a_failing_rule_hold(rule: Rule) -> None:
    text = (EXAMPLES / rule.name / "fails.fitout").read_text(encoding="utf-8")
    document = parse(Source("spec.fitout", text)).document
    conceded = {
        each.head["rule"].text
        for each in document.statements
        if each.kind.text == KIND  # type: ignore[union-attr]
    }
    rules = [rule, *(each for each in BOOK.rules if each.name in conceded)]
    installation, _ = build(document.statements)
    assert installation is not None
    before = found(rules, rule, installation)
    assert before
    tried, acquitted = 0, []
    for told, statements in changed(text, document.statements):
        installation, _ = build(statements)
        if installation is None:
            continue
        tried += 1
        after = found(rules, rule, installation)
        if not all(any(things & others for others in after) for things in before):
            acquitted.append(told)
    assert acquitted == []
    assert tried >= 4


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.parent.name)
def test_a_whole_system_with_one_unknown_value_is_judged_without_a_fault_of_the_program(path: Path) -> None:
    """By every rule, for some values from all over the spec."""
    text = path.read_text(encoding="utf-8")
    statements = load(text, str(path)).documents[0].statements
    told = [made for _, made in changed(text, statements)]
    for made in told[:: len(told) // SAMPLES]:
        installation, problems = build(made)
        assert installation or problems
        if installation:
            judge(BOOK.rules, Ledger(installation, limits(installation.fitout.limits), DAY))
