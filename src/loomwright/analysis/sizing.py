"""The least-cost choice of cable sizes under current and voltage-drop limits, proven.

Each run takes one of the sizes; a run's size must carry its current, and the drops of the runs on a path, out and back, must
not add up to more than the path allows. With currents given this is an integer linear program: one yes-or-no variable
for each run and size, one equality a run, one inequality a path. It is solved exactly (branch and bound, no gap).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

SLACK = 1e-9  # relative: a drop that equals its limit is allowed, whatever the last bit says


@dataclass(frozen=True, slots=True)
class Size:
    """A cable size in stock: area in mm², cost per metre of one conductor, greatest current in A."""

    area_mm2: float
    cost_per_m: float
    max_amps: float


@dataclass(frozen=True, slots=True)
class SizedRun:
    """A run to be sized. `conductors` are the lengths of cable that carry the same current (2: out and back).

    `max_amps` replaces a size's own greatest current where the run lies hotter or in a bundle, by area in mm²; an area that
    is missing there may not be used for this run.
    """

    name: str
    length_m: float
    amps: float
    conductors: int = 2
    max_amps: Mapping[float, float] | None = None


@dataclass(frozen=True, slots=True)
class DropPath:
    """Runs in series between a source and a load, and the volts they may lose together."""

    name: str
    runs: tuple[str, ...]
    max_drop_volts: float


@dataclass(frozen=True, slots=True)
class Choice:
    """The answer: area in mm² by run, the whole cost, and the volts lost by path."""

    area_mm2: dict[str, float]
    cost: float
    drop_volts: dict[str, float] = field(default_factory=dict)


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
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import coo_array

    options = [(name, size) for name in runs for size in allowed[name]]
    column = {(name, id(size)): index for index, (name, size) in enumerate(options)}
    cost = np.array([_cost(runs[name], size) for name, size in options])
    entries: list[tuple[int, int, float]] = []
    row_of = {name: index for index, name in enumerate(runs)}
    for index, (name, _) in enumerate(options):
        entries.append((row_of[name], index, 1.0))
    low, high = [1.0] * len(runs), [1.0] * len(runs)
    for path in paths:
        scale = max(path.max_drop_volts, 1e-12)
        for name in path.runs:
            for size in allowed[name]:
                share = _drop(runs[name], size, ohm_mm2_per_m) / scale
                entries.append((len(high), column[name, id(size)], share))
        low.append(-np.inf)
        high.append(1.0 + SLACK)
    rows, columns, values = zip(*entries, strict=True)
    matrix = coo_array((values, (rows, columns)), shape=(len(high), len(options))).tocsr()
    answer = milp(
        cost,
        constraints=LinearConstraint(matrix, low, high),
        integrality=np.ones(len(options)),
        bounds=Bounds(0, 1),
        options={"mip_rel_gap": 0.0},
    )
    if answer.x is None:
        raise NoSize("", f"the solver found no choice of sizes: {answer.message}")
    taken = {options[index] for index in np.flatnonzero(answer.x > 0.5)}
    return {name: size for name, size in options if (name, size) in taken}
