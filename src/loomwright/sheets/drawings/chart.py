"""What charts share: a frame, scales from figures to paper, curves that are sharp where they jump, and words that find room."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise, product
from math import hypot, log10

from loomwright.record import Record
from loomwright.sheets.drawings.lettering import SIZE, width_of
from loomwright.sheets.drawings.svg import HAIR, INK, PAPER, SOFT, Point, course, line, path, rect, text


class Scale(Record):
    """Figures from `low` to `high` onto paper from `start` to `end`, evenly or by their logarithms."""

    low: float
    high: float
    start: float
    end: float
    log: bool = False

    def at(self, value: float) -> float:
        """Where a figure stands; what lies beyond the ends stands at the end."""
        value = min(max(value, self.low), self.high)
        share = (
            log10(value / self.low) / log10(self.high / self.low)
            if self.log
            else (value - self.low) / (self.high - self.low)
        )
        return self.start + share * (self.end - self.start)

    def holds(self, value: float) -> bool:
        return self.low <= value <= self.high

    def steps(self, count: int) -> list[float]:
        """Figures evenly spread on the paper, both ends among them."""
        if self.log:
            return [self.low * (self.high / self.low) ** (index / count) for index in range(count + 1)]
        return [self.low + (self.high - self.low) * index / count for index in range(count + 1)]


class Frame(Record):
    """The field of a chart: its two scales."""

    x: Scale
    y: Scale

    def point(self, x: float, y: float) -> Point:
        return self.x.at(x), self.y.at(y)

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom on paper."""
        return self.x.start, self.y.end, self.x.end, self.y.start


def decade(exponent: int) -> str:
    """A power of ten as it is read: 0.01, 10, 10 000."""
    if exponent < 0:
        return f"{10.0**exponent:.{-exponent}f}"
    return f"{10**exponent:,}".replace(",", "\u202f" if exponent > 3 else "")


def decades(low: float, high: float) -> range:
    return range(round(log10(low)), round(log10(high)) + 1)


def log_grid(frame: Frame, x_unit: str, y_unit: str) -> str:
    """Grid of both axes by decades with their nine steps, the decades named and the units said."""
    left, top, right, bottom = frame.box
    fine, bold, drawn = "", "", ""
    for scale, upright in ((frame.x, True), (frame.y, False)):
        for exponent in decades(scale.low, scale.high):
            for step in range(1, 10):
                value = step * 10.0**exponent
                if not scale.holds(value * (1 + 1e-12)) and not scale.holds(value * (1 - 1e-12)):
                    continue
                at = scale.at(value)
                ends = course([(at, top), (at, bottom)] if upright else [(left, at), (right, at)])
                fine, bold = (fine, bold + ends) if step == 1 else (fine + ends, bold)
            at = scale.at(10.0**exponent)
            if upright:
                drawn += text(at, bottom + SIZE + 3, decade(exponent), anchor="middle", fill=SOFT)
            else:
                drawn += text(left - 4, at + 2.6, decade(exponent), anchor="end", fill=SOFT)
    for lines, width in ((fine, 0.3), (bold, 0.8)):
        drawn += path(lines, f'stroke="{HAIR}" stroke-width="{width}"')
    drawn += rect(left, top, right - left, bottom - top)
    drawn += text((left + right) / 2, bottom + 2 * SIZE + 6, x_unit, anchor="middle")
    return drawn + text(left - 34, top - 6, y_unit)


Curve = Callable[[float], float]


def traced(curve: Curve, frame: Frame, count: int = 24) -> list[Point]:
    """A curve on paper, cut to the frame: sampled, looked at again where it bends or jumps, and thinned where it is straight.
    Where it is infinite it has left the frame at the top."""
    figures = [(x, curve(x)) for x in frame.x.steps(count)]
    refined = [figures[0]]
    for one, other in pairwise(figures):
        refined += [*_between(curve, one, other, frame), other]
    seen = [_side(y, frame) for _, y in refined]
    kept = [
        (x, y)
        for index, (x, y) in enumerate(refined)
        if not seen[index] or any(side != seen[index] for side in seen[max(0, index - 1) : index + 2])
    ]
    return thinned([frame.point(x, y) for x, y in kept])


def _side(y: float, frame: Frame) -> int:
    """On which side of the frame a figure lies: 1 above, -1 below, 0 inside."""
    return int(y > frame.y.high) - int(y < frame.y.low)


def _between(curve: Curve, one: Point, other: Point, frame: Frame) -> list[Point]:
    """The figures between two samples that a straight line would miss: none where the middle lies on it, else both halves
    again, down to a tenth of a point."""
    start, end = frame.point(*one), frame.point(*other)
    if end[0] - start[0] < 0.1:
        return []
    x = (one[0] * other[0]) ** 0.5 if frame.x.log else (one[0] + other[0]) / 2
    middle = x, curve(x)
    if _off(start, frame.point(*middle), end) < 0.05:
        return []
    return [*_between(curve, one, middle, frame), middle, *_between(curve, middle, other, frame)]


