"""Where an excess resistance sits, told from what a voltmeter showed.

    diagnosis = locate(network, {"battery": 12.64, "pump": 12.21}, "earth", meter_step=0.01)
    if not diagnosis.nothing_wrong:
        suspect = diagnosis.suspects[0]
        suspect.elements, suspect.extra_ohms, diagnosis.next_reading

A poor crimp, a dirty stud or a corroded contact is resistance that the design doesn't have. One more ohm in an element that carries
i acts on the network as a source of −i there (the compensation theorem), so each element has a pattern of its own in which all the
readings move; the readings name the element whose pattern they show. Constant-power loads make the pattern depend on how much
there is, so the network is solved again with the element raised until the two agree.

A meter that counts in steps tells a voltage within half a step. Each reading thereby leaves a range for the extra ohms, and an element
explains the readings when all these ranges have something in common.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations
from math import inf, isfinite

from loomwright.analysis.network import Network, NoOperatingPoint, Solution
from loomwright.record import Record

MOST_GROUPS = 5
MOST_TURNS = 12
PAIRS_TRIED = 12
CLOSE_STEPS = 0.01
SOLVED_VOLTS = 1e-7
"""What two ways to solve a network may differ by; far below any meter."""


class Suspect(Record):
    """Elements, any one of which explains the readings equally well within a step of the meter.

    `extra_ohms` ± `extra_ohms_error` is what the likeliest of them would have beyond the design, `residual_volts` the greatest
    difference that it leaves between what the meter showed and what the network says.
    """

    elements: tuple[str, ...]
    extra_ohms: float
    extra_ohms_error: float
    residual_volts: float


class Diagnosis(Record):
    """What readings tell of a network.

    `suspects` are groups, the most probable first; none where `nothing_wrong`. `next_reading` is the node whose voltage would
    part the first group best, None where there is nothing to part or no node that does. `doubtful` is empty where one element
    explains every reading within the meter, and otherwise a sentence on why the suspects are not to be relied upon;
    `together` then holds two groups that explain the readings between them, one element of each, where there are such.
    """

    nothing_wrong: bool
    suspects: tuple[Suspect, ...] = ()
    next_reading: str | None = None
    doubtful: str = ""
    together: tuple[Suspect, ...] = ()


Probed = str | tuple[str, str]
"""Where the meter's leads were: a node, the black one then being at the reference, or the nodes of the red and the black lead."""


def locate(
    network: Network,
    volts: Mapping[Probed, float] | Mapping[str, float],
    reference: str,
    meter_step: float | Mapping[Probed, float] = 0.001,
) -> Diagnosis:
    """The elements of which an excess resistance would explain the readings.

    `network` is as designed, `volts` what the meter showed, in volts: at a node against `reference`, or under a pair of nodes
    from the first to the second. `meter_step` is one count of the meter in volts, or one for each reading where the meter
    changed its range: a reading counts as good to half of it. Elements are all that have a resistance and carry current:
    resistors, batteries, regulators between their limits.

    Raises ValueError for a reading of an unknown node, no readings, or a step that isn't positive; and what `Network.solve`
    raises where the design itself has no operating point.
    """
    case = _Case.of(network, volts, reference, meter_step)
    apart = case.apart(case.design)
    if max(map(abs, apart)) <= case.half:
        return Diagnosis(nothing_wrong=True)
    fits = sorted(_fits(case, case.candidates(), {}), key=lambda fit: fit.residual)
    if not fits or fits[0].residual > case.half:
        return _doubted(case, fits)
    groups = _grouped(case, fits)
    suspects = tuple(_suspect(case, group) for group in groups[:MOST_GROUPS])
    return Diagnosis(False, suspects, _parting_node(case, groups[0]))


# ---------------------------------------------------------------- one element


