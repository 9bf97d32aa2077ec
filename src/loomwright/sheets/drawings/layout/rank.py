"""Which column each node stands in: sources left, and every wire from left to right."""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.sheets.drawings.layout.graph import Edge


def turned_edges(count: int, edges: Sequence[Edge]) -> frozenset[int]:
    """The edges that must be read backwards so that no circle is left: those that lead back to where a search in the order
    of the nodes still is. An edge from a node to itself is an error of the caller."""
    leaving: list[list[int]] = [[] for _ in range(count)]
    entered = [0] * count
    for index, edge in enumerate(edges):
        if edge.tail == edge.head:
            raise ValueError(f"edge {index} joins node {edge.tail} to itself")
        leaving[edge.tail].append(index)
        entered[edge.head] += 1
    turned: set[int] = set()
    state = [0] * count  # 1: on the way to here, 2: done
    for start in sorted(range(count), key=lambda node: (entered[node] > 0, node)):
        if state[start]:
            continue
        state[start] = 1
        stack = [(start, iter(leaving[start]))]
        while stack:
            node, rest = stack[-1]
            index = next(rest, -1)
            if index < 0:
                state[node] = 2
                stack.pop()
            elif state[edges[index].head] == 1:
                turned.add(index)
            elif not state[edges[index].head]:
                state[edges[index].head] = 1
                stack.append((edges[index].head, iter(leaving[edges[index].head])))
    return frozenset(turned)


def columns_of(count: int, pairs: Sequence[tuple[int, int]]) -> list[int]:
    """The column of each node: the longest way from a source, then each source next to its first consumer.

    `pairs` are the edges from left to right, without circles.
    """
    leaving: list[list[int]] = [[] for _ in range(count)]
    waiting = [0] * count
    for tail, head in pairs:
        leaving[tail].append(head)
        waiting[head] += 1
    sources = [node for node in range(count) if not waiting[node]]
    ready = list(sources)
    column = [0] * count
    for node in ready:  # grows while it is walked
        for head in leaving[node]:
            column[head] = max(column[head], column[node] + 1)
            waiting[head] -= 1
            if not waiting[head]:
                ready.append(head)
    for node in sources:
        if leaving[node]:
            column[node] = min(column[head] for head in leaving[node]) - 1
    return column
