"""Fuses: where they stand, what they protect, when they open, and what would be fitted instead."""

from __future__ import annotations

from collections.abc import Callable
from math import inf

import pytest

from loomwright.facts.registry import Ledger
from loomwright.model.things import Fuse, Run

Make = Callable[[str], Ledger]

SPEC = """
fitout "Fuses" { stage planned; system 12 V }
place bay { ambient 23 degC }
place oven { ambient 85 degC }
battery house in bay { serves house; chemistry agm; capacity 100 Ah; internal 9 mohm; stud M8 }
busbar plus in bay { studs 6 x M8; rated 100 A }
hub box in bay { rated 60 A; stud M6; negatives 4 x M4; way 1 blade 10 A; way 2 none }
load lamp in bay { draws 3 A }
load pump in bay { draws 8 A; stud M6 }
feed main from house.pos to plus { cable 16 mm2 105 degC; along bay 1 m; fuse strip 80 A at 0.1 m }
feed on from plus to box.in { cable 16 mm2 105 degC; along bay 1 m }
circuit lamp-feed from box.1 to lamp { cable twin 2.5 mm2 105 degC; along bay 1 m }
feed pump-feed from plus to pump.pos { cable 6 mm2 105 degC; along oven 2 m; fuse strip 30 A at 0.1 m }
earth pump-return from pump.neg to house.neg { cable 6 mm2 105 degC; along oven 2 m }
"""


def run_of(ledger: Ledger, name: str) -> Run:
    return next(run for run in ledger.installation.runs if run.name == name)


def fuse_of(ledger: Ledger, name: str) -> Fuse:
    found = ledger.get(run_of(ledger, name), "fuse")
    assert isinstance(found, Fuse)
    return found


def test_a_run_on_a_way_has_the_way_s_fuse(ledger_of: Make) -> None:
    ledger = ledger_of(SPEC)
    fuse = fuse_of(ledger, "lamp-feed")
    assert fuse.way is not None
    assert fuse.way.name == "box.1"
    assert ledger.get(fuse.way, "fuse") is fuse
    assert [run.name for run in ledger.get(fuse.way, "runs")] == ["lamp-feed", "lamp-feed"][:1]


def test_a_way_with_nothing_on_it_is_spare(ledger_of: Make) -> None:
    ledger = ledger_of(SPEC)
    [hub] = [device for device in ledger.installation.devices if device.name == "box"]
    ways = ledger.installation.ways_of[hub]  # type: ignore[index]
    assert [ledger.get(way, "spare") for way in ways] == [False, True]


def test_a_fuse_protects_up_to_the_next_one_and_knows_the_one_before_it(ledger_of: Make) -> None:
    ledger = ledger_of(SPEC)
    main, lamp, pump = (fuse_of(ledger, name) for name in ("main", "lamp-feed", "pump-feed"))
    assert [run.name for run in ledger.get(main, "protects")] == ["main", "on"]
    assert ledger.get(lamp, "upstream") is main
    assert ledger.get(pump, "upstream") is main
    assert ledger.get(main, "upstream") is None


def test_its_distance_is_from_the_source_it_stands_against(ledger_of: Make) -> None:
    ledger = ledger_of(SPEC)
    assert ledger.get(fuse_of(ledger, "main"), "distance") == pytest.approx(0.1)
    assert ledger.get(fuse_of(ledger, "main"), "against").name == "house.pos"
    assert ledger.get(fuse_of(ledger, "lamp-feed"), "distance") is None


def test_the_slow_edge_opens_and_the_fast_edge_holds(ledger_of: Make) -> None:
    """ISO 8820-5 type SF30 and 8820-3 type C, gates from memory."""
    ledger = ledger_of(SPEC)
    main, lamp = fuse_of(ledger, "main"), fuse_of(ledger, "lamp-feed")
    assert ledger.get(main, "holds-for", 79.0) == inf
    assert ledger.get(main, "opens-by", 480.0) == pytest.approx(1.0)
    assert ledger.get(lamp, "opens-by", 20.0) == pytest.approx(5.0)
    assert ledger.get(lamp, "holds-for", 20.0) == pytest.approx(0.15)
    assert ledger.get(lamp, "opens-by", 120.0) == pytest.approx(0.1 / 4)


