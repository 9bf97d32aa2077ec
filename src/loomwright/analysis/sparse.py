"""Sparse symmetric elimination for conductance networks: LDLᵀ in the star-mesh form.

A nodal matrix is kept as it is drawn: `couple[s]`, the conductance between the two nodes of slot `s`, and `excess[k]`,
the conductance from node `k` to the reference. Taking a node out of the network replaces its star by a mesh between its
neighbours (the star-mesh transform), which is one step of LDLᵀ. In this form a pivot is the *sum* of the conductances
at the node, so a passive network is factored without a single subtraction and a joint of a micro-ohm next to a
sensor of a megohm costs no accuracy (the argument of Grassmann, Taksar and Heyman, Operations Research 33, 1985).

Small pivots: a negative conductance (the slope of a constant-power load) can bring a pivot to zero or below. No pivot is
exchanged or patched; the matrix is then not positive definite, and `Elimination.factor` says so by returning `None`.
A pivot of less than `LEAST_PIVOT` siemens counts as zero.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from heapq import heapify, heappop, heappush

LEAST_PIVOT = 1e-15
"""Siemens: what is weaker than this holds nothing."""

# degree, node, then for degrees 1 and 2 the slots and neighbours spelt out (the numeric loop lives on these), the slot that a
# star of two arms becomes, and for higher degrees the arms (slot, neighbour) and the mesh (slot, arm, arm).
Step = tuple[int, int, int, int, int, int, int, tuple[tuple[int, int], ...], tuple[tuple[int, int, int], ...]]


@dataclass(frozen=True, slots=True)
class Elimination:
    """The order in which the nodes leave a network, and where each step writes: made once per network, used for any values.

    Nodes are 0 … `size` - 1; index `size` is the reference. `slots` maps a pair of nodes (either way round) to its slot; the
    last slot, number `slot_count`, is a bin for stamps to the reference.
    """

    size: int
    slot_count: int
    slots: Mapping[tuple[int, int], int]
    steps: tuple[Step, ...]
    place: tuple[int, ...]

    def factor(self, couple: list[float], excess: list[float]) -> Factor | None:
        """LDLᵀ of the network with these conductances (siemens), or None where it is not positive definite.

        Both lists (lengths `slot_count` + 1 and `size` + 1) are used up: they become part of the result.
        """
        inverse = [0.0] * (self.size + 1)
        for degree, k, s1, j1, s2, j2, mesh, arms, fill in self.steps:
            own = excess[k]
            if degree == 2:
                g1 = couple[s1]
                g2 = couple[s2]
                pivot = g1 + g2 + own
                if not pivot > LEAST_PIVOT:
                    return None
                couple[s1] = r1 = g1 / pivot
                couple[s2] = r2 = g2 / pivot
                couple[mesh] += r1 * g2
                excess[j1] += r1 * own
                excess[j2] += r2 * own
            elif degree == 1:
                g1 = couple[s1]
                pivot = g1 + own
                if not pivot > LEAST_PIVOT:
                    return None
                couple[s1] = r1 = g1 / pivot
                excess[j1] += r1 * own
            else:
                star = [couple[s] for s, _ in arms]
                pivot = sum(star) + own
                if not pivot > LEAST_PIVOT:
                    return None
                for slot, p, q in fill:
                    couple[slot] += star[p] * star[q] / pivot
                for (slot, j), g in zip(arms, star, strict=True):
                    couple[slot] = ratio = g / pivot
                    excess[j] += ratio * own
            inverse[k] = 1.0 / pivot
        return Factor(self, couple, inverse)


@dataclass(frozen=True, slots=True)
class Factor:
    """A factored network: volts for amps, as often as wanted. `ratio` by slot, `inverse` pivots by node."""

    plan: Elimination
    ratio: list[float]
    inverse: list[float]

    def solve(self, amps: list[float]) -> list[float]:
        """Volts of every node (the reference last, 0 V) for the amps pushed into each (one number a node; used up)."""
        ratio, inverse = self.ratio, self.inverse
        volts = amps
        for degree, k, s1, j1, s2, j2, _, arms, _ in self.plan.steps:
            push = volts[k]
            if push:
                if degree == 2:
                    volts[j1] += ratio[s1] * push
                    volts[j2] += ratio[s2] * push
                elif degree == 1:
                    volts[j1] += ratio[s1] * push
                else:
                    for s, j in arms:
                        volts[j] += ratio[s] * push
                volts[k] = push * inverse[k]
        volts[self.plan.size] = 0.0
        for degree, k, s1, j1, s2, j2, _, arms, _ in reversed(self.plan.steps):
            if degree == 2:
                volts[k] += ratio[s1] * volts[j1] + ratio[s2] * volts[j2]
            elif degree == 1:
                volts[k] += ratio[s1] * volts[j1]
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
        plan, ratio = self.plan, self.ratio
        place, steps = plan.place, plan.steps
        reached = {k: amp for k, amp in amps.items() if k != plan.size}
        waiting = [place[k] for k in reached]
        heapify(waiting)
        while waiting:
            step = steps[heappop(waiting)]
            push = reached[step[1]]
            for s, j in step[7]:
                if j not in reached:
                    reached[j] = 0.0
                    heappush(waiting, place[j])
                reached[j] += ratio[s] * push
        return reached

    def joined(self, one: Mapping[int, float], other: Mapping[int, float]) -> float:
        """Volts that the currents of half `other` make along the currents of half `one` (ohms for one ampere each)."""
        if len(other) < len(one):
            one, other = other, one
        inverse = self.inverse
        return sum(value * other[k] * inverse[k] for k, value in one.items() if k in other)


def eliminate(size: int, couples: Iterable[tuple[int, int]]) -> Elimination:
    """Minimum-degree order for a network of `size` nodes and these pairs of coupled nodes (index `size` is the reference).

    The node with the fewest neighbours left goes first, of equals the one that was named first, so equal input gives equal
    bytes. The leaves of a busbar leave before the busbar: a hub of any degree costs no fill.
    """
    near: list[dict[int, int]] = [{} for _ in range(size)]
    slots: dict[tuple[int, int], int] = {}

    def slot_of(a: int, b: int) -> int:
        found = near[a].get(b)
        if found is None:
            found = len(slots) // 2
            near[a][b] = near[b][a] = slots[a, b] = slots[b, a] = found
        return found

    for a, b in couples:
        if a != size and b != size:
            slot_of(a, b)
    queue = [(len(around), k) for k, around in enumerate(near)]
    heapify(queue)
    place = [-1] * size
    steps: list[Step] = []
    while queue:
        degree, k = heappop(queue)
        if place[k] >= 0 or degree != len(near[k]):
            continue
        place[k] = len(steps)
        arms = tuple((slot, j) for j, slot in near[k].items())
        fill = []
        for _, j in arms:
            del near[j][k]
        for q, (_, j) in enumerate(arms):
            fill += [(slot_of(arms[p][1], j), p, q) for p in range(q)]
        for _, j in arms:
            heappush(queue, (len(near[j]), j))
        s1, j1 = arms[0] if degree else (0, size)
        s2, j2 = arms[1] if degree > 1 else (0, size)
        steps.append((degree, k, s1, j1, s2, j2, fill[0][0] if degree == 2 else 0, arms, tuple(fill)))
    return Elimination(size, len(slots) // 2, slots, tuple(steps), tuple(place))
