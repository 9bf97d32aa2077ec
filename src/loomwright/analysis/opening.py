"""When a fuse opens: the band between its gates, and whether one fuse clears before the one upstream.

A standard gives gates: at a multiple of the rated current the fuse operates not before a least and not after a most time. The
two edges of the band run straight between gates on logarithmic axes, and beyond the last gate at constant I²t, where no
heat has time to leave the element (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from itertools import pairwise
from math import exp, inf, isnan, log
from typing import NamedTuple

Gate = tuple[float, float | None, float | None]
"""Multiple of the rated current, least and most operating time in seconds. No least: it may open at once. No most: it
may never open."""


class Curve(NamedTuple):
    """A fuse in its place: the gates of its kind in rising multiples, rated amps, and the factor on its rating at its
    temperature (1 at the temperature of the gates, usually 23 °C)."""

    gates: Sequence[Gate]
    rating: float
    factor: float = 1.0


def opens_by(gates: Sequence[Gate], rating: float, amps: float, factor: float = 1.0) -> float:
    """The slow edge: seconds after which the fuse has opened for certain; infinite below the first gate that has a most.

    `factor` re-rates the fuse for its temperature. Raises ValueError for gates that are out of order or that let a larger
    current take longer.
    """
    _, slow = _edges(tuple(gates))
    return _on_edge(slow, _multiple(amps, rating, factor))


def holds_for(gates: Sequence[Gate], rating: float, amps: float, factor: float = 1.0) -> float:
    """The fast edge: seconds for which the fuse holds for certain; infinite below the first gate of all.

    Nothing is certain beyond the last gate with a least where one without follows: 0. Raises as `opens_by` does.
    """
    multiple = _multiple(amps, rating, factor)
    points, _ = _edges(tuple(gates))
    if _is_below(multiple, gates[0][0]):
        return inf
    if gates[-1][1] is None and (not points or multiple > points[-1][0]):
        return 0.0
    return min(_on_edge(points, multiple), points[0][1])


def opens_between(curve: Curve, amps: float) -> tuple[float, float]:
    """The whole band at one current: fast edge, slow edge."""
    gates, rating, factor = curve
    return holds_for(gates, rating, amps, factor), opens_by(gates, rating, amps, factor)


def overlap(lower: Curve, upper: Curve, most_amps: float, least_amps: float = 0.0) -> float | None:
    """The lowest current up to `most_amps` at which the upper fuse, the one towards the source, may open before the lower one
    surely has; None where there is none and the two are selective.

    Selective means that the slow edge of `lower` is nowhere above the fast edge of `upper` (where `lower` may never open,
    `upper` must never open). Both edges are straight on logarithmic axes between the gates of the two, so looking at those
    currents, from both sides of their jumps, looks at all. Raises ValueError for a range that is empty.
    """
    if not 0.0 <= least_amps <= most_amps:
        raise ValueError(f"currents from {least_amps:g} A to {most_amps:g} A are no range")
    looks = {least_amps, most_amps}
    for curve in (lower, upper):
        for gate in curve.gates:
            bend = curve.rating * curve.factor * gate[0]
            looks |= {amps for amps in (bend * (1 - 1e-9), bend) if least_amps < amps < most_amps}
    last: tuple[float, float] | None = None
    for amps in sorted(looks):
        late = _lateness(lower, upper, amps)
        if late > 1e-12:
            if last is None or late == inf or last[1] == -inf:
                return amps
            # The edges cross on this straight stretch.
            part = -last[1] / (late - last[1])
            return float(last[0] * (amps / last[0]) ** part)
        last = amps, late
    return None


def parts_first(
    lower: tuple[Sequence[Gate], float] | Curve,
    upper: tuple[Sequence[Gate], float] | Curve,
    fault_amps: float,
) -> bool:
    """Whether the lower fuse has always opened before the upper one could, at every current up to `fault_amps`. Each fuse is
    its gates and rating, or a `Curve`."""
    return overlap(Curve(*lower), Curve(*upper), fault_amps) is None


def _lateness(lower: Curve, upper: Curve, amps: float) -> float:
    """By how much on the log axis the slow edge of `lower` lies above the fast edge of `upper`."""
    opened = opens_by(lower.gates, lower.rating, amps, lower.factor)
    held = holds_for(upper.gates, upper.rating, amps, upper.factor)
    if held == inf:
        return -inf
    if opened == inf or held == 0.0:
        return inf
    return log(opened / held)


def _multiple(amps: float, rating: float, factor: float) -> float:
    rated = rating * factor
    if isnan(amps) or amps < 0.0 or not rated > 0.0:
        raise ValueError(f"{amps:g} A through a fuse of {rating:g} A at a factor of {factor:g} means nothing")
    return amps / rated


def _is_below(multiple: float, gate: float) -> bool:
    """Less than a gate by more than rounding: 1.35 times a rating is at the gate of 1.35."""
    return multiple < gate * (1 - 1e-12)


Edge = tuple[tuple[float, float], ...]


@cache
def _edges(gates: tuple[Gate, ...]) -> tuple[Edge, Edge]:
    """The points of the fast and of the slow edge, multiple and seconds, of gates that are in order."""
    _check(gates)
    return (
        tuple((multiple, least) for multiple, least, _ in gates if least is not None),
        tuple((multiple, most) for multiple, _, most in gates if most is not None),
    )


def _check(gates: Sequence[Gate]) -> None:
    if not gates:
        raise ValueError("a fuse with no gates has no opening times")
    for edge in (1, 2):
        last: tuple[float, float] | None = None
        for gate in gates:
            seconds = gate[edge]
            if seconds is None:
                continue
            if not seconds > 0.0 or not gate[0] > 0.0 or (last and (gate[0] <= last[0] or seconds > last[1])):
                raise ValueError(f"the gate at {gate[0]:g} times the rating is out of order")
            last = gate[0], seconds


def _on_edge(points: Sequence[tuple[float, float]], multiple: float) -> float:
    """One edge of the band at a multiple of the rating; infinite before its first point."""
    if not points or _is_below(multiple, points[0][0]):
        return inf
    for (m0, t0), (m1, t1) in pairwise(points):
        if multiple < m1:
            share = max(0.0, log(multiple / m0)) / log(m1 / m0)
            return t0 * exp(log(t1 / t0) * share)
    last, seconds = points[-1]
    return seconds * min(1.0, last / multiple) ** 2
