"""The least-cost choice of cable sizes under current and voltage-drop limits, proven.

Each run takes one of the sizes; a run's size must carry its current, and the drops of the runs on a path, out and back, must
not add up to more than the path allows. With currents given this is an integer linear program: one yes-or-no variable
for each run and size, one equality a run, one inequality a path. It is solved exactly (branch and bound, no gap).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.record import Record, made

SLACK = 1e-9  # relative: a drop that equals its limit is allowed, whatever the last bit says


class Size(Record):
    """A cable size in stock: area in mm², cost per metre of one conductor, greatest current in A."""

    area_mm2: float
    cost_per_m: float
    max_amps: float


class SizedRun(Record):
    """A run to be sized. `conductors` are the lengths of cable that carry the same current (2: out and back).

    `max_amps` replaces a size's own greatest current where the run lies hotter or in a bundle, by area in mm²; an area that
    is missing there may not be used for this run.
    """

    name: str
    length_m: float
    amps: float
    conductors: int = 2
    max_amps: Mapping[float, float] | None = None


class DropPath(Record):
    """Runs in series between a source and a load, and the volts they may lose together."""

    name: str
    runs: tuple[str, ...]
    max_drop_volts: float


class Choice(Record):
    """The answer: area in mm² by run, the whole cost, and the volts lost by path."""

    area_mm2: dict[str, float]
    cost: float
    drop_volts: dict[str, float] = made(factory=dict)


class NoSize(Exception):
    """No size will do. `about` is the run (its current) or the path (its drop) that cannot be satisfied."""

    def __init__(self, about: str, message: str) -> None:
        super().__init__(message)
        self.about = about


def cheapest(
    sizes: Sequence[Size], runs: Sequence[SizedRun], paths: Sequence[DropPath], ohm_mm2_per_m: float
) -> Choice:
    """The proven least cost at these currents.

    `ohm_mm2_per_m` is the conductor's resistivity in Ω·mm²/m. Among choices of equal cost the one with more copper is
    not preferred; the solver's is taken. Raises NoSize naming the run that no size carries or the path that no choice of
    sizes satisfies, and ValueError for a path over a run that is not there.
    """
    allowed = {run.name: _allowed(sizes, run) for run in runs}
    by_name = {run.name: run for run in runs}
    for path in paths:
        _check_path(path, by_name, allowed, ohm_mm2_per_m)
    chosen = _solve(by_name, allowed, paths, ohm_mm2_per_m) if runs else {}
    drops = {
        path.name: sum(_drop(by_name[name], chosen[name], ohm_mm2_per_m) for name in path.runs)
        for path in paths
    }
    cost = sum(_cost(by_name[name], size) for name, size in chosen.items())
    return Choice({name: size.area_mm2 for name, size in chosen.items()}, cost, drops)


def _allowed(sizes: Sequence[Size], run: SizedRun) -> list[Size]:
    """Sizes that carry the run's current, without those that another undercuts in both cost and resistance."""
    able = [size for size in sizes if _carries(size, run) >= run.amps]
    if not able:
        most = max((_carries(size, run) for size in sizes), default=0.0)
        raise NoSize(
            run.name, f"{run.name} carries {run.amps:.4g} A, and the largest size in stock {most:.4g} A"
        )
    able.sort(key=lambda size: (-size.area_mm2, size.cost_per_m))
    kept: list[Size] = []
    for size in able:  # from the thickest down: a thinner one must be cheaper to be of use
        if kept and size.area_mm2 == kept[-1].area_mm2:
            continue
        while kept and kept[-1].cost_per_m <= size.cost_per_m and kept[-1].area_mm2 < size.area_mm2:
            kept.pop()
        if not kept or size.cost_per_m < kept[-1].cost_per_m:
            kept.append(size)
    return kept


def _carries(size: Size, run: SizedRun) -> float:
    if run.max_amps is None:
        return size.max_amps
    return min(size.max_amps, run.max_amps.get(size.area_mm2, 0.0))


def _drop(run: SizedRun, size: Size, ohm_mm2_per_m: float) -> float:
    return run.amps * run.length_m * run.conductors * ohm_mm2_per_m / size.area_mm2


def _cost(run: SizedRun, size: Size) -> float:
    return run.length_m * run.conductors * size.cost_per_m


