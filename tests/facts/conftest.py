"""Facts of a spec that stands in the test: a short way from text to a ledger."""

from __future__ import annotations

import datetime
from collections.abc import Callable

import pytest

import loomwright.facts.all  # noqa: F401  registers every fact
from loomwright.facts.limits import load_limits
from loomwright.facts.registry import Ledger
from loomwright.model.load import load

TODAY = datetime.date(2026, 11, 20)


@pytest.fixture
def ledger_of() -> Callable[[str], Ledger]:
    """The ledger of a spec given as text; the text must be free of errors."""

    def make(text: str) -> Ledger:
        loaded = load(text, "test.fitout")
        assert not loaded.problems, [problem.message for problem in loaded.problems]
        assert loaded.installation is not None
        return Ledger(loaded.installation, load_limits(), TODAY)

    return make
