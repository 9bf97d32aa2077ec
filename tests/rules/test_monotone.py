"""Better work never adds a finding: every rule that compares figures is asked of two specs that differ in one of them."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from typing import NamedTuple

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loomwright.rulebook.finding import SEVERITIES, UNPROVEN, Finding

Find = Callable[..., list[Finding]]

SPEC = """
fitout "Monotone" {{ stage planned; system 12 V }}
practice {{ sleeve split-tube; clips {clips} m; ends crimped sealed tight clip {first_clip} mm }}
place bay {{ ambient 0 degC to {ambient} degC; inside }}
place box {{ ambient 0 degC to {ambient} degC; inside; volume 60 L; vents {vents} cm2 }}
place under {{ ambient 0 degC to {ambient} degC; outside; hazards wheel, moving, exhaust, fuel }}
battery house in box {{
    serves house; chemistry agm; capacity {capacity} Ah; internal 5 mohm; held-down; stud M8
    discharge {discharge} A max; charge {charge} A max
}}
site {{ latitude -35 deg; longitude 149 deg; month june; coldest -5 degC }}
isolator iso in bay {{ rated {isolator} A; stud M8 }}
switch sw in bay {{ rated {switch} A; stud M6 }}
relay rel in bay {{ rated {relay} A; stud M6 }}
plug tow in under {{ rated {plug} A }}
hub ways in bay {{ rated {hub} A; stud M6; negatives 4 x M4; way 1 blade {blade} A; way 2 blade 10 A }}
load lamp in under {{ draws {draws} A; surge {surge} A for 0.3 s; cuts-out {cut_out} V }}
load fridge in bay {{ draws {draws} A }}
sensor tracker in bay {{ draws {standby} mA }}
supply point in bay {{ holds 12.5 V; rated {supply} A; live always; taken-from accessory }}
load radio in bay {{ draws {draws} A }}
inverter tools in bay {{ rated {inverter} W; efficiency 90 %; idle 0.5 A; output 230 V; stud M8 }}
charger shore in bay {{ output {output} A at 14.4 V; efficiency 90 %; suits agm; isolated; stud M6; solar {solar_volts} V max {solar_amps} A }}
solar roof in bay {{ peak 160 W; open 22.4 V; short 9.1 A; at-peak 18.6 V; coefficient -0.28 %/K; count {panels} series }}
feed main from house.pos to iso.in {{
    cable {cable} mm2 {insulation} degC; along under {metres} m; fuse {kind} {fuse} A at {at} m
    bend {bend} mm
    clearance {gap} mm to wheel; clearance {gap} mm to moving; clearance {gap} mm to exhaust; clearance {gap} mm to fuel
}}
feed on from iso.out to ways.in {{ cable {cable} mm2 {insulation} degC; along bay 0.3 m }}
earth back from ways.neg to house.neg {{ cable {earth} mm2 105 degC; along bay {metres} m }}
feed switched from ways.1 to sw.in {{ cable 2.5 mm2 105 degC; along bay 0.4 m }}
feed relayed from sw.out to rel.in {{ cable 2.5 mm2 105 degC; along bay 0.4 m }}
feed out from rel.out to tow.pos-a {{ cable 2.5 mm2 105 degC; along bay 0.4 m, under 1 m }}
feed lit from tow.pos-b to lamp.pos {{ cable 2.5 mm2 105 degC; along under 1 m }}
earth lamp-back from lamp.neg to tow.neg-b {{ cable 2.5 mm2 105 degC; along under 1 m }}
earth tow-back from tow.neg-a to ways.neg {{ cable 2.5 mm2 105 degC; along under 1 m, bay 0.4 m }}
circuit cold from ways.2 to fridge {{ cable twin 2.5 mm2 105 degC; along bay 1 m }}
feed probe from house.pos to tracker.pos {{ cable 1 mm2 105 degC; along bay 1 m; fuse blade 3 A at 0.1 m }}
earth probe-back from tracker.neg to house.neg {{ cable 1 mm2 105 degC; along bay 1 m }}
feed tapped from point.pos to radio.pos {{ cable 2.5 mm2 105 degC; along bay 1 m; fuse blade 15 A at 0.1 m }}
earth radio-back from radio.neg to house.neg {{ cable 2.5 mm2 105 degC; along bay 1 m }}
feed inverter-feed from house.pos to tools.pos {{ cable 50 mm2 105 degC; along bay {inverter_metres} m; fuse strip 200 A at 0.1 m }}
earth inverter-back from tools.neg to house.neg {{ cable 50 mm2 105 degC; along bay {inverter_metres} m }}
feed shore-feed from shore.out to house.pos {{ cable 10 mm2 105 degC; along bay 1 m; fuse strip 60 A at 0.1 m from house.pos }}
earth shore-back from shore.neg to house.neg {{ cable 10 mm2 105 degC; along bay 1 m }}
feed sun from roof.pos to shore.solar {{ cable 6 mm2 105 degC; along bay 2 m; fuse blade 15 A at 0.3 m }}
earth sun-back from roof.neg to shore.neg {{ cable 6 mm2 105 degC; along bay 2 m }}
mode work {{ charge 50 %; on lamp, fridge, radio, tools 200 W; closed iso, sw, rel }}
mode parked {{ charge 50 %; closed iso }}
day usual {{ work {hours} h; parked 12 h }}
"""

FIGURES: dict[str, Sequence[float | str]] = {
    "first_clip": (50, 100, 150, 160, 300),
    "bend": (10, 40, 80, 115, 135, 300),
    "clips": (0.2, 0.3, 0.4, 0.5, 0.8, 1.5),
    "ambient": (20, 30, 45, 55, 70),
    "vents": (1, 5, 10, 20, 40, 80),
    "capacity": (40, 75, 100, 200),
    "discharge": (10, 20, 40, 80, 150),
    "charge": (5, 15, 25, 40, 80),
    "isolator": (5, 10, 20, 40, 100),
    "switch": (2, 5, 10, 20),
    "relay": (2, 5, 10, 20, 40),
    "plug": (2, 5, 8, 15, 30),
    "hub": (10, 20, 40, 60, 100),
    "blade": (5, 10, 15, 20),
    "draws": (0.5, 2, 5, 8, 12),
    "surge": (1, 10, 20, 60, 150),
    "cut_out": (9, 10.5, 11.5, 12),
    "standby": (1, 20, 80, 200),
    "supply": (1, 5, 10, 15),
    "inverter": (200, 600, 1200, 2500),
    "inverter_metres": (0.3, 1, 1.6, 3),
    "output": (5, 10, 20, 40),
    "solar_volts": (20, 25, 30, 50, 75),
    "solar_amps": (5, 9, 10, 12, 20),
    "panels": (1, 2, 3),
    "cable": (0.5, 1, 2.5, 4, 6, 10, 16, 25, 50),
    "insulation": (60, 75, 90, 105, 125),
    "metres": (1.5, 2, 4, 8, 15),
    "kind": ("strip",),
    "fuse": (30, 40, 60, 80, 100, 150),
    "at": (0.05, 0.1, 0.17, 0.19, 0.5, 1.0, 1.02, 1.4),
    "gap": (0, 20, 50, 75, 100, 152, 300),
    "earth": (1, 2.5, 6, 16, 50),
    "hours": (1, 4, 8, 12),
}  # fmt: skip


class Change(NamedTuple):
    """A figure, whether more of it is better, and the rules that must then find no more."""

    figure: str
    more: bool
    rules: tuple[str, ...]


CHANGES = (
    Change("cable", True, ("cable-overloaded", "voltage-drop-high", "fuse-above-cable", "cut-out-margin", "too-thin-for-mechanics", "fuse-never-blows", "step-down-unfused")),
    Change("insulation", True, ("insulation-temp-low", "cable-overloaded", "fuse-above-cable")),
    Change("ambient", False, ("insulation-temp-low", "cable-overloaded", "fuse-above-cable", "heat-zone-battery")),
    Change("metres", False, ("voltage-drop-high", "cut-out-margin", "fuse-never-blows")),
    Change("at", False, ("fuse-too-far",)),
    Change("fuse", False, ("fuse-above-cable", "fuse-never-blows", "step-down-unfused", "feeder-overloaded", "undersized-earth")),
    Change("fuse", True, ("fuse-below-load", "fuse-trips-on-surge")),
    Change("earth", True, ("undersized-earth", "voltage-drop-high", "cable-overloaded")),
    Change("blade", True, ("fuse-below-load", "fuse-trips-on-surge")),
    Change("clips", False, ("unsupported-cable",)),
    Change("first_clip", False, ("first-support-late",)),
    Change("bend", True, ("tight-bend",)),
    Change("gap", True, ("wheel-proximity", "moving-part-proximity", "heat-proximity", "fuel-line-proximity")),
    Change("vents", True, ("no-vent",)),
    Change("capacity", True, ("energy-short", "charge-current-high", "standby-high")),
    Change("discharge", True, ("discharge-current-high", "inverter-battery-limit")),
    Change("charge", True, ("charge-current-high",)),
    Change("output", False, ("charge-current-high",)),
    Change("isolator", True, ("isolator-under-rated",)),
    Change("switch", True, ("switch-carries-load",)),
    Change("relay", True, ("relay-contact-short",)),
    Change("plug", True, ("connector-over-current",)),
    Change("hub", True, ("feeder-overloaded",)),
    Change("supply", True, ("supply-overloaded",)),
    Change("draws", False, ("cable-overloaded", "voltage-drop-high", "fuse-below-load", "discharge-current-high", "isolator-under-rated", "relay-contact-short", "connector-over-current", "supply-overloaded", "cut-out-margin", "energy-short")),
    Change("surge", False, ("fuse-trips-on-surge",)),
    Change("cut_out", False, ("cut-out-margin",)),
    Change("standby", False, ("standby-high", "energy-short")),
    Change("inverter", False, ("inverter-battery-limit",)),
    Change("inverter_metres", False, ("inverter-cable-long",)),
    Change("solar_volts", True, ("voc-over-input",)),
    Change("solar_amps", True, ("pv-current-over-controller",)),
    Change("panels", False, ("voc-over-input", "fuse-voltage-short")),
    Change("hours", False, ("energy-short",)),
)  # fmt: skip

RANKS = (UNPROVEN, *reversed(SEVERITIES))


def graver(finding: Finding, before: list[Finding]) -> bool:
    """Whether a finding is new, or of a worse class than it was."""
    same = [RANKS.index(other.severity) for other in before if other.identity == finding.identity]
    return not same or RANKS.index(finding.severity) > max(same)


@pytest.mark.parametrize(
    "change", CHANGES, ids=lambda change: f"{'more' if change.more else 'less'}-{change.figure}"
)
@settings(deadline=None, max_examples=6, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_better_figure_adds_no_finding(find: Find, change: Change, data: st.DataObject) -> None:
    figures = {name: data.draw(st.sampled_from(values), name) for name, values in FIGURES.items()}
    values = FIGURES[change.figure]
    low, high = sorted(
        data.draw(st.lists(st.sampled_from(range(len(values))), min_size=2, max_size=2, unique=True))
    )
    worse, better = (low, high) if change.more else (high, low)
    before, after = (
        find(SPEC.format(**figures | {change.figure: values[at]}), *change.rules) for at in (worse, better)
    )
    assert [f"{each.severity} {each.rule}: {each.message}" for each in after if graver(each, before)] == []


def test_every_rule_of_the_list_finds_something_in_some_of_these_specs(find: Find) -> None:
    chance = random.Random(3)
    rules = sorted({rule for change in CHANGES for rule in change.rules})
    found: set[str] = set()
    for _ in range(40):
        figures = {name: chance.choice(values) for name, values in FIGURES.items()}
        found |= {finding.rule for finding in find(SPEC.format(**figures), *rules)}
    assert sorted(found) == rules
