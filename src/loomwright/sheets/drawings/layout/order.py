"""In which order the nodes of a column stand, so that few wires cross."""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.record import Record
from loomwright.sheets.drawings.layout.graph import Edge
from loomwright.sheets.drawings.layout.rank import columns_of, turned_edges

SWEEPS = 8


class Piece(Record):
    """The part of an edge that lies between two neighbouring columns. `tail_at` as in `Edge`; `last` when it
    ends at a node."""

    edge: int
    tail: int
    head: int
    tail_at: float | None
    last: bool


class Layers(Record):
    """Columns of vertices from left to right. A vertex below the number of nodes is that node; the others are the passages
    of long edges through a column. `channels[i]` lies between columns i and i + 1."""

    nodes: int
    columns: tuple[tuple[int, ...], ...]
    channels: tuple[tuple[Piece, ...], ...]
    turned: frozenset[int]


def layers_of(count: int, edges: Sequence[Edge]) -> Layers:
    """Ranked and ordered; ties stand in the order of the nodes."""
    turned = turned_edges(count, edges)
    ends = [(e.head, e.tail) if i in turned else (e.tail, e.head) for i, e in enumerate(edges)]
    column = columns_of(count, ends)
    wide = max(column, default=-1) + 1
    columns: list[list[int]] = [[] for _ in range(wide)]
    for node in range(count):
        columns[column[node]].append(node)
    channels: list[list[Piece]] = [[] for _ in range(max(0, wide - 1))]
    key = [float(node) for node in range(count)]
    for index, (tail, head) in enumerate(ends):
        edge = edges[index]
        leaves = None if index in turned else edge.tail_at
        at = tail
        for between in range(column[tail], column[head]):
            last = between == column[head] - 1
            to = head if last else len(key)
            if not last:
                key.append(head + index / (len(edges) + 1))
                columns[between + 1].append(to)
            channels[between].append(Piece(index, at, to, leaves if at == tail else None, last))
            at = to
    first = [sorted(each, key=lambda vertex: (key[vertex], vertex)) for each in columns]
    best = _ordered(first, channels, key)
    return Layers(count, tuple(map(tuple, best)), tuple(map(tuple, channels)), turned)


def _ordered(columns: list[list[int]], channels: list[list[Piece]], key: list[float]) -> list[list[int]]:
    best, least = [list(each) for each in columns], crossings(columns, channels)
    for sweep in range(SWEEPS):
        if not least:
            break
        forward = sweep % 2 == 0
        for index in range(1, len(columns)) if forward else range(len(columns) - 2, -1, -1):
            channel = channels[index - 1] if forward else channels[index]
            _sort(columns[index], columns[index - 1 if forward else index + 1], channel, forward, key)
        _swap(columns, channels)
        now = crossings(columns, channels)
        if now < least:
            best, least = [list(each) for each in columns], now
    return best


def _sort(
    column: list[int], beside: list[int], channel: list[Piece], forward: bool, key: list[float]
) -> None:
    """Order one column by the mean place of its neighbours in the one beside it."""
    place = {vertex: float(index) for index, vertex in enumerate(beside)}
    met: dict[int, list[float]] = {}
    for piece in channel:
        own, other, at = (
            (piece.head, piece.tail, piece.tail_at) if forward else (piece.tail, piece.head, None)
        )
        met.setdefault(own, []).append(place[other] + _share(at))
    now = {vertex: float(index) for index, vertex in enumerate(column)}
    mean = {
        vertex: sum(met[vertex]) / len(met[vertex]) if vertex in met else now[vertex] for vertex in column
    }
    column.sort(key=lambda vertex: (round(mean[vertex], 6), key[vertex], vertex))


def _share(at: float | None) -> float:
    """A place within a node as less than half a step between nodes."""
    return 0.0 if at is None else 0.5 * at / (at + 200.0)


def _swap(columns: list[list[int]], channels: list[list[Piece]]) -> None:
    """Swap neighbours while that takes crossings away."""
    for index, column in enumerate(columns):
        near = [channels[each] for each in (index - 1, index) if 0 <= each < len(channels)]
        around = columns[max(0, index - 1) : index + 2]
        for above in range(len(column) - 1):
            before = crossings(around, near)
            if not before:
                break
            column[above], column[above + 1] = column[above + 1], column[above]
            if crossings(around, near) >= before:
                column[above], column[above + 1] = column[above + 1], column[above]


def crossings(columns: Sequence[Sequence[int]], channels: Sequence[Sequence[Piece]]) -> int:
    """How many pairs of wires must cross between the columns."""
    place = {vertex: index for column in columns for index, vertex in enumerate(column)}
    found = 0
    for channel in channels:
        ends = sorted((place[p.tail] + _share(p.tail_at), place[p.head]) for p in channel)
        found += sum(
            one[0] < other[0] and one[1] > other[1] for i, one in enumerate(ends) for other in ends[i + 1 :]
        )
    return found
