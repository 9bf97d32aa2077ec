"""`new`: the few answers that a first spec is made from, read, and held against what they ask of each other."""

from __future__ import annotations

import re
from collections.abc import Sequence

from loomwright.facts.limits import load_limits
from loomwright.quantity import QuantityError, read
from loomwright.record import Record
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

    @property
    def lead(self) -> bool:
        """Whether the battery is a lead-acid one of any kind."""
        return self.chemistry != "lifepo4"

    @property
    def charge_limit(self) -> float:
        """Most that the battery is charged with, in A: common practice, no source."""
        return float(round(self.capacity * (0.25 if self.lead else 0.5)))


ALTERNATOR, HELD = 110.0, 14.2
"""Rating in A and voltage of the alternator that the spec starts with."""
OUTPUT, EFFICIENCY = 14.4, 0.9
"""Voltage and efficiency of its charger."""
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
    if not 0 <= solar <= 1000:
        raise BadAnswer(f"the panels: {solar:g} W is out of reason; 0 (none) to 1000, which is two rows")
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


def fitting(said: Answers) -> Answers:
    """The same answers. Raises BadAnswer where one asks of another more than it can give; says what would do."""
    if said.charger > said.charge_limit:
        share = "a quarter" if said.lead else "half"
        needed = said.charger / (0.25 if said.lead else 0.5)
        raise BadAnswer(
            f"the charger: {said.charger:g} A is more than the {said.charge_limit:g} A that {said.chemistry} of {said.capacity:g} Ah is "
            f"charged with ({share} of its capacity in an hour): a charger of {said.charge_limit:g} A at most, or {needed:g} Ah"
        )
    lasting = float(load_limits()["alternator-share"].value)
    drawn = OUTPUT / EFFICIENCY / HELD
    most = int(lasting * ALTERNATOR / drawn)
    if said.charger > most:
        raise BadAnswer(
            f"the charger: {said.charger:g} A would take {said.charger * drawn:.0f} A of the alternator, and {lasting:.0%} of its "
            f"{ALTERNATOR:g} A is to be asked of it for long (the limit alternator-share): a charger of {most} A at most".replace(
                "%", " %"
            )
        )
    return said
