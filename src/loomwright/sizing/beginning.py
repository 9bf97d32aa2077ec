"""`new`: a first spec from a few answers, commented, and sized like any other."""

from __future__ import annotations

import re
from collections.abc import Sequence

from loomwright.quantity import QuantityError, read
from loomwright.record import Record
from loomwright.sizing.size import size
from loomwright.stock.batteries import CHEMISTRIES

NAME = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")
TAKEN = frozenset((
    "engine-bay", "firewall", "under-floor", "box", "battery-box", "chassis", "crank", "gen", "dcdc", "house", "panels", "roof", "common", "house-iso",
    "ways", "gen-link", "main", "main-return", "dcdc-return", "charge", "house-return", "hub-feed", "iso-hub", "hub-return", "panel-feed",
    "panel-return", "driving", "parked", "night", "usual", "none", "unknown",
))  # fmt: skip
MOST_LOADS = 12


class BadAnswer(ValueError):
    """An answer that can't be used; the message says what is wanted."""


class Load(Record):
    """`draws` is in W or A; `metres` of cable from the fuses to it, in the place of that name."""

    name: str
    draws: str
    place: str
    metres: float
    critical: bool


class Answers(Record):
    """What a new spec is made from. Capacities in Ah, currents in A, powers in W, lengths in m; `solar` 0 for no panels."""

    title: str
    chemistry: str
    capacity: float
    charger: float
    solar: float
    metres: float
    loads: tuple[Load, ...]


BATTERY = "lifepo4 120 Ah"
LOADS = ("fridge 45 W", "lamps 2 A in canopy 3 m", "water-pump 5 A")
"""What is put where nobody answers: our own example."""


def answers(
    title: str, battery: str, charger: float, solar: float, metres: float, loads: Sequence[str]
) -> Answers:
    """The answers as they were typed, read. Raises BadAnswer."""
    if not title.strip() or '"' in title or not title.isprintable():
        raise BadAnswer("the title is a line of text without double quotes")
    chemistry, capacity = _battery(battery)
    for what, value, most in (("the charger", charger, 200.0), ("the way to the box", metres, 30.0)):
        if not 0 < value <= most:
            raise BadAnswer(f"{what}: {value:g} is out of reason; more than 0 and at most {most:g}")
    if not 0 <= solar <= 2000:
        raise BadAnswer(f"the panels: {solar:g} W is out of reason; 0 (none) to 2000")
    read_loads = tuple(load(text) for text in loads)
    if not 0 < len(read_loads) <= MOST_LOADS:
        raise BadAnswer(f"one load at least and {MOST_LOADS} at most; add more to the spec itself")
    names = [one.name for one in read_loads]
    twice = next(
        (name for name in names if names.count(name) > 1 or name in {one.place for one in read_loads}), None
    )
    if twice:
        raise BadAnswer(f"the name {twice} stands for two things: each name is used once")
    return Answers(title.strip(), chemistry, capacity, charger, solar, metres, read_loads)


def _battery(text: str) -> tuple[str, float]:
    chemistry, _, capacity = text.strip().partition(" ")
    wanted = f"a battery is written as '{BATTERY}': one of {', '.join(CHEMISTRIES)}, and its capacity"
    if chemistry not in CHEMISTRIES:
        raise BadAnswer(f"'{text}': {wanted}")
    amp_hours = _measured(capacity, "charge", wanted) / 3600
    if not 5 <= amp_hours <= 2000:
        raise BadAnswer(f"'{text}': 5 Ah to 2000 Ah")
    return chemistry, amp_hours


def load(text: str) -> Load:
    """`NAME DRAWS [critical] [in PLACE] [LENGTH]`, such as `lamps 2 A in canopy 3 m`. Raises BadAnswer."""
    form = r"(?P<name>\S+)\s+(?P<draws>[0-9.]+ ?[WA])(?P<critical>\s+critical)?(?:\s+in\s+(?P<place>[a-z]\S*))?(?:\s+(?P<length>[0-9.]+ ?\w+))?"
    found = re.fullmatch(form, text.strip())
    wanted = (
        "a load is written as 'NAME DRAWS [critical] [in PLACE] [LENGTH]', such as 'lamps 2 A in canopy 3 m'"
    )
    if found is None:
        raise BadAnswer(f"'{text}': {wanted}")
    name, place = found["name"], found["place"] or "box"
    for each in (name, place):
        if not NAME.fullmatch(each) or (each in TAKEN and each != "box") or name == "box":
            raise BadAnswer(
                f"'{text}': {each} can't be a name here: small letters, digits and hyphens, and none that the spec uses"
            )
    _measured(found["draws"], "power" if found["draws"].endswith("W") else "current", wanted)
    metres = _measured(found["length"] or "2 m", "length", wanted)
    if not 0 < metres <= 30:
        raise BadAnswer(f"'{text}': a cable of {metres:g} m is out of reason; at most 30 m")
    return Load(name, found["draws"], place, metres, bool(found["critical"]))


