"""Each fuse's share of one far fault that two batteries feed, against Millman's theorem and ngspice (Debian package ngspice).

Both are given a circuit that stands here, reckoned from the spec's own metres and milliohms by published tables, none of it by
the program's network.
"""

from __future__ import annotations

import pytest

import loomwright.facts.all  # noqa: F401  registers every fact
from loomwright.analysis.layout import Element
from loomwright.facts.electrics.shares import Share, clearing, share
from loomwright.facts.limits import load_limits
from loomwright.facts.registry import Ledger
from loomwright.model.load import load

from . import ngspice

SPEC = """
fitout "Two batteries, one bar" { stage planned; system 12 V }
practice { ends lug 16 mm2 M8 crimped tight }
place box { ambient 20 degC }
battery one in box { chemistry lead-acid; capacity 75 Ah; internal 8 mohm; serves cranking; stud M8 }
battery two in box { chemistry lead-acid; capacity 75 Ah; internal 16 mohm; serves house; stud M8 }
busbar plus in box { studs 6 x M8; rated 250 A }
busbar minus in box { studs 6 x M8; rated 250 A }
load fan in box { draws 5 A }
feed from-one from one.pos to plus { cable 16 mm2 105 degC; along box 1 m; fuse strip 100 A at 0.1 m }
feed from-two from two.pos to plus { cable 16 mm2 105 degC; along box 2 m; fuse strip 50 A at 0.1 m }
earth one-back from minus to one.neg { cable 16 mm2 105 degC; along box 1 m }
earth two-back from minus to two.neg { cable 16 mm2 105 degC; along box 2 m }
feed on from plus to fan.pos { cable 16 mm2 105 degC; along box 4 m }
earth home from fan.neg to minus { cable 16 mm2 105 degC; along box 4 m }
"""

HOT = 1.21e-3 * (1 + 0.00393 * (105 - 20))
"""Ohm per metre of 16 mm² at 105 °C: IEC 60228 Table 3, class 5; IEC 60028."""
LUGS = 2 * 0.1e-3
"""Two lugs: the limit `contact-lug` (common practice, no source)."""
FAULT = 5e-3
"""The limit `fault-contact`."""
LOW = 12.026
"""V at rest of lead-acid at 20 %: the stocked table."""
AGED = 1.5
"""The limit `fault-battery-aged`."""


def fuse_ohms(ledger: Ledger, name: str) -> float:
    """The fuse alone: the difference that it makes to its run at 20 °C."""
    run = ledger.installation.named[name]
    return ledger.get(run, "resistance") - ledger.get(run, "length") * 1.21e-3 - LUGS  # type: ignore[no-any-return]


@pytest.fixture(scope="module")
def ledger() -> Ledger:
    loaded = load(SPEC, "test.fitout")
    assert loaded.installation is not None
    assert not loaded.problems
    return Ledger(loaded.installation, load_limits())


@pytest.fixture(scope="module")
def branches(ledger: Ledger) -> dict[str, float]:
    """Ohms of each battery with its two runs and its fuse, and of what the fault and both have in common."""
    return {
        "one": 0.008 * AGED + 2 * 1 * HOT + 2 * LUGS + fuse_ohms(ledger, "from-one"),
        "two": 0.016 * AGED + 2 * 2 * HOT + 2 * LUGS + fuse_ohms(ledger, "from-two"),
        "common": 2 * 4 * HOT + 2 * LUGS + FAULT,
    }


def share_of(ledger: Ledger, name: str) -> Share:
    run, by = ledger.installation.named["on"], ledger.installation.named[name]
    fuses = clearing(run, ledger)  # type: ignore[arg-type]
    fuse = next(each for each in fuses if each.run is by)
    return share(fuse, run, ledger, least=True)  # type: ignore[arg-type]


def test_before_either_opens_the_shares_are_millmans(ledger: Ledger, branches: dict[str, float]) -> None:
    """The node's volts are Σ(E/R) / Σ(1/R); the fuse that opens first is judged by its share of this."""
    siemens = {name: 1 / ohms for name, ohms in branches.items()}
    volts = LOW * (siemens["one"] + siemens["two"]) / sum(siemens.values())
    two = share_of(ledger, "from-two")
    assert two.fuse_amps == pytest.approx((LOW - volts) * siemens["two"], rel=1e-5)
    assert two.run_amps == pytest.approx(volts * siemens["common"], rel=1e-5)
    assert two.seconds < share_of(ledger, "from-one").seconds


def test_once_the_other_has_opened_the_last_battery_feeds_the_fault_alone(
    ledger: Ledger, branches: dict[str, float]
) -> None:
    one = share_of(ledger, "from-one")
    assert one.fuse_amps == pytest.approx(LOW / (branches["one"] + branches["common"]), rel=1e-5)
    assert one.run_amps == pytest.approx(one.fuse_amps, rel=1e-6)
    assert one.cable[0] == (share_of(ledger, "from-two").run_amps, share_of(ledger, "from-two").seconds)


@pytest.mark.program("ngspice")
def test_ngspice_sends_the_same_through_each_fuse(ledger: Ledger, branches: dict[str, float]) -> None:
    both = {
        "one": Element("battery", "bar", "return", volts=LOW, ohms=branches["one"]),
        "two": Element("battery", "bar", "return", volts=LOW, ohms=branches["two"]),
        "fault": Element("resistor", "bar", "return", ohms=branches["common"]),
    }
    theirs = ngspice.solve(both, "return").amps
    assert share_of(ledger, "from-two").fuse_amps == pytest.approx(theirs["two"], rel=1e-5)
    assert share_of(ledger, "from-one").cable[0][0] == pytest.approx(theirs["fault"], rel=1e-5)
    alone = ngspice.solve({name: e for name, e in both.items() if name != "two"}, "return").amps
    assert share_of(ledger, "from-one").fuse_amps == pytest.approx(alone["one"], rel=1e-5)
