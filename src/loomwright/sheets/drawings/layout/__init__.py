"""Layered layout: nodes in columns from left to right, wires level and upright between them.

Four steps, each a module: `rank` puts nodes into columns, `order` sorts the columns, `place` finds heights, `route` leads the
wires. The same graph gives the same plan, to the last digit.
"""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.sheets.drawings.layout.graph import LANE, Box, Edge, Node, Plan, Wire
from loomwright.sheets.drawings.layout.order import Layers, layers_of
from loomwright.sheets.drawings.layout.place import Placed, place
from loomwright.sheets.drawings.layout.route import Span, Turns, lanes_of

__all__ = ["Box", "Edge", "Node", "Plan", "Wire", "lay_out", "layers_of"]

MARGIN = 4.0


def lay_out(nodes: Sequence[Node], edges: Sequence[Edge]) -> Plan:
    """Where everything stands. Raises ValueError for an edge from a node to itself."""
    layers = layers_of(len(nodes), edges)
    placed = place(nodes, edges, layers)
    led = [
        lanes_of([Span(placed.leaves[p], placed.lands[p]) for p in channel]) for channel in layers.channels
    ]
    starts, ends = _columns(nodes, edges, layers, [count for _, count in led])
    boxes = _boxes(nodes, layers, placed, starts, ends)
    wires = _wires(edges, layers, placed, boxes, led, starts, ends)
    bottom = max(
        (placed.tops[v] + placed.extents[v].height + placed.extents[v].under for v in placed.tops),
        default=0.0,
    )
    return Plan(boxes, wires, (ends[-1] if ends else 0.0) + MARGIN, bottom + 2 * MARGIN)


def _columns(
    nodes: Sequence[Node], edges: Sequence[Edge], layers: Layers, lanes: list[int]
) -> tuple[list[float], list[float]]:
    """Where each column begins and ends."""
    starts, ends = [], []
    x = MARGIN
    for index, column in enumerate(layers.columns):
        starts.append(x)
        x += max((nodes[v].width for v in column if v < layers.nodes), default=0.0)
        ends.append(x)
        if index < len(layers.channels):
            label = max((edges[p.edge].label for p in layers.channels[index] if p.last), default=0.0)
            x += (lanes[index] + 1) * LANE + label
    return starts, ends


def _boxes(
    nodes: Sequence[Node], layers: Layers, placed: Placed, starts: list[float], ends: list[float]
) -> tuple[Box, ...]:
    """Sources stand at the right of their column, loads at its left, what lies between in its middle."""
    left = {p.head for channel in layers.channels for p in channel}
    right = {p.tail for channel in layers.channels for p in channel}
    found: dict[int, Box] = {}
    for column, start, end in zip(layers.columns, starts, ends, strict=True):
        for v in (v for v in column if v < layers.nodes):
            room = end - start - nodes[v].width
            share = 0.0 if v not in right else 1.0 if v not in left else 0.5
            found[v] = Box(
                start + room * share, placed.tops[v] + MARGIN, nodes[v].width, placed.extents[v].height
            )
    return tuple(found[v] for v in range(len(nodes)))


def _wires(
    edges: Sequence[Edge],
    layers: Layers,
    placed: Placed,
    boxes: tuple[Box, ...],
    led: list[tuple[list[Turns], int]],
    starts: list[float],
    ends: list[float],
) -> tuple[Wire, ...]:
    points: dict[int, list[tuple[float, float]]] = {index: [] for index in range(len(edges))}
    labels: dict[int, tuple[float, float, float]] = {}
    for index, channel in enumerate(layers.channels):
        turns, count = led[index]
        for piece, upright in zip(channel, turns, strict=True):
            line = points[piece.edge]
            y = placed.leaves[piece] + MARGIN
            if piece.tail < layers.nodes:
                line.append((boxes[piece.tail].x + boxes[piece.tail].width, y))
            for lane, stop in upright:
                x = ends[index] + (lane + 1) * LANE
                line += [(x, y), (x, y := stop + MARGIN)]
            if piece.last:
                line.append((boxes[piece.head].x, y))
                begin = ends[index] + (count + 1) * LANE
                labels[piece.edge] = (begin, starts[index + 1], y)
    return tuple(
        Wire(tuple(line[::-1] if index in layers.turned else line), *labels[index], index in layers.turned)
        for index, line in points.items()
    )
