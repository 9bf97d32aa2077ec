"""What the gallery of messages has in common."""

from __future__ import annotations

import pytest


@pytest.fixture
def nothing_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """Messages are made afresh: what an earlier version of the program has kept would show its wording."""
    monkeypatch.setenv("LOOMWRIGHT_CACHE", "off")
