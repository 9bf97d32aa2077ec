"""The routing plan: the places of the vehicle as columns in their order, each run as a coloured line through those it passes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from loomwright.facts.registry import Ledger
from loomwright.model import things as t
from loomwright.rulebook.finding import Finding
from loomwright.sheets.drawings import symbols
from loomwright.sheets.drawings.diagram import fuses_of, share_of, size_words
from loomwright.sheets.drawings.lettering import LEADING, LEAST, SIZE, shortened, widest, width_of, wrapped
from loomwright.sheets.drawings.svg import (
    COPPER,
    HAIR,
    INK,
    LANDSCAPE,
    PAPER,
    PORTRAIT,
    SOFT,
    Drawing,
    circle,
    drawing,
    group,
    line,
    lines,
    of_run,
    path,
    rect,
    text,
)
from loomwright.sheets.dyes import dye

ROW = 30.0
LEVEL = 16.0
"""How far below the top of a row its line runs."""
CELL = 40.0
"""Least width of a place, with room for its name."""
DASHES = {"feed": "", "earth": ' stroke-dasharray="7 3"', "signal": ' stroke-dasharray="2 2"'}


@dataclass(frozen=True, slots=True)
class Marks:
    """Which findings stand where, by their numbers: at a run in a place, at a run, at a place."""

    cells: Mapping[tuple[str, str], tuple[int, ...]]
    runs: Mapping[str, tuple[int, ...]]
    places: Mapping[str, tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Course:
    """A run (of a circuit the feed, for both legs) with its stretches by place in its own order, None where its path is unknown;
    `forward` when it goes through the columns from left to right."""

    run: t.Run
    stretches: Mapping[t.Place, tuple[t.Stretch, ...]] | None
    forward: bool = True

    @property
    def height(self) -> float:
        """What its row takes."""
        under = max((len(_cell_words(each)[1]) for each in (self.stretches or {}).values()), default=0)
        return ROW + LEADING * max(0, under - 1)


def routing(of: Ledger | t.Installation, findings: Sequence[Finding] = ()) -> tuple[Drawing, ...]:
    """The sheets of the routing plan. Findings are marked with their number in the sequence, counted from 1; the words of those
    that are marked stand underneath."""
    installation = of.installation if isinstance(of, Ledger) else of
    courses = _courses(installation)
    met = {place for course in courses for place in course.stretches or ()}
    places = tuple(place for place in installation.places if place in met)
    marks = _marks(installation, findings)
    pathless = 60.0 if any(not course.stretches for course in courses) else 0.0
    left = max([90.0, *(_left_width(course, marks) for course in courses)])
    widths = {place: _width(place, courses, marks) for place in places}
    made = []
    for columns in _columns(places, widths, left):
        width = left + max(pathless, sum(widths[place] for place in columns)) + 8
        here = [course for course in courses if not course.stretches or set(course.stretches) & set(columns)]
        landscape = width > PORTRAIT[0] * SIZE / LEAST
        room = (LANDSCAPE if landscape else PORTRAIT)[1] * SIZE / LEAST
        for rows in _pages(here, columns, marks, findings, width, room):
            used = {place for row in rows for place in row.stretches or ()}
            made.append((tuple(place for place in columns if place in used), rows, width, landscape))
    return tuple(
        _sheet(installation, part, widths, left, marks, findings, (number, len(made)))
        for number, part in enumerate(made, 1)
    )


@dataclass(frozen=True, slots=True)
class Piece:
    """A level piece of a line; `begins` and `ends` where the run itself does; `away` where it passes a column elsewhere."""

    x1: float
    x2: float
    begins: bool
    ends: bool
    away: bool = False


Part = tuple[tuple[t.Place, ...], list[Course], float, bool]


# ---------------------------------------------------------------- what is drawn


def _courses(installation: t.Installation) -> list[Course]:
    """Every run once, those that take the same way together."""
    order = {place: index for index, place in enumerate(installation.places)}
    found = []
    for run in installation.runs:
        if run.circuit is not None and run is not installation.legs_of[run.circuit][0]:
            continue
        stretches = installation.stretches_of[run]
        if isinstance(stretches, t.Unknown):
            found.append(Course(run, None))
            continue
        by_place: dict[t.Place, tuple[t.Stretch, ...]] = {}
        for stretch in stretches:
            by_place[stretch.place] = (*by_place.get(stretch.place, ()), stretch)
        met = [order[place] for place in by_place] or [0]
        found.append(Course(run, by_place, met[0] <= met[-1]))
    last = len(order)
    return sorted(found, key=lambda c: sorted(order[place] for place in c.stretches or ()) or [last])


def _marks(installation: t.Installation, findings: Sequence[Finding]) -> Marks:
    cells: dict[tuple[str, str], tuple[int, ...]] = {}
    runs: dict[str, tuple[int, ...]] = {}
    places: dict[str, tuple[int, ...]] = {}
    of_runs = {run.name for run in installation.runs}
    of_places = {place.name for place in installation.places}
    for number, finding in enumerate(findings, 1):
        met = [name for name in finding.things if name in of_runs]
        where = [name for name in finding.things if name in of_places]
        for run in met[:1]:
            for place in where[:1]:
                cells[run, place] = (*cells.get((run, place), ()), number)
            if not where:
                runs[run] = (*runs.get(run, ()), number)
        if not met:
            for place in where[:1]:
                places[place] = (*places.get(place, ()), number)
    return Marks(cells, runs, places)


def _pill_words(numbers: Sequence[int]) -> str:
    """Numbers with a dash for three and more in a row: 3, 5–8."""
    ranges: list[list[int]] = []
    for number in sorted(numbers):
        if ranges and number == ranges[-1][-1] + 1:
            ranges[-1].append(number)
        else:
            ranges.append([number])
    return ", ".join(
        f"{each[0]}–{each[-1]}" if len(each) > 2 else ", ".join(map(str, each)) for each in ranges
    )


def _pill(x: float, y: float, numbers: Sequence[int]) -> str:
    """The numbers of findings, standing left of `x`."""
    if not numbers:
        return ""
    words = _pill_words(numbers)
    wide = width_of(words, bold=True) + 6
    body = rect(x - wide, y - 7, wide, 9.5, f'rx="4" fill="{COPPER}" stroke="none"')
    return body + text(x - wide / 2, y, words, bold=True, anchor="middle", fill="#ffffff")


def _pill_width(numbers: Sequence[int]) -> float:
    return width_of(_pill_words(numbers), bold=True) + 10 if numbers else 0.0


# ---------------------------------------------------------------- room


def _says(run: t.Run) -> tuple[str, str]:
    return size_words(run), f"{run.start.name} to {run.end.name}"


def _left_width(course: Course, marks: Marks) -> float:
    name = width_of(course.run.name, bold=True) + _pill_width(marks.runs.get(course.run.name, ()))
    return min(200.0, max(name, widest(_says(course.run)))) + 10


def _head(place: t.Place) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The name of a place in lines, and what it does to a cable."""
    told = wrapped(place.name, CELL + 8, 2, bold=True)
    if isinstance(place.opening, str):
        return wrapped(place.name, CELL, 3, bold=True), ("bare hole",) if place.opening == "bare" else (
            place.opening,
        )
    warm = () if isinstance(place.hottest, t.Unknown) else (place.hottest.text.replace("degC", "°C"),)
    return told, (*warm, *(shortened(each, CELL + 8) for each in sorted(place.stated_hazards)))


