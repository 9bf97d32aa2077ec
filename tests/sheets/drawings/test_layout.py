"""What must hold of every layout, whatever the graph."""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.record import replace
from loomwright.sheets.drawings.layout import Box, Edge, Node, Plan, lay_out, layers_of
from loomwright.sheets.drawings.layout.route import CLOSE, Span, lanes_of

Segment = tuple[tuple[float, float], tuple[float, float]]
sizes = st.floats(4, 60).map(lambda value: round(value, 1))


@st.composite
def graphs(draw: st.DrawFn) -> tuple[list[Node], list[Edge]]:
    count = draw(st.integers(1, 14))
    nodes = [Node(draw(sizes), draw(sizes), draw(sizes), draw(st.floats(0, 30))) for _ in range(count)]
    pairs = draw(
        st.lists(
            st.tuples(st.integers(0, count - 1), st.integers(0, count - 1)).filter(
                lambda pair: pair[0] != pair[1]
            ),
            max_size=22,
        )
    )
    edges = [
        Edge(a, b, draw(st.floats(4, 22)), draw(st.floats(4, 22)), draw(sizes) + index / 1000)
        for index, (a, b) in enumerate(pairs)
    ]
    if draw(st.booleans()):  # node 0 is a hub: what leaves it does so in rows
        rows = [edge for edge in edges if edge.tail == 0]
        nodes[0] = replace(nodes[0], head=40.0, span=14.0 * len(rows))
        edges = [
            replace(edge, tail_at=40.0 + 14.0 * rows.index(edge)) if edge.tail == 0 else edge
            for edge in edges
        ]
    return nodes, edges


def segments(plan: Plan, wire: int) -> list[Segment]:
    return list(pairwise(plan.wires[wire].points))


def touches(segment: Segment, box: Box, slack: float = 0.2) -> bool:
    """Whether a level or upright piece of wire goes through the inside of a box."""
    (x1, y1), (x2, y2) = segment
    return (
        max(x1, x2) > box.x + slack
        and min(x1, x2) < box.x + box.width - slack
        and max(y1, y2) > box.y + slack
        and min(y1, y2) < box.y + box.height - slack
    )


def label_box(plan: Plan, edges: list[Edge], index: int) -> Box:
    wire, edge = plan.wires[index], edges[index]
    return Box(wire.label_x, wire.label_y - edge.above, edge.label, edge.above + edge.below)


def overlap(one: Box, other: Box, slack: float = 0.2) -> bool:
    return (
        one.x + slack < other.x + other.width
        and other.x + slack < one.x + one.width
        and one.y + slack < other.y + other.height
        and other.y + slack < one.y + one.height
    )


@settings(max_examples=80, deadline=None)
@given(graphs())
def test_boxes_and_labels_stand_apart(graph: tuple[list[Node], list[Edge]]) -> None:
    nodes, edges = graph
    plan = lay_out(nodes, edges)
    things = [*plan.boxes, *(label_box(plan, edges, index) for index in range(len(edges)))]
    assert not [(a, b) for a, b in combinations(things, 2) if overlap(a, b)]


@settings(max_examples=80, deadline=None)
@given(graphs())
def test_no_wire_goes_through_a_box_or_along_another_label(graph: tuple[list[Node], list[Edge]]) -> None:
    nodes, edges = graph
    plan = lay_out(nodes, edges)
    for wire in range(len(edges)):
        for segment in segments(plan, wire):
            assert not [box for box in plan.boxes if touches(segment, box)]
            others = [label_box(plan, edges, each) for each in range(len(edges)) if each != wire]
            assert not [box for box in others if touches(segment, box)]


@settings(max_examples=80, deadline=None)
@given(graphs())
def test_every_edge_is_drawn_once_from_its_tail_to_its_head(graph: tuple[list[Node], list[Edge]]) -> None:
    nodes, edges = graph
    plan = lay_out(nodes, edges)
    assert len(plan.wires) == len(edges)
    for edge, wire in zip(edges, plan.wires, strict=True):
        for node, (x, y) in ((edge.tail, wire.points[0]), (edge.head, wire.points[-1])):
            box = plan.boxes[node]
            assert min(abs(x - box.x), abs(x - box.x - box.width)) < 0.01
            assert box.y <= y <= box.y + box.height
        assert all(a[0] == b[0] or abs(a[1] - b[1]) < 0.06 for a, b in pairwise(wire.points))


