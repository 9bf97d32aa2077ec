"""Making up cable: how thick it is, how far it is stripped, what tube, sleeve, clip and opening go round it, how it is cut."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil, sqrt

from loomwright.record import Record
from loomwright.stock.cited import COMPUTED, Cited, CitedRange, CitedWords, weakest
from loomwright.stock.conductors import ConductorSize
from loomwright.stock.lugs import marked_area_mm2
from loomwright.stock.tables import cite, linear, source_of, table

SLEEVES = ("split-tube", "conduit", "braid", "spiral")
_ROUNDING = 1e-9
_FILLED = 1.05
"""How much more than its marked area a barrel takes, as in a lug's `barrel_slack`."""


class Barrel(Record):
    """What a conductor goes into: diameter over it and its depth, mm."""

    outside_mm: float
    depth_mm: float
    source: str
    basis: str


class Tube(Record):
    """Adhesive-lined heat-shrink: inside diameter as supplied and when shrunk on nothing, mm."""

    supplied_mm: float
    shrunk_mm: float
    ratio: str


class Cutting(Record):
    """How much longer than its route a cable is cut: ratio, m at each end, m to which a length is rounded up."""

    route: float
    end_m: float
    step_m: float
    source: str
    basis: str


# ---------------------------------------------------------------- how thick


def cable_outside_mm(size: ConductorSize, cores: int = 1) -> Cited:
    """Diameter over a cable in mm; of several cores the one over the sheath, a twin lying flat measured across.

    Auto cable is named by it. Other sizes stand by their area between the rows of ISO 6722-1, thick wall.
    """
    outside = table("making", "outside")
    if size.kind == "auto":
        single = Cited(float(size.label.split()[0]), "the size's own name", COMPUTED)
    else:
        exact = any(row[0] == size.area_mm2 for row in outside["rows"])
        value = linear(outside["rows"], size.area_mm2)
        single = cite(value, outside, size.label, "" if exact else COMPUTED)
    if cores == 1:
        return single
    sheath = table("making", "sheath")
    return Cited(
        bundle_mm([single.value] * cores) + 2 * sheath["wall"],
        f"{single.source}; {source_of(sheath)}",
        weakest(single.basis, sheath["basis"]),
    )


def bent_mm(size: ConductorSize, cores: int = 1) -> Cited:
    """What a cable measures across its bend, in mm: a twin lies flat and bends over its thin side."""
    if cores != 2:
        return cable_outside_mm(size, cores)
    sheath, single = table("making", "sheath"), cable_outside_mm(size)
    return Cited(
        single.value + 2 * sheath["wall"],
        f"{single.source}; {source_of(sheath)}",
        weakest(single.basis, sheath["basis"]),
    )


def bundle_mm(diameters: Iterable[float]) -> float:
    """Diameter in mm of a circle round cables lying together: two side by side, more as a round bundle; 0 of none."""
    thick = sorted(diameters, reverse=True)
    factor: float = table("making", "bundle")["factor"]
    if len(thick) < 3:
        return sum(thick)
    return max(thick[0] + thick[1], factor * sqrt(sum(each**2 for each in thick)))


# ---------------------------------------------------------------- ends


def lug_barrel(mark: ConductorSize) -> Barrel | None:
    """The barrel of a lug with that mark; None above the table."""
    return _barrel("barrels_made", marked_area_mm2(mark), 0.95)


def ferrule(area_mm2: float) -> Barrel | None:
    """The ferrule for so much copper; None above the table."""
    ferrules = table("making", "ferrules")
    row = next((row for row in ferrules["rows"] if area_mm2 <= row[0] * 1.05), None)
    return Barrel(row[2], row[1], source_of(ferrules, f"{row[0]:g} mm²"), ferrules["basis"]) if row else None


def insulated_terminal(area_mm2: float) -> tuple[CitedWords, Barrel] | None:
    """Colour and barrel of the insulated terminal for so much copper; None where the colours leave a gap."""
    terminals = table("making", "insulated_terminals")
    for colour, least, most, strip, outside in terminals["rows"]:
        if least <= area_mm2 <= most * _FILLED:
            source, basis = source_of(terminals, colour), terminals["basis"]
            return CitedWords((colour,), source, basis), Barrel(outside, strip, source, basis)
    return None


