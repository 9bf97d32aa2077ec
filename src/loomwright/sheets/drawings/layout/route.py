"""How wires run between two columns: level, upright in a lane, level again.

Which of two wires takes the lane to the left is decided for each pair by what they would do to one another: run on the same
line (never allowed) or cross. In a fan this hands out lanes from the outer wires inwards.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations

from loomwright.record import Record

CLOSE = 4.0
"""Level pieces of wires nearer than this would be taken for one."""
NEVER = 1000


class Span(Record):
    """A wire to be led from height `start` on the left to height `stop` on the right. Wires of one `net` start together."""

    start: float
    stop: float

    @property
    def low(self) -> float:
        return min(self.start, self.stop)

    @property
    def high(self) -> float:
        return max(self.start, self.stop)

    @property
    def level(self) -> bool:
        return abs(self.start - self.stop) < 0.05


Turns = tuple[tuple[int, float], ...]
"""Each upright piece of a wire: its lane and the height at which it ends."""


def lanes_of(spans: Sequence[Span]) -> tuple[list[Turns], int]:
    """The turns of each wire from left to right, and how many lanes they take."""
    turning = [index for index, span in enumerate(spans) if not span.level]
    parts: dict[int, list[Span]] = {index: [spans[index]] for index in turning}
    order, stuck = _order([(index, 0) for index in turning], parts)
    heights = [height for span in spans for height in (span.start, span.stop)]
    while stuck:
        index = stuck[0][0]
        whole = spans[index]
        middle = _free_height(whole, heights)
        heights.append(middle)
        parts[index] = [Span(whole.start, middle), Span(middle, whole.stop)]
        order, stuck = _order([(i, part) for i in turning for part in range(len(parts[i]))], parts)
        stuck = [each for each in stuck if len(parts[each[0]]) == 1]
    lane = _lanes(order, parts)
    turns: list[Turns] = [() for _ in spans]
    for index, pieces in parts.items():
        turns[index] = tuple((lane[index, part], piece.stop) for part, piece in enumerate(pieces))
    return turns, max(lane.values(), default=-1) + 1


Part = tuple[int, int]


def _order(items: list[Part], parts: Mapping[int, list[Span]]) -> tuple[list[Part], list[Part]]:
    """The upright pieces from left to right, and those that are in one another's way whichever comes first."""
    before: dict[Part, set[Part]] = {item: set() for item in items}
    rather: dict[Part, dict[Part, int]] = {item: {} for item in items}
    for one, other in combinations(items, 2):
        if one[0] == other[0]:
            before[other].add(one)
            continue
        left, right = _harm(_of(parts, one), _of(parts, other)), _harm(_of(parts, other), _of(parts, one))
        if left >= NEVER:
            before[one].add(other)
        if right >= NEVER:
            before[other].add(one)
        if left < right:
            rather[other][one] = right - left
        elif right < left:
            rather[one][other] = left - right
    done: list[Part] = []
    stuck: list[Part] = []
    rest = list(items)
    while rest:
        free = [item for item in rest if not before[item] & set(rest)]
        if not free:
            stuck.append(min(rest, key=lambda item: (len(before[item] & set(rest)), item)))
            free = [stuck[-1]]
        left_over = set(rest)
        chosen = min(
            free, key=lambda item: (sum(w for each, w in rather[item].items() if each in left_over), item)
        )
        done.append(chosen)
        rest.remove(chosen)
    return done, stuck


def _of(parts: Mapping[int, list[Span]], item: Part) -> Span:
    return parts[item[0]][item[1]]


def _harm(left: Span, right: Span) -> int:
    """What it costs when `left` takes a lane to the left of `right`: crossings, or NEVER for running on one line."""
    if abs(left.stop - right.start) < CLOSE:
        return NEVER
    return int(right.low < left.stop < right.high) + int(left.low < right.start < left.high)


def _lanes(order: list[Part], parts: Mapping[int, list[Span]]) -> dict[Part, int]:
    """Lanes from left to right; a lane is shared only by wires that have nothing to do with one another."""
    lane: dict[Part, int] = {}
    for item in order:
        span = _of(parts, item)
        lane[item] = max(
            (lane[each] + 1 for each in lane if each[0] == item[0] or _meet(_of(parts, each), span)),
            default=0,
        )
    return lane


def _meet(one: Span, other: Span) -> bool:
    near = one.low - CLOSE < other.high and other.low - CLOSE < one.high
    return near or _harm(one, other) != _harm(other, one)


def _free_height(span: Span, taken: Sequence[float]) -> float:
    """A height for a step of a wire that must pass another twice: near its middle, clear of all level pieces."""
    middle = (span.start + span.stop) / 2
    steps = [middle + sign * CLOSE * step / 2 for step in range(200) for sign in (1, -1)]
    return next((each for each in steps if all(abs(each - y) >= CLOSE for y in taken)), middle)
