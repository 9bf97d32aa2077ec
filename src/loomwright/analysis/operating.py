"""The operating point of a network of numbered nodes: Newton's method on the nodal equations, from above.

A constant-power load has two operating points, one of high and one of low voltage; an installation runs at the high one. There
the nodal matrix is positive definite, and at the nose, where the two meet and beyond which there is none, it stops being so:
the sign of the pivots tells on which side a step has landed. The currents P/v are convex in v and a passive network answers
more current with less voltage everywhere, so Newton steps that start at no-load voltages come down on the high solution
without passing it (the monotone Newton theorem, Ortega and Rheinboldt, Iterative Solution of Nonlinear Equations in Several
Variables, 13.3.4). Steps are shortened only where current limits make that argument void.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import inf

from loomwright.analysis.circuit import Circuit, Held, Power, Regulated, compile_circuit
from loomwright.analysis.sparse import Factor
from loomwright.record import Record

MOST_STEPS = 80
SETTLED_VOLTS = 1e-5
"""After a Newton step of less than this the rest is left to refinement with the same factor."""


class Point(Record):
    """An operating point: volts by node, amps by element in the order of the circuit's lists, the factor there."""

    volts: list[float]
    branch_amps: list[float]
    power_amps: list[float]
    regulated_amps: list[float]
    factor: Factor
    steps: int


def find_point(
    circuit: Circuit,
    scale: float | Sequence[float] = 1.0,
    start: Sequence[float] | None = None,
    yielding: bool = False,
) -> Point | None:
    """The operating point with every constant-power element at `scale` times its watts (one number, or one an element).

    `start` holds node volts at or above the solution, where a previous point is known; otherwise every bent element is
    first taken at the highest source voltage. None where Newton's method finds no positive definite point.

    Between a regulator at its limit and the next lower source that takes over, nothing holds the voltage under a constant
    power, and the matrix is not positive definite on the way. `yielding` walks down through such a gap: there a step
    takes the powers as constant currents.
    """
    scales = [scale] * len(circuit.powers) if isinstance(scale, float) else scale
    bent = [p for p in _scaled(circuit.powers, scales) if p.watts]
    bent_all: list[Power | Regulated] = [*bent, *circuit.regulated]
    spans = _start_spans(circuit, bent_all, start)
    volts = None if start is None else list(start)
    for step in range(1, MOST_STEPS + 1):
        stepped: list[Power | Held | Regulated] = [*bent_all]
        factor, landed = _newton_step(circuit, stepped, spans)
        held = factor is None and yielding
        if held:
            stepped = [Held(*e) if isinstance(e, Power) else e for e in bent_all]
            factor, landed = _newton_step(circuit, stepped, spans)
        if factor is None:
            return None
        if volts is not None:
            landed = _shortened(circuit, stepped, volts, spans, landed)
        new_spans = [landed[e.a] - landed[e.b] for e in bent_all]
        if any(new <= 0.0 for new, _ in zip(new_spans, bent, strict=False)):
            return None
        moved = max((abs(new - old) for new, old in zip(new_spans, spans, strict=True)), default=0.0)
        volts, spans = landed, new_spans
        if moved < SETTLED_VOLTS and not held:
            point = _refined(circuit, scales, volts, factor, step)
            if point is not None:
                return point
    return None


def _start_spans(
    circuit: Circuit, bent: Sequence[Power | Regulated], start: Sequence[float] | None
) -> list[float]:
    high = circuit.highest_emf
    if start is None:
        return [e.emf if isinstance(e, Regulated) else high for e in bent]
    spans = [start[e.a] - start[e.b] for e in bent]
    return [high if isinstance(e, Power) and v <= 0.0 else v for e, v in zip(bent, spans, strict=True)]


def _newton_step(
    circuit: Circuit, bent: Sequence[Power | Held | Regulated], spans: Sequence[float]
) -> tuple[Factor | None, list[float]]:
    """The network with its bent elements replaced by their tangents at `spans`, solved whole."""
    couple, pushed = circuit.couple.copy(), circuit.pushed.copy()
    for element, span in zip(bent, spans, strict=True):
        slope, amps = element.tangent(span)
        a, b, slot = element[:3]
        couple[slot] += slope
        pushed[a] -= amps
        pushed[b] += amps
    factor = circuit.plan.factor(couple)
    return factor, [] if factor is None else factor.solve(pushed)


