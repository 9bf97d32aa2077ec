"""How high everything stands: where wires land on their nodes, and where the nodes lie in their columns."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

from loomwright.record import Record
from loomwright.sheets.drawings.layout.graph import AIR, GAP, PORT, Edge, Node
from loomwright.sheets.drawings.layout.order import Layers, Piece

SWEEPS = 6


class Extent(Record):
    """A vertex of a column: its own height, and how far the labels of its wires stand out over and under it."""

    height: float
    over: float
    under: float


class Placed(Record):
    """`top` of each vertex, and where each piece of wire leaves and lands, all from the top of the drawing."""

    tops: Mapping[int, float]
    extents: Mapping[int, Extent]
    leaves: Mapping[Piece, float]
    lands: Mapping[Piece, float]


def place(nodes: Sequence[Node], edges: Sequence[Edge], layers: Layers) -> Placed:
    extents, leaves, lands = _ports(nodes, edges, layers)
    tops = _tops(layers, extents, leaves, lands)
    highest = min((tops[v] - extents[v].over for v in tops), default=0.0)
    tops = {vertex: top - highest for vertex, top in tops.items()}
    return Placed(
        tops,
        extents,
        {piece: tops[piece.tail] + at for piece, at in leaves.items()},
        {piece: tops[piece.head] + at for piece, at in lands.items()},
    )


Ports = Mapping[Piece, float]


def _ports(
    nodes: Sequence[Node], edges: Sequence[Edge], layers: Layers
) -> tuple[dict[int, Extent], Ports, Ports]:
    """The extent of each vertex, and how far below its top each piece leaves its tail and lands on its head.

    Wires stand in the order of their other ends, so that they don't cross before the box.
    """
    place = {vertex: index for column in layers.columns for index, vertex in enumerate(column)}
    entering: dict[int, list[Piece]] = {}
    leaving: dict[int, list[Piece]] = {}
    for piece in (piece for channel in layers.channels for piece in channel):
        leaving.setdefault(piece.tail, []).append(piece)
        entering.setdefault(piece.head, []).append(piece)
    extents = {vertex: Extent(0.0, AIR, AIR) for column in layers.columns for vertex in column}
    leaves = {piece: 0.0 for channel in layers.channels for piece in channel}
    lands = dict(leaves)
    for vertex, node in enumerate(nodes):
        into = sorted(entering.get(vertex, ()), key=lambda p: (place[p.tail], p.tail_at or 0.0, p.edge))
        out = sorted(leaving.get(vertex, ()), key=lambda p: (place[p.head], p.edge))
        free_out = [piece for piece in out if piece.tail_at is None]
        steps_in = [
            max(PORT, edges[one.edge].below + edges[other.edge].above + 2.0) for one, other in pairwise(into)
        ]
        steps_out = [PORT] * (len(free_out) - 1)
        span = max(node.span, sum(steps_in), sum(steps_out))
        height = node.head + span + node.foot
        lands.update(_spread(into, steps_in, node.head, span))
        leaves.update(_spread(free_out, steps_out, node.head, span))
        fixed = {piece: piece.tail_at for piece in out if piece.tail_at is not None}
        if fixed and free_out:  # the others leave above them
            first = min(fixed.values())
            step = min(PORT, (first - PORT) / len(free_out))
            leaves.update((p, first - PORT - step * n) for n, p in enumerate(reversed(free_out)))
        leaves.update(fixed)
        over = max((edges[p.edge].above - lands[p] for p in into), default=0.0)
        under = max((lands[p] + edges[p.edge].below - height for p in into), default=0.0)
        extents[vertex] = Extent(height, max(0.0, over), max(0.0, under))
    return extents, leaves, lands


def _spread(
    pieces: list[Piece], steps: list[float], first: float, span: float
) -> Iterable[tuple[Piece, float]]:
    """The pieces one under the other, in the middle of the stretch that they may land on."""
    at = first + (span - sum(steps)) / 2
    for piece, step in zip(pieces, [*steps, 0.0], strict=True) if pieces else ():
        yield piece, at
        at += step


def _tops(layers: Layers, extents: Mapping[int, Extent], leaves: Ports, lands: Ports) -> dict[int, float]:
    """The fullest column first, then outwards from it, each vertex as level with its neighbours as the others let it."""
    columns = layers.columns
    if not columns:
        return {}
    full = [
        sum(extents[v].height + extents[v].over + extents[v].under + GAP for v in column)
        for column in columns
    ]
    start = full.index(max(full))
    wanted: dict[int, list[tuple[int, float]]] = {v: [] for column in columns for v in column}
    for piece in (piece for channel in layers.channels for piece in channel):
        shift = leaves[piece] - lands[piece]
        wanted[piece.head].append((piece.tail, shift))
        wanted[piece.tail].append((piece.head, -shift))
    tops: dict[int, float] = {}
    _settle(columns[start], {}, wanted, tops, extents)
    outward = [*range(start + 1, len(columns)), *range(start - 1, -1, -1)]
    for sweep in range(SWEEPS):
        for index in outward:
            inner = columns[index - 1] if index > start else columns[index + 1]
            known = {v: tops[v] for v in inner} if sweep in (0, SWEEPS - 1) else tops
            _settle(columns[index], known, wanted, tops, extents)
        if sweep < SWEEPS - 2:
            _settle(columns[start], tops, wanted, tops, extents)
    return tops


def _settle(
    column: Sequence[int],
    known: Mapping[int, float],
    wanted: Mapping[int, list[tuple[int, float]]],
    tops: dict[int, float],
    extents: Mapping[int, Extent],
) -> None:
    """Place one column: everything where it wants to be, then what overlaps is pushed apart by merging it into blocks that
    stand at their mean (the least sum of squares)."""
    blocks: list[tuple[float, float, int]] = []  # where it wants to start, its weight, how many stand in it
    offset = 0.0
    offsets = []
    for index, vertex in enumerate(column):
        if index:
            above = column[index - 1]
            offset += extents[above].height + extents[above].under + GAP + extents[vertex].over
        offsets.append(offset)
        places = [known[other] + shift for other, shift in wanted[vertex] if other in known]
        usual = tops.get(vertex, offset)
        wish = sum(places) / len(places) if places else usual
        weight = float(len(places) or 0.1)
        blocks.append((wish - offset, weight, 1))
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (y1, w1, n1), (y2, w2, n2) = blocks[-2:]
            blocks[-2:] = [((y1 * w1 + y2 * w2) / (w1 + w2), w1 + w2, n1 + n2)]
    at = 0
    for start, _, count in blocks:
        for index in range(at, at + count):
            tops[column[index]] = round(start + offsets[index], 3)
        at += count
