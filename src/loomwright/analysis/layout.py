"""Names to numbers: the elements of a network, and where each is stamped for one reference node."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from loomwright.analysis.circuit import Circuit, Power, Regulated, Stamp, compile_circuit
from loomwright.analysis.operating import Point
from loomwright.analysis.sparse import Elimination, adjacency, eliminate
from loomwright.record import Record

Kind = Literal["resistor", "battery", "regulator", "constant_current", "constant_power"]
KINDS: tuple[Kind, ...] = ("resistor", "battery", "regulator", "constant_current", "constant_power")
TYING: tuple[Kind, ...] = ("resistor", "battery", "regulator")
"""The kinds that hold the voltage of one node to that of another."""

LEAST_OHMS = 1e-10
"""What a resistance of nothing counts as."""


class Element(Record):
    """One element between nodes a (plus) and b. `amps` is the current of a constant current, or the limit of a regulator."""

    kind: Kind
    a: str
    b: str
    volts: float = 0.0
    ohms: float = 0.0
    amps: float = 0.0
    watts: float = 0.0

    @property
    def is_source(self) -> bool:
        """Whether its current counts out of its plus terminal."""
        return self.kind in ("battery", "regulator")

    @property
    def resistance(self) -> float:
        """Ohms as they are computed with."""
        return max(self.ohms, LEAST_OHMS)


class Layout(Record):
    """Node numbers in the order of first mention, the elimination order for one reference, and for each list of `Circuit`
    the names of its elements and where they are stamped."""

    numbers: Mapping[str, int]
    plan: Elimination
    names: Mapping[Kind, Sequence[str]]
    stamps: Mapping[Kind, Sequence[Stamp]]

    def ends(self, a: str, b: str) -> dict[int, float]:
        """One ampere into a and out of b, by node number. Raises ValueError for an unknown node or for a = b."""
        for node in (a, b):
            if node not in self.numbers:
                raise ValueError(f"no node is named {node}")
        if a == b:
            raise ValueError(f"both ends are {a}")
        return {self.numbers[a]: 1.0, self.numbers[b]: -1.0}

    def circuit(self, elements: Mapping[str, Element], loads: bool = True) -> Circuit:
        """The elements' values in the places of this layout; `loads` False leaves constant currents and powers out."""
        names, stamps = self.names, self.stamps
        resistors, batteries = ([elements[n] for n in names[kind]] for kind in ("resistor", "battery"))
        siemens = [1.0 / max(e.ohms, LEAST_OHMS) for e in (*resistors, *batteries)]
        regulated = [
            Regulated(*stamp, e.volts, 1.0 / e.resistance, e.amps)
            for stamp, e in zip(stamps["regulator"], (elements[n] for n in names["regulator"]), strict=True)
        ]
        drains: list[tuple[int, int, float]] = []
        powers: list[Power] = []
        if loads:
            drains = [(a, b, elements[n].amps) for (a, b, _), n in _pairs(self, "constant_current")]
            powers = [Power(*stamp, elements[n].watts) for stamp, n in _pairs(self, "constant_power")]
        return compile_circuit(
            self.plan,
            (*stamps["resistor"], *stamps["battery"]),
            siemens,
            [0.0] * len(resistors) + [e.volts for e in batteries],
            drains,
            powers,
            regulated,
        )

    def amps_by_name(self, elements: Mapping[str, Element], point: Point) -> dict[str, float]:
        """Currents by element in the order of the network, sources counted out of plus."""
        resistors = len(self.names["resistor"])
        found = dict(zip(self.names["resistor"], point.branch_amps[:resistors], strict=True))
        found.update(zip(self.names["battery"], [-i for i in point.branch_amps[resistors:]], strict=True))
        found.update(zip(self.names["regulator"], [-i for i in point.regulated_amps], strict=True))
        found.update(zip(self.names["constant_power"], point.power_amps, strict=True))
        found.update((n, elements[n].amps) for n in self.names["constant_current"])
        return {name: found[name] for name in elements}


def _pairs(layout: Layout, kind: Kind) -> Iterable[tuple[Stamp, str]]:
    return zip(layout.stamps[kind], layout.names[kind], strict=True)


def lay_out(elements: Mapping[str, Element], reference: str) -> tuple[Layout, tuple[str, ...]]:
    """Numbers and elimination order, and the nodes (if any) that nothing with a resistance ties to the reference."""
    numbers: dict[str, int] = {}
    couples = [
        (numbers.setdefault(e.a, len(numbers)), numbers.setdefault(e.b, len(numbers)))
        for e in elements.values()
    ]
    if reference not in numbers:
        raise ValueError(f"no node is named {reference}")
    near, slots = adjacency(len(numbers), couples)
    names: dict[Kind, list[str]] = {kind: [] for kind in KINDS}
    stamps: dict[Kind, list[Stamp]] = {kind: [] for kind in KINDS}
    ties = [False] * len(slots)
    for (name, e), (a, b), slot in zip(elements.items(), couples, slots, strict=True):
        names[e.kind].append(name)
        stamps[e.kind].append((a, b, slot))
        if e.kind in TYING:
            ties[slot] = True
    held = _held(near, ties, numbers[reference])
    floating = tuple(node for node, k in numbers.items() if not held[k])
    return Layout(numbers, eliminate(near, numbers[reference]), names, stamps), floating


def _held(near: Sequence[Mapping[int, int]], ties: Sequence[bool], reference: int) -> list[bool]:
    """Which nodes a path of tying slots leads to from the reference."""
    held = [False] * len(near)
    held[reference] = True
    waiting = [reference]
    while waiting:
        for node, slot in near[waiting.pop()].items():
            if ties[slot] and not held[node]:
                held[node] = True
                waiting.append(node)
    return held
