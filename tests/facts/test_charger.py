"""Who shares a line with a battery, how hard it is charged, and whether that suits it."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.facts.registry import Ledger, Missing

Make = Callable[[str], Ledger]

SPEC = """
fitout "Test" { stage as-found; system 12 V }
place bay { ambient 40 degC }
battery crank in bay { serves cranking; chemistry lead-acid; capacity 70 Ah }
battery house in bay { serves house; chemistry HOUSE; capacity 100 Ah; internal 9 mohm }
alternator gen in bay { rated 110 A; holds 14.2 V; regulation fixed }
feed gen-link from gen.pos to crank.pos { maker; cable 35 mm2 red; along bay 0.6 m }
MORE
"""
STRAIGHT = "feed line from crank.pos to house.pos { cable 16 mm2 red; along bay 4 m }"
CHARGER = """
charger dcdc in bay { output 25 A at 14.4 V; suits agm, lifepo4; efficiency 90 % CLAUSES }
feed into from crank.pos to dcdc.in { cable 10 mm2 red; along bay 4 m }
feed out from dcdc.out to house.pos { cable 10 mm2 red; along bay 1 m }
mode driving { engine running }
"""


def house(ledger_of: Make, more: str, chemistry: str = "agm", clauses: str = "") -> tuple[Ledger, object]:
    text = SPEC.replace("MORE", more).replace("HOUSE", chemistry).replace("CLAUSES", clauses)
    ledger = ledger_of(text)
    return ledger, ledger.installation.named["house"]


def test_a_charger_charges_with_what_it_gives(ledger_of: Make) -> None:
    ledger, battery = house(ledger_of, CHARGER)
    assert ledger.get(battery, "charge-current") == 25
    assert [device.name for device in ledger.get(battery, "charged-by")] == ["dcdc"]
    assert ledger.get(battery, "mismatch") is None


def test_an_alternator_straight_on_the_line_pushes_what_resistance_lets_through(ledger_of: Make) -> None:
    ledger, battery = house(ledger_of, STRAIGHT.replace("16 mm2", "6 mm2"))
    # IEC 60228 class 5: 6 mm² 3.30 Ω/km, 35 mm² 0.554 Ω/km; agm half full rests at 12.3 V (common practice, no source)
    ohms = 0.009 + 4 * 3.30e-3 + 0.6 * 0.554e-3
    assert ledger.get(battery, "charge-current") == pytest.approx((14.2 - 12.3) / ohms, rel=1e-3)


def test_a_short_thick_line_is_held_by_the_alternator_alone(ledger_of: Make) -> None:
    ledger, battery = house(
        ledger_of, STRAIGHT.replace("16 mm2", "120 mm2").replace("4 m", "0.2 m"), "lead-acid"
    )
    assert ledger.get(battery, "charge-current") == 110


@pytest.mark.parametrize(
    ("chemistry", "more", "clauses", "told", "mild"),
    [
        ("lead-acid", STRAIGHT, "", None, True),
        ("agm", STRAIGHT, "", "crank is lead-acid", True),
        ("lifepo4", STRAIGHT, "", "crank is lead-acid", False),
        ("gel", CHARGER, "", "dcdc suits agm and lifepo4", False),
        ("agm", CHARGER.replace("14.4 V", "15.2 V"), "", "dcdc charges at 15.2 V, and agm takes 13.5 to 14.7 V", False),
        ("agm", CHARGER.replace("14.4 V", "13.2 V"), "", "dcdc charges at 13.2 V, and agm takes 13.5 to 14.7 V", False),
    ],
)  # fmt: skip
def test_what_does_not_suit_is_named(
    ledger_of: Make, chemistry: str, more: str, clauses: str, told: str | None, mild: bool
) -> None:
    ledger, battery = house(ledger_of, more, chemistry, clauses)
    assert ledger.get(battery, "mismatch") == told
    assert ledger.get(battery, "mismatch-mild") is mild


def test_each_pair_of_batteries_is_told_once(ledger_of: Make) -> None:
    ledger, _ = house(ledger_of, STRAIGHT, "lifepo4")
    assert ledger.get(ledger.installation.named["crank"], "mismatch") is None


def test_a_certain_mismatch_is_told_though_another_is_unknown(ledger_of: Make) -> None:
    ledger, battery = house(
        ledger_of, STRAIGHT + CHARGER.replace("suits agm, lifepo4", "suits unknown"), "lifepo4"
    )
    assert ledger.get(battery, "mismatch") == "crank is lead-acid"
    ledger, battery = house(ledger_of, CHARGER.replace("suits agm, lifepo4", "suits unknown"))
    with pytest.raises(Missing, match="chemistries dcdc suits"):
        ledger.get(battery, "mismatch")


def test_a_charger_is_told_when_the_engine_runs_by_volts_or_by_a_wire(ledger_of: Make) -> None:
    sense = "supply key in bay { holds 13 V; rated 1 A; live ignition } signal on from key.pos to dcdc.sense { cable 1 mm2; along bay 1 m }"
    for clauses, more, told in (
        ("", "", False),
        ("; starts 13.2 V", "", True),
        ("", sense.replace("} signal", "}\nsignal"), True),
    ):
        ledger, _ = house(ledger_of, CHARGER + more, clauses=clauses)
        dcdc = ledger.installation.named["dcdc"]
        assert ledger.get(dcdc, "told-when") is told
        assert ledger.get(dcdc, "cranking-battery").name == "crank"


def test_a_bank_is_charged_together_and_asked_once(ledger_of: Make) -> None:
    more = (
        CHARGER
        + """
    battery second in bay { serves house; chemistry agm; capacity 60 Ah; bought 2024-03-02 }
    feed pair from second.pos to house.pos { cable 35 mm2 red; along bay 0.3 m }
    """
    )
    ledger, battery = house(ledger_of, more)
    second = ledger.installation.named["second"]
    assert [each.name for each in ledger.get(battery, "bank")] == ["house", "second"]
    assert (ledger.get(battery, "leads-bank"), ledger.get(second, "leads-bank")) == (True, False)
    assert ledger.get(battery, "bank-charge-limit") == pytest.approx(0.3 * 160)
    with pytest.raises(Missing, match="when house was bought"):
        ledger.get(battery, "bank-age-spread")


def test_an_alternator_is_asked_for_chargers_and_loads(ledger_of: Make) -> None:
    more = (
        CHARGER
        + """
    load heater in bay { draws 120 W }
    feed heat from crank.pos to heater.pos { cable 4 mm2 red; along bay 1 m }
    mode warm { engine running; on heater 50 % }
    """
    )
    ledger, _ = house(ledger_of, more)
    gen, modes = ledger.installation.named["gen"], ledger.installation.named
    taken = 25 * 14.4 / 0.9 / 14.2
    assert ledger.get(gen, "demand", modes["driving"]) == pytest.approx(taken)
    assert ledger.get(gen, "demand", modes["warm"]) == pytest.approx(taken + 5)
    assert ledger.get(gen, "straight-to") == ()


def test_a_load_asks_the_alternator_for_its_average_and_the_batteries_bear_its_peaks(ledger_of: Make) -> None:
    more = (
        CHARGER
        + """
    load winch in bay { draws 300 A; duty 5 % }
    feed pull from crank.pos to winch.pos { cable 70 mm2 red; along bay 1 m }
    mode winching { engine running; on winch }
    """
    )
    ledger, _ = house(ledger_of, more)
    gen, modes = ledger.installation.named["gen"], ledger.installation.named
    asked = ledger.get(gen, "demand", modes["winching"]) - ledger.get(gen, "demand", modes["driving"])
    assert asked == pytest.approx(15)
