"""Barrels, studs, torque and pull."""

from __future__ import annotations

import pytest

from loomwright.stock.conductors import KINDS, conductor, sizes
from loomwright.stock.lugs import (
    STUD_KINDS,
    barrel_range,
    crimp_pull_newton,
    die_code,
    hole_mm,
    studs_made,
    takes,
    torque,
)


@pytest.mark.parametrize(
    ("lug", "cable", "sound"),
    [
        (("area", "6"), ("auto", "6"), True),  # 4.59 mm²
        (("area", "4"), ("auto", "4"), False),  # 1.84 mm²
        (("area", "16"), ("auto", "6"), False),
        (("area", "16"), ("area", "16"), True),
        (("area", "10"), ("area", "16"), False),
        (("bs", "8"), ("bs", "8"), True),
        (("bs", "8"), ("awg", "8"), True),
        (("bs", "8"), ("bs", "6"), False),
        (("bs", "8"), ("area", "6"), False),
        (("area", "4"), ("area", "6"), True),  # DIN 46234 makes one barrel for 4 to 6 mm²
    ],
)
def test_a_lug_is_judged_by_its_barrels_range(
    lug: tuple[str, str], cable: tuple[str, str], sound: bool
) -> None:
    assert takes(conductor(*lug), conductor(*cable).area_mm2) is sound


@pytest.mark.parametrize("kind", KINDS)
def test_a_lug_takes_the_size_it_is_marked_with(kind: str) -> None:
    for size in sizes(kind):
        assert takes(size, size.area_mm2)
        assert barrel_range(size).mark == "common practice, no source"


def test_two_cables_in_one_barrel_count_together() -> None:
    assert takes(conductor("area", "6"), 2 * 2.5)
    assert not takes(conductor("area", "6"), 2 * 4.0)


@pytest.mark.parametrize("kind", KINDS)
def test_every_stocked_size_has_studs_in_order(kind: str) -> None:
    for size in sizes(kind):
        made = studs_made(size)
        assert made is not None
        assert list(made.value) == sorted(made.value, key=lambda thread: float(thread[1:]))
        assert all(hole_mm(thread, ring=True) for thread in made.value)


def test_a_size_beyond_the_standards_has_no_studs_die_or_hole() -> None:
    assert studs_made(conductor("area", "150")) is None
    assert die_code(conductor("area", "150")) is None
    assert die_code(conductor("bs", "8")) is None
    assert hole_mm("M7") is None


@pytest.mark.parametrize("stud", STUD_KINDS)
def test_thicker_studs_take_more_torque(stud: str) -> None:
    found = [torque(thread, stud) for thread in ("M6", "M8", "M10")]
    highs = [one.high for one in found if one]
    assert len(highs) == 3
    assert highs == sorted(highs)
    assert all(one.low <= one.high for one in found if one)


def test_a_thread_without_a_torque_has_none_and_another_stud_is_refused() -> None:
    assert torque("M3") is None
    with pytest.raises(KeyError):
        torque("M8", "oak")


def test_a_crimps_pull_is_that_of_the_nearest_smaller_row() -> None:
    eight = crimp_pull_newton(conductor("bs", "8").area_mm2)
    assert eight is not None
    assert (eight.value, eight.source) == (178.0, "ABYC E-11 tensile test values, 5.26 mm²")
    assert crimp_pull_newton(1.0) is None
