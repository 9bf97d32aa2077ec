"""The key under a routing plan: what its lines, rings and marks mean, those that are on it and no others."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from loomwright.model import things as t
from loomwright.record import Record
from loomwright.sheets.drawings import symbols
from loomwright.sheets.drawings.courses import Course
from loomwright.sheets.drawings.diagram import fuses_of, share_of
from loomwright.sheets.drawings.lettering import LEADING, width_of
from loomwright.sheets.drawings.svg import COPPER, INK, SOFT, circle, line, path, text
from loomwright.sheets.dyes import dye

SAMPLE, GAP = 26.0, 14.0
"""Room for a sample before its words, and between two entries."""
STEP = LEADING + 6
DASHES = {"feed": "", "earth": ' stroke-dasharray="7 3"', "signal": ' stroke-dasharray="2 2"'}
"""How the lines of feeds, returns and signals are told apart, colour left aside."""
ROLES = {"feed": "feed or circuit", "earth": "return", "signal": "signal"}
OPENINGS = {"grommet": "grommet", "gland": "gland", "bare": "bare edge"}


class Entry(Record):
    """A sample by its kind, and its words."""

    kind: str
    words: str

    @property
    def width(self) -> float:
        return SAMPLE + width_of(self.words) + GAP


def key_of(
    of: t.Installation, rows: Sequence[Course], columns: Sequence[t.Place], width: float, marked: bool
) -> list[list[Entry]]:
    """The entries in as many lines as the width makes them."""
    lines: list[list[Entry]] = [[]]
    for entry in _entries(of, rows, columns, marked):
        if lines[-1] and sum(each.width for each in (*lines[-1], entry)) > width:
            lines.append([])
        lines[-1].append(entry)
    return lines


def _entries(
    of: t.Installation, rows: Sequence[Course], columns: Sequence[t.Place], marked: bool
) -> Iterator[Entry]:
    roles = {row.run.role for row in rows}
    yield from (Entry(role, words) for role, words in ROLES.items() if role in roles)
    yield Entry("colour", "colour: the insulation's")
    cables = [row.run.cable for row in rows]
    if any(not isinstance(cable, t.Unknown) and "/" in (cable.colour or "") for cable in cables):
        yield Entry("tracer", "with a tracer")
    if any(_skips(row, columns) for row in rows):
        yield Entry("away", "past a place, not in it")
    if any(share_of(of, fuse) is not None for fuse in _fuses(of, rows)):
        yield Entry("fuse", "fuse")
    openings = {place.opening for place in columns}
    yield from (Entry(kind, words) for kind, words in OPENINGS.items() if kind in openings)
    if marked:
        yield Entry("mark", "finding, told above")


def _fuses(of: t.Installation, rows: Sequence[Course]) -> list[t.Fuse]:
    return [fuse for row in rows for fuse in fuses_of(of, row.run) if isinstance(fuse, t.Fuse)]


def _skips(row: Course, columns: Sequence[t.Place]) -> bool:
    """Whether a run passes a column without being there."""
    met = [index for index, place in enumerate(columns) if place in (row.stretches or {})]
    return bool(met) and met[-1] - met[0] >= len(met)


def drawn_key(lines: Sequence[Sequence[Entry]], top: float) -> str:
    drawn = ""
    for number, entries in enumerate(lines):
        x, y = 4.0, top + number * STEP + STEP / 2
        for entry in entries:
            drawn += _sample(entry.kind, x, y) + text(x + SAMPLE, y + 2.5, entry.words, fill=SOFT)
            x += entry.width
    return drawn


def height_of_key(lines: Sequence[Sequence[Entry]]) -> float:
    return len(lines) * STEP + 4


def _sample(kind: str, x: float, y: float) -> str:
    if kind in ("grommet", "gland", "bare"):
        return opening(kind, x + 10, y)
    if kind == "colour":
        return line([(x, y), (x + 20, y)], f'stroke="{INK}" stroke-width="4.2"') + line(
            [(x, y), (x + 20, y)], f'stroke="{dye("red")}" stroke-width="3"'
        )
    if kind == "fuse":
        return line([(x, y), (x + 20, y)]) + symbols.fuse(x + 10, y)
    if kind == "mark":
        return f'<rect x="{x + 4:.1f}" y="{y - 4:.1f}" width="12" height="8" rx="4" fill="{COPPER}" stroke="none"/>'
    points = [(x, y), (x + 20, y)]
    if kind == "away":
        return line(points, f'stroke="{SOFT}" stroke-dasharray="1 2"')
    if kind == "tracer":
        return line(points, f'stroke="{INK}" stroke-width="4.2"') + line(
            points, 'stroke="#ffffff" stroke-width="1.2" stroke-dasharray="4 4"'
        )
    return line(points, f'stroke="{INK}" stroke-width="3"{DASHES[kind]}')


def opening(kind: str, x: float, y: float) -> str:
    """How a hole is lined: a ring for a grommet, two for a gland, a jagged edge for a bare one."""
    if kind == "bare":
        jag = "".join(f"l{3 if n % 2 else -3} 3.5" for n in range(6))
        return path(f"M{x - 3:.1f} {y - 10.5:.1f}m3 0{jag}", f'stroke="{COPPER}" stroke-width="1.4"')
    rings = circle(x, y, 5, 'stroke-width="1.4"')
    return rings + (circle(x, y, 7.5) if kind == "gland" else "")