class _Case(Record):
    """The question: a solved design, and readings between nodes of it. Readings are held, and compared, in steps of the meter."""

    network: Network
    reference: str
    probed: tuple[tuple[str, str], ...]
    shown: tuple[float, ...]  # in volts
    steps: tuple[float, ...]
    half: float  # of a step, with what solving may leave
    design: Solution

    @staticmethod
    def of(
        network: Network,
        volts: Mapping[Probed, float] | Mapping[str, float],
        reference: str,
        meter_step: float | Mapping[Probed, float],
    ) -> _Case:
        if not volts:
            raise ValueError("there are no readings")
        design = network.solve(reference)
        probed: list[tuple[str, str]] = []
        steps: list[float] = []
        for where, value in volts.items():
            probed.append((where, reference) if isinstance(where, str) else where)
            for node in probed[-1]:
                if node not in design.volts:
                    raise ValueError(f"no node is named {node}")
            steps.append(meter_step[where] if isinstance(meter_step, Mapping) else meter_step)
            if not (isfinite(steps[-1]) and steps[-1] > 0.0):
                raise ValueError(f"a meter's step must be above 0 V, not {steps[-1]:g}")
            if not isfinite(value):
                raise ValueError(f"the reading of {probed[-1][0]} must be a number, not {value}")
        half = 0.5 + SOLVED_VOLTS / min(steps)
        return _Case(network, reference, tuple(probed), tuple(volts.values()), tuple(steps), half, design)

    def apart(self, solution: Solution) -> list[float]:
        """What the meter showed beyond what a solution says, by reading, in steps."""
        volts, rows = solution.volts, zip(self.probed, self.shown, self.steps, strict=True)
        return [(shown - volts[red] + volts[black]) / step for (red, black), shown, step in rows]

    def slopes(self, element: str, solution: Solution) -> list[float]:
        """By how many steps one more ohm in an element moves each reading."""
        by_node, rows = solution.sensitivity(element), zip(self.probed, self.steps, strict=True)
        return [(by_node[red] - by_node[black]) / step for (red, black), step in rows]

    def residual_volts(self, solution: Solution) -> float:
        return max(abs(left) * step for left, step in zip(self.apart(solution), self.steps, strict=True))

    def raised(self, extra: Mapping[str, float]) -> Solution | None:
        """The network with more ohms in some elements; None where loads then ask for more than it can give."""
        ohms = {name: self.network.elements[name].ohms + more for name, more in extra.items()}
        try:
            return self.network.with_values(ohms=ohms).solve(self.reference)
        except NoOperatingPoint:
            return None

    def candidates(self) -> dict[str, list[float]]:
        """The elements that move a reading, each with the volts per ohm by which it moves them."""
        found = {}
        for name, element in self.network.elements.items():
            if element.kind in ("resistor", "battery", "regulator") and self.design.amps[name]:
                slopes = self.slopes(name, self.design)
                if any(slopes):
                    found[name] = slopes
        return found


class _Fit(Record):
    """One element raised to explain the readings as well as it can."""

    element: str
    ohms: float
    error: float
    residual: float  # in steps
    solution: Solution


def _fits(
    case: _Case, candidates: Mapping[str, Sequence[float]], others: Mapping[str, float]
) -> Iterator[_Fit]:
    """Every candidate that leaves less than half of the disagreement, fitted on top of the ohms of `others`; first by its slopes,
    for only those that come near are worth solving for. One that would have to drop all the volts there are is none."""
    solution = case.raised(others) if others else case.design
    if solution is None:
        return
    apart = case.apart(solution)
    most, whole = max(map(abs, apart)), max(map(abs, solution.volts.values()))
    for name, slopes in candidates.items():
        ohms = _best(apart, slopes, case.half)
        if name in others or not 0.0 < ohms * abs(solution.amps[name]) < whole:
            continue
        if _residual(apart, slopes, ohms) <= most / 2 + 1.0:
            fit = _fit(case, name, slopes, others)
            if fit is not None:
                yield fit


