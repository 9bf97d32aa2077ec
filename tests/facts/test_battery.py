"""What batteries take and give, where they stand, and what cuts them off."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.facts.registry import Ledger, Missing

Make = Callable[[str], Ledger]

SPEC = """
fitout "Test" { stage planned; system 12 V }
practice { ends crimped sealed tight }
place box { ambient 0 degC to 40 degC BOX }
battery house in box { BATTERY }
isolator iso in box { rated 100 A }
load lamp in box { draws 3 A }
load pump in box { draws 5 A }
feed main from house.pos to iso.in { cable 16 mm2 red; along box 0.4 m }
feed on from iso.out to lamp.pos { cable 4 mm2 red; along box 1 m }
earth lamp-back from lamp.neg to house.neg { cable 4 mm2 black; along box 1 m }
MORE
"""
WELL = "serves house; chemistry agm; capacity 100 Ah"


def house(ledger_of: Make, battery: str = WELL, box: str = "", more: str = "") -> tuple[Ledger, object]:
    text = SPEC.replace("BATTERY", battery).replace("BOX", f"; {box}" if box else "").replace("MORE", more)
    ledger = ledger_of(text)
    return ledger, ledger.installation.named["house"]


# The worked example of the reference's notes on IEC 62485-3 (from memory): 100 Ah, 6 cells, 0.3 m³/h, 8.4 cm² for
# valve-regulated and twice that for vented cells; NEC 552.10(D) asks 1100 mm² of every box.
@pytest.mark.parametrize(
    ("battery", "square_mm"),
    [
        ("serves house; chemistry lead-acid; capacity 100 Ah; vented", 1680),
        ("serves house; chemistry lead-acid; capacity 100 Ah; sealed", 1100),
        ("serves house; chemistry agm; capacity 200 Ah", 1680),
        ("serves house; chemistry lead-acid; capacity 100 Ah", 1680),
    ],
)
def test_vents_are_the_larger_of_formula_and_code(ledger_of: Make, battery: str, square_mm: float) -> None:
    ledger, battery_ = house(ledger_of, battery)
    assert ledger.get(battery_, "vent-area") * 1e6 == pytest.approx(square_mm)


def test_the_label_comes_before_what_is_usual(ledger_of: Make) -> None:
    ledger, battery = house(ledger_of, f"{WELL}; charge 20 A max; discharge 60 A max; reserve 40 %")
    assert ledger.get(battery, "charge-limit") == 20
    assert ledger.get(battery, "discharge-limit") == 60
    assert ledger.get(battery, "usable") / 3600 == pytest.approx(100 * 0.6 * 0.8)


def test_without_a_label_the_chemistry_decides(ledger_of: Make) -> None:
    ledger, battery = house(ledger_of)
    assert ledger.get(battery, "charge-limit") == pytest.approx(
        30
    )  # 0.3 A per Ah: common practice, no source
    assert ledger.get(battery, "discharge-limit") == pytest.approx(25)  # a quarter of its capacity
    assert ledger.get(battery, "usable") / 3600 == pytest.approx(40)  # half of it, aged to 80 %


@pytest.mark.parametrize(
    ("clause", "fact"),
    [("charge", "charge-limit"), ("discharge", "discharge-limit"), ("reserve", "usable")],
)
def test_a_figure_that_nobody_knows_is_not_guessed(ledger_of: Make, clause: str, fact: str) -> None:
    ledger, battery = house(ledger_of, f"{WELL}; {clause} unknown")
    with pytest.raises(Missing):
        ledger.get(battery, fact)


def test_what_a_lithium_battery_gives_only_its_label_knows(ledger_of: Make) -> None:
    ledger, battery = house(ledger_of, "serves house; chemistry lifepo4; capacity 100 Ah")
    with pytest.raises(Missing, match="greatest discharge current of house"):
        ledger.get(battery, "discharge-limit")


def test_what_is_behind_an_isolator_is_cut_off(ledger_of: Make) -> None:
    ledger, battery = house(ledger_of)
    assert ledger.get(battery, "uncut") == ()
    assert ledger.get(battery, "isolator-distance") == pytest.approx(0.4)


def test_what_hangs_on_the_battery_itself_is_not(ledger_of: Make) -> None:
    past = "feed past from house.pos to pump.pos { cable 4 mm2 red; along box 1 m }"
    ledger, battery = house(ledger_of, more=past)
    assert [device.name for device in ledger.get(battery, "uncut")] == ["pump"]


def test_what_is_beyond_another_battery_is_that_ones(ledger_of: Make) -> None:
    more = """
    battery crank in box { serves cranking; chemistry agm; capacity 70 Ah }
    feed link from crank.pos to house.pos { cable 16 mm2 red; along box 1 m }
    feed past from crank.pos to pump.pos { cable 4 mm2 red; along box 1 m }
    """
    ledger, battery = house(ledger_of, more=more)
    assert ledger.get(battery, "uncut") == ()


def test_gas_gathers_where_the_air_is_counted_and_where_people_sleep(ledger_of: Make) -> None:
    boxes = {"": False, "volume 60 L": True, "vents none": True, "habitable": True, "outside": False}
    for box, boxed in boxes.items():
        ledger, battery = house(ledger_of, box=box)
        assert ledger.get(battery, "boxed") is boxed
        assert ledger.get(battery, "among-people") is (box == "habitable")


def test_where_vented_cells_stand_must_be_looked_at(ledger_of: Make) -> None:
    vented = WELL.replace("agm", "lead-acid")
    ledger, battery = house(ledger_of, vented)
    with pytest.raises(Missing, match="vents of box"):
        ledger.get(battery, "boxed")
    ledger, battery = house(ledger_of, vented, "outside")
    assert ledger.get(battery, "boxed") is False


def test_contacts_spark_and_lamps_do_not(ledger_of: Make) -> None:
    ledger, battery = house(ledger_of)
    assert [device.name for device in ledger.get(battery, "sparks-beside")] == ["iso"]


STARTER = """
fitout "Test" { stage planned; system 12 V }
place bay { ambient 40 degC }
battery crank in bay { serves cranking; chemistry lead-acid; capacity 70 Ah }
relay split in bay { rated 40 A; closes 13.3 V; opens 12.7 V }
load fridge in bay { draws 4 A CLAUSES }
feed one from crank.pos to START { cable 4 mm2 red; along bay 1 m }
feed two from split.out to END { cable 4 mm2 red; along bay 1 m }
earth back from fridge.neg to crank.neg { cable 4 mm2 black; along bay 1 m }
mode parked { engine off; on fridge }
"""


def drained(
    ledger_of: Make, clauses: str = "", relay: bool = False, modes: str = "engine off; on fridge"
) -> list[str]:
    start, end = ("split.in", "fridge.pos") if relay else ("fridge.pos", "crank.pos")
    text = STARTER.replace("CLAUSES", clauses).replace("START", start).replace("END", end)
    ledger = ledger_of(text.replace("engine off; on fridge", modes))
    return [load.name for load in ledger.get(ledger.installation.named["crank"], "drained-by")]


def test_a_load_straight_on_the_starter_drains_it(ledger_of: Make) -> None:
    assert drained(ledger_of) == ["fridge"]
    assert drained(ledger_of, "; cuts-out 10.5 V") == ["fridge"]


def test_a_relay_a_cut_out_or_the_engine_spares_it(ledger_of: Make) -> None:
    assert drained(ledger_of, relay=True) == []
    assert drained(ledger_of, "; cuts-out 12.1 V") == []
    assert drained(ledger_of, modes="engine running; on fridge") == []


def test_a_cut_out_that_nobody_knows_leaves_it_open(ledger_of: Make) -> None:
    with pytest.raises(Missing):
        drained(ledger_of, "; cuts-out unknown")


def test_standing_draws_are_those_that_nothing_switches_off(ledger_of: Make) -> None:
    more = """
    sensor monitor in box { measures charge; draws 12 mA }
    feed watch from house.pos to monitor.pos { cable 1 mm2 red; along box 1 m }
    load radio in box { draws 2 A; standby 8 mA; count 2 }
    feed radio-on from house.pos to radio.pos { cable 2 mm2 red; along box 1 m }
    load late in box { draws 2 A; standby 30 mA }
    feed late-on from iso.out to late.pos { cable 2 mm2 red; along box 1 m }
    """
    ledger, battery = house(ledger_of, more=more)
    assert ledger.get(battery, "standby") == pytest.approx(0.012 + 2 * 0.008)
