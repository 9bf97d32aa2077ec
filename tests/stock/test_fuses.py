"""Kinds of fuse: what is made, and when they open."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.stock.fuses import (
    FuseKind,
    colour,
    continuous_share,
    kind,
    kinds,
    next_rating_above,
    next_rating_below,
    temperature_factor,
    typical_ohm,
)

NAMES = ["blade", "mini", "maxi", "strip", "strip-large", "class-t", "breaker", "breaker-auto", "electronic"]


def by_name(known: FuseKind) -> str:
    return known.name


def test_the_kinds_are_those_of_the_language_in_its_order() -> None:
    assert [known.name for known in kinds()] == NAMES
    assert all(kind(name).name == name for name in NAMES)


def test_another_kind_is_refused_with_the_list() -> None:
    with pytest.raises(KeyError, match="strip-large"):
        kind("glass")


@pytest.mark.parametrize("known", kinds(), ids=by_name)
def test_ratings_go_up(known: FuseKind) -> None:
    assert list(known.ratings) == sorted(set(known.ratings))
    assert not set(known.ratings) & set(known.rare_ratings)


@pytest.mark.parametrize("known", kinds(), ids=by_name)
def test_gates_open_sooner_at_more_current(known: FuseKind) -> None:
    multiples = [gate.multiple for gate in known.gates]
    assert multiples == sorted(set(multiples))
    assert multiples[0] >= 1.0
    for bounds in (
        [gate.min_s for gate in known.gates if gate.min_s is not None],
        [gate.max_s for gate in known.gates if gate.max_s is not None],
    ):
        assert bounds == sorted(bounds, reverse=True)
        assert bounds
    for gate in known.gates:
        assert gate.min_s is None or gate.max_s is None or gate.min_s < gate.max_s


@pytest.mark.parametrize("known", kinds(), ids=by_name)
def test_every_kind_carries_its_rating_and_opens_at_twice(known: FuseKind) -> None:
    assert known.gates[0].max_s is None
    assert any(gate.multiple <= 2 and gate.max_s is not None for gate in known.gates)


@pytest.mark.parametrize("known", kinds(), ids=by_name)
@given(amps=st.floats(0.1, 600))
def test_the_next_ratings_enclose_a_current(known: FuseKind, amps: float) -> None:
    above, below = next_rating_above(known, amps), next_rating_below(known, amps)
    assert above is None or above >= amps
    assert below is None or below <= amps
    if above is not None and below is not None and above != below:
        assert not [rating for rating in known.ratings if below < rating < above]


def test_a_current_that_is_a_rating_is_its_own_next() -> None:
    assert next_rating_above(kind("strip"), 60.0) == next_rating_below(kind("strip"), 60.0) == 60.0
    assert next_rating_above(kind("blade"), 41.0) is None
    assert next_rating_below(kind("strip"), 29.0) is None


def test_a_rare_rating_is_made_but_never_proposed() -> None:
    blade = kind("blade")
    assert blade.is_made(35.0)
    assert not blade.is_made(12.0)
    assert next_rating_above(blade, 31.0) == 40.0
    assert (blade.rating_basis(35.0), blade.rating_basis(30.0)) == ("memory", "read")


def test_strip_fuses_bolt_to_the_stud_of_their_size() -> None:
    assert [(known.stud, known.bolt_in) for known in (kind("strip"), kind("strip-large"), kind("blade"))] == [
        ("M5", True),
        ("M8", True),
        (None, False),
    ]
    torque = kind("strip").torque
    assert torque is not None
    assert torque.mark == "from memory"


def test_colours_that_nobody_read_say_so_and_what_has_none_has_none() -> None:
    assert colour(kind("class-t"), 100.0) is None
    assert colour(kind("blade"), 12.0) is None
    black = colour(kind("blade"), 1.0)
    assert black is not None
    assert (black.value, black.mark) == (("black",), "from memory")


@pytest.mark.parametrize("known", kinds(), ids=by_name)
def test_a_larger_fuse_has_less_resistance(known: FuseKind) -> None:
    ohms = [typical_ohm(known, amps).value for amps in known.ratings]
    assert ohms == sorted(ohms, reverse=True)
    assert typical_ohm(known, known.ratings[0]).mark


def test_a_hot_fuse_carries_less() -> None:
    assert temperature_factor(23.0).value == 1.0
    assert (
        temperature_factor(85.0).value < temperature_factor(60.0).value < 1.0 < temperature_factor(0.0).value
    )
    assert (
        continuous_share("engine-bay").value < continuous_share("cautious").value < continuous_share().value
    )


def test_breakers_reset_and_fuses_do_not() -> None:
    assert [known.name for known in kinds() if known.resets] == ["breaker", "breaker-auto", "electronic"]
