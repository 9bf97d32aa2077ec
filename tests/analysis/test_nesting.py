"""Pieces on reels: what must always hold, and the best answer found another way for small cases."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.analysis.nesting import Reel, Short, TooLong, first_fit_decreasing, least_opened, nest

METRE = 1000
PIECES = st.lists(st.integers(100, 10 * METRE), max_size=14)
FEW = st.lists(st.integers(1, 20).map(lambda half: half * 500), min_size=1, max_size=8)
STOCK = st.sampled_from(
    [
        [Reel(10 * METRE)],
        [Reel(10 * METRE), Reel(30 * METRE)],
        [Reel(30 * METRE), Reel(6500, 1), Reel(4000, 2)],
        [Reel(12 * METRE), Reel(17 * METRE)],
    ]
)


@settings(max_examples=60, deadline=None)
@given(PIECES, STOCK)
def test_every_piece_is_on_one_reel_and_no_reel_is_overfull(pieces: list[int], reels: list[Reel]) -> None:
    nesting = nest(pieces, reels, budget=500)
    assert sorted(index for cut in nesting.cuts for index in cut.pieces) == list(range(len(pieces)))
    for cut in nesting.cuts:
        assert cut.pieces
        assert cut.left == cut.length - sum(pieces[index] for index in cut.pieces) >= 0
    assert nesting.opened - nesting.waste == sum(pieces)
    for reel in reels:
        if reel.count is not None:
            assert sum(cut.length == reel.length for cut in nesting.cuts) <= reel.count


@settings(max_examples=60, deadline=None)
@given(PIECES, STOCK)
def test_the_answer_opens_no_more_than_first_fit_and_no_less_than_the_bound(
    pieces: list[int], reels: list[Reel]
) -> None:
    nesting = nest(pieces, reels, budget=500)
    simple = first_fit_decreasing(pieces, reels)
    assert simple is not None
    assert least_opened(pieces, reels) <= nesting.opened <= sum(length for length, _ in simple)


def partitions(pieces: Sequence[int]) -> Iterator[list[list[int]]]:
    """Every way to put pieces into heaps."""
    if not pieces:
        yield []
        return
    first, *rest = pieces
    for heaps in partitions(rest):
        yield [[first], *heaps]
        for k, heap in enumerate(heaps):
            yield [*heaps[:k], [first, *heap], *heaps[k + 1 :]]


def brute_force(pieces: Sequence[int], reels: Sequence[Reel]) -> tuple[int, int]:
    """Least cable opened and fewest reels, by trying every way. Reels without a count only."""
    lengths = sorted(reel.length for reel in reels)
    best = (10**9, 10**9)
    for heaps in partitions(pieces):
        sums = [sum(heap) for heap in heaps]
        if all(total <= lengths[-1] for total in sums):
            opened = sum(next(length for length in lengths if length >= total) for total in sums)
            best = min(best, (opened, len(heaps)))
    return best


@settings(max_examples=40, deadline=None)
@given(FEW, st.sampled_from([[10 * METRE], [10 * METRE, 30 * METRE], [12 * METRE, 17 * METRE]]))
def test_up_to_eight_pieces_the_answer_is_the_best_there_is(pieces: list[int], lengths: list[int]) -> None:
    reels = [Reel(length) for length in lengths]
    nesting = nest(pieces, reels, budget=10**6)
    assert nesting.proven
    assert (nesting.opened, len(nesting.cuts)) == brute_force(pieces, reels)


def test_first_fit_is_beaten_where_it_is_known_to_fail() -> None:
    """Two reels of 10 hold 5+3+2 and 4+3+3; first-fit decreasing puts 5 with 4 and needs a third."""
    pieces = [5000, 4000, 3000, 3000, 3000, 2000]
    simple = first_fit_decreasing(pieces, [Reel(10_000)])
    assert simple is not None
    assert len(simple) == 3
    nesting = nest(pieces, [Reel(10_000)])
    assert len(nesting.cuts) == 2
    assert nesting.waste == 0
    assert nesting.proven


def test_an_offcut_in_stock_is_used_before_a_new_reel_is_opened() -> None:
    nesting = nest([3000, 6000], [Reel(30_000), Reel(6500, 1), Reel(3500, 1)])
    assert [(cut.length, cut.pieces) for cut in nesting.cuts] == [(6500, (1,)), (3500, (0,))]


def test_a_piece_longer_than_every_reel_is_named() -> None:
    with pytest.raises(TooLong) as caught:
        nest([500, 12_000], [Reel(10_000)])
    assert caught.value.pieces == (1,)


def test_a_stock_that_gives_out_is_told() -> None:
    with pytest.raises(Short):
        nest([4000, 4000, 4000], [Reel(5000, 2)])


def test_no_pieces_open_no_reel() -> None:
    assert nest([], [Reel(10_000)]).cuts == ()