def _fit(case: _Case, element: str, slopes: Sequence[float], others: Mapping[str, float]) -> _Fit | None:
    """The extra ohms that bring the readings nearest, by the secant rule; None where none above 0 do.

    `others` are elements that are raised too, by ohms that stay as they are.
    """
    at, solution = 0.0, case.raised(others) if others else case.design
    for _ in range(MOST_TURNS):
        if solution is None:
            return None
        apart = case.apart(solution)
        goal = max(0.0, at + _best(apart, slopes, case.half))
        if abs(goal - at) * max(map(abs, slopes)) < CLOSE_STEPS:
            break
        reached = case.raised({**others, element: goal})
        while reached is None:  # the loads don't bear so much: go half the way
            goal = (at + goal) / 2
            if abs(goal - at) * max(map(abs, slopes)) < CLOSE_STEPS:
                return None
            reached = case.raised({**others, element: goal})
        slopes = [(b - a) / (at - goal) for a, b in zip(apart, case.apart(reached), strict=True)]
        at, solution = goal, reached
    if solution is None or at <= 0.0:
        return None
    apart = case.apart(solution)
    residual = max(map(abs, apart))
    slopes = case.slopes(element, solution)
    low, high = _range(apart, slopes, case.half if residual <= case.half else residual + case.half)
    error = max(high, -low, 0.0)
    return _Fit(element, at, error, residual, solution)


def _range(apart: Sequence[float], slopes: Sequence[float], half: float) -> tuple[float, float]:
    """The changes in ohms that leave every reading within `half` a step; empty (low > high) where there are none."""
    low, high = -inf, inf
    for left, slope in zip(apart, slopes, strict=True):
        if abs(slope) * 1e9 > half:
            ends = (left - half) / slope, (left + half) / slope
            low, high = max(low, min(ends)), min(high, max(ends))
        elif abs(left) > half:
            return inf, -inf
    return low, high


def _best(apart: Sequence[float], slopes: Sequence[float], half: float) -> float:
    """The middle of what leaves every reading within `half` a step; failing that, least squares."""
    low, high = _range(apart, slopes, half)
    if low <= high:
        return (low + high) / 2
    return _dot(apart, slopes) / (_dot(slopes, slopes) or inf)


def _residual(apart: Sequence[float], slopes: Sequence[float], ohms: float) -> float:
    return max(abs(left - slope * ohms) for left, slope in zip(apart, slopes, strict=True))


def _dot(a: Sequence[float], b: Sequence[float]) -> float:
    return sum(x * y for x, y in zip(a, b, strict=True))


# ---------------------------------------------------------------- groups


def _grouped(case: _Case, fits: Iterable[_Fit]) -> list[list[_Fit]]:
    """Fits in the order given, each with those after it that put every reading within one step of the meter of where the first does."""
    groups: list[list[_Fit]] = []
    for fit in fits:
        for group in groups:
            apart = zip(case.apart(fit.solution), case.apart(group[0].solution), strict=True)
            if all(abs(a - b) <= 2 * case.half for a, b in apart):
                group.append(fit)
                break
        else:
            groups.append([fit])
    return groups


def _suspect(case: _Case, group: Sequence[_Fit]) -> Suspect:
    """A group as told: its elements in the order of the network, the ohms of its likeliest."""
    places = {name: k for k, name in enumerate(case.network.elements)}
    likeliest = group[0]
    elements = tuple(sorted((fit.element for fit in group), key=places.__getitem__))
    residual = case.residual_volts(likeliest.solution)
    return Suspect(elements, likeliest.ohms, likeliest.error, residual)


def _parting_node(case: _Case, group: Sequence[_Fit]) -> str | None:
    """The unread node that leaves the fewest elements on average: what each of them says of it falls into heaps a step apart.

    Among equals the one where the outermost are furthest apart.
    """
    read = {red for red, black in case.probed if black == case.reference}
    step = min(case.steps)
    best, best_rank = None, (float(len(group)), 0.0)
    for node in case.design.volts:
        if node in read or node == case.reference:
            continue
        said = sorted(fit.solution.volts[node] for fit in group)
        heaps, last = [0], said[0]
        for volts in said:
            if volts - last > step:
                heaps.append(0)
            heaps[-1] += 1
            last = volts
        rank = sum(heap * heap for heap in heaps) / len(group), said[0] - said[-1]
        if len(heaps) > 1 and rank < best_rank:
            best, best_rank = node, rank
    return best


