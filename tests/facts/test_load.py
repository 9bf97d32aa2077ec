"""Loads as their labels give them."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.facts.registry import Ledger, Missing
from loomwright.model.things import Load

Make = Callable[[str], Ledger]

SPEC = """
fitout "Loads" {{ stage planned; system {system} }}
place bay {{ ambient 30 degC }}
battery house in bay {{ serves house; chemistry agm; capacity 100 Ah; internal 5 mohm; stud M8 }}
load lamp in bay {{ {clauses} }}
circuit lamp-feed from house.pos to lamp {{ return house.neg; cable twin 4 mm2 105 degC; along bay 1 m; fuse blade 15 A at 0.1 m }}
mode on {{ on lamp; charge 80 % }}
"""


def lamp(make: Make, clauses: str, system: str = "12 V") -> tuple[Ledger, Load]:
    ledger = make(SPEC.format(clauses=clauses, system=system))
    found = ledger.installation.named["lamp"]
    assert isinstance(found, Load)
    return ledger, found


@pytest.mark.parametrize(
    ("clauses", "system", "amps"),
    [
        ("draws 48 W", "12 V", 4), ("draws 48 W", "24 V", 2), ("draws 3 A; count 2", "12 V", 6), ("draws 4 ohm", "12 V", 3),
        ("draws 24 W; count 3", "12 V", 6),
    ],
)  # fmt: skip
def test_the_nominal_current_is_of_all_that_are_alike(
    ledger_of: Make, clauses: str, system: str, amps: float
) -> None:
    ledger, load = lamp(ledger_of, clauses, system)
    assert ledger.get(load, "nominal-current") == pytest.approx(amps)


def test_a_surge_is_of_all_that_are_alike(ledger_of: Make) -> None:
    ledger, load = lamp(ledger_of, "draws 3 A; count 2; surge 9 A for 0.2 s")
    assert (ledger.get(load, "surge"), ledger.get(load, "surge-time")) == (18, 0.2)


def test_what_is_not_written_is_none_and_what_nobody_knows_is_unknown(ledger_of: Make) -> None:
    ledger, load = lamp(ledger_of, "draws 3 A")
    assert [ledger.get(load, name) for name in ("surge", "surge-time", "cuts-out")] == [None, None, None]
    ledger, load = lamp(ledger_of, "draws 3 A; cuts-out unknown")
    with pytest.raises(Missing):
        ledger.get(load, "cuts-out")


def test_its_feed_and_fuse_are_those_of_its_circuit(ledger_of: Make) -> None:
    ledger, load = lamp(ledger_of, "draws 3 A; duty 35 %")
    assert ledger.get(load, "feed").name == "lamp-feed"
    assert ledger.get(load, "feed").role == "feed"
    assert ledger.get(load, "fuse").rating.text == "15 A"
    assert ledger.get(load, "duty") == pytest.approx(0.35)


def test_half_full_it_gets_less_by_what_the_battery_s_rest_voltage_falls(ledger_of: Make) -> None:
    ledger, load = lamp(ledger_of, "draws 3 A")
    [mode] = ledger.installation.modes
    fall = ledger.get(load, "volts", mode) - ledger.get(load, "volts-half-full", mode)
    assert 0.2 < fall < 0.6  # an AGM battery at rest: 12.2 to 12.3 V at 50 %, 12.5 to 12.7 V at 80 %
