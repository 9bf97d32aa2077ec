"""The routing plan: the places of the vehicle as columns in their order, each run as a coloured line through those it passes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.facts.registry import Ledger
from loomwright.model import things as t
from loomwright.record import Record
from loomwright.rulebook.finding import Finding
from loomwright.sheets.drawings import symbols
from loomwright.sheets.drawings.courses import (
    Course,
    Marks,
    cell_words,
    columns_of,
    courses_of,
    head_height,
    head_of,
    height_of,
    in_order,
    left_width,
    legend_of,
    marks_of,
    pages_of,
    pill,
    pill_width,
    pill_words,
    place_width,
    says_of,
)
from loomwright.sheets.drawings.diagram import fuses_of, share_of
from loomwright.sheets.drawings.key import DASHES, drawn_key, height_of_key, key_of, opening
from loomwright.sheets.drawings.lettering import LEADING, LEAST, SIZE, shortened
from loomwright.sheets.drawings.network import resets
from loomwright.sheets.drawings.svg import (
    COPPER,
    HAIR,
    INK,
    LANDSCAPE,
    PAPER,
    PORTRAIT,
    SHADE,
    SOFT,
    Drawing,
    drawing,
    group,
    line,
    lines,
    of_run,
    rect,
    text,
)
from loomwright.sheets.dyes import dye

LEVEL = 16.0
"""How far below the top of a row its line runs."""


def routing(of: Ledger | t.Installation, findings: Sequence[Finding] = ()) -> tuple[Drawing, ...]:
    """The sheets of the routing plan. Findings are marked with their number in the sequence, counted from 1; the words of those
    that are marked stand underneath."""
    installation = of.installation if isinstance(of, Ledger) else of
    courses = courses_of(installation)
    met = {place for course in courses for place in course.stretches or ()}
    places = tuple(place for place in in_order(installation) if place in met)
    marks = marks_of(installation, findings)
    left = max([90.0, *(left_width(course, marks) for course in courses)])
    widths = {place: place_width(place, courses, marks) for place in places}
    made = []
    for columns in columns_of(places, widths, left):
        width = left + max(60.0, sum(widths[place] for place in columns)) + 8
        here = [course for course in courses if not course.stretches or set(course.stretches) & set(columns)]
        landscape = width > PORTRAIT[0] * SIZE / LEAST
        room = (LANDSCAPE if landscape else PORTRAIT)[1] * SIZE / LEAST
        room -= height_of_key(
            key_of(installation, here, columns, min(width, left + 68), marked=bool(findings))
        )
        for rows in pages_of(here, columns, marks, findings, width, room):
            used = {place for row in rows for place in row.stretches or ()}
            made.append((tuple(place for place in columns if place in used), rows, width, landscape))
    return tuple(
        _sheet(installation, part, widths, left, marks, findings, (number, len(made)))
        for number, part in enumerate(made, 1)
    )


class Piece(Record):
    """A level piece of a line; `begins` and `ends` where the run itself does; `away` where it passes a column elsewhere."""

    x1: float
    x2: float
    begins: bool
    ends: bool
    away: bool = False


Part = tuple[tuple[t.Place, ...], list[Course], float, bool]


# ---------------------------------------------------------------- one sheet


def _sheet(
    installation: t.Installation,
    part: Part,
    widths: Mapping[t.Place, float],
    left: float,
    marks: Marks,
    findings: Sequence[Finding],
    number: tuple[int, int],
) -> Drawing:
    columns, rows, width, landscape = part
    legend = legend_of(rows, columns, marks, findings, width)
    if not legend:
        width = min(width, left + max(60.0, sum(widths[place] for place in columns)) + 8)
    key = key_of(installation, rows, columns, width, marked=bool(legend))
    height = height_of(columns, rows, legend) + height_of_key(key)
    starts: dict[t.Place, float] = {}
    x = left
    for place in columns:
        starts[place] = x
        x += widths[place]
    top = head_height(columns)
    bottom = top + sum(row.height for row in rows)
    body = "".join(_place(place, starts[place], widths[place], top, bottom, marks) for place in columns)
    at = top
    for course in rows:
        body += _course(installation, course, starts, widths, at, (left, width), marks)
        at += course.height
    y = bottom + LEADING + 4
    for mark, words in legend:
        body += pill(28, y, (mark,)) + lines(34, y, words)
        y += len(words) * LEADING + 3
    body += drawn_key(key, height - height_of_key(key))
    several = number[1] > 1
    title = "Routing plan" + (f", sheet {number[0]} of {number[1]}" if several else "")
    return drawing(
        "routing" + (f"-{number[0]}" if several else ""),
        title,
        _told(rows, columns, [number for number, _ in legend]),
        body,
        width,
        height,
        landscape,
    )


def _told(rows: Sequence[Course], columns: Sequence[t.Place], numbers: Sequence[int]) -> str:
    """The sheet in words."""
    marked = f"; findings marked: {pill_words(numbers)}" if numbers else ""
    places = f" through {', '.join(place.name for place in columns)}" if columns else ""
    return f"{len(rows)} run{'s' if len(rows) != 1 else ''}{places}{marked}."


def _place(place: t.Place, x: float, width: float, top: float, bottom: float, marks: Marks) -> str:
    """The column of a place with its head; a hole is a narrow shaded one."""
    hole = isinstance(place.opening, str)
    fill = SHADE if hole else "none"
    drawn = rect(x, top, width, bottom - top, f'fill="{fill}" stroke="{HAIR}" stroke-width="0.5"')
    told, more = head_of(place)
    y = top - 5 - (len(told) + len(more) - 1) * LEADING
    middle = x + width / 2
    drawn += lines(middle, y, told, bold=True, anchor="middle")
    drawn += lines(
        middle,
        y + len(told) * LEADING,
        more,
        anchor="middle",
        fill=COPPER if more == ("bare hole",) else SOFT,
    )
    numbers = marks.places.get(place.name, ())
    return group(drawn + pill(middle + pill_width(numbers) / 2 - 2, y - LEADING, numbers), place.name)


def _course(
    installation: t.Installation,
    course: Course,
    starts: Mapping[t.Place, float],
    widths: Mapping[t.Place, float],
    top: float,
    room: tuple[float, float],
    marks: Marks,
) -> str:
    """One row: the words of the run, and its line."""
    run = course.run
    left, width = room
    name = shortened(run.name, left - 8 - pill_width(marks.runs.get(run.name, ())), bold=True)
    drawn = line([(2, top), (width - 6, top)], f'stroke="{HAIR}" stroke-width="0.4"')
    drawn += text(2, top + 9, name, bold=True, fill=COPPER)
    drawn += lines(2, top + 9 + LEADING, [shortened(each, left - 8) for each in says_of(run)], fill=SOFT)
    drawn += pill(left - 4, top + 9, marks.runs.get(run.name, ()))
    y = top + LEVEL
    if not course.stretches:
        said = "path unknown" if course.stretches is None else "no path"
        return of_run(run.name, drawn + text(left + 4, y + 3, said, fill=SOFT), says_of(run)[1])
    here = [place for place in starts if place in course.stretches]
    for piece in _pieces(course, here, starts, widths):
        drawn += _cable(run, piece, y)
    for place in here:
        drawn += _stretch(course, place, starts[place], widths[place], y, marks)
    drawn += _fuses(installation, course, starts, widths, y)
    return of_run(run.name, drawn, f"{run.name}: {says_of(run)[1]}, {says_of(run)[0]}")


def _pieces(
    course: Course, here: Sequence[t.Place], starts: Mapping[t.Place, float], widths: Mapping[t.Place, float]
) -> list[Piece]:
    """The line in as few pieces as it has: from place to place, with gaps where it passes a column without being there."""
    first, last = _ends(course)
    pieces: list[Piece] = []
    for place in here:
        x1, x2 = starts[place], starts[place] + widths[place]
        begins, ends = place is first, place is last
        x1, x2 = x1 + (6 if begins else 0), x2 - (6 if ends else 0)
        if pieces and abs(pieces[-1].x2 - x1) < 0.1 and not begins:
            pieces[-1] = Piece(pieces[-1].x1, x2, pieces[-1].begins, ends)
        else:
            if pieces:
                pieces.append(Piece(pieces[-1].x2, x1, False, False, away=True))
            pieces.append(Piece(x1, x2, begins, ends))
    return pieces


def _ends(course: Course) -> tuple[t.Place, t.Place]:
    """The places in which a run lies at its left and at its right end."""
    every = list(course.stretches or ())
    return (every[0], every[-1]) if course.forward else (every[-1], every[0])


def _stretch(course: Course, place: t.Place, x: float, width: float, y: float, marks: Marks) -> str:
    """What stands at the line in one place: its words, the opening and what was found there."""
    over, under = cell_words((course.stretches or {})[place])
    drawn = text(x + 4, y - 4.5, over) if over else ""
    drawn += lines(x + 4, y + 11, under, fill=SOFT)
    if isinstance(place.opening, str):
        drawn += opening(place.opening, x + width / 2, y)
    return drawn + pill(x + width - 2, y - 5, marks.cells.get((course.run.name, place.name), ()))


def _cable(run: t.Run, piece: Piece, y: float) -> str:
    """A line in the colour of the insulation, edged in ink; returns and signals are dashed; a tracer is a thin dashed line."""
    points = [(piece.x1, y), (piece.x2, y)]
    if piece.away:
        return line(points, f'stroke="{SOFT}" stroke-dasharray="1 2"')
    colour = "" if isinstance(run.cable, t.Unknown) else run.cable.colour or ""
    main, _, tracer = colour.partition("/")
    drawn = line(points, f'stroke="{INK}" stroke-width="4.2"') + line(
        points, f'stroke="{PAPER}" stroke-width="3"'
    )
    drawn += line(points, f'stroke="{dye(main)}" stroke-width="3"{DASHES[run.role]}')
    if tracer:
        drawn += line(points, f'stroke="{dye(tracer)}" stroke-width="1.2" stroke-dasharray="4 4"')
    drawn += symbols.terminal(piece.x1, y) if piece.begins else ""
    return drawn + (symbols.terminal(piece.x2, y) if piece.ends else "")


def _fuses(
    installation: t.Installation,
    course: Course,
    starts: Mapping[t.Place, float],
    widths: Mapping[t.Place, float],
    y: float,
) -> str:
    """Each fuse in the place where it sits, as far along as it is."""
    drawn = ""
    for fuse in fuses_of(installation, course.run):
        if isinstance(fuse, t.Unknown) or share_of(installation, fuse) is None:
            continue
        at = float(fuse.from_start_m) if isinstance(fuse.from_start_m, (int, float)) else 0.0
        for place, stretches in (course.stretches or {}).items():
            for stretch in stretches:
                if (
                    place in starts
                    and stretch.start_m <= at <= stretch.stop_m
                    and stretch.stop_m > stretch.start_m
                ):
                    share = (at - stretch.start_m) / (stretch.stop_m - stretch.start_m)
                    share = share if course.forward else 1 - share
                    x = starts[place] + 16 + share * max(0.0, widths[place] - 32)
                    return drawn + symbols.fuse(x, y, resets=resets(fuse))
    return drawn
