"""One spec as a deck written by hand from what it says, run by run, against the program's volts in two modes.

The deck of `test_specs_ngspice` is the program's own network: a contact, a return or a bond that it left out would be missing from
both. Here the paths, lengths, lugs, fuses and places are read off `specs/orchard-bees/planned.fitout`; ngspice (Debian package
ngspice) solves it. Cables: NBS Handbook 100 by area (IEC 60028 copper, 2 % for stranding) or IEC 60228 class 5; contacts: the
values of the limits of these names, common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import pytest

import loomwright.facts.all  # noqa: F401  registers every fact
from loomwright.analysis.layout import Element
from loomwright.facts.limits import load_limits
from loomwright.facts.registry import Ledger
from loomwright.model.load import load
from loomwright.report.figures import Figures, figures

from . import ngspice

pytestmark = pytest.mark.program("ngspice")

LUG, BLADE, PLUG, UNSEEN = 0.1e-3, 1e-3, 2e-3, 0.3e-3
"""Ohms of one lug, blade terminal, plug, and of an end by a fuse that the spec does not describe."""
WAY, SWITCH, HOLDER, ISOLATOR, CASE, CHASSIS = 1e-3, 5e-3, 1e-3, 0.2e-3, 0.5e-3, 0.5e-3

STRIP_DROP, LARGE_DROP = 0.075, 0.065
"""V at the rating: typical figures for ISO 8820 fuses, common practice, no source; of blades below, by their amperes."""
BLADE_DROP = {5: 0.130, 10: 0.110, 15: 0.1025}


def of_area(mm2: float) -> float:
    """Ohm per metre at 20 °C: a stranded conductor of 1.7241e-8 Ω m."""
    return 1.7241e-8 * 1.02 / (mm2 * 1e-6)


BS_8, BS_6, BS_2 = of_area(7.7), of_area(12.9), of_area(32.0)
AUTO_3, AUTO_4, AUTO_5 = of_area(0.85), of_area(1.84), of_area(2.90)
MM2_4, MM2_6, MM2_35 = 4.95e-3, 3.30e-3, 0.554e-3

BAY, RAIL, BOARD, BOX, EDGE = 60.0, 45.0, 45.0, 40.0, 45.0
"""°C of the places on the hottest day."""

TO_FRONT = ((0.7, BAY), (3.1, RAIL), (0.9, BOARD), (0.4, BOX))
"""From the engine bay to the toolbox."""

STRIP = 2 * UNSEEN
"""Besides its own drop, a bolted fuse in a run has the two cable ends by it."""

# Name, from, to, ohm per metre, metres and °C of each place, contacts, A and drop of the fuse, A that the cable carries in 30 °C
# (33 CFR 183.425 Table 5 at 105 °C).
RUNS = (
    ("gen-link", "gen.pos", "crank.pos", MM2_35, ((0.6, BAY),), 2 * LUG + STRIP, (150, LARGE_DROP), 216),
    ("main", "crank.pos", "dcdc.in", BS_8, TO_FRONT, 2 * LUG + STRIP, (60, STRIP_DROP), 80),
    ("main-return", "common", "crank.neg", BS_6, TO_FRONT, 2 * LUG, None, 120),
    ("dcdc-return", "dcdc.neg", "common", BS_8, ((0.3, BOX),), 2 * LUG, None, 80),
    ("charge", "dcdc.out", "house.pos", BS_8, ((0.6, BOX),), 2 * LUG + STRIP, (50, STRIP_DROP), 80),
    ("house-return", "house.neg", "common", BS_2, ((0.5, BOX),), 2 * LUG, None, 210),
    ("hub-feed", "house.pos", "house-iso.in", BS_6, ((0.3, BOX),), 2 * LUG + STRIP, (80, STRIP_DROP), 120),
    ("iso-hub", "house-iso.out", "ways.in", BS_6, ((0.4, BOX),), 2 * LUG, None, 120),
    ("hub-return", "ways.neg", "common", BS_6, ((0.6, BOX),), 2 * LUG, None, 120),
    ("panel", "roof-panel.pos", "dcdc.solar", MM2_6, ((1.2, BOARD), (0.4, BOX)), PLUG + LUG, None, 65),
    ("panel-return", "roof-panel.neg", "dcdc.neg", MM2_6, ((1.2, BOARD), (0.4, BOX)), PLUG + LUG, None, 65),
)
# Name, way, load, ohm per metre, metres and °C of each place, A of the way's fuse, whether a switch is in it, A that it carries.
CIRCUITS = (
    ("incubator-feed", "ways.1", "incubator", MM2_4, ((1.8, BOX),), 15, False, 45),
    ("lights", "ways.2", "work-lights", AUTO_4, ((0.5, BOX), (3.5, EDGE)), 10, True, 22),
    ("pump", "ways.3", "syrup-pump", AUTO_5, ((2.2, BOX),), 15, True, 30),
    ("radio-feed", "ways.4", "radio", AUTO_3, ((1.1, BOX),), 5, False, 13),
)


def copper(per_metre: float, way: tuple[tuple[float, float], ...], amps: float, carries: float) -> float:
    """Ohms of a cable: IEC 60028, each place as warm as its air and the square of the current make it, in a class of 105 °C."""
    ohms = 0.0
    for metres, around in way:
        rise = (105.0 - 30.0) * (amps / carries) ** 2
        ohms += per_metre * metres * (1 + 0.00393 * (around + rise - 20.0))
    return ohms


def deck(warm: Mapping[str, float]) -> Iterator[tuple[str, Element]]:
    """Everything that only conducts, warm by the currents of the last solution. The panel's plus hangs on nothing in the dark."""
    for name, a, b, per_metre, way, contacts, fuse, carries in RUNS:
        if name == "panel":
            continue
        ohms = copper(per_metre, way, warm.get(name, 0.0), carries) + contacts
        yield name, Element("resistor", a, b, ohms=ohms + (fuse[1] / fuse[0] if fuse else 0.0))
    for name, way_of, load_of, per_metre, way, rating, switched, carries in CIRCUITS:
        leg = copper(per_metre, way, warm.get(f"{name} out", 0.0), carries)
        own = WAY + HOLDER + BLADE_DROP[rating] / rating + (SWITCH if switched else 0.0)
        yield f"{name} way", Element("resistor", "ways.in", way_of, ohms=own)
        yield f"{name} out", Element("resistor", way_of, f"{load_of}.pos", ohms=leg + 2 * BLADE)
        yield f"{name} back", Element("resistor", f"{load_of}.neg", "ways.neg", ohms=leg + BLADE + LUG)
    yield "house-iso", Element("resistor", "house-iso.in", "house-iso.out", ohms=ISOLATOR)
    yield "chassis bond", Element("resistor", "chassis", "crank.neg", ohms=CHASSIS)
    yield "gen case", Element("resistor", "gen.neg", "chassis", ohms=CASE)