def _width(place: t.Place, courses: Sequence[Course], marks: Marks) -> float:
    told, more = _head(place)
    wide = max(CELL if not isinstance(place.opening, str) else 24.0, widest(told, bold=True), widest(more))
    for course in courses:
        if course.stretches and place in course.stretches:
            over, under = _cell_words(course.stretches[place])
            numbers = marks.cells.get((course.run.name, place.name), ())
            wide = max(wide, width_of(over) + _pill_width(numbers), widest(under))
    return max(wide, _pill_width(marks.places.get(place.name, ()))) + 8


def _cell_words(stretches: Sequence[t.Stretch]) -> tuple[str, tuple[str, ...]]:
    """Over the line how long, under it what the run wears there."""
    long = " + ".join(stretch.length.text for stretch in stretches if stretch.length)
    worn = dict.fromkeys(stretch.sleeve for stretch in stretches if isinstance(stretch.sleeve, str))
    slack = [f"slack {stretch.slack.text}" for stretch in stretches if stretch.slack]
    return long, (*worn, *slack) if stretches[0].length else ()


def _columns(
    places: tuple[t.Place, ...], widths: Mapping[t.Place, float], left: float
) -> list[tuple[t.Place, ...]]:
    """The places parted evenly to as few pages across as hold them."""
    room = LANDSCAPE[0] * SIZE / LEAST - left - 8
    total = sum(widths[place] for place in places)
    pages = max(1, ceil(total / room))
    room = min(room, total / pages + max(widths.values(), default=0.0))
    found: list[tuple[t.Place, ...]] = [()]
    for place in places:
        if found[-1] and sum(widths[each] for each in (*found[-1], place)) > room:
            found.append(())
        found[-1] = (*found[-1], place)
    return found


def _head_height(columns: Sequence[t.Place]) -> float:
    return max((sum(map(len, _head(place))) for place in columns), default=1) * LEADING + 16


def _legend(
    rows: Sequence[Course],
    columns: Sequence[t.Place],
    marks: Marks,
    findings: Sequence[Finding],
    width: float,
) -> list[tuple[int, tuple[str, ...]]]:
    """The findings that are marked on a sheet, in their order, each in up to two lines."""
    numbers: set[int] = {n for place in columns for n in marks.places.get(place.name, ())}
    for row in rows:
        numbers.update(marks.runs.get(row.run.name, ()))
        numbers.update(n for place in columns for n in marks.cells.get((row.run.name, place.name), ()))
    told = [(number, findings[number - 1]) for number in sorted(numbers)]
    return [(n, wrapped(f"{each.severity}: {each.message}", width - 40, 2)) for n, each in told]


