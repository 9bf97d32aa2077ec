"""The solved network of small systems against closed forms worked out by hand."""

from __future__ import annotations

from math import sqrt

import pytest

from loomwright.facts.electrics.solve import solved
from loomwright.facts.registry import Missing

from .small import CRANK, GEN, HEAD, HOUSE, Asked, LedgerOf, mode, run, there_and_back

CLASS_5_16_MM2 = 1.21e-3
"""Ohm per metre at 20 degC, IEC 60228 Table 3, class 5."""
LUG = 1e-4
"""Ohm, limit contact-lug."""
REST_80 = 13.3
"""V at rest of lifepo4 at 80 %: the stocked table."""


def copper(metres: float, amps: float, table_current: float = 130.0) -> float:
    """A run of 16 mm² with two lugs, warmed by its current: 20 degC + (105 − 20)·(I/Iz)² with Iz at 20 degC."""
    celsius = 20.0 + 75.0 * (amps / table_current) ** 2
    return metres * CLASS_5_16_MM2 * (1 + 0.00393 * (celsius - 20.0)) + 2 * LUG


def test_a_constant_power_behind_a_resistance_takes_the_high_voltage_point(ledger_of: LedgerOf) -> None:
    text = (
        HEAD
        + HOUSE
        + "load heater in box { draws 120 W }\n"
        + there_and_back("house", "heater", 2.0)
        + "mode on { on heater }"
    )
    asked = Asked(ledger_of(text))
    feed = asked.ledger.get(asked.thing("heater-feed"), "table-current")
    amps = float(asked("heater", "current", "on"))  # type: ignore[arg-type]
    ohms = 0.010 + 2 * copper(2.0, amps, feed)
    volts = (REST_80 + sqrt(REST_80**2 - 4 * ohms * 120.0)) / 2
    assert amps == pytest.approx(120.0 / volts, rel=1e-8)
    assert asked("heater", "watts", "on") == pytest.approx(120.0, rel=1e-9)


def test_a_drop_is_counted_from_the_terminals_of_the_source_to_those_of_the_load(ledger_of: LedgerOf) -> None:
    text = (
        HEAD
        + HOUSE
        + "load lamp in box { draws 10 A }\n"
        + there_and_back("house", "lamp", 3.0)
        + "mode on { on lamp }"
    )
    asked = Asked(ledger_of(text))
    ohms = copper(3.0, 10.0, asked("lamp-feed", "table-current"))  # type: ignore[arg-type]
    assert asked("lamp", "drop", "on") == pytest.approx(2 * 10.0 * ohms / 12.0, rel=1e-9)
    assert asked("lamp-feed", "drop", "on") == pytest.approx(10.0 * ohms, rel=1e-9)
    assert asked("lamp-feed", "loss", "on") == pytest.approx(100.0 * ohms, rel=1e-9)
    assert asked("house", "volts", "on") == pytest.approx(REST_80 - 0.1, rel=1e-9)
    assert asked("house", "discharging-current", "on") == pytest.approx(10.0)


def test_what_is_off_draws_nothing_and_count_multiplies(ledger_of: LedgerOf) -> None:
    text = HEAD + HOUSE + "load lamps in box { draws 0.5 A; count 4 }\n" + there_and_back("house", "lamps")
    asked = Asked(
        ledger_of(
            text
            + "mode on { on lamps }\nmode half { on lamps 50 % }\nmode set { on lamps 1 A }\nmode off { }"
        )
    )
    assert [asked("lamps", "current", name) for name in ("on", "half", "set", "off")] == pytest.approx(
        [2.0, 1.0, 4.0, 0.0]
    )
    assert asked("lamps", "peak-current") == pytest.approx(4.0)


def test_a_resistance_draws_by_the_voltage_that_it_gets(ledger_of: LedgerOf) -> None:
    text = (
        HEAD
        + HOUSE
        + "load coil in box { draws 1.2 ohm }\n"
        + there_and_back("house", "coil")
        + "mode on { on coil }"
    )
    asked = Asked(ledger_of(text))
    assert asked("coil", "current", "on") == pytest.approx(asked("coil", "volts", "on") / 1.2, rel=1e-9)  # type: ignore[operator]


