"""Short circuits of small systems against Ohm's law."""

from __future__ import annotations

import pytest

from .small import CRANK, GEN, HEAD, HOUSE, Asked, LedgerOf, run, there_and_back

LAMP = "load lamp in box { draws 2 A }\n"
COLD = 1.21e-3
"""Ohm per metre of 16 mm² at 20 degC, IEC 60228 Table 3, class 5."""
HOT = COLD * (1 + 0.00393 * 85.0)
"""The same at 105 degC (IEC 60028)."""
FULL, LOW = 13.6, 12.9
"""V at rest of lifepo4 at 100 % and 20 %: the stocked table."""


def test_a_dead_short_is_limited_by_the_battery_and_the_cold_copper(ledger_of: LedgerOf) -> None:
    asked = Asked(ledger_of(HEAD + HOUSE + LAMP + there_and_back("house", "lamp", 3.0)))
    assert asked("lamp-feed", "start-fault") == pytest.approx(FULL / 0.010, rel=1e-6)
    assert asked("lamp-feed", "end-fault") == pytest.approx(FULL / (0.010 + 6.0 * COLD), rel=1e-6)


def test_the_least_short_meets_a_low_old_battery_hot_copper_and_poor_contacts(ledger_of: LedgerOf) -> None:
    asked = Asked(ledger_of(HEAD + HOUSE + LAMP + there_and_back("house", "lamp", 3.0)))
    assert asked("lamp-feed", "least-start-fault") == pytest.approx(LOW / (0.015 + 0.005), rel=1e-6)
    ohms = 0.015 + 0.005 + 6.0 * HOT + 4 * 1e-4
    assert asked("lamp-feed", "least-end-fault") == pytest.approx(LOW / ohms, rel=1e-6)


TWO = (
    HEAD
    + CRANK
    + HOUSE
    + run(
        "feed",
        "main",
        "crank.pos",
        "house.pos",
        5.0,
        more="fuse strip 60 A at 0.2 m; fuse strip 60 A at 0.2 m from house.pos",
    )
    + run("earth", "back", "house.neg", "crank.neg", 5.0)
)


def test_two_batteries_feed_one_fault_each_through_its_own_fuse(ledger_of: LedgerOf) -> None:
    asked = Asked(ledger_of(TWO))
    fuse_ohms = [segment.fuse for segment in _segments(asked, "main") if segment.fuse]
    near_crank, near_house = asked.ledger.installation.fuses_of[asked.thing("main")]  # type: ignore[index,misc]
    # Behind the first fuse crank gives its all through it; the other battery comes through the whole length and its own fuse.
    by_crank = asked.ledger.get(near_crank, "fault")
    assert by_crank == pytest.approx(12.65 / (0.007 + 0.2 * COLD + fuse_ohms[0]), rel=0.05)
    by_house = asked.ledger.get(near_house, "fault")
    assert by_house == pytest.approx(FULL / (0.010 + 0.2 * COLD + fuse_ohms[1]), rel=0.05)


def _segments(asked: Asked, name: str) -> tuple:  # type: ignore[type-arg]
    from loomwright.facts.electrics.resistances import segments

    return segments(asked.thing(name), asked.ledger)  # type: ignore[arg-type]


def test_the_shares_of_two_batteries_at_a_common_point_add_up(ledger_of: LedgerOf) -> None:
    from loomwright.facts.electrics.faults import corner

    asked = Asked(ledger_of(TWO))
    at = corner(asked.ledger)
    fault = at.fault("main/1", "crank.neg")
    assert fault.through("main/0") - fault.through("main/1") == pytest.approx(fault.amps, rel=1e-9)


def test_an_alternator_adds_no_more_than_its_nameplate(ledger_of: LedgerOf) -> None:
    asked = Asked(ledger_of(HEAD + CRANK + GEN + run("feed", "link", "gen.pos", "crank.pos")))
    assert asked("link", "end-fault") == pytest.approx(12.65 / 0.007 + 100.0, rel=1e-6)