@settings(max_examples=80, deadline=None)
@given(graphs())
def test_no_two_wires_run_on_one_line(graph: tuple[list[Node], list[Edge]]) -> None:
    nodes, edges = graph
    plan = lay_out(nodes, edges)
    for one, other in combinations(range(len(edges)), 2):
        for a in segments(plan, one):
            for b in segments(plan, other):
                assert not _along(a, b), (a, b)


def _along(a: Segment, b: Segment) -> bool:
    """Whether two pieces lie on one another for more than a point."""
    for axis in (0, 1):
        same = abs(a[0][axis] - a[1][axis]) < 0.06 and abs(b[0][axis] - b[1][axis]) < 0.06
        if same and abs(a[0][axis] - b[0][axis]) < 0.5:
            low = max(min(a[0][1 - axis], a[1][1 - axis]), min(b[0][1 - axis], b[1][1 - axis]))
            high = min(max(a[0][1 - axis], a[1][1 - axis]), max(b[0][1 - axis], b[1][1 - axis]))
            if high - low > 0.5:
                return True
    return False


@given(st.integers(1, 8), st.integers(1, 8))
def test_a_fan_and_a_funnel_do_not_cross(left: int, right: int) -> None:
    """Loads of one hub, and sources of one busbar, in any number."""
    nodes = [Node(20, 8, 8) for _ in range(left + right + 1)]
    edges = [Edge(index, left, 8, 8, 30) for index in range(left)]
    edges += [Edge(left, left + 1 + index, 8, 8, 30) for index in range(right)]
    plan = lay_out(nodes, edges)
    crossed = [
        (a, b)
        for one, other in combinations(range(len(edges)), 2)
        for a in segments(plan, one)
        for b in segments(plan, other)
        if _cross(a, b)
    ]
    assert crossed == []


def _cross(a: Segment, b: Segment) -> bool:
    level, upright = (a, b) if abs(a[0][1] - a[1][1]) < 0.06 else (b, a)
    (x1, y), (x2, _) = level
    (x, y1), (_, y2) = upright
    return min(x1, x2) < x < max(x1, x2) and min(y1, y2) < y < max(y1, y2)


def test_sources_stand_left_next_to_what_they_feed_and_loads_right() -> None:
    """0 → 1 → 2 → 3, and 4 feeds 3: node 4 has no business in the first column."""
    layers = layers_of(5, [Edge(0, 1), Edge(1, 2), Edge(2, 3), Edge(4, 3)])
    assert layers.columns == ((0,), (1,), (2, 4), (3,))


def test_a_circle_is_opened_where_it_closes() -> None:
    assert layers_of(3, [Edge(0, 1), Edge(1, 2), Edge(2, 0)]).turned == {2}


def test_an_edge_to_itself_is_refused() -> None:
    with pytest.raises(ValueError, match="itself"):
        lay_out([Node(10, 5, 5)], [Edge(0, 0)])


def test_loads_stand_in_the_order_of_the_text() -> None:
    nodes = [Node(20, 8, 8) for _ in range(6)]
    plan = lay_out(nodes, [Edge(0, index, 4, 4, 10) for index in range(1, 6)])
    heights = [plan.boxes[index].y for index in range(1, 6)]
    assert heights == sorted(heights)


@given(
    st.lists(
        st.tuples(st.integers(0, 12), st.integers(0, 12)),
        max_size=9,
        unique_by=(lambda p: p[0], lambda p: p[1]),
    )
)
def test_lanes_keep_wires_apart_even_where_they_change_places(pairs: list[tuple[int, int]]) -> None:
    """Two wires that swap heights can be led only by a step in between."""
    spans = [Span(10.0 * a, 10.0 * b) for a, b in pairs]
    turns, _ = lanes_of(spans)
    for (one, first), (other, second) in combinations(list(zip(spans, turns, strict=True)), 2):
        for a in _pieces(one, first):
            for b in _pieces(other, second):
                assert not _along(a, b), (one, other)


def _pieces(span: Span, turns: tuple[tuple[int, float], ...]) -> list[Segment]:
    x, y = -1.0, span.start
    found: list[Segment] = []
    for lane, stop in turns:
        found += [((x, y), (lane, y)), ((lane, y), (lane, stop))]
        x, y = float(lane), stop
    return [*found, ((x, y), (99.0, y))]


def test_close_is_less_than_the_least_distance_of_ports() -> None:
    from loomwright.sheets.drawings.layout.graph import PORT

    assert CLOSE < PORT