def _check_path(
    path: DropPath, runs: Mapping[str, SizedRun], allowed: Mapping[str, list[Size]], ohm_mm2_per_m: float
) -> None:
    """Runs are independent but for the paths, so a path fails by itself exactly if its thickest cables fail."""
    strangers = [name for name in path.runs if name not in runs]
    if strangers:
        raise ValueError(f"the path {path.name} leads over {strangers[0]}, which is no run to be sized")
    least = sum(_drop(runs[name], allowed[name][0], ohm_mm2_per_m) for name in path.runs)
    if least > path.max_drop_volts * (1 + SLACK):
        raise NoSize(
            path.name,
            f"{path.name} loses {least:.3g} V with the thickest cables in stock; {path.max_drop_volts:.3g} V are allowed",
        )


def _solve(
    runs: Mapping[str, SizedRun],
    allowed: Mapping[str, list[Size]],
    paths: Sequence[DropPath],
    ohm_mm2_per_m: float,
) -> dict[str, Size]:
    costs = {name: [_cost(runs[name], size) for size in allowed[name]] for name in runs}
    bounds = []
    for path in paths:
        uses: dict[str, list[float]] = {}
        for name in path.runs:
            spent = [_drop(runs[name], size, ohm_mm2_per_m) for size in allowed[name]]
            before = uses.get(name, [0.0] * len(spent))
            uses[name] = [one + other for one, other in zip(before, spent, strict=True)]
        bounds.append(Bound(path.name, uses, path.max_drop_volts))
    taken = least_cost(costs, bounds)
    return {name: allowed[name][taken[name]] for name in runs}


# ---------------------------------------------------------------- the solver


class Bound(Record):
    """What the chosen options use together, by name and option, must be no more than `most`. Any unit; uses may be negative."""

    name: str
    uses: Mapping[str, Sequence[float]]
    most: float


def least_cost(costs: Mapping[str, Sequence[float]], bounds: Sequence[Bound]) -> dict[str, int]:
    """One option a name, of the least cost in all that keeps every bound: the index of each, proven least.

    `costs` gives what each option of a name costs. Raises NoSize where no choice keeps the bounds; its `about` is empty.
    """
    taken = {name: min(range(len(each)), key=each.__getitem__) for name, each in costs.items()}
    tight = [bound for bound in bounds if sum(map(max, bound.uses.values())) > _allows(bound)]
    if all(sum(use[taken[name]] for name, use in bound.uses.items()) <= _allows(bound) for bound in tight):
        return taken  # the cheapest of each by itself: nothing can be cheaper
    shared = {name for bound in tight for name in bound.uses}
    return {**taken, **_solver({name: each for name, each in costs.items() if name in shared}, tight)}


def _scale(bound: Bound) -> float:
    return max(abs(bound.most), max((abs(u) for use in bound.uses.values() for u in use), default=0.0), 1e-12)


def _allows(bound: Bound) -> float:
    return bound.most + SLACK * _scale(bound)


def _solver(costs: Mapping[str, Sequence[float]], bounds: Sequence[Bound]) -> dict[str, int]:
    """Branch and bound over what several bounds share, one yes-or-no variable an option."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import coo_array

    options = [(name, index) for name, each in costs.items() for index in range(len(each))]
    column = {option: place for place, option in enumerate(options)}
    row_of = {name: row for row, name in enumerate(costs)}
    entries = [(row_of[name], place, 1.0) for place, (name, _) in enumerate(options)]
    low, high = [1.0] * len(costs), [1.0] * len(costs)
    for bound in bounds:
        scale = _scale(bound)
        for name, use in bound.uses.items():
            entries += [(len(high), column[name, index], each / scale) for index, each in enumerate(use)]
        low.append(-np.inf)
        high.append(bound.most / scale + SLACK)
    rows, columns, values = zip(*entries, strict=True)
    answer = milp(
        np.array([costs[name][index] for name, index in options]),
        constraints=LinearConstraint(
            coo_array((values, (rows, columns)), shape=(len(high), len(options))).tocsr(), low, high
        ),
        integrality=np.ones(len(options)),
        bounds=Bounds(0, 1),
        options={"mip_rel_gap": 0.0},
    )
    if answer.x is None:
        raise NoSize("", f"the solver found no choice of sizes: {answer.message}")
    return dict(options[place] for place in np.flatnonzero(answer.x > 0.5))
