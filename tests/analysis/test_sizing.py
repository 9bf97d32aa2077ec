"""The least-cost choice is the least cost: against full enumeration, and against what thrift run by run would pay."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.analysis.sizing import DropPath, NoSize, Size, SizedRun, cheapest

RHO = 0.0175  # Ω·mm²/m, the copper figure of the trade's drop formula

STOCK = (
    Size(1.5, 1.0, 20),
    Size(2.5, 1.6, 30),
    Size(4, 2.4, 40),
    Size(6, 3.7, 60),
    Size(10, 6.4, 80),
    Size(16, 10.5, 120),
)


def drop(run: SizedRun, area: float) -> float:
    return run.amps * run.length_m * run.conductors * RHO / area


def by_enumeration(
    sizes: tuple[Size, ...], runs: tuple[SizedRun, ...], paths: tuple[DropPath, ...]
) -> float | None:
    """The least cost over every combination; None where none will do."""
    best = None
    for choice in product(sizes, repeat=len(runs)):
        chosen = dict(zip((run.name for run in runs), choice, strict=True))
        if any(chosen[run.name].max_amps < run.amps for run in runs):
            continue
        by_name = {run.name: run for run in runs}
        if any(
            sum(drop(by_name[name], chosen[name].area_mm2) for name in path.runs)
            > path.max_drop_volts * (1 + 1e-9)
            for path in paths
        ):
            continue
        cost = sum(run.length_m * run.conductors * chosen[run.name].cost_per_m for run in runs)
        best = cost if best is None else min(best, cost)
    return best


@st.composite
def problems(draw: st.DrawFn) -> tuple[tuple[SizedRun, ...], tuple[DropPath, ...]]:
    names = [f"run-{index}" for index in range(draw(st.integers(1, 4)))]
    runs = tuple(
        SizedRun(name, draw(st.floats(0.3, 8)), draw(st.floats(0.5, 70)), draw(st.sampled_from((1, 2))))
        for name in names
    )
    paths = tuple(
        DropPath(
            f"path-{index}", tuple(draw(st.lists(st.sampled_from(names), min_size=1, unique=True))), limit
        )
        for index, limit in enumerate(draw(st.lists(st.floats(0.05, 1.5), max_size=3)))
    )
    return runs, paths


@settings(max_examples=60, deadline=None)
@given(problems())
def test_the_cost_is_that_of_full_enumeration(
    problem: tuple[tuple[SizedRun, ...], tuple[DropPath, ...]],
) -> None:
    runs, paths = problem
    best = by_enumeration(STOCK, runs, paths)
    if best is None:
        with pytest.raises(NoSize):
            cheapest(STOCK, runs, paths, RHO)
        return
    assert cheapest(STOCK, runs, paths, RHO).cost == pytest.approx(best, rel=1e-9)


def test_thrift_run_by_run_is_dearer() -> None:
    """Raising the smallest sizes one step at a time, where it gains most volts for its price, misses the least cost."""
    runs = (SizedRun("feeder", 4.0, 18), SizedRun("branch", 3.0, 8))
    path = DropPath("fridge", ("feeder", "branch"), 0.84)
    chosen = {run.name: 0 for run in runs}
    while sum(drop(run, STOCK[chosen[run.name]].area_mm2) for run in runs) > path.max_drop_volts:

        def gain(run: SizedRun) -> float:
            here, above = STOCK[chosen[run.name]], STOCK[min(chosen[run.name] + 1, len(STOCK) - 1)]
            price = (above.cost_per_m - here.cost_per_m) * run.length_m * run.conductors
            return (drop(run, here.area_mm2) - drop(run, above.area_mm2)) / price if price else 0.0

        chosen[max(runs, key=gain).name] += 1
    greedy = sum(run.length_m * run.conductors * STOCK[chosen[run.name]].cost_per_m for run in runs)
    assert cheapest(STOCK, runs, (path,), RHO).cost < 0.8 * greedy


def test_a_path_that_no_size_satisfies_is_named() -> None:
    runs = (SizedRun("feeder", 30.0, 60),)
    with pytest.raises(NoSize, match="fridge loses") as caught:
        cheapest(STOCK, runs, (DropPath("fridge", ("feeder",), 0.2),), RHO)
    assert caught.value.about == "fridge"


def test_a_run_that_no_size_carries_is_named() -> None:
    with pytest.raises(NoSize, match="winch carries 400 A") as caught:
        cheapest(STOCK, (SizedRun("winch", 2.0, 400),), (), RHO)
    assert caught.value.about == "winch"


def test_a_hot_place_counts_against_a_size() -> None:
    run = SizedRun("main", 1.0, 35, max_amps={size.area_mm2: size.max_amps * 0.6 for size in STOCK})
    assert cheapest(STOCK, (run,), (), RHO).area_mm2 == {"main": 6}


def test_a_thicker_cable_that_costs_less_is_taken() -> None:
    stock = (Size(4, 3.0, 40), Size(6, 2.0, 60))
    assert cheapest(stock, (SizedRun("a", 1.0, 10),), (), RHO).area_mm2 == {"a": 6}


def test_nothing_to_size_costs_nothing() -> None:
    assert cheapest(STOCK, (), (), RHO).cost == 0
