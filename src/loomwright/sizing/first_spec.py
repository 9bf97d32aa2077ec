"""`new`: the text of a first spec, commented, and sized like any other."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from loomwright.sizing.beginning import ALTERNATOR, EFFICIENCY, HELD, OUTPUT, Answers, Load, fitting
from loomwright.sizing.size import NoChoice, Sized, size

PANEL = 500.0
"""The most watts of a panel, or of panels side by side as one: more than two rows want a fuse each, and are for a designer."""

SHORT = "breaking-capacity-short"
STRONGER = ("strip", "class-t")
"""Kinds of fuse that break more than a blade, the cheaper first."""
WATTS = 17.5
"""Of a panel for each A of its short-circuit current, as the labels of such panels have it: common practice, no source."""
VENT = 0.168
"""cm² of each vent for each Ah of a lead-acid battery: the rule book's vent-area for 100 Ah, over a hundred."""


def spec_of(said: Answers) -> str:
    """The spec's text with sizes and ratings in it. Raises BadAnswer for answers that don't go together, and NoChoice where
    nothing in stock will do."""
    fitting(said)
    try:
        first = size(draft(said), "<new>")
    except NoChoice:
        for_all = set(range(1, len(said.loads) + 1))
        sized = next(filter(None, (_stronger(said, kind, for_all) for kind in STRONGER)), None)
        if sized is None:
            raise
        return sized.text
    weak = _weak(first)
    better = (_stronger(said, kind, weak) for kind in STRONGER) if weak else ()
    return next((sized for sized in better if sized), first).text


def _weak(sized: Sized) -> set[int]:
    """The numbers of the ways whose fuses don't break the fault that they may meet."""
    named = (name for one in sized.standing if one.rule == SHORT for name in one.things)
    return {int(found[1]) for found in (re.search(r"ways\.(\d+)", name) for name in named) if found}


def _stronger(said: Answers, kind: str, weak: set[int]) -> Sized | None:
    """Sized with such a fuse in each way that needs it; None where that doesn't do."""
    kinds: dict[int, str] = {}
    while more := weak - set(kinds):
        kinds |= dict.fromkeys(more, kind)
        try:
            sized = size(draft(said, kinds), "<new>")
        except NoChoice:
            return None
        weak = _weak(sized)
    return None if sized.standing else sized


def draft(said: Answers, kinds: Mapping[int, str] | None = None) -> str:
    """The same with everything still `auto`; `kinds` of fuse by the number of their way, blades else."""
    kinds = kinds or {}
    studs = [
        f"    stud {number:<5} M8" for number in kinds
    ]  # a fuse that is bolted has studs, and its cable a lug
    ways = "\n".join(
        [*studs, *(f"    way {n:<6} {kinds.get(n, 'blade')} auto" for n in range(1, len(said.loads) + 1))]
    )
    places = sorted({one.place for one in said.loads} - {"box"})
    lead = said.lead
    home = "battery-box" if lead else "box"  # what sparks and what gasses don't live together
    from_metres = max(0.5, said.metres - 1.0)
    names = [one.name for one in said.loads]
    parts = [
        HEAD.format(title=said.title),
        "".join(f"place {place} {{ ambient -5 degC to 45 degC; inside }}\n" for place in places),
        BATTERY_BOX.format(vents=max(30, math.ceil(said.capacity * VENT))) if lead else "",
        VEHICLE.format(alternator=ALTERNATOR, held=HELD),
        CHARGER.format(
            input=_round(said.charger * 1.5), output=f"{said.charger:g}", solar=_solar_input(said), suits=said.chemistry,
            volts=OUTPUT, efficiency=100 * EFFICIENCY,
        ),
        HOUSE.format(
            home=home, chemistry=said.chemistry, capacity=f"{said.capacity:g}", reserve=50 if lead else 20,
            discharge=f"{said.capacity * 0.8:.0f}", charge=f"{said.charge_limit:g}",
            cold="" if lead else "    charges-from 0 degC           # it stops its own charge below\n",
        ),
        _panels(said) if said.solar else "",
        DISTRIBUTION.format(count=max(4, len(said.loads)), ways=ways),
        "".join(_load(one) for one in said.loads),
        RUNS.format(far=f"{from_metres:g}", home=home).replace("box 0.4 m, box 0.2 m", "box 0.6 m").replace("box 0.2 m, box 0.3 m", "box 0.5 m").replace("box 0.2 m, box 0.1 m", "box 0.3 m"),
        PANEL_RUNS if said.solar else "",
        "".join(_circuit(number, one, number in kinds) for number, one in enumerate(said.loads, 1)),
        USE.format(on=", ".join(names), sun="\n    sun     full" if said.solar else ""),
    ]  # fmt: skip
    return "".join(parts)


