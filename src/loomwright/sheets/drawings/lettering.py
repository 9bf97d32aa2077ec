"""How wide text is, reckoned from a table and never asked of what will draw it, and how it is broken to fit.

The table is of the widest face that a drawing asks for; the narrower ones that are drawn where they exist have a tenth and more to spare.
"""

from __future__ import annotations

import os
import unicodedata
from collections.abc import Iterable
from functools import cache

FACES = "Arial, Helvetica, 'Liberation Sans', 'DejaVu Sans', sans-serif"
SIZE = 7.5
"""Height of all lettering, in points on paper."""
LEADING = 8.5
"""From one line to the next."""
LEAST = 7.0
"""No lettering is printed smaller than this, in points."""
TABLE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "widths.toml")


def width_of(text: str, bold: bool = False, size: float = SIZE) -> float:
    """The width of one line in points."""
    widths = _widths("bold" if bold else "plain")
    return sum(widths.get(letter) or _wide(letter) for letter in text) * size / 1000


@cache
def _widths(face: str) -> dict[str, int]:
    import tomllib

    with open(TABLE, "rb") as file:
        table = tomllib.load(file)[face]
    found: dict[str, int] = dict(table["other"])
    for first, row in ((0x20, table["ascii"]), (0xA0, table["latin"])):
        found.update({chr(first + index): width for index, width in enumerate(row)})
    return found


@cache
def _wide(letter: str) -> int:
    """What the table lacks, taken generously: full-width letters and pictures 1.4 of their height, marks that add no width none."""
    if unicodedata.category(letter) in ("Mn", "Me", "Cf"):
        return 0
    wide = unicodedata.east_asian_width(letter) in "WF" or unicodedata.category(letter) == "So"
    return 1400 if wide else 900


def shortened(text: str, room: float, bold: bool = False) -> str:
    """Text cut to a width, with an ellipsis where something is missing."""
    if width_of(text, bold) <= room:
        return text
    cut = text
    while cut and width_of(cut + "…", bold) > room:
        cut = cut[:-1]
    return cut.rstrip(" -,") + "…"


def wrapped(text: str, room: float, most: int = 2, bold: bool = False) -> tuple[str, ...]:
    """Text in up to `most` lines, broken after blanks and hyphens; what doesn't fit is cut."""
    lines: list[str] = []
    line = ""
    for bit in _bits(" ".join(text.split())):
        if line and width_of((line + bit).rstrip(), bold) > room:
            lines.append(line.rstrip())
            line = ""
        line += bit
    lines.append(line.rstrip())
    if len(lines) > most:
        lines = [
            *lines[: most - 1],
            "".join(f"{each} " if not each.endswith("-") else each for each in lines[most - 1 :]).rstrip(),
        ]
    return tuple(shortened(each, room, bold) for each in lines)


def widest(lines: Iterable[str], bold: bool = False) -> float:
    return max((width_of(line, bold) for line in lines), default=0.0)


def _bits(text: str) -> list[str]:
    """The pieces between which a line may break, each with what ends it."""
    bits = [""]
    for letter in text:
        bits[-1] += letter
        if letter in " -":
            bits.append("")
    return [bit for bit in bits if bit]
