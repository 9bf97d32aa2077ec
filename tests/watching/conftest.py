"""Somebody who watches a spec."""

from __future__ import annotations

from pathlib import Path

import pytest

from .seat import Seat


@pytest.fixture
def seat(tmp_path: Path) -> Seat:
    """A spec with an include that has been told once."""
    seat = Seat(tmp_path)
    assert seat.looks() == 1
    return seat
