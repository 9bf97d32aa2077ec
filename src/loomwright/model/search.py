"""Searching a graph of links: the least protected way between two nodes, what is joined, and which links are bridges."""

from __future__ import annotations

import heapq
from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property

from loomwright.model.links import Hop, Link

Tree = Mapping[
    str, tuple[str, Link] | None
]  # node → the node before it and the link between; None at the root


class Search:
    """Links by node. Trees of ways are made when first asked for, and kept."""

    def __init__(self, links: Iterable[Link]) -> None:
        self._at: dict[str, list[Link]] = {}
        for link in links:
            self._at.setdefault(link.a, []).append(link)
            self._at.setdefault(link.b, []).append(link)
        self._trees: dict[str, Tree] = {}

    def nodes(self) -> tuple[str, ...]:
        return tuple(self._at)

    def path(self, root: str, node: str) -> tuple[Hop, ...] | None:
        """The least protected way between two nodes; of several alike the one with the fewest hops."""
        tree = self._trees.get(root)
        if tree is None:
            tree = self._trees[root] = self._tree(root, None)
        return _trace(tree, node)

    def path_without(self, root: str, node: str, barred: Link | None) -> tuple[Hop, ...] | None:
        path = self.path(root, node)
        if barred is None or not path or path[-1].link is not barred:
            return path  # a way that ends at one end of a run uses the run last or not at all
        if barred in self._bridges:
            return None
        return _trace(self._tree(root, barred), node)

    def _tree(self, root: str, barred: Link | None) -> Tree:
        """Widest ways from a root to all nodes (Dijkstra on the smallest fuse, then on the number of hops)."""
        tree: dict[str, tuple[str, Link] | None] = {}
        heap: list[tuple[float, int, int, str, tuple[str, Link] | None]] = [(-float("inf"), 0, 0, root, None)]
        count = 0
        while heap:
            narrow, hops, _, node, before = heapq.heappop(heap)
            if node in tree:
                continue
            tree[node] = before
            for link in self._at.get(node, ()):
                other = link.other(node)
                if other not in tree and link is not barred:
                    count += 1
                    heapq.heappush(heap, (max(narrow, -link.width), hops + 1, count, other, (node, link)))
        return tree

    def reached(self, root: str, barred: Link | None) -> set[str]:
        seen = {root}
        waiting = deque(seen)
        while waiting:
            node = waiting.popleft()
            for link in self._at.get(node, ()):
                other = link.other(node)
                if other not in seen and link is not barred:
                    seen.add(other)
                    waiting.append(other)
        return seen

    @cached_property
    def _bridges(self) -> frozenset[Link]:
        """The links that are the only way between their ends (Tarjan's low numbers, without recursion)."""
        number: dict[str, int] = {}
        low: dict[str, int] = {}
        bridges = []
        for root in self._at:
            if root in number:
                continue
            number[root] = low[root] = len(number)
            stack: list[tuple[str, Link | None, Iterator[Link]]] = [(root, None, iter(self._at[root]))]
            while stack:
                node, above, links = stack[-1]
                link = next(links, None)
                if link is None:
                    stack.pop()
                    if above:
                        parent = above.other(node)
                        low[parent] = min(low[parent], low[node])
                        if low[node] > number[parent]:
                            bridges.append(above)
                elif link is not above:
                    other = link.other(node)
                    if other in number:
                        low[node] = min(low[node], number[other])
                    else:
                        number[other] = low[other] = len(number)
                        stack.append((other, link, iter(self._at[other])))
        return frozenset(bridges)


def _trace(tree: Tree, node: str) -> tuple[Hop, ...] | None:
    """The way from a tree's root to a node, or None when it is not in the tree."""
    if node not in tree:
        return None
    hops = []
    while (step := tree[node]) is not None:
        before, link = step
        hops.append(Hop(link, link.a == before))
        node = before
    return tuple(reversed(hops))