def test_the_hottest_place_is_as_warm_as_the_heat_balance_says(ledger_of: LedgerOf) -> None:
    text = (
        HEAD
        + HOUSE
        + "load lamp in box { draws 60 A }\n"
        + there_and_back("house", "lamp")
        + "mode on { on lamp }"
    )
    asked = Asked(ledger_of(text))
    carries = asked("lamp-feed", "carries")
    expected = 20.0 + (105.0 - 20.0) * (60.0 / carries) ** 2  # type: ignore[operator]
    assert asked("lamp-feed", "celsius", "on") == pytest.approx(expected, rel=1e-9)


def test_a_load_that_asks_for_too_much_is_named_and_the_others_keep_their_figures(
    ledger_of: LedgerOf,
) -> None:
    text = HEAD + HOUSE + "load winch in box { draws 9 kW }\nload lamp in box { draws 2 A }\n"
    text += there_and_back("house", "winch") + there_and_back("house", "lamp") + "mode on { on winch, lamp }"
    asked = Asked(ledger_of(text))
    assert asked("on", "has-operating-point") is False
    assert asked("winch", "starved", "on") is True
    assert asked("lamp", "current", "on") == pytest.approx(2.0)
    with pytest.raises(Missing, match="operating point of winch"):
        asked("winch", "current", "on")


def test_a_load_with_no_way_back_is_unknown_and_says_so(ledger_of: LedgerOf) -> None:
    text = (
        HEAD
        + HOUSE
        + "structure lid { metal aluminium; mount rubber }\nearthpoint tab on lid in box { stud M6 }\n"
    )
    text += (
        "load lamp in box { draws 2 A }\n"
        + run("feed", "lamp-feed", "house.pos", "lamp.pos")
        + run("earth", "lamp-return", "lamp.neg", "tab")
    )
    asked = Asked(ledger_of(text + "mode on { on lamp }"))
    with pytest.raises(Missing, match=r"the way back from lamp\.neg"):
        asked("lamp", "current", "on")
    assert asked("lamp-feed", "current", "on") == 0.0
    assert asked("house", "volts", "on") == pytest.approx(REST_80)


def test_return_current_parts_between_wire_and_chassis_as_their_resistances_say(ledger_of: LedgerOf) -> None:
    text = HEAD + HOUSE + "structure chassis { metal steel; bonded house.neg; resistance 2 mohm }\n"
    text += (
        "earthpoint tab on chassis in box { stud M8; surface bare }\nload lamp in box { draws 20 A }\n"
        + there_and_back("house", "lamp", 4.0)
    )
    text += run("earth", "strap", "lamp.neg", "tab", 0.2)
    asked = Asked(ledger_of(text + "mode on { on lamp }"))
    by_wire, by_strap = asked("lamp-return", "current", "on"), asked("strap", "current", "on")
    assert by_wire + by_strap == pytest.approx(20.0)  # type: ignore[operator]
    wire, strap = asked("lamp-return", "warm-resistance", "on"), asked("strap", "warm-resistance", "on")
    assert by_wire * wire == pytest.approx(by_strap * (strap + 0.3e-3 + 2e-3), rel=1e-8)  # type: ignore[operator]
    assert asked("chassis", "volts", "on") == pytest.approx(by_strap * 2e-3, rel=1e-8)  # type: ignore[operator]


def test_an_unknown_cable_leaves_its_load_unknown_and_counts_nominal_current_before_it(
    ledger_of: LedgerOf,
) -> None:
    text = (
        HEAD
        + HOUSE
        + "busbar plus in box { studs 4 x M8; rated 100 A }\nload lamp in box { draws 24 W }\nload fan in box { draws 3 A }\n"
    )
    text += (
        run("feed", "main", "house.pos", "plus")
        + run("feed", "fan-feed", "plus", "fan.pos")
        + run("earth", "fan-return", "fan.neg", "house.neg")
    )
    text += "feed lamp-feed from plus to lamp.pos { cable unknown; along box 1 m }\n" + run(
        "earth", "lamp-return", "lamp.neg", "house.neg"
    )
    asked = Asked(ledger_of(text + "mode on { on lamp, fan }\nmode fan-only { on fan }"))
    for thing in ("lamp", "lamp-feed"):
        with pytest.raises(Missing, match="cable"):
            asked(thing, "current", "on")
    assert asked("main", "current", "on") == pytest.approx(3.0 + 24.0 / 12.0)
    assert asked("fan", "current", "on") == pytest.approx(3.0)
    assert asked("lamp-feed", "current", "fan-only") == 0.0
    assert asked("main", "current", "fan-only") == pytest.approx(3.0)


