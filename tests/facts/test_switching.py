"""What passes through a contact."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.facts.registry import Ledger

SPEC = """
fitout "Test" { stage planned; system 12 V }
practice { ends crimped sealed tight }
place box { ambient 20 degC }
battery house in box { serves house; chemistry agm; capacity 100 Ah; internal 5 mohm }
isolator iso in box { rated 100 A; stud M8 }
isolator spare in box { rated 100 A; stud M8 }
load lamp in box { draws 6 A }
load pump in box { draws 9 A }
feed main from house.pos to iso.in { cable 16 mm2 red; along box 0.4 m }
feed one from iso.out to lamp.pos { cable 4 mm2 red; along box 1 m }
feed two from iso.out to pump.pos { cable 4 mm2 red; along box 1 m }
earth lamp-back from lamp.neg to house.neg { cable 4 mm2 black; along box 1 m }
earth pump-back from pump.neg to house.neg { cable 4 mm2 black; along box 1 m }
mode both { on lamp, pump }
mode lit { on lamp }
"""


def test_an_isolator_passes_what_its_runs_carry(ledger_of: Callable[[str], Ledger]) -> None:
    ledger = ledger_of(SPEC)
    named = ledger.installation.named
    assert ledger.get(named["iso"], "passes", named["both"]) == pytest.approx(15)
    assert ledger.get(named["iso"], "passes", named["lit"]) == pytest.approx(6)
    assert ledger.get(named["spare"], "passes", named["both"]) == 0.0
