"""Outside diameters, stripping, tube, sleeves and cutting."""

from __future__ import annotations

import pytest

from loomwright.stock import making
from loomwright.stock.conductors import KINDS, conductor, sizes


def test_auto_cable_is_as_thick_as_its_name_says() -> None:
    assert making.cable_outside_mm(conductor("auto", "4")).value == 4.0


def test_an_area_of_the_table_has_its_row_and_another_lies_between_two() -> None:
    assert making.cable_outside_mm(conductor("area", "6")).value == 5.0
    between = making.cable_outside_mm(conductor("bs", "8"))
    assert 5.0 < between.value < 6.5
    assert between.mark == "from memory"


@pytest.mark.parametrize("kind", KINDS)
def test_thicker_copper_is_no_thinner_over_the_insulation(kind: str) -> None:
    over = [making.cable_outside_mm(size).value for size in sizes(kind) if size.label != "2 mm auto"]
    assert over == sorted(over)


@pytest.mark.parametrize(
    (
        "count",
        "ratio",
    ),  # Closest packings of equal circles in a circle (Graham 1968, Pirl 1969; from memory).
    [(1, 1.0), (2, 2.0), (3, 2.1547), (4, 2.4142), (5, 2.7013), (6, 3.0), (7, 3.0)],
)
def test_a_bundle_is_no_thinner_than_the_closest_packing(count: int, ratio: float) -> None:
    assert ratio <= making.bundle_mm([1.0] * count) <= ratio * 1.11


def test_a_bundle_of_nothing_has_no_thickness() -> None:
    assert making.bundle_mm([]) == 0


@pytest.mark.parametrize(
    ("area", "colour"), [(0.85, "red"), (1.5, "red"), (2.5, "blue"), (4, "yellow"), (6, "yellow")]
)
def test_insulated_terminals_have_the_colour_of_their_range(area: float, colour: str) -> None:
    found = making.insulated_terminal(area)
    assert found is not None
    assert found[0].value == (colour,)


@pytest.mark.parametrize("area", [0.3, 2.9, 10])
def test_between_blue_and_yellow_and_beyond_there_is_no_insulated_terminal(area: float) -> None:
    assert making.insulated_terminal(area) is None


def test_a_lug_is_stripped_to_its_barrel_and_a_gap() -> None:
    barrel = making.lug_barrel(conductor("area", "16"))
    assert barrel is not None
    assert making.strip_mm(barrel).value == 21
    assert making.strip_mm(barrel, through=True).value == 20
    gauge = making.lug_barrel(conductor("bs", "8"))
    assert gauge is not None
    assert gauge.depth_mm == 10


@pytest.mark.parametrize(
    ("largest", "smallest"), [(6.7, 5.8), (12.5, 11.6), (22, 19.7), (3.9, 3.0), (10.5, 4.4)]
)
def test_tube_goes_over_the_barrel_and_grips_the_cable(largest: float, smallest: float) -> None:
    tube = making.heat_shrink(largest, smallest)
    assert tube is not None
    assert tube.supplied_mm >= 1.1 * largest
    assert tube.shrunk_mm <= 0.8 * smallest


def test_no_tube_bridges_too_large_a_step() -> None:
    assert making.heat_shrink(30, 2) is None


def test_tube_is_cut_long_enough_to_lap_twelve_millimetres_when_shrunk() -> None:
    barrel = making.lug_barrel(conductor("area", "16"))
    assert barrel is not None
    length = making.heat_shrink_length_mm(barrel)
    assert length == 40
    assert length * 0.9 >= barrel.depth_mm + 12


@pytest.mark.parametrize("kind", making.SLEEVES)
def test_a_sleeve_has_room_and_none_is_made_for_a_tree_trunk(kind: str) -> None:
    bore = making.sleeve_bore_mm(kind, 5.8)
    assert bore is not None
    assert bore >= 5.8 * 1.1
    assert making.sleeve_bore_mm(kind, 500) is None


def test_clips_grommets_and_glands_fit_what_passes() -> None:
    assert making.clip_mm(10) == 10
    assert making.clip_mm(10.1) == 13
    assert making.grommet_mm(11) == 12
    assert making.gland(11) == "M20"
    assert making.clip_mm(100) is making.grommet_mm(100) is making.gland(100) is None


def test_a_cable_is_cut_a_twentieth_and_two_ends_longer_than_its_route() -> None:
    """J10 of the rules' own table: route × 1.05 and two end allowances; AC 43.13-1B 11-118 for the need of it."""
    thick, thin = making.cutting(16.0), making.cutting(2.5)
    assert making.cut_mm(thick, 5.0) == 5450  # 5.25 + 0.20
    assert making.cut_mm(thin, 2.0, slack_m=0.3) == 2550  # 2.10 + 0.15 + 0.30
    assert making.cut_mm(thin, 1.01) == 1250  # 1.2105 to the next 50 mm


def test_every_table_says_how_firm_it_is() -> None:
    for name in (
        "outside",
        "barrels_made",
        "ferrules",
        "heat_shrink",
        "sleeves",
        "clips",
        "cutting",
        "reels",
    ):
        assert making.source(name).source
        assert making.source(name).mark