def blade_terminal_range() -> CitedRange:
    """The copper in mm² that blade terminals of 6.3 mm are made for, from the least colour to the greatest; those between two
    colours are bare, with an open barrel."""
    terminals = table("making", "insulated_terminals")
    least, most = min(row[1] for row in terminals["rows"]), max(row[2] for row in terminals["rows"])
    return CitedRange(least, most * _FILLED, source_of(terminals), terminals["basis"])


def strip_mm(barrel: Barrel, through: bool = False) -> Cited:
    """How far to strip: the depth of the barrel and the gap that lets the strands be seen (common practice); none into
    a ferrule (`through`)."""
    gap = 0 if through else table("making", "strip_gap")["value"]
    return Cited(barrel.depth_mm + gap, barrel.source, barrel.basis)


def heat_shrink(largest_mm: float, smallest_mm: float) -> Tube | None:
    """The least tube that goes over the largest diameter and shrinks onto the smallest: 3:1 before 4:1; None where none does."""
    fit = table("making", "heat_shrink_fit")
    for ratio in ("3:1", "4:1"):
        for supplied, shrunk, made in table("making", "heat_shrink")["rows"]:
            goes_over = supplied >= fit["supplied"] * largest_mm - _ROUNDING
            grips = shrunk <= fit["shrunk"] * smallest_mm + _ROUNDING
            if made == ratio and goes_over and grips:
                return Tube(supplied, shrunk, ratio)
    return None


def heat_shrink_length_mm(barrel: Barrel) -> float:
    """What to cut of the tube: barrel, gap and overlap on the insulation, and what is lost in shrinking, rounded up."""
    fit, gap = table("making", "heat_shrink_fit"), table("making", "strip_gap")
    covered = barrel.depth_mm + gap["value"] + fit["overlap"]
    return float(_up(covered / (1 - fit["shortens"]), fit["step"]))


# ---------------------------------------------------------------- round the cable


def sleeve_bore_mm(kind: str, bundle: float) -> float | None:
    """The least bore of a sleeve of that kind that takes a bundle with room to draw it in; None where none does."""
    sleeves = table("making", "sleeves")
    return _at_least(sleeves[kind], bundle * sleeves["room"])


def over_sleeve_mm(bore: float) -> float:
    """Diameter over a sleeve."""
    return float(bore + 2 * table("making", "sleeve_wall")["value"])


def clip_mm(over: float) -> float | None:
    """The lined clip for what it holds: the next size up, for the lining gives."""
    return _at_least(table("making", "clips")["sizes"], over)


def grommet_mm(over: float) -> float | None:
    """The bore of the grommet for what passes it."""
    return _at_least(table("making", "grommets")["sizes"], over)


def gland(over: float) -> str | None:
    """The thread of the least gland that closes on what passes it."""
    return next(
        (name for name, least, most in table("making", "glands")["rows"] if least <= over <= most), None
    )


# ---------------------------------------------------------------- cutting


def cutting(area_mm2: float) -> Cutting:
    """How a cable of that copper is cut."""
    found = table("making", "cutting")
    end = found["thin_end"] if area_mm2 <= found["thin_mm2"] else found["thick_end"]
    return Cutting(found["route"], end, found["step"], source_of(found), found["basis"])


def cut_mm(rule: Cutting, route_m: float, slack_m: float = 0.0) -> int:
    """Length in mm to cut for one piece of cable: route with its slack, two ends, a service loop; rounded up."""
    return round(1000 * _up(rule.route * route_m + 2 * rule.end_m + slack_m, rule.step_m))


def reel_lengths_m() -> tuple[float, ...]:
    """The reels that can be bought where the workshop states none."""
    return tuple(float(length) for length in table("making", "reels")["lengths"])


def source(name: str) -> CitedWords:
    """Where the figures of one table of this subject come from."""
    found = table("making", name)
    return CitedWords((), found["source"], found["basis"])


def _barrel(name: str, area_mm2: float, share: float) -> Barrel | None:
    found = table("making", name)
    row = next((row for row in found["rows"] if area_mm2 * share <= row[0]), None)
    return Barrel(row[1], row[2], source_of(found, f"{row[0]:g} mm²"), found["basis"]) if row else None


def _at_least(sizes: Sequence[float], wanted: float) -> float | None:
    return next((float(size) for size in sizes if size >= wanted - _ROUNDING), None)


def _up(value: float, step: float) -> float:
    """Up to the next multiple of a step; a value within rounding of one stays."""
    return ceil(value / step - 1e-6) * step