# ---------------------------------------------------------------- where one element is not enough

NEITHER = "No one or two of the elements explain the readings: a load, a source, a switch or a reading is not as designed."


def _doubted(case: _Case, fits: Sequence[_Fit]) -> Diagnosis:
    groups = _grouped(case, fits)
    suspects = tuple(_suspect(case, group) for group in groups[:MOST_GROUPS])
    together = _pair(case)
    if together:
        first, second = (" or ".join(suspect.elements) for suspect in together)
        doubt = (
            f"No one element explains the readings within the meter; two do together: {first}, and {second}."
        )
    else:
        doubt = NEITHER
    return Diagnosis(False, suspects, _parting_node(case, groups[0]) if groups else None, doubt, together)


def _pair(case: _Case) -> tuple[Suspect, ...]:
    """Two groups of which one element each explain the readings together; empty where there are none."""
    slopes = case.candidates()
    for first, second in _likely_pairs(case, slopes):
        fits = _fit_pair(case, (first, second), slopes)
        if fits:
            return tuple(
                _suspect(case, [fit, *_instead(case, fit, other, slopes)])
                for fit, other in ((fits[0], fits[1]), (fits[1], fits[0]))
            )
    return ()


def _likely_pairs(case: _Case, slopes: Mapping[str, Sequence[float]]) -> list[tuple[str, str]]:
    """The pairs that leave least by their slopes at the design, both with more ohms than designed."""
    apart = case.apart(case.design)
    own = {name: _dot(s, s) for name, s in slopes.items()}
    towards = {name: _dot(s, apart) for name, s in slopes.items()}
    found = []
    for a, b in combinations(slopes, 2):
        across = _dot(slopes[a], slopes[b])
        det = own[a] * own[b] - across * across
        if det <= 1e-9 * own[a] * own[b]:
            continue
        ohms_a = (towards[a] * own[b] - towards[b] * across) / det
        ohms_b = (towards[b] * own[a] - towards[a] * across) / det
        if ohms_a > 0.0 and ohms_b > 0.0:
            found.append((-(ohms_a * towards[a] + ohms_b * towards[b]), a, b))
    found.sort(key=lambda each: each[0])
    return [(a, b) for _, a, b in found[:PAIRS_TRIED]]


def _fit_pair(
    case: _Case, names: tuple[str, str], slopes: Mapping[str, Sequence[float]]
) -> tuple[_Fit, _Fit] | None:
    """Both raised by turns to explain the readings within the meter; None where they don't."""
    ohms = dict.fromkeys(names, 0.0)
    solution: Solution | None = case.design
    for _ in range(MOST_TURNS):
        if solution is None:
            return None
        apart = case.apart(solution)
        if max(map(abs, apart)) <= case.half:
            break
        a, b = (case.slopes(name, solution) for name in names)
        across, own_a, own_b = _dot(a, b), _dot(a, a), _dot(b, b)
        det = own_a * own_b - across * across
        if det <= 1e-12 * own_a * own_b:
            return None
        to_a, to_b = _dot(a, apart), _dot(b, apart)
        steps = (to_a * own_b - to_b * across) / det, (to_b * own_a - to_a * across) / det
        ohms = {name: max(0.0, ohms[name] + step) for name, step in zip(names, steps, strict=True)}
        solution = case.raised(ohms)
    if solution is None or max(map(abs, case.apart(solution))) > 1.0:
        return None
    made = []
    for name in names:
        others = {other: more for other, more in ohms.items() if other != name}
        fit = _fit(case, name, slopes[name], others)
        if fit is None:
            return None
        made.append(fit)
    return made[0], made[1]


def _instead(case: _Case, fit: _Fit, other: _Fit, slopes: Mapping[str, Sequence[float]]) -> list[_Fit]:
    """The elements that explain the readings in the place of `fit`, with `other` as it is."""
    found = _fits(case, slopes, {other.element: other.ohms})
    return [f for f in found if f.element != fit.element and f.residual <= max(case.half, fit.residual)]
