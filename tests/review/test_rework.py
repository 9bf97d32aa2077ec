"""What becomes of each piece on the vehicle."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.review.compare import compare
from loomwright.review.rework import Rework, rework
from loomwright.review.sides import Side

Van = Callable[..., Side]
ALL = {"crank", "ways", "lamp", "pump", "main", "back", "light", "water"}


def plan(old: Side, new: Side) -> Rework:
    return rework(compare(old, new).changes)


def names(made: Rework) -> dict[str, set[str]]:
    return {
        "remove": {each.name for each in made.remove},
        "replace": {each.name for each in made.replace},
        "alter": {each.name for each in made.alter},
        "new": {each.name for each in made.new},
        "keep": {name for _, name in made.keep},
    }


def test_where_nothing_changes_all_pieces_stay(van: Van) -> None:
    assert names(plan(van(), van())) == {
        "remove": set(),
        "replace": set(),
        "alter": set(),
        "new": set(),
        "keep": ALL,
    }


@pytest.mark.parametrize(
    ("old", "new", "name", "becomes"),
    [
        ("16 mm2 red", "25 mm2 red", "main", "replace"),  # another cable
        ("along box 2 m", "along box 3 m", "light", "replace"),  # a longer one
        ("75 Ah", "95 Ah", "crank", "replace"),  # another battery
        ("60 A at", "50 A at", "main", "alter"),  # the cable stays, its fuse does not
        ("sleeve split-tube", "sleeve braid", "main", "alter"),
        ("way 1 blade 10 A", "way 1 blade 5 A", "ways", "alter"),  # a fuse in the box
        ("load pump in box", "load pump in bay", "pump", "alter"),  # moved
        ("opening grommet", "opening gland", "wall", "alter"),  # a hole is work as well
        ("draws 5 A", "draws 5 A; duty 20 %", "pump", "keep"),  # how it is used
        ("chemistry agm; ", "", "crank", "keep"),  # found out, or forgotten, but the same battery
        ("circuit water", "circuit shower", "shower", "keep"),  # only called otherwise
    ],
)
def test_a_piece_becomes_what_its_change_asks_for(
    van: Van, old: str, new: str, name: str, becomes: str
) -> None:
    made = names(plan(van(), van((old, new))))
    assert name in made[becomes]
    assert sum(name in row for row in made.values()) == 1
    pieces = made["remove"] | made["replace"] | made["alter"] | made["new"] | made["keep"]
    assert len(pieces - {"wall"}) == len(ALL)


def test_what_nobody_looked_at_is_not_work_because_there_is_none_of_it(van: Van) -> None:
    made = names(plan(van(("stage planned", "stage as-found")), van()))
    assert made["keep"] == ALL  # joints that were not looked for, and now are known not to be there


def test_nothing_is_done_to_what_the_maker_fitted(van: Van) -> None:
    maker = ("cable 16 mm2 black", "maker; cable 16 mm2 black")
    made = plan(van(maker), van(maker, ("16 mm2 black", "25 mm2 black")))
    assert names(made)["keep"] == ALL
    assert [each.name for each in made.paper] == ["back"]


def test_one_piece_for_another_is_one_out_and_one_in(van: Van) -> None:
    other = ("load pump in box { draws 5 A; surge 9 A for 0.5 s }", "load heater in box { draws 8 A }")
    made = names(plan(van(), van(other, ("to pump", "to heater"), ("lamp, pump", "lamp, heater"))))
    assert made["remove"] == {"pump"}
    assert made["new"] == {"heater"}
    assert made["replace"] == {"water"}
