"""Lugs: what copper a barrel takes, the studs they are made for, and what a good crimp holds."""

from __future__ import annotations

from loomwright.stock import conductors
from loomwright.stock.cited import Cited, CitedRange, CitedWords
from loomwright.stock.conductors import ConductorSize, awg_area_mm2
from loomwright.stock.tables import Table, cite, cite_range, table

STUD_KINDS = ("steel", "brass", "stainless", "terminal", "battery")


def barrel_range(mark: ConductorSize) -> CitedRange:
    """The copper in mm² that a lug with that mark takes.

    A barrel takes three quarters of its marked area up to a twentieth more. DIN 46234 makes one barrel for a range of
    areas (0.5 to 1, 1.5 to 2.5, 4 to 6 mm²), so a lug marked with any of them takes the whole range as well. The mark
    of a gauge stands for the gauge's nominal area (ASTM B258): a lug marked 8 B&S takes 8 B&S cable and 8 AWG.
    """
    area = marked_area_mm2(mark)
    slack, row = table("terminations", "barrel_slack"), _barrel_row(area)
    low, high = slack["least"] * area, area
    if row:
        low, high = min(low, float(row[0])), max(high, float(row[1]))
    source = f"{table('terminations', 'barrels')['source']} barrels; {slack['source']}"
    return CitedRange(low, high * slack["most"], source, slack["basis"])


def takes(mark: ConductorSize, copper_mm2: float) -> bool:
    """Whether a lug with that mark takes so much copper (of all the conductors in its barrel together)."""
    return barrel_range(mark).holds(copper_mm2)


def to_fit(cable: ConductorSize, copper_mm2: float) -> ConductorSize | None:
    """The mark of the lug for so much copper of a cable: the cable's own, auto cable apart, which no lug is marked by; else the
    nearest area, the next one up before one down; else the nearest gauge. None where none takes it."""
    marks = [] if cable.kind == "auto" else [cable]
    for kind in ("area", "awg"):
        marks += sorted(
            conductors.sizes(kind),
            key=lambda size: (size.area_mm2 < copper_mm2, abs(size.area_mm2 - copper_mm2)),
        )
    return next((mark for mark in marks if takes(mark, copper_mm2)), None)


def marked_area_mm2(mark: ConductorSize) -> float:
    """The area in mm² that a lug's mark stands for."""
    return mark.area_mm2 if mark.gauge is None else awg_area_mm2(mark.gauge)


def studs_made(mark: ConductorSize) -> CitedWords | None:
    """The threads that a lug with that mark is made for by DIN 46234 or DIN 46235; None where neither has the size.

    A mark between two sizes stands with the smallest lug whose barrel takes its area.
    """
    area = marked_area_mm2(mark)
    rings, lugs = table("terminations", "barrels"), table("terminations", "compression_lugs")
    ring = next((row[2] for row in rings["rows"] if area <= row[1]), None)
    lug = next((row[2] for row in lugs["rows"] if area <= row[0]), "") if area >= lugs["rows"][0][0] else ""
    if ring is None:
        return None
    made = sorted(set(f"{ring} {lug}".split()), key=lambda thread: float(thread[1:]))
    return CitedWords(tuple(made), f"{rings['source']} and {lugs['source']}, {mark.label}", rings["basis"])


def die_code(mark: ConductorSize) -> Cited | None:
    """The number of the die that presses a DIN 46235 lug of that mark; None where the standard has no such lug."""
    lugs = table("terminations", "compression_lugs")
    row = next((row for row in lugs["rows"] if row[0] == mark.area_mm2 and mark.kind == "area"), None)
    return cite(row[1], lugs, mark.label) if row else None


def hole_mm(thread: str, ring: bool = False) -> Cited | None:
    """The hole in mm of a compression lug (DIN 46235), or of a ring (DIN 46234), made for a thread."""
    holes = table("terminations", "ring_holes" if ring else "lug_holes")
    hole = holes["rows"].get(thread)
    return None if hole is None else cite(hole, holes, thread)


def torque(thread: str, stud: str = "brass") -> CitedRange | None:
    """Tightening torque in N m on a stud of steel (class 8.8), brass, stainless, a battery or a terminal screw.

    None where the table has no such thread. Raises `KeyError` for another kind of stud.
    """
    torques: Table = table("terminations", "torque")[stud]
    found = torques["rows"].get(thread)
    return None if found is None else cite_range(found, torques, f"{thread}, {stud}")


def crimp_pull_newton(copper_mm2: float) -> Cited | None:
    """The pull in N that a good crimp on that area holds for a minute: the row of the nearest smaller area.

    None below the table's smallest.
    """
    pulls = table("terminations", "crimp_pull")
    row = next((row for row in reversed(pulls["rows"]) if row[0] <= copper_mm2), None)
    return cite(row[1], pulls, f"{row[0]:g} mm²") if row else None


def _barrel_row(area: float) -> tuple[float, float, str] | None:
    """The DIN 46234 barrel that an area belongs to."""
    rows = table("terminations", "barrels")["rows"]
    return next((row for row in rows if row[0] <= area <= row[1]), None)
