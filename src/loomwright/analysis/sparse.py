"""Sparse symmetric elimination for conductance networks: LDLᵀ in the star-mesh form.

A nodal matrix is kept as it is drawn: `couple[s]` is the conductance between the two nodes of slot `s`, the reference being a
node like any other that is never taken out. Taking a node out replaces its star by a mesh between its neighbours (the
star-mesh transform), which is one step of LDLᵀ. In this form a pivot is the *sum* of the conductances at the node, so a
passive network is factored without a single subtraction, and a joint of a micro-ohm next to a sensor of a megohm costs no
accuracy (the argument of Grassmann, Taksar and Heyman, Operations Research 33, 1985).

Small pivots: a negative conductance (the slope of a constant-power load) can bring a pivot to zero or below. No pivot is
exchanged or patched; the matrix is then not positive definite, and `Elimination.factor` says so by returning `None`.
A pivot of less than `LEAST_PIVOT` siemens counts as zero.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from heapq import heapify, heappop, heappush

from loomwright.record import Record

LEAST_PIVOT = 1e-15
"""Siemens: what is weaker than this holds nothing."""

Step = tuple[int, int, int, int, int, int, int, tuple[tuple[int, int], ...], tuple[tuple[int, int, int], ...]]
"""Degree and node; for degrees 1 and 2 the slots and neighbours and the slot that a star of two becomes, spelt out because
nearly every step of a vehicle is one of these; for higher degrees the arms (slot, neighbour) and the mesh (slot, arm, arm)."""


class Elimination(Record):
    """The order in which the nodes leave a network, and where each step writes: made once per network, used for any values.

    Nodes are 0 … `size` - 1, one of them the `reference`. `place` gives each node its step (none for the reference).
    """

    size: int
    reference: int
    slot_count: int
    steps: tuple[Step, ...]
    place: tuple[int, ...]

    def factor(self, couple: list[float]) -> Factor | None:
        """LDLᵀ of the network with these conductances (siemens by slot), or None where it is not positive definite.

        The list (of length `slot_count`) is used up: it becomes part of the result.
        """
        inverse = [0.0] * self.size
        for degree, k, s1, _, s2, _, mesh, arms, fill in self.steps:
            if degree == 2:
                g1 = couple[s1]
                g2 = couple[s2]
                pivot = g1 + g2
                if not pivot > LEAST_PIVOT:
                    return None
                couple[s1] = r1 = g1 / pivot
                couple[s2] = g2 / pivot
                couple[mesh] += r1 * g2
            elif degree == 1:
                pivot = couple[s1]
                if not pivot > LEAST_PIVOT:
                    return None
                couple[s1] = 1.0
            else:
                star = [couple[s] for s, _ in arms]
                pivot = sum(star)
                if not pivot > LEAST_PIVOT:
                    return None
                for slot, p, q in fill:
                    couple[slot] += star[p] * star[q] / pivot
                for (slot, _), g in zip(arms, star, strict=True):
                    couple[slot] = g / pivot
            inverse[k] = 1.0 / pivot
        return Factor(self, couple, inverse)


class Factor(Record):
    """A factored network: volts for amps, as often as wanted. `ratio` by slot, `inverse` pivots by node."""

    plan: Elimination
    ratio: list[float]
    inverse: list[float]

    def solve(self, amps: list[float]) -> list[float]:
        """Volts of every node above the reference for the amps pushed into each (one number a node; used up)."""
        ratio, inverse = self.ratio, self.inverse
        volts = amps
        for degree, k, s1, j1, s2, j2, _, arms, _ in self.plan.steps:
            push = volts[k]
            if push:
                if degree == 2:
                    volts[j1] += ratio[s1] * push
                    volts[j2] += ratio[s2] * push
                elif degree == 1:
                    volts[j1] += push
                else:
                    for s, j in arms:
                        volts[j] += ratio[s] * push
                volts[k] = push * inverse[k]
        volts[self.plan.reference] = 0.0
        for degree, k, s1, j1, s2, j2, _, arms, _ in reversed(self.plan.steps):
            if degree == 2:
                volts[k] += ratio[s1] * volts[j1] + ratio[s2] * volts[j2]
            elif degree == 1:
                volts[k] += volts[j1]
            else:
                total = volts[k]
                for s, j in arms:
                    total += ratio[s] * volts[j]
                volts[k] = total
        return volts

    def half(self, amps: Mapping[int, float]) -> dict[int, float]:
        """The forward half of `solve` for a few injected currents: only the nodes that they reach, by node.

        Two halves make any transfer resistance (see `joined`) in time that grows with the depth of the elimination, not
        with the size of the network.
        """
        ratio, place, steps = self.ratio, self.plan.place, self.plan.steps
        reference = self.plan.reference
        reached = {k: amp for k, amp in amps.items() if k != reference}
        waiting = [place[k] for k in reached]
        heapify(waiting)
        while waiting:
            degree, k, s1, j1, s2, j2, _, arms, _ = steps[heappop(waiting)]
            push = reached[k]
            for s, j in arms or ((s1, j1), (s2, j2))[:degree]:
                if j in reached:
                    reached[j] += ratio[s] * push
                elif j != reference:
                    reached[j] = ratio[s] * push
                    heappush(waiting, place[j])
        return reached

    def joined(self, one: Mapping[int, float], other: Mapping[int, float]) -> float:
        """Volts that the currents of half `other` make along the currents of half `one` (ohms for one ampere each)."""
        if len(other) < len(one):
            one, other = other, one
        inverse, total = self.inverse, 0.0
        for k, value in one.items():
            if k in other:
                total += value * other[k] * inverse[k]
        return total


def adjacency(size: int, couples: Iterable[tuple[int, int]]) -> tuple[list[dict[int, int]], list[int]]:
    """Each node's neighbours with the slot of the coupling, and the slot of each couple in turn (parallel ones share)."""
    near: list[dict[int, int]] = [{} for _ in range(size)]
    slots = []
    count = 0
    for a, b in couples:
        slot = near[a].get(b)
        if slot is None:
            slot = near[a][b] = near[b][a] = count
            count += 1
        slots.append(slot)
    return near, slots


