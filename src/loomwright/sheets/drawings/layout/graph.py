"""What a layout is made from and what comes out: boxes of known size joined by wires, and where they stand on paper."""

from __future__ import annotations

from loomwright.record import Record

GAP = 2.5
"""Least distance between what stands in one column."""
LANE = 6.0
"""Distance between two upright pieces of wire."""
PORT = 10.0
"""Least distance between two wires that leave one box."""
AIR = 5.0
"""Room on both sides of a wire that passes a column."""


class Node(Record):
    """A box to be placed. Its wires land on a stretch of its sides that begins `head` below its top, is at least `span` long,
    and leaves `foot` below it."""

    width: float
    head: float
    foot: float
    span: float = 0.0


class Edge(Record):
    """A wire from the right of node `tail` to the left of node `head`, by their indices.

    `tail_at` fixes where it leaves on the right of its tail, measured from the top; left out, the layout chooses. Its label
    takes `label` of its length at the end, and the room `above` and `below` it.
    """

    tail: int
    head: int
    above: float = 0.0
    below: float = 0.0
    label: float = 0.0
    tail_at: float | None = None


class Box(Record):
    """A node where it stands: `left` and `right` hold the heights at which wires land, from the top of the drawing."""

    x: float
    y: float
    width: float
    height: float


class Wire(Record):
    """An edge as it runs: corner points from its tail to its head, and the level stretch from `label_x` to `label_end` at
    height `label_y` that its label stands along. `turned` when it runs from right to left of the reading order."""

    points: tuple[tuple[float, float], ...]
    label_x: float
    label_end: float
    label_y: float
    turned: bool


class Plan(Record):
    boxes: tuple[Box, ...]
    wires: tuple[Wire, ...]
    width: float
    height: float
