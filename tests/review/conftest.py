"""Specs to compare: the complete systems, and texts that tests vary."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path

import pytest

from loomwright.report.check import Wishes
from loomwright.review.sides import Side, side_of

WISHES = Wishes(today=datetime.date(2026, 11, 25))

VAN = (Path(__file__).parent / "van.fitout").read_text("utf-8")


@pytest.fixture(scope="session")
def van() -> Callable[..., Side]:
    """The van's side with pairs of old and new text replaced in it; each old text must be there."""

    def make(*pairs: tuple[str, str], text: str = VAN) -> Side:
        for old, new in pairs:
            assert old in text, old
            text = text.replace(old, new)
        return side_of(text, "van.fitout", "van.fitout", WISHES)

    return make