def _shortened(
    circuit: Circuit,
    bent: Sequence[Power | Held | Regulated],
    old: list[float],
    spans: Sequence[float],
    new: list[float],
) -> list[float]:
    """The furthest point from `old` towards `new` that does not overshoot.

    A positive definite network sits at the least of its co-content (Millar, Philosophical Magazine 42, 1951); along a step the
    slope of the co-content is the mismatch of the nodes times the step. Where that slope has turned upward at the end of the
    step, the step ends where it is about level.
    """
    reach = 1.0
    turns = [new[e.a] - new[e.b] - span for e, span in zip(bent, spans, strict=True)]
    for element, span, turn in zip(bent, spans, turns, strict=True):
        if not isinstance(element, Regulated) and turn < 0.0 and span > 0.0:
            reach = min(reach, -0.9 * span / turn)
    if _bend(bent, spans, turns, reach) > 0.0:
        begin = -_along(circuit, bent, old, new)
        if begin < 0.0:
            reach = _turning_point(
                lambda part: (1.0 - part) * begin + _bend(bent, spans, turns, part), begin, reach
            )
    if reach == 1.0:
        return new
    return [a + reach * (b - a) for a, b in zip(old, new, strict=True)]


def _bend(
    bent: Sequence[Power | Held | Regulated], spans: Sequence[float], turns: Sequence[float], reach: float
) -> float:
    """What the tangents left out of the slope of the co-content at a part of a step: all that it holds beyond its linear part."""
    total = 0.0
    for element, span, turn in zip(bent, spans, turns, strict=True):
        if turn:
            total += element.bend(span, reach * turn) / reach
    return total


def _turning_point(slope: Callable[[float], float], begin: float, reach: float) -> float:
    """Where a slope that is `begin` < 0 at 0 and grows up to `reach` is level within a tenth of `begin`, or `reach` itself.

    By the Illinois rule, which keeps the crossing between two points: past a limit the slope is a broken line, and a secant
    from one side alone would creep along its flat piece.
    """
    low, at_low = 0.0, begin
    high, at_high = reach, slope(reach)
    part, at_part = high, at_high
    for _ in range(MOST_STEPS):
        if at_part <= -0.1 * begin and (at_part >= 0.1 * begin or part == reach):
            return part
        part = low + (high - low) * at_low / (at_low - at_high)
        at_part = slope(part)
        if at_part > 0.0:
            high, at_high = part, at_part
            at_low /= 2.0
        else:
            low, at_low = part, at_part
            at_high /= 2.0
    return part


def _along(
    circuit: Circuit, bent: Sequence[Power | Held | Regulated], old: list[float], new: list[float]
) -> float:
    """The curvature of the co-content along a Newton step, which is minus its slope at the beginning."""
    turned = [n - o for n, o in zip(new, old, strict=True)]
    total = sum(
        g * (turned[a] - turned[b]) ** 2 for (a, b, _), g in zip(circuit.stamps, circuit.siemens, strict=True)
    )
    return total + sum(e.slope(old[e.a] - old[e.b]) * (turned[e.a] - turned[e.b]) ** 2 for e in bent)


def _refined(
    circuit: Circuit, scales: Sequence[float], volts: list[float], factor: Factor, steps: int
) -> Point | None:
    """Newton's steps carried on with the same factor down to rounding, and the currents with them.

    The current of a joint of next to no resistance can't be read from the volts of its ends. The last correction is added to
    the currents themselves, so that they meet at the nodes as exactly as the mismatch was computed.
    """
    bent: list[Power | Regulated] = [*_scaled(circuit.powers, scales), *circuit.regulated]
    settled = 1e-11 * (1.0 + circuit.highest_emf)
    last = inf
    while True:
        branch_amps = [
            g * (volts[a] - volts[b] - emf)
            for (a, b, _), g, emf in zip(circuit.stamps, circuit.siemens, circuit.emfs, strict=True)
        ]
        bent_amps = [e.amps(volts[e.a] - volts[e.b]) for e in bent]
        step = factor.solve(_mismatch(circuit, branch_amps, bent, bent_amps))
        volts = [v + s for v, s in zip(volts, step, strict=True)]
        size = max(map(abs, step))
        if size < settled:
            break
        if not size < last:
            return None
        last = size
    for i, ((a, b, _), g) in enumerate(zip(circuit.stamps, circuit.siemens, strict=True)):
        branch_amps[i] += g * (step[a] - step[b])
    for i, e in enumerate(bent):
        bent_amps[i] += e.slope(volts[e.a] - volts[e.b]) * (step[e.a] - step[e.b])
    count = len(circuit.powers)
    return Point(volts, branch_amps, bent_amps[:count], bent_amps[count:], factor, steps)