def _pages(
    courses: Sequence[Course],
    columns: Sequence[t.Place],
    marks: Marks,
    findings: Sequence[Finding],
    width: float,
    room: float,
) -> list[list[Course]]:
    pages: list[list[Course]] = [[]]
    for course in courses:
        rows = [*pages[-1], course]
        legend = _legend(rows, columns, marks, findings, width)
        if pages[-1] and _height(columns, rows, legend) > room:
            pages.append([])
        pages[-1].append(course)
    return pages


def _height(
    columns: Sequence[t.Place], rows: Sequence[Course], legend: Sequence[tuple[int, tuple[str, ...]]]
) -> float:
    foot = sum(len(words) * LEADING + 3 for _, words in legend) + 8 if legend else 4.0
    return _head_height(columns) + sum(row.height for row in rows) + foot


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
    legend = _legend(rows, columns, marks, findings, width)
    if not legend:
        width = min(width, left + max(60.0, sum(widths[place] for place in columns)) + 8)
    height = _height(columns, rows, legend)
    starts: dict[t.Place, float] = {}
    x = left
    for place in columns:
        starts[place] = x
        x += widths[place]
    top = _head_height(columns)
    bottom = top + sum(row.height for row in rows)
    body = "".join(_place(place, starts[place], widths[place], top, bottom, marks) for place in columns)
    at = top
    for course in rows:
        body += _course(installation, course, starts, widths, at, (left, width), marks)
        at += course.height
    y = bottom + LEADING + 4
    for mark, words in legend:
        body += _pill(28, y, (mark,)) + lines(34, y, words)
        y += len(words) * LEADING + 3
    several = number[1] > 1
    title = "Routing plan" + (f", sheet {number[0]} of {number[1]}" if several else "")
    return drawing(
        "routing" + (f"-{number[0]}" if several else ""), title, _told(rows), body, width, height, landscape
    )


def _told(rows: Sequence[Course]) -> str:
    said = [
        f"{row.run.name} through {', '.join(each.name for each in row.stretches)}"
        if row.stretches
        else f"{row.run.name} by an unknown path"
        for row in rows
    ]
    return "; ".join(said) + "."


def _place(place: t.Place, x: float, width: float, top: float, bottom: float, marks: Marks) -> str:
    """The column of a place with its head; a hole is a narrow shaded one."""
    hole = isinstance(place.opening, str)
    fill = "#efede4" if hole else "none"
    drawn = rect(x, top, width, bottom - top, f'fill="{fill}" stroke="{HAIR}" stroke-width="0.5"')
    told, more = _head(place)
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
    return group(drawn + _pill(middle + _pill_width(numbers) / 2 - 2, y - LEADING, numbers), place.name)


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
    name = shortened(run.name, left - 8 - _pill_width(marks.runs.get(run.name, ())), bold=True)
    drawn = line([(2, top), (width - 6, top)], f'stroke="{HAIR}" stroke-width="0.4"')
    drawn += text(2, top + 9, name, bold=True, fill=COPPER)
    drawn += lines(2, top + 9 + LEADING, [shortened(each, left - 8) for each in _says(run)], fill=SOFT)
    drawn += _pill(left - 4, top + 9, marks.runs.get(run.name, ()))
    y = top + LEVEL
    if not course.stretches:
        said = "path unknown" if course.stretches is None else "no path"
        return of_run(run.name, drawn + text(left + 4, y + 3, said, fill=SOFT), _says(run)[1])
    here = [place for place in starts if place in course.stretches]
    for piece in _pieces(course, here, starts, widths):
        drawn += _cable(run, piece, y)
    for place in here:
        drawn += _stretch(course, place, starts[place], widths[place], y, marks)
    drawn += _fuses(installation, course, starts, widths, y)
    return of_run(run.name, drawn, f"{run.name}: {_says(run)[1]}, {_says(run)[0]}")


def _ends_in(course: Course, place: t.Place) -> tuple[bool, bool]:
    """Whether the run starts and whether it ends in a place."""
    every = list(course.stretches or ())
    return place is every[0], place is every[-1]


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
    over, under = _cell_words((course.stretches or {})[place])
    drawn = text(x + 4, y - 4.5, over) if over else ""
    drawn += lines(x + 4, y + 11, under, fill=SOFT)
    if isinstance(place.opening, str):
        drawn += _opening(place.opening, x + width / 2, y)
    return drawn + _pill(x + width - 2, y - 5, marks.cells.get((course.run.name, place.name), ()))


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


def _opening(kind: str, x: float, y: float) -> str:
    """How a hole is lined: a ring for a grommet, two for a gland, a jagged edge for a bare one."""
    if kind == "bare":
        jag = "".join(f"l{3 if n % 2 else -3} 3.5" for n in range(6))
        return path(f"M{x - 3:.1f} {y - 10.5:.1f}m3 0{jag}", f'stroke="{COPPER}" stroke-width="1.4"')
    rings = circle(x, y, 5, 'stroke-width="1.4"')
    return rings + (circle(x, y, 7.5) if kind == "gland" else "")


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
                    return drawn + symbols.fuse(x, y)
    return drawn