def test_the_fuse_of_a_way_bears_what_its_circuit_can_draw_through_it(ledger_of: LedgerOf) -> None:
    text = (
        HEAD + HOUSE + LAMP + "hub ways in box { rated 60 A; stud M8; negatives 4 x M4; way 1 blade 15 A }\n"
    )
    text += run("feed", "main", "house.pos", "ways.in") + run("earth", "back", "ways.neg", "house.neg")
    text += "circuit lamp-feed from ways.1 to lamp { cable twin 4 mm2 105 degC; along box 2 m; ends blade-terminal crimped tight }\n"
    asked = Asked(ledger_of(text))
    way = asked.ledger.installation.ways_of[asked.thing("ways")][0]  # type: ignore[index]
    fuse = asked.ledger.installation.fuse_of_way[way]
    ohms = (
        0.010 + 2 * COLD + 0.1025 / 15.0
    )  # 102.5 mV at 15 A, between the stocked 110 mV of 10 A and 95 mV of 20 A
    assert asked.ledger.get(fuse, "fault") == pytest.approx(FULL / ohms, rel=1e-6)
    assert asked.ledger.get(fuse, "least-fault") < asked.ledger.get(fuse, "fault")


def test_a_fuse_beyond_the_middle_of_its_run_is_still_told_of_the_end_that_no_source_feeds(
    ledger_of: LedgerOf,
) -> None:
    feed = run("feed", "lamp-feed", "house.pos", "lamp.pos", 3.0, more="fuse strip 60 A at 2 m")
    back = run("earth", "lamp-return", "lamp.neg", "house.neg", 3.0)
    asked = Asked(ledger_of(HEAD + HOUSE + LAMP + feed + back))
    [fuse] = asked.ledger.installation.fuses_of[asked.thing("lamp-feed")]  # type: ignore[index,misc]
    assert asked.ledger.get(fuse, "least-fault") == pytest.approx(
        asked("lamp-feed", "least-end-fault"), rel=1e-6
    )


def test_a_sensing_relay_is_open_for_the_least_fault_but_where_nothing_else_feeds(
    ledger_of: LedgerOf,
) -> None:
    text = (
        HEAD
        + CRANK
        + HOUSE
        + "relay link in box { rated 100 A; closes 13.3 V; opens 12.8 V }\n"
        + run("feed", "crank-link", "crank.pos", "link.in")
    )
    text += run("feed", "house-link", "link.out", "house.pos") + run(
        "earth", "bond", "house.neg", "crank.neg"
    )
    asked = Asked(ledger_of(text))
    # At the relay, by way of the other battery's negative; 12.026 V is lead-acid at 20 %.
    ohms = 0.0105 + 0.005 + 2 * HOT + 4 * 1e-4
    assert asked("crank-link", "least-end-fault") == pytest.approx(12.026 / ohms, rel=1e-6)
    assert asked("crank-link", "end-fault") > 2 * asked("crank-link", "least-end-fault")  # type: ignore[operator]


def test_a_point_that_no_source_reaches_has_no_fault(ledger_of: LedgerOf) -> None:
    text = (
        HEAD
        + HOUSE
        + LAMP
        + "busbar dead in box { studs 4 x M8; rated 60 A }\n"
        + there_and_back("house", "lamp")
    )
    text += (
        "load fan in box { draws 2 A }\n"
        + run("feed", "fan-feed", "dead", "fan.pos")
        + run("earth", "fan-return", "fan.neg", "house.neg")
    )
    assert Asked(ledger_of(text))("fan-feed", "end-fault") == 0.0


def test_an_earth_run_bears_what_a_short_behind_it_sends_back(ledger_of: LedgerOf) -> None:
    text = (
        HEAD
        + HOUSE
        + "structure chassis { metal steel; bonded house.neg; resistance 1 mohm }\nearthpoint tab on chassis in box { stud M8; surface bare }\n"
    )
    text += (
        LAMP
        + run("feed", "lamp-feed", "house.pos", "lamp.pos", 2.0)
        + run("earth", "strap", "lamp.neg", "tab", 0.5)
    )
    asked = Asked(ledger_of(text))
    assert asked("strap", "end-fault") == pytest.approx(FULL / (0.010 + 2.5 * COLD + 0.001), rel=1e-6)