def test_an_unknown_cable_beside_a_known_one_leaves_the_whole_mode_unknown(ledger_of: LedgerOf) -> None:
    text = HEAD + HOUSE + "load lamp in box { draws 3 A }\n" + there_and_back("house", "lamp")
    text += "earth second from lamp.neg to house.neg { cable unknown; along box 1 m }\nmode on { on lamp }"
    with pytest.raises(Missing, match="second"):
        Asked(ledger_of(text))("lamp", "current", "on")


def test_the_running_alternator_carries_the_load_and_a_full_battery_takes_next_to_nothing(
    ledger_of: LedgerOf,
) -> None:
    text = (
        HEAD
        + CRANK
        + GEN
        + "load lamp in box { draws 20 A }\n"
        + run("feed", "link", "gen.pos", "crank.pos")
        + there_and_back("crank", "lamp")
    )
    asked = Asked(ledger_of(text + "mode drive { engine running; on lamp }\nmode stop { on lamp }"))
    assert asked("crank", "charging-current", "drive") == pytest.approx(0.75, abs=0.1)
    assert asked("gen", "amps", "drive") == pytest.approx(
        20.0 + asked("crank", "charging-current", "drive"), rel=1e-9
    )  # type: ignore[operator]
    assert asked("gen", "delivers", "drive") == pytest.approx(65.0)
    assert asked("crank", "amps", "stop") == pytest.approx(20.0)
    assert asked("crank", "volts", "stop") == pytest.approx(12.65 - 20.0 * 0.007)


def test_beyond_its_hot_output_the_alternator_leaves_the_rest_to_the_battery(ledger_of: LedgerOf) -> None:
    text = (
        HEAD
        + CRANK
        + GEN
        + "load winch in box { draws 100 A }\n"
        + run("feed", "link", "gen.pos", "crank.pos")
        + there_and_back("crank", "winch")
    )
    asked = Asked(ledger_of(text + "mode drive { engine running; on winch }"))
    assert asked("gen", "amps", "drive") == pytest.approx(65.0)
    assert asked("crank", "amps", "drive") == pytest.approx(35.0)


SWITCHED = "switch knob in box { rated 20 A }\nload lamp in box { draws 2 A }\n" + (
    run("feed", "to-knob", "house.pos", "knob.in")
    + run("feed", "to-lamp", "knob.out", "lamp.pos")
    + run("earth", "back", "lamp.neg", "house.neg")
)


def test_a_switch_is_closed_where_something_that_is_on_lies_behind_it(ledger_of: LedgerOf) -> None:
    asked = Asked(
        ledger_of(
            HEAD
            + HOUSE
            + SWITCHED
            + "mode on { on lamp }\nmode off { }\nmode set { closed knob }\nmode cut { open knob; on lamp }"
        )
    )
    assert asked("knob", "current", "on") == pytest.approx(2.0)
    assert "knob" in solved(mode(asked.ledger, "set"), asked.ledger).closed  # type: ignore[arg-type]
    assert "knob" not in solved(mode(asked.ledger, "off"), asked.ledger).closed  # type: ignore[arg-type]
    with pytest.raises(Missing, match=r"the way from a source to lamp\.pos"):
        asked("lamp", "current", "cut")


SENSING = "relay link in box { rated 100 A; closes 13.3 V; opens 12.8 V }\n" + (
    run("feed", "crank-link", "crank.pos", "link.in")
    + run("feed", "house-link", "link.out", "house.pos")
    + run("earth", "bond", "house.neg", "crank.neg")
)


def test_a_sensing_relay_joins_the_batteries_while_the_alternator_holds_them_up(ledger_of: LedgerOf) -> None:
    text = (
        HEAD
        + CRANK
        + GEN
        + HOUSE.replace("lifepo4", "agm")
        + SENSING
        + run("feed", "charge", "gen.pos", "crank.pos")
    )
    asked = Asked(ledger_of(text + "mode drive { engine running; charge 90 % }\nmode stop { }"))
    assert asked("link", "is-closed", "drive") is True
    assert asked("house", "charging-current", "drive") > 5.0  # type: ignore[operator]
    assert asked("link", "is-closed", "stop") is False
    assert asked("house", "amps", "stop") == pytest.approx(0.0, abs=1e-9)


