"""The day's balance of the house batteries, each sum done again by hand."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.facts.energy import extraterrestrial
from loomwright.facts.registry import Ledger

Make = Callable[[str], Ledger]

SPEC = """
fitout "Test" { stage planned; system 12 V }
place box { ambient 20 degC }
battery crank in box { serves cranking; chemistry lead-acid; capacity 70 Ah }
alternator gen in box { rated 110 A; holds 14.2 V; regulation fixed }
feed gen-link from gen.pos to crank.pos { maker; cable 35 mm2 red; along box 0.6 m }
battery house in box { serves house; chemistry lifepo4; capacity 100 Ah; reserve 20 %; discharge 100 A max }
load fridge in box { draws 60 W; duty 40 % }
load lamp in box { draws 2 A; count 2 }
load horn in box { draws 5 A }
circuit cold from house.pos to fridge { cable 4 mm2; along box 1 m; return house.neg }
circuit light from house.pos to lamp { cable 4 mm2; along box 1 m; return house.neg }
circuit noise from crank.pos to horn { cable 4 mm2; along box 1 m; return crank.neg }
charger dcdc in box { output 20 A at 14.4 V; solar 50 V max 20 A; suits lifepo4 }
feed into from crank.pos to dcdc.in { cable 10 mm2 red; along box 4 m }
feed out from dcdc.out to house.pos { cable 10 mm2 red; along box 1 m }
mode driving { engine running; on fridge, horn }
mode parked { sun full; on fridge }
mode night { on fridge, lamp 50 % }
day work { driving 2 h; parked 6 h; night 16 h }
MORE
"""
PANEL = """
solar sun in box { peak 144 W; open 22 V; short 9 A; at-peak 18 V; coefficient -0.3 %/K }
feed panel from sun.pos to dcdc.solar { cable 6 mm2 red; along box 2 m }
"""
AH = 3600


def day(ledger_of: Make, more: str = "") -> tuple[Ledger, object]:
    ledger = ledger_of(SPEC.replace("MORE", more))
    return ledger, ledger.installation.named["work"]


def test_the_day_takes_mean_currents_times_hours_of_what_is_on_the_house(ledger_of: Make) -> None:
    ledger, work = day(ledger_of)
    assert ledger.get(work, "use") / AH == pytest.approx(24 * 5 * 0.4 + 16 * 2 * 2 * 0.5)
    assert ledger.get(work, "store") / AH == pytest.approx(100 * 0.8 * 0.8)
    assert ledger.get(work, "refill") == pytest.approx(ledger.get(work, "use") / 0.95)


def test_a_charger_gives_its_output_while_the_engine_runs(ledger_of: Make) -> None:
    ledger, work = day(ledger_of)
    assert ledger.get(work, "gains") / AH == pytest.approx(2 * 20)


def test_the_sun_adds_its_yield_for_the_hours_that_it_shines(ledger_of: Make) -> None:
    ledger, work = day(ledger_of, PANEL)
    assert ledger.get(work, "gains") / AH == pytest.approx(2 * 20 + 6 * 144 * 0.65 / 14.4)


def test_a_clear_sky_gives_no_more_than_the_site_has(ledger_of: Make) -> None:
    site = "site { latitude -33.4 deg; longitude 149 deg; month june }"
    ledger, work = day(ledger_of, f"{PANEL}\n{site}")
    hours = ledger.get(ledger.installation.site, "sun-time") / 3600
    assert 3 < hours < 4.5
    assert ledger.get(work, "sun-time") / 3600 == pytest.approx(hours)


def test_a_battery_straight_on_the_alternator_takes_no_more_than_it_may(ledger_of: Make) -> None:
    ledger, work = day(ledger_of, "feed past from crank.pos to house.pos { cable 35 mm2 red; along box 1 m }")
    assert ledger.get(work, "gains") / AH == pytest.approx(
        2 * (20 + 50)
    )  # 0.5 A per Ah: common practice, no source


# FAO Irrigation and Drainage Paper 56, example 8 (from memory): 20°S on 3 September, 32.2 MJ/(m² day).
def test_radiation_above_the_air_is_that_of_the_worked_example() -> None:
    assert extraterrestrial(-20.0, 246) == pytest.approx(32.2, abs=0.1)


def test_the_sun_does_not_rise_in_the_polar_night() -> None:
    assert extraterrestrial(80.0, 355) == pytest.approx(0.0, abs=1e-9)
