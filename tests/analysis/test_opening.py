"""The opening band of a fuse and selectivity. Gates here are examples, not a standard's."""

from __future__ import annotations

from itertools import pairwise
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.analysis.opening import Curve, Gate, holds_for, opens_between, opens_by, overlap, parts_first

# ISO 8820-5 type SF 30 (from memory).
STRIP: tuple[Gate, ...] = ((1.0, 14400, None), (1.35, 60, 1800), (2.0, 1, 15), (3.5, 0.3, 5), (6.0, 0.1, 1))
# ISO 8820-3 types C and F (from memory).
BLADE: tuple[Gate, ...] = (
    (1.1, 360000, None),
    (1.35, 0.75, 600),
    (1.6, 0.25, 50),
    (2.0, 0.15, 5),
    (3.5, 0.04, 0.5),
    (6.0, 0.02, 0.1),
)
multiples = st.floats(0.01, 100)


def test_a_strip_fuse_of_50_a_lives_through_a_70_a_start_of_some_seconds_and_opens_if_it_goes_on() -> None:
    """Common practice, no source. The gates say from when to when: not before 41 s, and surely after 20 minutes."""
    fast, slow = opens_between(Curve(STRIP, 50.0), 70.0)
    assert 41.0 < fast < 42.0
    assert 1100.0 < slow < 1200.0
    assert holds_for(STRIP, 50.0, 70.0) == fast
    assert opens_by(STRIP, 50.0, 70.0) == slow


@pytest.mark.parametrize("gates", [STRIP, BLADE])
def test_the_edges_go_through_the_gates(gates: tuple[Gate, ...]) -> None:
    for multiple, least, most in gates:
        assert holds_for(gates, 20, multiple * 20) == pytest.approx(least)
        assert opens_by(gates, 20, multiple * 20) == (inf if most is None else pytest.approx(most))


def test_the_edges_are_straight_on_logarithmic_axes() -> None:
    middle = (2.0 * 3.5) ** 0.5
    assert opens_by(BLADE, 10, middle * 10) == pytest.approx((5 * 0.5) ** 0.5)
    assert holds_for(BLADE, 10, middle * 10) == pytest.approx((0.15 * 0.04) ** 0.5)


def test_beyond_the_last_gate_the_square_of_the_current_times_the_time_stays() -> None:
    assert opens_by(BLADE, 10, 120) == pytest.approx(0.1 / 4)
    assert holds_for(BLADE, 10, 120) == pytest.approx(0.02 / 4)


def test_below_the_first_gate_a_fuse_never_opens() -> None:
    assert holds_for(BLADE, 10, 10.9) == inf
    assert opens_by(BLADE, 10, 13.4) == inf
    assert holds_for(BLADE, 10, 0.0) == inf


@given(multiples, multiples)
def test_more_current_never_takes_longer(one: float, other: float) -> None:
    low, high = sorted((one, other))
    for gates in (STRIP, BLADE):
        for edge in (opens_by, holds_for):
            assert edge(gates, 1.0, high) <= edge(gates, 1.0, low)
        assert holds_for(gates, 1.0, low) <= opens_by(gates, 1.0, low)


def test_a_hot_fuse_counts_as_a_smaller_one() -> None:
    assert opens_by(BLADE, 20, 30, factor=0.9) == opens_by(BLADE, 18, 30)


def test_a_breaker_with_no_least_time_holds_for_nothing_past_its_first_gate() -> None:
    gates: tuple[Gate, ...] = ((1.0, None, None), (1.35, None, 3600), (2.0, None, 40))
    assert holds_for(gates, 10, 9) == inf
    assert holds_for(gates, 10, 10) == 0.0
    assert opens_by(gates, 10, 20) == pytest.approx(40)


@pytest.mark.parametrize(
    "gates",
    [
        (),
        ((2.0, 1, 5), (1.0, 2, 10)),
        ((1.0, 1, 5), (2.0, 2, 4)),
        ((1.0, 1, 5), (2.0, 0.5, 6)),
        ((1.0, 0, 5),),
    ],
)
def test_gates_out_of_order_are_refused(gates: tuple[Gate, ...]) -> None:
    with pytest.raises(ValueError, match="gate"):
        opens_by(gates, 10, 10)


@pytest.mark.parametrize(("amps", "rating"), [(-1, 10), (float("nan"), 10), (1, 0)])
def test_currents_and_ratings_that_mean_nothing_are_refused(amps: float, rating: float) -> None:
    with pytest.raises(ValueError, match="means nothing"):
        holds_for(BLADE, rating, amps)


def test_a_small_blade_under_a_large_strip_is_selective_up_to_where_their_bands_meet() -> None:
    down, up = Curve(BLADE, 10), Curve(STRIP, 100)
    assert parts_first(down, up, 300)
    assert not parts_first((BLADE, 40), (STRIP, 50), 2000)


def test_the_overlap_begins_where_the_edges_cross() -> None:
    down, up = Curve(BLADE, 40), Curve(STRIP, 50)
    amps = overlap(down, up, 2000)
    assert amps is not None
    looks = [1 * 1.001**k for k in range(7600)]
    first = next(i for i in looks if opens_between(down, i)[1] > opens_between(up, i)[0])
    assert amps == pytest.approx(first, rel=2e-3)
    assert parts_first(down, up, amps * 0.999)


@settings(deadline=None)  # it looks at thousands of currents
@given(st.sampled_from([5.0, 10.0, 30.0]), st.sampled_from([20.0, 60.0, 100.0, 200.0]), st.floats(0.8, 1.1))
def test_selectivity_agrees_with_looking_at_every_current(
    down_amps: float, up_amps: float, factor: float
) -> None:
    down, up = Curve(BLADE, down_amps, factor), Curve(STRIP, up_amps, factor)
    for low, high in pairwise([1.0, 40.0, 150.0, 900.0]):
        steps = [low * (high / low) ** (k / 400) for k in range(401)]
        failing = [i for i in steps if opens_between(down, i)[1] > opens_between(up, i)[0] * (1 + 1e-9)]
        found = overlap(down, up, high, low)
        assert (
            (found is not None and found <= failing[0] * (1 + 1e-9))
            if failing
            else (found is None or found > low)
        )


def test_an_empty_range_of_currents_is_refused() -> None:
    with pytest.raises(ValueError, match="no range"):
        overlap(Curve(BLADE, 10), Curve(BLADE, 20), 5, 10)