def test_a_relay_with_a_coil_closes_while_its_coil_is_fed(ledger_of: LedgerOf) -> None:
    text = (
        HEAD
        + CRANK
        + "supply key in box { holds 12.6 V; rated 10 A; live ignition }\nrelay main in box { rated 30 A; coil 150 mA }\nload lamp in box { draws 5 A }\n"
    )
    text += (
        run("feed", "in-feed", "crank.pos", "main.in")
        + run("feed", "out-feed", "main.out", "lamp.pos")
        + run("earth", "back", "lamp.neg", "crank.neg")
    )
    text += run("signal", "pull", "key.pos", "main.coil-pos") + run(
        "earth", "coil-back", "main.coil-neg", "crank.neg"
    )
    asked = Asked(ledger_of(text + "mode drive { engine running; on lamp }\nmode stop { on lamp }"))
    assert asked("lamp", "current", "drive") == pytest.approx(5.0)
    assert asked("pull", "current", "drive") == pytest.approx(0.157, abs=0.002)
    assert asked("main", "is-closed", "stop") is False


def test_an_inverter_draws_what_is_taken_over_its_efficiency_and_its_idle_current(
    ledger_of: LedgerOf,
) -> None:
    text = (
        HEAD
        + HOUSE
        + "inverter mains in box { rated 800 W; efficiency 90 %; idle 0.6 A; output 230 V }\n"
        + there_and_back("house", "mains", 0.5)
    )
    asked = Asked(ledger_of(text + "mode work { on mains 450 W }\nmode wait { on mains }\nmode off { }"))
    volts = asked("mains", "volts", "work")
    assert asked("mains", "input-current", "work") == pytest.approx(500.0 / volts + 0.6, rel=1e-9)  # type: ignore[operator]
    assert asked("mains", "input-current", "wait") == pytest.approx(0.6)
    assert asked("mains", "input-current", "off") == 0.0


def test_a_spec_with_no_source_says_what_is_missing(ledger_of: LedgerOf) -> None:
    text = (
        HEAD
        + "load a in box { draws 2 A }\nload b in box { draws 2 A }\n"
        + there_and_back("a", "b")
        + "mode on { on a }"
    )
    with pytest.raises(Missing, match="a source that is live"):
        Asked(ledger_of(text))("a", "current", "on")


def test_a_lead_acid_battery_takes_charge_by_its_acceptance_and_gives_by_its_internal_resistance(
    ledger_of: LedgerOf,
) -> None:
    text = HEAD + CRANK + GEN + HOUSE.replace("lifepo4", "agm").replace("10 mohm", "5 mohm")
    text += run("feed", "charge", "gen.pos", "house.pos") + run("earth", "back", "house.neg", "crank.neg")
    asked = Asked(
        ledger_of(
            text
            + "load lamp in box { draws 30 A }\n"
            + there_and_back("house", "lamp")
            + "mode drive { engine running; charge 50 % }\nmode rest { charge 50 %; on lamp }"
        )
    )
    # 40 A at 14.55 V, half charged and 12.3 V at rest (stocked tables): 56.25 mohm.
    volts = asked("house", "volts", "drive")
    assert asked("house", "charging-current", "drive") == pytest.approx((volts - 12.3) / 0.05625, rel=1e-7)  # type: ignore[operator]
    assert asked("house", "volts", "rest") == pytest.approx(12.3 - 30.0 * 0.005, rel=1e-9)


def test_copper_that_a_dead_short_would_melt_still_settles(ledger_of: LedgerOf) -> None:
    asked = Asked(
        ledger_of(
            HEAD + HOUSE + run("earth", "short", "house.pos", "house.neg", 1.0, "6 mm2") + "mode on { }"
        )
    )
    amps = asked("short", "current", "on")
    ohms = asked("short", "warm-resistance", "on")
    assert amps * (0.010 + ohms) == pytest.approx(REST_80, rel=1e-8)  # type: ignore[operator]
    assert asked("short", "celsius", "on") > 1083.0  # type: ignore[operator]
