"""Chargers and panels: what goes in is what comes out over the efficiency, and they work only when their conditions hold."""

from __future__ import annotations

import pytest

from .small import CRANK, GEN, HEAD, HOUSE, Asked, LedgerOf, run

REST_80 = 13.3


def charger(clauses: str) -> str:
    return f"charger dcdc in box {{ {clauses}; efficiency 90 %; suits lifepo4; stud M8 }}\n"


def system(clauses: str, feed_metres: float = 4.0, feed_size: str = "16 mm2") -> str:
    """An engine's battery and alternator, a charger, a house battery, all returns on the crank battery's negative."""
    return (
        HEAD
        + CRANK
        + GEN
        + HOUSE
        + charger(clauses)
        + (
            run("feed", "link", "gen.pos", "crank.pos")
            + run("feed", "main", "crank.pos", "dcdc.in", feed_metres, feed_size)
            + run("feed", "charge", "dcdc.out", "house.pos")
            + run("earth", "dcdc-return", "dcdc.neg", "crank.neg")
            + run("earth", "house-return", "house.neg", "crank.neg")
        )
    )


DRIVE = "mode drive { engine running }\nmode stop { }\n"


def watts_out(asked: Asked, name: str) -> float:
    return asked("dcdc", "volts", name) * asked("dcdc", "amps", name)  # type: ignore[operator,no-any-return]


def test_its_input_takes_its_output_over_its_efficiency(ledger_of: LedgerOf) -> None:
    asked = Asked(ledger_of(system("output 25 A at 14.4 V; starts 13.2 V; stops 12.7 V") + DRIVE))
    assert asked("dcdc", "works", "drive") is True
    assert asked("dcdc", "amps", "drive") == pytest.approx(25.0)
    taken = asked("dcdc", "input-volts", "drive") * asked("dcdc", "input-amps", "drive")  # type: ignore[operator]
    assert taken * 0.9 == pytest.approx(watts_out(asked, "drive"), rel=1e-9)
    assert asked("house", "charging-current", "drive") == pytest.approx(25.0)


def test_it_rests_while_its_input_is_below_its_start(ledger_of: LedgerOf) -> None:
    asked = Asked(ledger_of(system("output 25 A at 14.4 V; starts 13.2 V; stops 12.7 V") + DRIVE))
    assert asked("dcdc", "works", "stop") is False
    assert asked("dcdc", "amps", "stop") == 0.0
    assert asked("house", "amps", "stop") == pytest.approx(0.0, abs=1e-9)


def test_its_input_limit_holds_its_output_down(ledger_of: LedgerOf) -> None:
    asked = Asked(ledger_of(system("input 10 A max; output 25 A at 14.4 V") + DRIVE))
    assert asked("dcdc", "input-amps", "drive") == pytest.approx(10.0, rel=1e-8)
    assert watts_out(asked, "drive") == pytest.approx(
        10.0 * asked("dcdc", "input-volts", "drive") * 0.9, rel=1e-8
    )  # type: ignore[operator]


def test_one_that_its_own_current_pulls_under_its_stop_hunts(ledger_of: LedgerOf) -> None:
    asked = Asked(
        ledger_of(system("output 25 A at 14.4 V; starts 13.2 V; stops 12.9 V", 8.0, "4 mm2") + DRIVE)
    )
    assert asked("dcdc", "hunts", "drive") is True
    assert asked("dcdc", "works", "drive") is False
    assert asked("dcdc", "input-volts", "drive") < 12.9  # type: ignore[operator]


def test_near_its_voltage_it_regulates_instead_of_giving_all_it_can(ledger_of: LedgerOf) -> None:
    asked = Asked(ledger_of(system("output 60 A at 13.5 V") + DRIVE))
    amps = asked("dcdc", "amps", "drive")
    rise = amps * (
        0.010
        + asked("charge", "warm-resistance", "drive")
        + asked("house-return", "warm-resistance", "drive")
        + asked("dcdc-return", "warm-resistance", "drive")
    )  # type: ignore[operator]
    assert 0 < amps < 60  # type: ignore[operator]
    # Around the loop of charger and house battery the input's current is in the charger's return as well.
    back = asked("dcdc-return", "warm-resistance", "drive") * asked("dcdc", "input-amps", "drive")  # type: ignore[operator]
    assert 13.5 - amps * 0.001 == pytest.approx(REST_80 + rise - back, rel=1e-8)  # type: ignore[operator]


