"""From a spec to the findings of some rules of the book, as {rule: {thing: severity}}."""

from __future__ import annotations

import datetime
from collections.abc import Callable

import pytest

from loomwright.facts.limits import load_limits
from loomwright.facts.registry import Ledger
from loomwright.model.load import load
from loomwright.rulebook.finding import Finding
from loomwright.rulebook.judge import judge
from loomwright.rulebook.load import load_rules

TODAY = datetime.date(2026, 11, 20)
BOOK = load_rules()

Find = Callable[..., list[Finding]]


@pytest.fixture
def find() -> Find:
    """`find(text, "unfused-feed", …)`: the findings of these rules, in order."""

    def found(text: str, *names: str) -> list[Finding]:
        loaded = load(text, "test.fitout")
        assert not loaded.problems, [problem.message for problem in loaded.problems]
        assert loaded.installation is not None
        rules = [rule for rule in BOOK.rules if rule.name in names]
        assert len(rules) == len(names), f"of {names} there are {[rule.name for rule in rules]}"
        ledger = Ledger(loaded.installation, load_limits(), TODAY)
        return judge(rules, ledger, [rule.name for rule in BOOK.rules])

    return found