def _measured(text: str, dimension: str, wanted: str) -> float:
    found = re.fullmatch(r"([0-9.]+) ?([A-Za-z]+)", text.strip())
    try:
        value = read(found[1], found[2], dimension).si if found else 0.0
    except (QuantityError, ValueError):
        value = 0.0
    if not value > 0.0:
        raise BadAnswer(f"'{text}': {wanted}")
    return value


# ---------------------------------------------------------------- the text


def spec_of(said: Answers) -> str:
    """The spec's text with sizes and ratings in it. Raises NoChoice where nothing in stock will do."""
    return size(draft(said), "<new>").text


def draft(said: Answers) -> str:
    """The same with everything still `auto`."""
    ways = "\n".join(f"    way {n:<6} blade auto" for n in range(1, len(said.loads) + 1))
    places = sorted({one.place for one in said.loads} - {"box"})
    lead = said.chemistry != "lifepo4"
    home = "battery-box" if lead else "box"  # what sparks and what gasses don't live together
    from_metres = max(0.5, said.metres - 1.0)
    names = [one.name for one in said.loads]
    parts = [
        HEAD.format(title=said.title),
        "".join(f"place {place} {{ ambient -5 degC to 45 degC; inside }}\n" for place in places),
        BATTERY_BOX if lead else "",
        VEHICLE,
        CHARGER.format(
            input=_round(said.charger * 1.5), output=f"{said.charger:g}", solar=SOLAR_INPUT if said.solar else "", suits=said.chemistry
        ),
        HOUSE.format(
            home=home, chemistry=said.chemistry, capacity=f"{said.capacity:g}", reserve=50 if lead else 20,
            discharge=f"{said.capacity * 0.8:.0f}", charge=f"{said.capacity * (0.25 if lead else 0.5):.0f}",
            cold="" if lead else "    charges-from 0 degC           # it stops its own charge below\n",
        ),
        PANELS.format(watts=f"{said.solar:g}", short=f"{said.solar / 17.5:.1f}") if said.solar else "",
        DISTRIBUTION.format(count=max(4, len(said.loads)), ways=ways),
        "".join(_load(one) for one in said.loads),
        RUNS.format(far=f"{from_metres:g}", home=home).replace("box 0.4 m, box 0.2 m", "box 0.6 m").replace("box 0.2 m, box 0.3 m", "box 0.5 m").replace("box 0.2 m, box 0.1 m", "box 0.3 m"),
        PANEL_RUNS if said.solar else "",
        "".join(_circuit(number, one) for number, one in enumerate(said.loads, 1)),
        USE.format(on=", ".join(names), sun="\n    sun     full" if said.solar else ""),
    ]  # fmt: skip
    return "".join(parts)


def _round(amps: float) -> str:
    return f"{-(-amps // 5) * 5:g}"


def _load(one: Load) -> str:
    critical = "\n    critical" if one.critical else ""
    return f"load {one.name} in {one.place} {{\n    draws   {one.draws}{critical}\n}}\n\n"


def _circuit(number: int, one: Load) -> str:
    along = (
        f"box {one.metres:g} m"
        if one.place == "box"
        else f"box 0.5 m, {one.place} {max(0.5, one.metres - 0.5):g} m"
    )
    return CIRCUIT.format(name=one.name, number=number, along=along, label=one.name.replace("-", " ").upper())


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
BATTERY_BOX = "place battery-box { ambient 2 degC to 40 degC; inside; volume 0.1 m3; vents 30 cm2 }   # lead-acid gasses: nothing that sparks is in it\n"
VEHICLE = """
structure chassis { metal steel; bonded crank.neg }

# The vehicle as its maker built it. Read the battery's and the alternator's labels.

battery crank in engine-bay {
    chemistry lead-acid
    capacity  75 Ah
    vented
    held-down
    stud      M8
}

alternator gen in engine-bay {
    rated      110 A
    holds      14.2 V
    regulation fixed               # or smart: then say so
    stud       M8
}

feed gen-link from gen.pos to crank.pos {
    maker
    cable  35 mm2 red 105 degC
    along  engine-bay 0.8 m
    fuse   strip-large 150 A at 0.1 m from crank.pos
    end    gen.pos   lug 35 mm2 M8
    end    crank.pos lug 35 mm2 M8
}

# What is added.

"""
CHARGER = """charger dcdc in box {{
    input      {input} A max
    starts     13.2 V               # it works while the alternator does
    stops      12.7 V
    cuts-out   11 V
    output     {output} A at 14.4 V{solar}
    efficiency 90 %
    suits      {suits}
    stud       M6
}}

"""
SOLAR_INPUT = "\n    solar      50 V max 40 A"
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
    coefficient -0.3 %/K
}}

"""
DISTRIBUTION = """busbar common in box {{ studs 6 x M8; rated 250 A }}

isolator house-iso in box {{ rated 200 A; stud M8 }}

hub ways in box {{
    rated      100 A
    stud       M6
    negatives  {count} x M4
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
CIRCUIT = """circuit {name}-feed from ways.{number} to {name} {{
    cable  twin auto 105 degC
    along  {along}
    ends   blade-terminal crimped sealed tight
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