def test_a_sense_wire_that_is_dead_keeps_it_off(ledger_of: LedgerOf) -> None:
    key = "supply key in box { holds 12.6 V; rated 10 A; live ignition }\n" + run(
        "signal", "sense", "key.pos", "dcdc.sense", 1.0, "1.5 mm2"
    )
    asked = Asked(ledger_of(system("output 25 A at 14.4 V; cuts-out 10.5 V") + key + DRIVE))
    assert asked("dcdc", "works", "drive") is True
    assert asked("dcdc", "works", "stop") is False


PANEL = "solar roof in box { peak 160 W; open 22.4 V; short 9.1 A; at-peak 18.6 V; coefficient -0.28 %/K }\n"
SUN = (
    PANEL
    + run("feed", "panel", "roof.pos", "dcdc.solar", 2.0, "6 mm2")
    + run("earth", "panel-return", "roof.neg", "dcdc.neg", 2.0, "6 mm2")
)
SUNNY = "mode noon { sun full }\nmode dull { sun 250 W/m2 }\nmode dark { }\nmode drive { sun full; engine running }\n"


def test_the_panel_gives_its_peak_power_in_full_sun_and_less_in_proportion(ledger_of: LedgerOf) -> None:
    asked = Asked(
        ledger_of(system("output 30 A at 14.4 V; solar 32 V max 15 A; starts 13.2 V") + SUN + SUNNY)
    )
    for name, sun in (("noon", 1.0), ("dull", 0.25)):
        given = asked("roof", "volts", name) * asked("roof", "amps", name)  # type: ignore[operator]
        assert given == pytest.approx(160.0 * sun, rel=1e-6)
    assert asked("roof", "amps", "dark") == 0.0


def test_the_line_of_the_panel_takes_its_share_and_the_charger_the_rest(ledger_of: LedgerOf) -> None:
    asked = Asked(
        ledger_of(system("output 30 A at 14.4 V; solar 32 V max 15 A; starts 13.2 V") + SUN + SUNNY)
    )
    lost = asked("panel", "loss", "noon") + asked("panel-return", "loss", "noon")  # type: ignore[operator]
    assert watts_out(asked, "noon") == pytest.approx((160.0 - lost) * 0.9, rel=1e-6)


def test_the_sun_comes_first_and_the_engine_gives_the_rest(ledger_of: LedgerOf) -> None:
    asked = Asked(
        ledger_of(system("output 30 A at 14.4 V; solar 32 V max 15 A; starts 13.2 V") + SUN + SUNNY)
    )
    assert asked("dcdc", "amps", "drive") == pytest.approx(30.0)
    taken = asked("dcdc", "input-volts", "drive") * asked("dcdc", "input-amps", "drive")  # type: ignore[operator]
    lost = asked("panel", "loss", "drive") + asked("panel-return", "loss", "drive")  # type: ignore[operator]
    assert (taken + 160.0 - lost) * 0.9 == pytest.approx(watts_out(asked, "drive"), rel=1e-6)


def test_its_solar_rating_limits_what_the_sun_adds(ledger_of: LedgerOf) -> None:
    asked = Asked(ledger_of(system("output 30 A at 14.4 V; solar 32 V max 5 A; starts 13.2 V") + SUN + SUNNY))
    assert asked("dcdc", "amps", "noon") == pytest.approx(5.0)
    assert asked("roof", "volts", "noon") > 18.6  # type: ignore[operator]


def test_a_panel_straight_on_a_battery_gives_its_short_current(ledger_of: LedgerOf) -> None:
    text = (
        HEAD
        + HOUSE
        + PANEL
        + run("feed", "panel", "roof.pos", "house.pos")
        + run("earth", "panel-return", "roof.neg", "house.neg")
    )
    asked = Asked(ledger_of(text + "mode noon { sun full }"))
    assert asked("house", "charging-current", "noon") == pytest.approx(9.1)
