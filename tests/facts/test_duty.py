"""What loads of low duty amount to by their heat."""

from __future__ import annotations

from collections.abc import Callable
from math import sqrt

import pytest

from loomwright.facts.registry import Ledger

Make = Callable[[str], Ledger]

SPEC = """
fitout "Duty" {{ stage planned; system 12 V }}
place bay {{ ambient 30 degC }}
battery house in bay {{ serves house; chemistry agm; capacity 100 Ah; internal 5 mohm; stud M8 }}
hub box in bay {{ rated 200 A; stud M8; negatives 4 x M4; way 1 blade 30 A; way 2 blade 30 A }}
load winch in bay {{ draws 24 A; duty 4 % }}
load lamp in bay {{ draws 10 A{duty} }}
feed main from house.pos to box.in {{ cable 16 mm2; along bay 1 m; fuse strip 60 A at 0.1 m }}
earth back from box.neg to house.neg {{ cable 16 mm2; along bay 1 m }}
circuit winch-feed from box.1 to winch {{ cable twin 6 mm2; along bay 1 m }}
circuit lamp-feed from box.2 to lamp {{ cable twin 6 mm2; along bay 1 m }}
mode work {{ engine off; charge 80 %; on winch, lamp }}
"""


@pytest.mark.parametrize("name", ["main", "back"])
@pytest.mark.parametrize(("duty", "share"), [("", 1.0), ("; duty 25 %", 0.25)])
def test_the_lasting_current_is_no_less_than_the_root_mean_square_of_any_way_the_times_fall(
    ledger_of: Make, name: str, duty: str, share: float
) -> None:
    """Together from the start: 24 A and 10 A for 4 %, then 10 A alone. Apart: one after the other."""
    ledger = ledger_of(SPEC.format(duty=duty))
    run = next(run for run in ledger.installation.runs if run.name == name)
    [mode] = ledger.installation.modes
    together = sqrt(0.04 * 34**2 + (share - 0.04) * 10**2)
    lasting = ledger.get(run, "lasting-current", mode)
    assert together <= lasting < ledger.get(run, "current", mode)
    assert lasting == pytest.approx(24 * sqrt(0.04) + 10 * sqrt(share))


def test_a_fuse_of_a_way_counts_its_own_loads_and_never_sinks_below_its_share(ledger_of: Make) -> None:
    ledger = ledger_of(SPEC.format(duty=""))
    [mode] = ledger.installation.modes
    fuses = {fuse.way.name: fuse for fuse in ledger.installation.fuse_of_way.values()}
    assert ledger.get(fuses["box.1"], "lasting-current", mode) == pytest.approx(0.8 * 24)
    assert ledger.get(fuses["box.2"], "lasting-current", mode) == pytest.approx(10)
