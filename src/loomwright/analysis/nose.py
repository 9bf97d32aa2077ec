"""Where a network has no operating point: which load asks for too much, and the most that it could have."""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.analysis.circuit import Circuit
from loomwright.analysis.operating import Point, find_point
from loomwright.record import Record, replace


class Shortfall(Record):
    """No operating point. `load` is the place of the load at fault in `Circuit.powers`, and `at_most` what it could have of
    the network in watts; `load` is None where even the fixed currents and the sources alone have no point."""

    load: int | None
    at_most: float


def settle(circuit: Circuit, near: Sequence[float] | None = None) -> Point | Shortfall:
    """The operating point of high voltage, or what stands in its way.

    From `near` first, the volts of a network that was much the same: a point that is found is the high one wherever the search
    began, for only there is the matrix positive definite. Then the straight way; where it fails, down through the gaps between
    regulated sources, then from the no-load point along rising load.
    """
    point = None if near is None else find_point(circuit, start=near)
    if point is None:
        point = find_point(circuit)
    if point is None and circuit.regulated:
        point = find_point(circuit, yielding=True)
    if point is not None:
        return point
    idle = find_point(circuit, 0.0)
    if idle is None:
        return Shortfall(None, 0.0)
    dead = [
        i for i, p in enumerate(circuit.powers) if p.watts > 0.0 and idle.volts[p.a] - idle.volts[p.b] <= 0.0
    ]
    if dead:
        return Shortfall(max(dead, key=lambda i: (circuit.powers[i].watts, -i)), 0.0)
    share, point = _climb(circuit, idle)
    if share == 1.0:
        return point
    if not any(p.watts > 0.0 for p in circuit.powers):
        return Shortfall(None, 0.0)
    load = _at_fault(circuit, point)
    return Shortfall(load, _most_watts(circuit, load, share, idle))


def _climb(circuit: Circuit, idle: Point) -> tuple[float, Point]:
    """The largest share of the load that still has a point (within a thousandth, or 1 itself), and that point."""
    share, step, point = 0.0, 1.0, idle
    while share < 1.0 and step > 1e-3:
        step = min(step, 1.0 - share)
        further = find_point(circuit, share + step, point.volts)
        if further is None:
            step /= 2.0
        else:
            share, point, step = share + step, further, 2.0 * step
    return share, point


def _at_fault(circuit: Circuit, point: Point) -> int:
    """The load that takes the largest part in the weakest mode of the network next to the nose.

    There the nodal matrix is about to lose its positive definiteness along one pattern of voltages. Inverse iteration finds
    the pattern; each load takes from its stiffness P/v² times the square of the pattern across the load.
    """
    pattern = [0.0] * circuit.plan.size
    pulls = []
    for p in circuit.powers:
        volts = point.volts[p.a] - point.volts[p.b]
        pulls.append(max(0.0, p.watts) / (volts * volts) if volts > 0.0 else 0.0)
        pattern[p.a] += pulls[-1]
        pattern[p.b] -= pulls[-1]
    for _ in range(20):
        pattern = point.factor.solve(pattern)
        largest = max(map(abs, pattern)) or 1.0
        pattern = [x / largest for x in pattern]
    parts = [pull * (pattern[p.a] - pattern[p.b]) ** 2 for p, pull in zip(circuit.powers, pulls, strict=True)]
    return parts.index(max(parts))


def _most_watts(circuit: Circuit, load: int, share: float, idle: Point) -> float:
    """The most that one load can take, the others at full, or at `share` where they have no point at full even without it.

    As a drain of fixed current the load has a point on both sides of its nose, and it gets the most where its own resistance
    equals the Thévenin resistance that it sees: v = i · r. That crossing is sought in the current.
    """
    others = [float(i != load) for i in range(len(circuit.powers))]
    point = find_point(circuit, others, idle.volts)
    if point is None:
        others = [share * other for other in others]
        point = find_point(circuit, others, idle.volts)
        if point is None:
            return share * circuit.powers[load].watts
    p = circuit.powers[load]
    volts, ohms = _seen(circuit, load, point)
    low, high, best = 0.0, volts / ohms, 0.0
    at_low, at_high = volts, -volts
    amps = high / 2.0
    for _ in range(80):
        further = find_point(_drained(circuit, load, amps), others, point.volts)
        if further is None:
            high, at_high = amps, 0.0
        else:
            volts, ohms = _seen(circuit, load, further)
            best = max(best, volts * amps)
            balance = volts - amps * ohms
            if abs(balance) < 1e-9 * abs(volts):
                break
            if balance > 0.0:
                low, at_low, point = amps, balance, further
            else:
                high, at_high = amps, balance
        if high - low < 1e-9 * high:
            break
        part = at_low / (at_low - at_high) if at_high else 0.5
        amps = low + min(0.9, max(0.1, part)) * (high - low)
    return best if p.watts > 0.0 else 0.0


def _seen(circuit: Circuit, load: int, point: Point) -> tuple[float, float]:
    p = circuit.powers[load]
    half = point.factor.half({p.a: 1.0, p.b: -1.0})
    return point.volts[p.a] - point.volts[p.b], point.factor.joined(half, half)


def _drained(circuit: Circuit, load: int, amps: float) -> Circuit:
    p = circuit.powers[load]
    pushed = circuit.pushed.copy()
    pushed[p.a] -= amps
    pushed[p.b] += amps
    return replace(circuit, pushed=pushed, drains=(*circuit.drains, (p.a, p.b, amps)))
