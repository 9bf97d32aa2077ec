"""What an inverter takes, what its batteries may give, and where mains begins."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.facts.registry import Ledger

Make = Callable[[str], Ledger]

SPEC = """
fitout "Test" { stage planned; system 12 V }
place box { ambient 20 degC }
battery house in box { serves house; chemistry lifepo4; capacity 100 Ah; discharge 100 A max }
inverter sine in box { rated 1000 W; idle 1 A; efficiency 90 % CLAUSES }
MORE
"""
STRAIGHT = "feed in from house.pos to sine.pos { cable 50 mm2 red; along box 1 m }"
SWITCHED = """
isolator iso in box { rated 150 A }
feed one from house.pos to iso.in { cable 50 mm2 red; along box 1 m }
feed two from iso.out to sine.pos { cable 50 mm2 red; along box 1 m }
"""


def inverter(ledger_of: Make, more: str = STRAIGHT, clauses: str = "; output 230 V") -> tuple[Ledger, object]:
    ledger = ledger_of(SPEC.replace("MORE", more).replace("CLAUSES", clauses))
    return ledger, ledger.installation.named["sine"]


def test_it_takes_its_power_at_the_volts_of_a_battery_under_load(ledger_of: Make) -> None:
    ledger, sine = inverter(ledger_of)
    assert ledger.get(sine, "full-current") == pytest.approx(1000 / 0.9 / 11)
    assert ledger.get(sine, "supply-limit") == 100


def test_a_switch_in_its_feed_or_a_remote_wire_switches_it_off(ledger_of: Make) -> None:
    ledger, sine = inverter(ledger_of)
    assert ledger.get(sine, "switchable") is False
    ledger, sine = inverter(ledger_of, SWITCHED)
    assert ledger.get(sine, "switchable") is True
    remote = f"{STRAIGHT}\nsignal off from house.pos to sine.remote {{ cable 1 mm2; along box 1 m }}"
    ledger, sine = inverter(ledger_of, remote, "; output 230 V; terminals remote")
    assert ledger.get(sine, "switchable") is True


@pytest.mark.parametrize(
    ("clauses", "told"),
    [("; output 230 V", "its 230 V output"), ("", "its mains output"), ("; output 24 V", None)],
)
def test_an_inverter_makes_mains_unless_it_says_otherwise(
    ledger_of: Make, clauses: str, told: str | None
) -> None:
    ledger, sine = inverter(ledger_of, clauses=clauses)
    assert ledger.get(sine, "mains") == told


CHARGER = """
charger shore in box { output 20 A at 14.4 V; suits lifepo4 }
feed charge from shore.out to house.pos { loom spine; cable 6 mm2 red; along box 1 m }
loom spine { sleeve conduit }
supply inlet in box { holds 230 V; rated 10 A; live always }
"""


def test_a_charger_belongs_to_mains_when_mains_lands_on_it(ledger_of: Make) -> None:
    wire = "feed line from inlet.pos to shore.mains { loom spine; cable 1.5 mm2; along box 1 m }"
    for more, told in (
        (CHARGER, None),
        (CHARGER + wire, "its mains supply"),
        (CHARGER + "mode plugged-in { mains on }", "its mains supply"),
    ):
        ledger, _ = inverter(ledger_of, STRAIGHT + "\n" + more)
        assert ledger.get(ledger.installation.named["shore"], "mains") == told


def test_mains_and_low_voltage_in_one_loom_are_found(ledger_of: Make) -> None:
    wire = "feed line from inlet.pos to shore.mains { loom spine; cable 1.5 mm2; along box 1 m }"
    ledger, _ = inverter(ledger_of, f"{STRAIGHT}\n{CHARGER}{wire}")
    line = ledger.installation.named["line"]
    assert ledger.get(line, "mains") is True
    assert [run.name for run in ledger.get(line, "sleeved-with")] == ["charge"]
    assert ledger.get(ledger.installation.named["charge"], "mains") is False