def _mismatch(
    circuit: Circuit,
    branch_amps: Sequence[float],
    bent: Sequence[Power | Regulated],
    bent_amps: Sequence[float],
) -> list[float]:
    """What flows into each node beyond what flows out of it."""
    mismatch = [0.0] * circuit.plan.size
    for (a, b, _), amps in zip(circuit.stamps, branch_amps, strict=True):
        mismatch[a] -= amps
        mismatch[b] += amps
    for element, amps in zip(bent, bent_amps, strict=True):
        mismatch[element.a] -= amps
        mismatch[element.b] += amps
    for a, b, amps in circuit.drains:
        mismatch[a] -= amps
        mismatch[b] += amps
    return mismatch


def _scaled(powers: Sequence[Power], scales: Sequence[float]) -> list[Power]:
    return [p if s == 1.0 else p._replace(watts=p.watts * s) for p, s in zip(powers, scales, strict=True)]


def tangent_factor(circuit: Circuit, point: Point) -> Factor:
    """The factor exactly at a point (the point's own is that of the step before)."""
    bent: list[Power | Regulated] = [*(p for p in circuit.powers if p.watts), *circuit.regulated]
    spans = [point.volts[e.a] - point.volts[e.b] for e in bent]
    factor, _ = _newton_step(circuit, bent, spans)
    return point.factor if factor is None else factor


def find_linear(circuit: Circuit) -> tuple[Factor, list[float], list[float]]:
    """Every regulator on its straight law without limit, no loads: factor, volts by node, amps of branches then regulators."""
    linear = compile_circuit(
        circuit.plan,
        (*circuit.stamps, *(r[:3] for r in circuit.regulated)),
        (*circuit.siemens, *(r.siemens for r in circuit.regulated)),
        (*circuit.emfs, *(r.emf for r in circuit.regulated)),
    )
    point = find_point(linear)
    if point is None:
        raise ArithmeticError("a network that is tied to its reference has no linear solution")
    return point.factor, point.volts, point.branch_amps


class BrokenConservation(RuntimeError):
    """A solution breaks Kirchhoff's current law or the balance of power: a fault of this package, never of the input."""


def must_conserve(circuit: Circuit, point: Point) -> None:
    """Kirchhoff's current law at every node, and the balance of power with each loss from its own law (i²r, e·i, the load's
    watts), both within 1e-9 of the whole. Raises `BrokenConservation`."""
    bent: list[Power | Regulated] = [*circuit.powers, *circuit.regulated]
    bent_amps = [*point.power_amps, *point.regulated_amps]
    mismatch = _mismatch(circuit, point.branch_amps, bent, bent_amps)
    stray = max(map(abs, mismatch))
    largest = max(map(abs, (*point.branch_amps, *bent_amps, *(d[2] for d in circuit.drains))), default=0.0)
    volts = point.volts
    taken = [i * i / g for i, g in zip(point.branch_amps, circuit.siemens, strict=True)]
    taken += [emf * i for i, emf in zip(point.branch_amps, circuit.emfs, strict=True) if emf]
    taken += [p.watts for p in circuit.powers]
    taken += [
        (volts[r.a] - volts[r.b]) * i for r, i in zip(circuit.regulated, point.regulated_amps, strict=True)
    ]
    taken += [(volts[a] - volts[b]) * i for a, b, i in circuit.drains]
    balance, whole = sum(taken), sum(map(abs, taken))
    if (
        stray > 1e-9 * largest + 1e-12 or abs(balance) > 1e-9 * whole + 1e-10
    ):  # where nothing flows, rounding is all
        raise BrokenConservation(
            f"{stray:.3g} A of {largest:.3g} A and {balance:.3g} W of {whole:.3g} W are unaccounted for"
        )
