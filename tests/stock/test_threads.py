"""Threads and their holes."""

from __future__ import annotations

import pytest

from loomwright.stock.threads import SERIES, clearance_hole, nominal_mm, threads


@pytest.mark.parametrize("thread", threads())
def test_holes_are_wider_than_the_thread_and_widen_by_series(thread: str) -> None:
    holes = [clearance_hole(thread, series).value for series in SERIES]
    assert nominal_mm(thread) < holes[0] < holes[1] < holes[2]
    assert clearance_hole(thread).source == f"ISO 273, {thread} fine"


def test_threads_are_listed_from_thin_to_thick() -> None:
    assert list(threads()) == sorted(threads(), key=nominal_mm)
    assert "M8" in threads()


def test_what_is_no_thread_is_refused() -> None:
    with pytest.raises(KeyError):
        clearance_hole("M7")
    with pytest.raises(ValueError, match="no metric thread"):
        nominal_mm("3/8")
