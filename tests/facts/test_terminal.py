"""How many lugs a stud holds, and what a plug passes."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.facts.registry import Ledger

SPEC = """
fitout "Studs" {{ stage planned; system 12 V }}
practice {{ ends lug 2.5 mm2 M6 crimped sealed tight }}
place box {{ ambient 30 degC; inside }}
battery house in box {{ chemistry agm; capacity 100 Ah; internal 5 mohm; stud M6 }}
busbar bar in box {{ studs 2 x M6; rated 100 A }}
hub ways in box {{ rated 60 A; stud M6; negatives {negatives}; way 1 blade 5 A; way 2 blade 5 A; way 3 blade 5 A }}
earth hub-return from ways.neg to bar {{ cable 10 mm2; along box 1 m }}
{circuits}
"""
CIRCUIT = """
load lamp-{n} in box {{ draws 1 A }}
circuit light-{n} from {start} to lamp-{n} {{ cable twin 2.5 mm2; along box 1 m; fuse blade 5 A at 0.1 m; {more} }}
"""

Make = Callable[[str], Ledger]


def spec(start: str, count: int, more: str = "", negatives: str = "4 x M4") -> str:
    lines = [CIRCUIT.format(n=n, start=start.format(n=n), more=more) for n in range(1, count + 1)]
    return SPEC.format(negatives=negatives, circuits="".join(lines))


def lugs(ledger: Ledger, terminal: str) -> int:
    count: int = ledger.get(ledger.installation.terminals[terminal], "lugs")
    return count


def test_every_lug_on_a_terminal_counts_and_other_fittings_do_not(ledger_of: Make) -> None:
    ledger = ledger_of(spec("house.pos", 3, "return bar"))
    assert lugs(ledger, "house.pos") == 3
    bladed = ledger_of(spec("house.pos", 3, "return bar; ends blade-terminal crimped sealed tight"))
    assert lugs(bladed, "house.pos") == 0


@pytest.mark.parametrize(("circuits", "fullest"), [(1, 1), (2, 2), (3, 2), (5, 3)])
def test_on_a_busbar_by_its_bare_name_lugs_spread_over_the_studs(
    ledger_of: Make, circuits: int, fullest: int
) -> None:
    ledger = ledger_of(spec("house.pos", circuits, "return bar"))  # the hub's own return sits there as well
    assert lugs(ledger, "bar") == fullest


def test_returns_have_studs_of_their_own_on_a_hubs_negative_bar(ledger_of: Make) -> None:
    ledger = ledger_of(spec("ways.{n}", 3, negatives="2 x M4"))
    assert lugs(ledger, "ways.neg") == 2  # its own return and the one circuit too many