def _round(amps: float) -> str:
    return f"{-(-amps // 5) * 5:g}"


def _panels(said: Answers) -> str:
    """As many alike, side by side, as it takes with none of more than `PANEL` watts."""
    count = math.ceil(said.solar / PANEL)
    watts = said.solar / count
    together = f"\n    count       {count} parallel" if count > 1 else ""
    return PANELS.format(watts=f"{watts:.4g}", short=f"{watts / WATTS:.1f}", together=together)


def _solar_input(said: Answers) -> str:
    """A controller for the panels' short-circuit current on a bright day, in steps of 5 A."""
    return SOLAR_INPUT.format(most=_round(max(40.0, 1.25 * said.solar / WATTS))) if said.solar else ""


def _load(one: Load) -> str:
    critical = "\n    critical" if one.critical else ""
    return f"load {one.name} in {one.place} {{\n    draws   {one.draws}{critical}\n}}\n\n"


def _circuit(number: int, one: Load, bolted: bool) -> str:
    along = (
        f"box {one.metres:g} m"
        if one.place == "box"
        else f"box 0.5 m, {one.place} {max(0.5, one.metres - 0.5):g} m"
    )
    return CIRCUIT.format(
        name=one.name,
        number=number,
        along=along,
        label=one.name.replace("-", " ").upper(),
        way=BOLTED.format(number=number) if bolted else "",
    )


