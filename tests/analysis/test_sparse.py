"""The star-mesh elimination against numpy's dense solver, and what it promises of size and accuracy."""

from __future__ import annotations

import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.analysis.sparse import Elimination, adjacency, eliminate

Edges = list[tuple[int, int]]


def a_graph(seed: int, size: int, extra: int) -> Edges:
    rng = random.Random(seed)
    tree = [(k, rng.randrange(max(0, k - 5), k)) for k in range(1, size)]
    return tree + [(a, b) for a, b in (rng.sample(range(size), 2) for _ in range(extra))]


def conductances(plan: Elimination, slots: list[int], siemens: list[float]) -> list[float]:
    couple = [0.0] * plan.slot_count
    for slot, g in zip(slots, siemens, strict=True):
        couple[slot] += g
    return couple


def dense(size: int, reference: int, edges: Edges, siemens: list[float]) -> np.ndarray:
    matrix = np.zeros((size, size))
    for (a, b), g in zip(edges, siemens, strict=True):
        matrix[[a, b], [a, b]] += g
        matrix[[a, b], [b, a]] -= g
    matrix[reference] = matrix[:, reference] = 0.0
    matrix[reference, reference] = 1.0
    return matrix


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(2, 40), st.integers(0, 30))
def test_volts_and_transfer_resistances_are_those_of_a_dense_solver(seed: int, size: int, extra: int) -> None:
    rng = random.Random(seed)
    edges = a_graph(seed, size, extra)
    siemens = [10 ** rng.uniform(-3, 3) for _ in edges]
    reference = rng.randrange(size)
    near, slots = adjacency(size, edges)
    plan = eliminate(near, reference)
    factor = plan.factor(conductances(plan, slots, siemens))
    assert factor is not None
    matrix = dense(size, reference, edges, siemens)
    amps = [rng.uniform(-10, 10) for _ in range(size)]
    amps[reference] = 0.0
    volts = np.linalg.solve(matrix, amps)
    # Both solvers lose digits by the spread of the conductances, relative to the largest voltage.
    assert factor.solve(list(amps)) == pytest.approx(list(volts), rel=1e-8, abs=1e-9 * max(1.0, *abs(volts)))
    inverse = np.linalg.inv(matrix)
    inverse[reference] = inverse[:, reference] = 0.0
    a, b = rng.sample(range(size), 2)
    c = rng.randrange(size)
    one, other = factor.half({a: 1.0, b: -1.0}), factor.half({c: 1.0})
    assert factor.joined(one, one) == pytest.approx(
        inverse[a, a] + inverse[b, b] - 2 * inverse[a, b], rel=1e-7
    )
    # The dense one takes the difference of two numbers that may be nearly equal: it is as good as the greater of them.
    greater = max(1.0, abs(inverse[a, c]), abs(inverse[b, c]))
    assert factor.joined(one, other) == pytest.approx(
        inverse[a, c] - inverse[b, c], rel=1e-6, abs=1e-10 * greater
    )


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(3, 20))
def test_a_factor_exists_where_the_matrix_is_positive_definite_and_only_there(seed: int, size: int) -> None:
    rng = random.Random(seed)
    edges = a_graph(seed, size, 4)
    siemens = [rng.uniform(0.5, 2.0) if rng.random() < 0.8 else -rng.uniform(0.0, 0.6) for _ in edges]
    near, slots = adjacency(size, edges)
    plan = eliminate(near, 0)
    least = float(np.linalg.eigvalsh(dense(size, 0, edges, siemens)).min())
    if abs(least) > 1e-9:
        assert (plan.factor(conductances(plan, slots, siemens)) is not None) == (least > 0.0)


def test_seventeen_orders_of_magnitude_in_one_network_cost_no_accuracy() -> None:
    # A joint of 1e-10 Ω between two sensors of 1e7 Ω: the volts are those of the divider to rounding.
    edges = [(0, 1), (1, 2), (2, 3)]
    near, slots = adjacency(4, edges)
    plan = eliminate(near, 3)
    factor = plan.factor(conductances(plan, slots, [1e-7, 1e10, 1e-7]))
    assert factor is not None
    assert factor.solve([1e-7, 0.0, 0.0, 0.0]) == pytest.approx([2.0, 1.0, 1.0, 0.0], rel=1e-14)


@pytest.mark.parametrize("size", [500, 5000])
def test_a_busbar_of_any_degree_costs_no_fill(size: int) -> None:
    edges = [(0, k) for k in range(1, size)] + [(k, size) for k in range(1, size)]
    near, slots = adjacency(size + 1, edges)
    plan = eliminate(near, size)
    assert plan.slot_count <= len(slots) + 1
    assert max(step[0] for step in plan.steps) == 2


def test_the_same_network_gives_the_same_order() -> None:
    edges = a_graph(7, 200, 60)
    one, other = (eliminate(adjacency(200, edges)[0], 5) for _ in range(2))
    assert one == other
    assert sorted(step[1] for step in one.steps) == [k for k in range(200) if k != 5]