def test_heat_makes_a_fuse_faster_and_never_slower(ledger_of: Make) -> None:
    ledger = ledger_of(SPEC)
    hot = fuse_of(ledger, "pump-feed")
    assert ledger.get(hot, "rating-hot") == pytest.approx(30 * 0.89)
    assert ledger.get(hot, "rating-cold") == 30
    assert ledger.get(hot, "holds-for", 60.0) < 1.0


def test_the_fuse_to_fit_is_the_largest_that_the_cable_carries(ledger_of: Make) -> None:
    ledger = ledger_of(SPEC)
    run = run_of(ledger, "main")
    carries = ledger.get(run, "carries")
    assert ledger.get(run, "fuse-to-fit") <= carries
    assert (
        ledger.get(run, "fuse-clause", run.start)
        == f"fuse strip {ledger.get(run, 'fuse-to-fit'):g} A at 0.15 m"
    )
    assert ledger.get(run, "fuse-clause", run.end).endswith("at 0.15 m from plus")


@pytest.mark.parametrize(("amps", "rating"), [(8.0, 10), (8.1, 15), (24.0, 30), (100.0, 125), (300.0, 400)])
def test_the_least_rating_leaves_a_fifth_to_spare(ledger_of: Make, amps: float, rating: float) -> None:
    """80 % of the rating for lasting loads (ISO 8820-1, from memory); beyond blade sizes a bolt-in kind."""
    ledger = ledger_of(SPEC)
    assert ledger.get(fuse_of(ledger, "lamp-feed"), "least-rating", amps) == rating


def test_a_larger_fuse_is_no_mend_where_the_cable_does_not_carry_it(ledger_of: Make) -> None:
    ledger = ledger_of(SPEC.replace("twin 2.5 mm2", "twin 0.75 mm2"))
    lamp = fuse_of(ledger, "lamp-feed")
    assert ledger.get(lamp, "bearing-rating", 11.0) == 15
    assert ledger.get(lamp, "bearing-rating", 30.0) is None


SWITCHED = """
switch beacon-switch in bay { rated 20 A }
relay link in bay { rated 40 A; closes 13.3 V; opens 12.8 V }
load beacon in bay { draws 4 A }
feed to-switch from house.pos to beacon-switch.in { cable 2.5 mm2; along bay 0.4 m; fuse blade 10 A at 0.1 m }
feed to-beacon from beacon-switch.out to beacon.pos { cable 2.5 mm2; along bay 1 m }
earth beacon-return from beacon.neg to house.neg { cable 2.5 mm2; along bay 1 m }
signal sense from house.pos to link.coil-pos { cable 1 mm2; along bay 0.4 m; fuse blade 3 A at 0.1 m }
"""


def test_one_switched_load_or_a_sense_wire_makes_no_main_feed(ledger_of: Make) -> None:
    ledger = ledger_of(SPEC + SWITCHED)
    asked = {name: ledger.get(fuse_of(ledger, name), "main-feed") for name in ("main", "to-switch", "sense")}
    assert asked == {"main": True, "to-switch": False, "sense": False}


@pytest.mark.parametrize(("mohm", "kind"), [("9", "strip fuse"), ("3", "class T fuse")])
def test_the_kind_named_breaks_the_fault(ledger_of: Make, mohm: str, kind: str) -> None:
    """ISO 8820-5 scope: 2 000 A; UL 248-15, from memory: 20 000 A."""
    ledger = ledger_of(SPEC.replace("internal 9 mohm", f"internal {mohm} mohm"))
    assert ledger.get(fuse_of(ledger, "main"), "kind-that-breaks") == kind


# ---------------------------------------------------------------- what its kind is made for


@pytest.mark.parametrize(
    ("fuse", "made", "near"),
    [
        ("blade 10 A", True, "7.5 A or 15 A"),
        ("blade 12 A", False, "10 A or 15 A"),
        ("blade 35 A", True, "30 A or 40 A"),  # rare, from memory: made, and never proposed
        ("blade 60 A", False, "40 A"),
        ("strip 90 A", False, "80 A or 100 A"),
        ("breaker 12 A", True, "10 A or 15 A"),  # what breakers are sold in, no standard says
        ("electronic 12 A", True, "10 A or 15 A"),
    ],
)
def test_a_rating_is_made_where_a_standard_s_list_has_it(
    ledger_of: Make, fuse: str, made: bool, near: str
) -> None:
    """ISO 8820-3 type C; ISO 8820-5 type SF30, from memory."""
    ledger = ledger_of(SPEC.replace("way 1 blade 10 A", f"way 1 {fuse}"))
    lamp = fuse_of(ledger, "lamp-feed")
    assert ledger.get(lamp, "rating-made") is made
    assert ledger.get(lamp, "made-near") == near