HEAD = """# {title}: a first spec to start from. Put your own figures where a comment asks for them, then check and size it again.

fitout "{title}" {{
    stage    planned
    system   12 V
}}

practice {{                       # holds for every run below that does not say otherwise
    sleeve   split-tube
    clips    0.25 m
    ends     crimped sealed tight
}}

# Where things are. Write how hot and how cold it gets there.

place engine-bay  {{ ambient -5 degC to 60 degC; hazards heat, vibration; outside }}
place firewall    {{ opening grommet }}
place under-floor {{ ambient -5 degC to 45 degC; inside }}
place box         {{ ambient 2 degC to 40 degC; inside; volume 0.3 m3; vents 30 cm2 }}
"""
BATTERY_BOX = "place battery-box {{ ambient 2 degC to 40 degC; inside; volume 0.1 m3; vents {vents} cm2 }}   # lead-acid gasses: nothing that sparks is in it\n"
VEHICLE = """
structure chassis {{ metal steel; bonded crank.neg }}

# The vehicle as its maker built it. Read the battery's and the alternator's labels.

battery crank in engine-bay {{
    chemistry lead-acid
    capacity  75 Ah
    vented
    held-down
    stud      M8
}}

alternator gen in engine-bay {{
    rated      {alternator:g} A
    holds      {held:g} V
    regulation fixed               # or smart: then say so
    stud       M8
}}

feed gen-link from gen.pos to crank.pos {{
    maker
    cable  35 mm2 red 105 degC
    along  engine-bay 0.8 m
    fuse   strip-large 150 A at 0.1 m from crank.pos
    end    gen.pos   lug 35 mm2 M8
    end    crank.pos lug 35 mm2 M8
}}

# What is added.

"""
CHARGER = """charger dcdc in box {{
    input      {input} A max
    starts     13.2 V               # it works while the alternator does
    stops      12.7 V
    cuts-out   11 V
    output     {output} A at {volts:g} V{solar}
    efficiency {efficiency:.0f} %
    suits      {suits}
    stud       M6
}}

"""
SOLAR_INPUT = "\n    solar      50 V max {most} A"
HOUSE = """battery house in {home} {{
    chemistry {chemistry}
    capacity  {capacity} Ah
    discharge {discharge} A max
    charge    {charge} A max
    reserve   {reserve} %
    serves    house
    sealed
    held-down
{cold}    stud      M8
}}

"""
PANELS = """place roof {{ ambient -5 degC to 70 degC; hazards sun, spray; outside }}
place roof-gland {{ opening gland }}

solar panels in roof {{             # figures of the label of one panel, or of a row
    peak        {watts} W
    open        22 V
    short       {short} A
    at-peak     18.5 V
    coefficient -0.3 %/K{together}
}}

"""
DISTRIBUTION = """busbar common in box {{ studs 6 x M8; rated 250 A }}

isolator house-iso in box {{ rated 200 A; stud M8 }}

hub ways in box {{
    rated      100 A
    stud       M6
    negatives  {count} x M6
{ways}
}}

# Loads: what their labels say, and how much of the time they draw (duty).

"""
RUNS = """# Cables. Lengths are along the way that the cable takes.

feed main from crank.pos to dcdc.in {{
    cable  auto red 105 degC
    along  engine-bay 1 m, firewall, under-floor {far} m, box 0.3 m
    clearance 300 mm to heat
    slack  100 mm in engine-bay
    fuse   auto at 0.15 m
    end    crank.pos lug auto M8
    end    dcdc.in   lug auto M6
    label  "MAIN CHARGE FEED"
}}

earth main-return from common to crank.neg {{
    cable  auto black 105 degC
    along  box 0.3 m, under-floor {far} m, firewall, engine-bay 1 m
    clearance 300 mm to heat
    slack  100 mm in engine-bay
    end    common    lug auto M8
    end    crank.neg lug auto M8
    label  "MAIN RETURN"
}}

earth dcdc-return from dcdc.neg to common {{
    cable  auto black 105 degC
    along  box 0.4 m
    end    dcdc.neg lug auto M6
    end    common   lug auto M8
}}

feed charge from dcdc.out to house.pos {{
    cable  auto red 105 degC
    along  box 0.4 m, {home} 0.2 m
    fuse   auto at 0.1 m from house.pos
    end    dcdc.out  lug auto M6
    end    house.pos lug auto M8
    label  "HOUSE CHARGE"
}}

earth house-return from house.neg to common {{
    cable  auto black 105 degC
    along  {home} 0.2 m, box 0.3 m
    end    house.neg lug auto M8
    end    common    lug auto M8
}}

feed hub-feed from house.pos to house-iso.in {{
    cable  auto red 105 degC
    along  {home} 0.2 m, box 0.1 m
    fuse   auto at 0.1 m
    end    house.pos    lug auto M8
    end    house-iso.in lug auto M8
    label  "HOUSE MAIN"
}}

feed iso-hub from house-iso.out to ways.in {{
    cable  auto red 105 degC
    along  box 0.4 m
    end    house-iso.out lug auto M8
    end    ways.in       lug auto M6
}}

earth hub-return from ways.neg to common {{
    cable  auto black 105 degC
    along  box 0.5 m
    end    ways.neg lug auto M6
    end    common   lug auto M8
}}

"""
PANEL_RUNS = """feed panel-feed from panels.pos to dcdc.solar {
    cable  auto red 105 degC
    along  roof 1 m, roof-gland, box 1.5 m
    end    panels.pos plug
    end    dcdc.solar lug auto M6
}

earth panel-return from panels.neg to dcdc.neg {
    cable  auto black 105 degC
    along  roof 1 m, roof-gland, box 1.5 m
    end    panels.neg plug
    end    dcdc.neg lug auto M6
}

"""
BOLTED = "\n    end    ways.{number} lug auto M8"
CIRCUIT = """circuit {name}-feed from ways.{number} to {name} {{
    cable  twin auto 105 degC
    along  {along}
    ends   blade-terminal crimped sealed tight{way}
    end    ways.neg lug auto M6
    label  "{label}"
}}

"""
USE = """# How it is used: sizes hold for these modes and no others. With a day and a site the energy is reckoned as well:
#     day usual {{ driving 2 h; parked 8 h; night 14 h }}
#     site {{ latitude -33 deg; longitude 149 deg; month june; tilt 0 deg }}

mode driving "engine running" {{
    engine  running
    charge  50 %
    on      {on}
}}

mode parked "by day, engine off" {{
    engine  off{sun}
    charge  70 %
    on      {on}
}}

mode night "dark, engine off" {{
    engine  off
    charge  50 %
    on      {on}
}}
"""
