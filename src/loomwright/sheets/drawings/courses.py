"""What a routing plan shows and how much room it takes: the runs by the places they pass, the findings by where they stand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from math import ceil

from loomwright.model import things as t
from loomwright.record import Record
from loomwright.rulebook.finding import Finding
from loomwright.sheets.drawings.diagram import size_words
from loomwright.sheets.drawings.lettering import LEADING, LEAST, SIZE, shortened, widest, width_of, wrapped
from loomwright.sheets.drawings.svg import COPPER, LANDSCAPE, rect, text

ROW = 30.0
"""Least height of a row."""
CELL = 40.0
"""Least width of a place, with room for its name."""


class Marks(Record):
    """Which findings stand where, by their numbers: at a run in a place, at a run, at a place."""

    cells: Mapping[tuple[str, str], tuple[int, ...]]
    runs: Mapping[str, tuple[int, ...]]
    places: Mapping[str, tuple[int, ...]]


class Course(Record):
    """A run (of a circuit the feed, for both legs) with its stretches by place in its own order, None where its path is unknown;
    `forward` when it goes through the columns from left to right."""

    run: t.Run
    stretches: Mapping[t.Place, tuple[t.Stretch, ...]] | None
    forward: bool = True

    @property
    def height(self) -> float:
        """What its row takes."""
        under = max((len(cell_words(each)[1]) for each in (self.stretches or {}).values()), default=0)
        return ROW + LEADING * max(0, under - 1)


# ---------------------------------------------------------------- what is drawn


def in_order(installation: t.Installation) -> tuple[t.Place, ...]:
    """The places in the order of the text; a hole that is written outside of what it joins stands between, before the later of
    the two, so that no run goes past its own end."""
    order = list(installation.places)
    for hole in (place for place in installation.places if isinstance(place.opening, str)):
        joined = [order.index(place) for place in _beside(hole, installation)]
        if joined and not min(joined) < order.index(hole) < max(joined):
            later = order[max(joined)]
            order.remove(hole)
            order.insert(order.index(later), hole)
    return tuple(order)


def _beside(hole: t.Place, installation: t.Installation) -> set[t.Place]:
    """The places that runs come from into a hole and go to out of it."""
    found: set[t.Place] = set()
    for stretches in installation.stretches_of.values():
        if not isinstance(stretches, t.Unknown):
            for one, other in pairwise([stretch.place for stretch in stretches]):
                found |= {one, other} if hole in (one, other) else set()
    return found - {hole}


def courses_of(installation: t.Installation) -> list[Course]:
    """Every run once, those that take the same way together."""
    order = {place: index for index, place in enumerate(in_order(installation))}
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


def marks_of(installation: t.Installation, findings: Sequence[Finding]) -> Marks:
    """Where each finding stands: at the first run and the first place that it names. Its number is its place in the sequence."""
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


def pill_words(numbers: Sequence[int]) -> str:
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


def pill(x: float, y: float, numbers: Sequence[int]) -> str:
    """The numbers of findings, standing left of `x`."""
    if not numbers:
        return ""
    words = pill_words(numbers)
    wide = width_of(words, bold=True) + 6
    body = rect(x - wide, y - 7, wide, 9.5, f'rx="4" fill="{COPPER}" stroke="none"')
    return body + text(x - wide / 2, y, words, bold=True, anchor="middle", fill="#ffffff")


def pill_width(numbers: Sequence[int]) -> float:
    """What the numbers of findings take beside other words."""
    return width_of(pill_words(numbers), bold=True) + 10 if numbers else 0.0


# ---------------------------------------------------------------- room


def says_of(run: t.Run) -> tuple[str, str]:
    """What stands under the name of a run: its size, and from where to where."""
    return size_words(run), f"{run.start.name} to {run.end.name}"


def left_width(course: Course, marks: Marks) -> float:
    """What the words of a row take."""
    name = width_of(course.run.name, bold=True) + pill_width(marks.runs.get(course.run.name, ()))
    return min(200.0, max(name, widest(says_of(course.run)))) + 10


def head_of(place: t.Place) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The name of a place in lines, and what it does to a cable."""
    told = wrapped(place.name, CELL + 8, 2, bold=True)
    if isinstance(place.opening, str):
        return wrapped(place.name, CELL, 3, bold=True), ("bare hole",) if place.opening == "bare" else (
            place.opening,
        )
    warm = () if isinstance(place.hottest, t.Unknown) else (place.hottest.text.replace("degC", "°C"),)
    return told, (*warm, *(shortened(each, CELL + 8) for each in sorted(place.stated_hazards)))


def place_width(place: t.Place, courses: Sequence[Course], marks: Marks) -> float:
    """What a place takes: its head, and the words of every run that passes it."""
    told, more = head_of(place)
    wide = max(CELL if not isinstance(place.opening, str) else 24.0, widest(told, bold=True), widest(more))
    for course in courses:
        if course.stretches and place in course.stretches:
            over, under = cell_words(course.stretches[place])
            numbers = marks.cells.get((course.run.name, place.name), ())
            wide = max(wide, width_of(over) + pill_width(numbers), widest(under))
    return max(wide, pill_width(marks.places.get(place.name, ()))) + 8


def cell_words(stretches: Sequence[t.Stretch]) -> tuple[str, tuple[str, ...]]:
    """Over the line how long, under it what the run wears there."""
    long = " + ".join(stretch.length.text for stretch in stretches if stretch.length)
    worn = dict.fromkeys(stretch.sleeve for stretch in stretches if isinstance(stretch.sleeve, str))
    slack = [f"slack {stretch.slack.text}" for stretch in stretches if stretch.slack]
    return long, (*worn, *slack) if stretches[0].length else ()


def columns_of(
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


def head_height(columns: Sequence[t.Place]) -> float:
    """What the heads of the places take."""
    return max((sum(map(len, head_of(place))) for place in columns), default=1) * LEADING + 16


def legend_of(
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


def pages_of(
    courses: Sequence[Course],
    columns: Sequence[t.Place],
    marks: Marks,
    findings: Sequence[Finding],
    width: float,
    room: float,
) -> list[list[Course]]:
    """The rows parted to pages of the height `room`, each with the words of its findings."""
    pages: list[list[Course]] = [[]]
    for course in courses:
        rows = [*pages[-1], course]
        legend = legend_of(rows, columns, marks, findings, width)
        if pages[-1] and height_of(columns, rows, legend) > room:
            pages.append([])
        pages[-1].append(course)
    return pages


def height_of(
    columns: Sequence[t.Place], rows: Sequence[Course], legend: Sequence[tuple[int, tuple[str, ...]]]
) -> float:
    """What a sheet takes in all."""
    foot = sum(len(words) * LEADING + 3 for _, words in legend) + 8 if legend else 4.0
    return head_height(columns) + sum(row.height for row in rows) + foot
