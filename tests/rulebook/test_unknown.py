"""What nobody knows is never taken for sound: a clause made `unknown` may leave a finding unproven, but not make it go."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from pathlib import Path

import pytest

from loomwright import resources
from loomwright.facts.limits import load_limits
from loomwright.facts.registry import Ledger
from loomwright.model.load import load
from loomwright.rulebook.judge import judge
from loomwright.rulebook.load import load_rules
from loomwright.rulebook.tree import Rule
from loomwright.source import Source
from loomwright.syntax.parse import parse
from loomwright.syntax.tree import Clause, Word

BOOK = load_rules()
DAY = datetime.date(2026, 11, 18)
FILES = ("rules/earth.rules", "rules/routing.rules", "rules/terminations.rules")
EXAMPLES = Path(resources.folder("rules")) / "examples"

# Clauses that no inspection can leave open: how the spec itself is to be read, and how the vehicle is used.
SETTLED = frozenset(
    ("stage", "system", "on", "engine", "return", "inside", "outside", "habitable", "hazards")
)


def found(rule: Rule, text: str) -> set[tuple[str, ...]] | None:
    """The things that the rule has a finding on, proven or not; None where the text is no sound spec."""
    loaded = load(text, "spec.fitout")
    if loaded.installation is None:
        return None
    ledger = Ledger(loaded.installation, load_limits(loaded.installation.fitout.limits), DAY)
    return {finding.things for finding in judge([rule], ledger)}


def made_unknown(text: str) -> Iterator[tuple[str, str]]:
    """The text with one clause made unknown, for every clause that can be; and the clause."""
    document = parse(Source("spec.fitout", text)).document
    for statement in document.statements:
        for clause in statement.clauses:
            if clause.parts and clause.keyword.text not in SETTLED:
                span = clause.span
                yield text[: span.start] + _unknown(clause) + text[span.end :], span.text


def _unknown(clause: Clause) -> str:
    at = clause.parts.get("at")
    named = f" {at.text}" if clause.keyword.text == "end" and isinstance(at, Word) else ""
    return f"{clause.keyword.text}{named} unknown"


@pytest.mark.parametrize(
    "rule", [rule for rule in BOOK if rule.span.source.path in FILES], ids=lambda rule: rule.name
)
def test_a_clause_made_unknown_never_makes_a_finding_go(rule: Rule) -> None:
    text = (EXAMPLES / rule.name / "fails.fitout").read_text(encoding="utf-8")
    before = found(rule, text)
    assert before
    tried = 0
    for changed, clause in made_unknown(text):
        after = found(rule, changed)
        if after is not None:
            tried += 1
            assert all(any(set(one) & set(other) for other in after) for one in before), clause
    assert tried > 5