def thinned(points: Sequence[Point]) -> list[Point]:
    """The same line with the points left out that lie straight between their neighbours."""
    kept: list[Point] = []
    for index, point in enumerate(points):
        if kept and index + 1 < len(points) and _off(kept[-1], point, points[index + 1]) < 0.04:
            continue
        kept.append(point)
    return kept


def _off(one: Point, middle: Point, other: Point) -> float:
    """How far a point lies from the straight line between two others."""
    long = hypot(other[0] - one[0], other[1] - one[1])
    area = (other[0] - one[0]) * (middle[1] - one[1]) - (other[1] - one[1]) * (middle[0] - one[0])
    return abs(area) / long if long else hypot(middle[0] - one[0], middle[1] - one[1])


# ---------------------------------------------------------------- words that find room

Area = tuple[float, float, float, float]


@dataclass(slots=True)
class Words:
    """The words of a chart: each is put where it covers nothing that is already there."""

    frame: Frame
    taken: list[Area] = field(default_factory=list)
    ink: list[Point] = field(default_factory=list)

    def avoid(self, points: Sequence[Point]) -> None:
        """Lines that words should keep clear of."""
        for one, other in pairwise(points):
            steps = max(1, int(hypot(other[0] - one[0], other[1] - one[1]) / 3))
            self.ink += [
                (one[0] + (other[0] - one[0]) * n / steps, one[1] + (other[1] - one[1]) * n / steps)
                for n in range(steps + 1)
            ]

    def put(self, words: str, near: Iterable[Point], fill: str = INK) -> str:
        """Words beside the first of the points where there is room, on a ground of paper; "" where there is none at all."""
        wide, high = width_of(words), SIZE
        best: tuple[int, Area] | None = None
        for x, y in near:
            for left, top in _around(x, y, wide, high):
                area = (left - 1.5, top - 1.5, left + wide + 1.5, top + high + 1.5)
                if not _within(area, self.frame.box) or any(_meet(area, other) for other in self.taken):
                    continue
                covers = sum(area[0] < px < area[2] and area[1] < py < area[3] for px, py in self.ink)
                if best is None or covers < best[0]:
                    best = covers, area
                if not covers:
                    return self._write(words, area, fill)
        return self._write(words, best[1], fill) if best else ""

    def _write(self, words: str, area: Area, fill: str) -> str:
        self.taken.append(area)
        ground = rect(area[0], area[1], area[2] - area[0], area[3] - area[1], f'fill="{PAPER}" stroke="none"')
        return ground + text((area[0] + area[2]) / 2, area[3] - 3, words, anchor="middle", fill=fill)


def _around(x: float, y: float, wide: float, high: float) -> list[Point]:
    """Where the left top corner may be: right, left, above and below a point."""
    right, left = x + 6, x - wide - 6
    return [
        (right, y - high - 3),
        (right, y + 3),
        (left, y + 3),
        (left, y - high - 3),
        (right, y - high / 2),
        (left, y - high / 2),
    ]


def _within(area: Area, box: Area) -> bool:
    return area[0] >= box[0] and area[1] >= box[1] and area[2] <= box[2] and area[3] <= box[3]


def _meet(one: Area, other: Area) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def flags(marks: Sequence[tuple[float, str]], frame: Frame) -> str:
    """Upright lines at figures of the lower axis, each with its words over the frame: as low as they can stand with no line
    through words."""
    top, bottom = frame.box[1], frame.box[3]
    places = [(frame.x.at(value), words) for value, words in sorted(marks)]
    tries = (
        [_Flag(at, words, side, row) for (at, words), side, row in zip(places, sides, rows, strict=True)]
        for rows in sorted(
            product(range(len(places)), repeat=len(places)),
            key=lambda rows: (max(rows, default=0), sum(rows)),
        )
        for sides in product((1, -1), repeat=len(places))
    )
    chosen = next((each for each in tries if _stand_apart(each, frame)), [])
    drawn = ""
    for flag in chosen:
        height = top - 8 - flag.row * (SIZE + 3)
        drawn += line([(flag.at, bottom), (flag.at, height - 4)], f'stroke="{INK}" stroke-dasharray="3 2"')
        drawn += text(flag.span[0], height, flag.words)
    return drawn


class _Flag(Record):
    """Words at the right (1) or the left (-1) of a line, in a row counted from below."""

    at: float
    words: str
    side: int
    row: int

    @property
    def span(self) -> tuple[float, float]:
        wide = width_of(self.words)
        return (self.at + 3, self.at + 3 + wide) if self.side > 0 else (self.at - 3 - wide, self.at - 3)


def _stand_apart(flags: Sequence[_Flag], frame: Frame) -> bool:
    """Whether all words are within the frame's width, none on another, and no line goes through any."""
    for flag in flags:
        low, high = flag.span
        if low < frame.x.start or high > frame.x.end + 12:
            return False
        for other in flags:
            if other is flag:
                continue
            if other.row == flag.row and low - 4 < other.span[1] and other.span[0] - 4 < high:
                return False
            if other.row >= flag.row and low - 2 < other.at < high + 2:
                return False
    return True
