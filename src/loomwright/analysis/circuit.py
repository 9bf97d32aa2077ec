"""A network compiled to numbered nodes: straight branches, fixed currents, and elements whose current bends with their volts.

A bent element tells its current, its slope, and the tangent that stands for it in a Newton step.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from loomwright.analysis.sparse import Elimination
from loomwright.record import Record

LEAK = 1e-9
"""Slope of a regulator at its limit or off, as a fraction of its slope in between: keeps a pivot where nothing else does."""


class Power(NamedTuple):
    """Takes `watts` from a to b (negative: delivers them). Its slope is stamped at `slot`."""

    a: int
    b: int
    slot: int
    watts: float

    def amps(self, volts: float) -> float:
        return self.watts / volts if self.watts else 0.0

    def slope(self, volts: float) -> float:
        return -self.watts / (volts * volts) if self.watts else 0.0

    def tangent(self, volts: float) -> tuple[float, float]:
        """Slope, and the current where the tangent meets no volts."""
        amps = self.watts / volts
        return -amps / volts, 2.0 * amps

    def bend(self, volts: float, turn: float) -> float:
        """What the tangent at `volts` leaves out of the current at `volts` + `turn`, times `turn`."""
        return self.watts * (turn / volts) ** 2 * turn / (volts + turn) if volts + turn else 0.0


class Held(NamedTuple):
    """A constant-power element taken as a constant current for one step: its slope, which is negative, is left out."""

    a: int
    b: int
    slot: int
    watts: float

    def amps(self, volts: float) -> float:
        return self.watts / volts

    def slope(self, _: float) -> float:
        return 0.0

    def tangent(self, volts: float) -> tuple[float, float]:
        """Slope, and the current where the line meets no volts."""
        return 0.0, self.watts / volts

    def bend(self, volts: float, turn: float) -> float:
        """What the line at `volts` leaves out of the current at `volts` + `turn`, times `turn`."""
        return (self.amps(volts + turn) - self.amps(volts)) * turn if volts + turn else 0.0


class Regulated(NamedTuple):
    """A regulated source written as what flows from a (plus) to b through it: never positive, never beyond −`limit`."""

    a: int
    b: int
    slot: int
    emf: float
    siemens: float
    limit: float

    def amps(self, volts: float) -> float:
        straight = (self.emf - volts) * self.siemens
        return -self.limit if straight > self.limit else -straight if straight > 0.0 else 0.0

    def slope(self, volts: float) -> float:
        between = 0.0 <= (self.emf - volts) * self.siemens <= self.limit
        return self.siemens if between else self.siemens * LEAK

    def tangent(self, volts: float) -> tuple[float, float]:
        """Slope, and the current where the tangent meets no volts."""
        slope = self.slope(volts)
        return slope, self.amps(volts) - slope * volts

    def bend(self, volts: float, turn: float) -> float:
        """What the tangent at `volts` leaves out of the current at `volts` + `turn`, times `turn`."""
        return (self.amps(volts + turn) - self.amps(volts) - turn * self.slope(volts)) * turn


Stamp = tuple[int, int, int]
"""Node a, node b and the slot of their coupling."""


class Circuit(Record):
    """A network compiled for one reference, with nodes as numbers.

    Branch k carries `siemens[k]` · (v[a] − v[b] − `emfs[k]`) amperes from a to b. `couple` and `pushed` are the stamps of
    the linear part: conductances by slot and currents by node.
    """

    plan: Elimination
    stamps: Sequence[Stamp]
    siemens: Sequence[float]
    emfs: Sequence[float]
    drains: Sequence[tuple[int, int, float]]
    powers: Sequence[Power]
    regulated: Sequence[Regulated]
    couple: list[float]
    pushed: list[float]

    @property
    def highest_emf(self) -> float:
        """The greatest source voltage, or 1 V in a network with none."""
        return max(map(abs, (*self.emfs, *(r.emf for r in self.regulated))), default=0.0) or 1.0


def compile_circuit(
    plan: Elimination,
    stamps: Sequence[Stamp],
    siemens: Sequence[float],
    emfs: Sequence[float],
    drains: Sequence[tuple[int, int, float]] = (),
    powers: Sequence[Power] = (),
    regulated: Sequence[Regulated] = (),
) -> Circuit:
    """Stamp the linear part once; every Newton step starts from a copy of it."""
    couple = [0.0] * plan.slot_count
    pushed = [0.0] * plan.size
    for (a, b, slot), g, emf in zip(stamps, siemens, emfs, strict=True):
        couple[slot] += g
        if emf:
            pushed[a] += g * emf
            pushed[b] -= g * emf
    for a, b, amps in drains:
        pushed[a] -= amps
        pushed[b] += amps
    return Circuit(plan, stamps, siemens, emfs, drains, powers, regulated, couple, pushed)