def eliminate(near: list[dict[int, int]], reference: int) -> Elimination:
    """An elimination order for a network given by `adjacency` (used up), with next to no fill where it is nearly a tree.

    Nodes of one or two neighbours go first, as they turn up: taking one out adds no coupling. When there are none left the node
    with the fewest neighbours goes, of equals the lowest number, so equal input gives an equal order. The leaves of a
    busbar leave before the busbar: a hub of any degree costs no fill.
    """
    size = len(near)
    slot_count = sum(map(len, near)) // 2
    place = [-1] * size
    steps: list[Step] = []
    low = [k for k, around in enumerate(near) if len(around) <= 2 and k != reference]
    for k in _in_turn(near, reference, place, low):
        around = near[k]
        degree = len(around)
        place[k] = len(steps)
        # The neighbours that end with fewer couplings than they had.
        lost: Iterable[int] = around
        for j in around:
            del near[j][k]
        if degree == 2:
            (j1, s1), (j2, s2) = around.items()
            mesh = near[j1].get(j2)
            if mesh is None:
                near[j1][j2] = near[j2][j1] = mesh = slot_count
                slot_count += 1
                lost = ()
            steps.append((2, k, s1, j1, s2, j2, mesh, (), ()))
        elif degree == 1:
            ((j1, s1),) = around.items()
            steps.append((1, k, s1, j1, 0, 0, 0, (), ()))
        else:
            fill = []
            ends = list(around)
            for q, j in enumerate(ends):
                for p in range(q):
                    mesh = near[j].get(ends[p])
                    if mesh is None:
                        mesh = near[j][ends[p]] = near[ends[p]][j] = slot_count
                        slot_count += 1
                    fill.append((mesh, p, q))
            steps.append((degree, k, 0, 0, 0, 0, 0, tuple((s, j) for j, s in around.items()), tuple(fill)))
        for j in lost:
            if len(near[j]) <= 2 and j != reference:
                low.append(j)
    return Elimination(size, reference, slot_count, tuple(steps), tuple(place))


def _in_turn(near: list[dict[int, int]], reference: int, place: list[int], low: list[int]) -> Iterable[int]:
    """The next node to take out, as long as there is one: those of `low` (which grows) first, then by degree."""
    queue: list[tuple[int, int]] | None = None
    at = 0
    while True:
        while at < len(low):
            k = low[at]
            at += 1
            if place[k] < 0:
                yield k
        if queue is None:
            queue = [(len(around), k) for k, around in enumerate(near) if place[k] < 0 and k != reference]
            heapify(queue)
        while queue:
            degree, k = heappop(queue)
            if place[k] < 0:
                if degree == len(near[k]):
                    break
                # Its degree has changed since it was queued.
                heappush(queue, (len(near[k]), k))
        else:
            return
        yield k
