"""How a diagram that is too large for one sheet is parted: first by hub, then between columns, then by height."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from loomwright.model import things as t
from loomwright.sheets.drawings.layout import Edge, layers_of
from loomwright.sheets.drawings.network import Line, Spot, View

MOST_LOADS = 30
"""A sheet with more loads than this is parted though it would fit: it is no longer one picture."""
Fits = Callable[[Sequence[Line]], bool]


def parted(view: View, fits: Fits) -> tuple[tuple[Line, ...], ...]:
    """The lines of a view, sheet by sheet; every line on exactly one."""
    every = view.lines
    if _is_small(every) and fits(every):
        return (every,)
    clusters = _by_hub(view)
    parts = clusters if len(clusters) > 1 else (every,)
    return tuple(done for part in parts for done in _halved(view, part, fits))


def _is_small(lines: Sequence[Line]) -> bool:
    return len({one.head for one in lines if isinstance(one.head, t.Load)}) <= MOST_LOADS


def _by_hub(view: View) -> tuple[tuple[Line, ...], ...]:
    """What only one hub feeds goes on a sheet of its own, what is left on the first. A hub that feeds another keeps the line
    to it."""
    hubs = [
        spot for spot in view.spots if isinstance(spot, t.Hub) and any(one.tail is spot for one in view.lines)
    ]
    home: dict[Spot, t.Hub | None] = {}
    owner: dict[Line, t.Hub | None] = {}
    for spot in _downwards(view):
        into = [one for one in view.lines if one.head is spot]
        owners = {owner.get(one) for one in into}
        home[spot] = (
            spot if isinstance(spot, t.Hub) and spot in hubs else owners.pop() if len(owners) == 1 else None
        )
        owner.update((one, home[spot]) for one in view.lines if one.tail is spot)
    first = tuple(one for one in view.lines if owner.get(one) is None)
    rest = (tuple(one for one in view.lines if owner.get(one) is hub) for hub in hubs)
    return tuple(part for part in (first, *rest) if part)


def _downwards(view: View) -> list[Spot]:
    columns = _columns(view.spots, view.lines)
    return sorted(view.spots, key=lambda spot: columns[spot])


def _columns(spots: Sequence[Spot], lines: Sequence[Line]) -> dict[Spot, int]:
    number = {spot: index for index, spot in enumerate(spots)}
    edges = [Edge(number[one.tail], number[one.head]) for one in lines if one.tail is not one.head]
    layers = layers_of(len(spots), edges)
    return {spots[v]: index for index, column in enumerate(layers.columns) for v in column if v < len(spots)}


def _halved(view: View, lines: tuple[Line, ...], fits: Fits) -> tuple[tuple[Line, ...], ...]:
    """Cut until each part fits, where the fewest lines cross the cut."""
    if len(lines) < 2 or (_is_small(lines) and fits(lines)):
        return (lines,)
    spots = tuple(spot for spot in view.spots if any(spot in (one.tail, one.head) for one in lines))
    cut = _cut(lines, _columns(spots, lines))
    if cut is None:
        middle = (len(lines) + 1) // 2
        sorted_lines = tuple(sorted(lines, key=lambda one: (spots.index(one.tail), _number(one.start))))
        cut = sorted_lines[:middle], sorted_lines[middle:]
    return (*_halved(view, cut[0], fits), *_halved(view, cut[1], fits))


def _cut(
    lines: tuple[Line, ...], columns: dict[Spot, int]
) -> tuple[tuple[Line, ...], tuple[Line, ...]] | None:
    """Lines that leave a column left of the cut, and the others; None where there are fewer than three columns."""
    wide = max(columns.values()) + 1
    best = None
    for at in range(1, wide - 1):
        left = tuple(one for one in lines if columns[one.tail] < at)
        right = tuple(one for one in lines if columns[one.tail] >= at)
        cross = sum(columns[one.tail] < at <= columns[one.head] for one in lines)
        cost = cross + abs(2 * at - wide)
        if left and right and (best is None or cost < best[0]):
            best = cost, left, right
    return best and (best[1], best[2])


def _number(label: str) -> int:
    return int(label) if label.isdigit() else 0