WORK = """
earth box-back from box.neg to house.neg { cable 16 mm2 105 degC; along bay 1 m }
mode work { engine off; on lamp }
"""


@pytest.mark.parametrize(
    ("draws", "rating"),
    [("8 A", 10), ("8.4 A", None), ("5 A; surge 9 A for 1 s", None), ("2 A; surge 6 A for 1 s", 10)],
)
def test_the_smaller_rating_mends_only_where_it_bears_load_and_start(
    ledger_of: Make, draws: str, rating: float | None
) -> None:
    """80 % of the rating for lasting loads (ISO 8820-1, from memory)."""
    text = SPEC.replace("way 1 blade 10 A", "way 1 blade 12 A").replace("draws 3 A", f"draws {draws}")
    ledger = ledger_of(text + WORK)
    assert ledger.get(fuse_of(ledger, "lamp-feed"), "smaller-made") == rating


@pytest.mark.parametrize(("behind", "rating"), [(30, 80), (60, None)])
def test_the_smaller_rating_is_no_mend_where_a_fuse_behind_it_comes_too_near(
    ledger_of: Make, behind: int, rating: float | None
) -> None:
    """Two of one kind: 1.6 times the rating (IEC 60269-2, from memory)."""
    text = SPEC.replace("strip 80 A", "strip 90 A").replace("strip 30 A", f"strip {behind} A")
    ledger = ledger_of(text + WORK)
    assert ledger.get(fuse_of(ledger, "main"), "smaller-made") == rating


def test_without_a_mode_nobody_knows_whether_a_smaller_one_would_do(ledger_of: Make) -> None:
    ledger = ledger_of(SPEC.replace("way 1 blade 10 A", "way 1 blade 12 A"))
    assert ledger.get(fuse_of(ledger, "lamp-feed"), "smaller-made") is None


@pytest.mark.parametrize(
    ("fuse", "volts"), [("blade 10 A", 32), ("strip 30 A", 32), ("class-t 30 A", 125), ("breaker 10 A", None)]
)
def test_a_fuse_is_for_the_volts_of_its_kind_and_a_breaker_for_those_on_its_plate(
    ledger_of: Make, fuse: str, volts: float | None
) -> None:
    """ISO 8820-3 scope and UL 248-15, from memory; ISO 8820-5 scope."""
    ledger = ledger_of(SPEC.replace("way 1 blade 10 A", f"way 1 {fuse}"))
    assert ledger.get(fuse_of(ledger, "lamp-feed"), "rated-volts") == volts


STRING = """
site { latitude -35 deg; longitude 149 deg; month june; coldest -10 degC }
solar roof in bay { peak 160 W; open 20 V; short 9 A; at-peak 18 V; coefficient -0.3 %/K; count 2 series }
charger mppt in bay { output 20 A at 14.4 V; solar 60 V max 15 A; suits agm }
feed sun from roof.pos to mppt.solar { cable 6 mm2; along bay 2 m; fuse blade 15 A at 0.3 m }
feed charge from mppt.out to plus { cable 6 mm2; along bay 1 m; fuse strip 30 A at 0.1 m from plus }
"""


def test_the_line_of_a_string_reaches_its_cold_open_volts_and_the_rest_stays_at_the_system_s(
    ledger_of: Make,
) -> None:
    """Two of 20 V at 35 K below 25 degC, 0.3 % a kelvin: 40 x 1.105 = 44.2 V (IEC 62548)."""
    ledger = ledger_of(SPEC + STRING)
    asked = {
        name: ledger.get(fuse_of(ledger, name), "circuit-volts") for name in ("sun", "charge", "lamp-feed")
    }
    assert asked == {"sun": pytest.approx(44.2), "charge": 12, "lamp-feed": 12}