Deck = Callable[[Mapping[str, float], Mapping[str, float]], dict[str, Element]]


def at_night(warm: Mapping[str, float], _: Mapping[str, float]) -> dict[str, Element]:
    """The house battery at 50 % (13.15 V, usual figures for lithium iron phosphate) feeds an incubator and half of the lamps."""
    return {
        **dict(deck(warm)),
        "crank": Element("battery", "crank.pos", "crank.neg", volts=12.65, ohms=0.007),
        "house": Element("battery", "house.pos", "house.neg", volts=13.15, ohms=0.014),
        "incubator": Element("constant_power", "incubator.pos", "incubator.neg", watts=45.0),
        "lamps": Element("constant_current", "work-lights.pos", "work-lights.neg", amps=1.6),
    }


def driving(warm: Mapping[str, float], volts: Mapping[str, float]) -> dict[str, Element]:
    """The alternator holds 14.2 V; the charger gives its 30 A to a house battery at 60 % (13.2 V), and that is 92 % of what it takes."""
    watts = 30.0 * (volts.get("dcdc.out", 13.8) - volts.get("dcdc.neg", 0.0)) / 0.92
    return {
        **dict(deck(warm)),
        # Full: the internal resistance when it gives, 2 ohm (limit full-battery-takes) when it takes, as it does here.
        "crank": Element("battery", "crank.pos", "crank.neg", volts=12.65, ohms=2.0),
        "gen": Element("battery", "gen.pos", "gen.neg", volts=14.2, ohms=0.001),
        "dcdc in": Element("constant_power", "dcdc.in", "dcdc.neg", watts=watts),
        "dcdc out": Element("constant_current", "dcdc.neg", "dcdc.out", amps=30.0),
        "house": Element("battery", "house.pos", "house.neg", volts=13.2, ohms=0.014),
        "incubator": Element("constant_power", "incubator.pos", "incubator.neg", watts=45.0),
        "radio": Element("constant_current", "radio.pos", "radio.neg", amps=0.6),
    }


@pytest.fixture(scope="module")
def ours() -> Figures:
    path = Path(__file__).parents[2] / "specs" / "orchard-bees" / "planned.fitout"
    loaded = load(path.read_text(encoding="utf-8"), str(path))
    assert loaded.installation is not None
    return figures(Ledger(loaded.installation, load_limits(loaded.installation.fitout.limits)))


def must_agree(mode: Figures, hand: Deck, within: float) -> None:
    theirs = ngspice.solve(hand({}, {}), "crank.neg")
    for _ in range(6):
        theirs = ngspice.solve(hand(theirs.amps, theirs.volts), "crank.neg")
    found = {**mode["volts"], **mode["structure_volts"]}
    shared = [name for name in found if name in theirs.volts]
    assert len(shared) == len(found)
    for name in shared:
        assert found[name] == pytest.approx(theirs.volts[name], abs=within), name


def test_the_deck_has_every_run_of_the_spec(ours: Figures) -> None:
    assert {each[0] for each in (*RUNS, *CIRCUITS)} == set(ours["modes"]["night"]["runs"])


def test_at_night_every_terminal_is_within_a_tenth_of_a_millivolt(ours: Figures) -> None:
    """A lug more or less on the common return is half a millivolt."""
    must_agree(ours["modes"]["night"], at_night, 0.1e-3)


def test_with_the_engine_running_every_terminal_is_within_a_millivolt(ours: Figures) -> None:
    """A lug more or less in the charge line is 3 mV."""
    must_agree(ours["modes"]["driving"], driving, 1e-3)
