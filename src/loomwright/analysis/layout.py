"""Names to numbers: the elements of a network, and where each is stamped for one reference node."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from loomwright.analysis.operating import Branch, Circuit, Power, Regulated, compile_circuit
from loomwright.analysis.sparse import Elimination, eliminate

Kind = Literal["resistor", "battery", "regulator", "constant_current", "constant_power"]

LEAST_OHMS = 1e-10
"""What a resistance of nothing counts as."""


@dataclass(frozen=True, slots=True)
class Element:
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


@dataclass(frozen=True, slots=True)
class Layout:
    """Node numbers in the order of first mention (the reference last) and the names of each list of `Circuit`."""

    numbers: Mapping[str, int]
    plan: Elimination
    branches: Sequence[str]
    drains: Sequence[str]
    powers: Sequence[str]
    regulated: Sequence[str]

    def ends(self, a: str, b: str) -> dict[int, float]:
        """One ampere into a and out of b, by node number. Raises ValueError for an unknown node or for a = b."""
        for node in (a, b):
            if node not in self.numbers:
                raise ValueError(f"no node is named {node}")
        if a == b:
            raise ValueError(f"both ends are {a}")
        return {self.numbers[a]: 1.0, self.numbers[b]: -1.0}

    def stamp(self, element: Element) -> tuple[int, int, int, int]:
        """Nodes a and b, the slot of their coupling, and the node whose excess is stamped (a bin where both have numbers)."""
        a, b = terminals(element, self)
        reference = self.plan.size
        if a != reference and b != reference:
            return a, b, self.plan.slots[a, b], reference
        return a, b, self.plan.slot_count, a if b == reference else b

    def circuit(self, elements: Mapping[str, Element], loads: bool = True) -> Circuit:
        """The elements' values in the places of this layout; `loads` False leaves constant currents and powers out."""
        branches = []
        for name in self.branches:
            e = elements[name]
            a, b, slot, own = self.stamp(e)
            branches.append(Branch(a, b, 1.0 / e.resistance, e.volts, slot, own))
        regulated = []
        for name in self.regulated:
            e = elements[name]
            a, b, slot, own = self.stamp(e)
            regulated.append(Regulated(a, b, e.volts, 1.0 / e.resistance, e.amps, slot, own))
        drains, powers = [], []
        if loads:
            drains = [(*terminals(elements[name], self), elements[name].amps) for name in self.drains]
            for name in self.powers:
                a, b, slot, own = self.stamp(elements[name])
                powers.append(Power(a, b, elements[name].watts, slot, own))
        return compile_circuit(self.plan, branches, drains, powers, regulated)

    def amps_by_name(
        self,
        branch_amps: Sequence[float],
        power_amps: Sequence[float],
        regulated_amps: Sequence[float],
        elements: Mapping[str, Element],
    ) -> dict[str, float]:
        """Currents by element in the order of the network, sources counted out of plus."""
        found = dict(zip(self.branches, branch_amps, strict=True))
        found.update(zip(self.powers, power_amps, strict=True))
        found.update(zip(self.regulated, regulated_amps, strict=True))
        found.update((name, elements[name].amps) for name in self.drains)
        return {name: -found[name] if e.is_source else found[name] for name, e in elements.items()}


def terminals(element: Element, layout: Layout) -> tuple[int, int]:
    """The numbers of an element's nodes."""
    return layout.numbers[element.a], layout.numbers[element.b]


def lay_out(elements: Mapping[str, Element], reference: str) -> tuple[Layout, tuple[str, ...]]:
    """Numbers and elimination order, and the nodes (if any) that nothing with a resistance ties to the reference."""
    nodes = dict.fromkeys(node for e in elements.values() for node in (e.a, e.b))
    if reference not in nodes:
        raise ValueError(f"no node is named {reference}")
    del nodes[reference]
    numbers = {node: k for k, node in enumerate((*nodes, reference))}
    plan = eliminate(
        len(nodes), ((numbers[e.a], numbers[e.b]) for e in elements.values() if e.kind != "constant_current")
    )
    of_kind: dict[Kind, list[str]] = {}
    for name, e in elements.items():
        of_kind.setdefault("resistor" if e.kind == "battery" else e.kind, []).append(name)
    layout = Layout(
        numbers,
        plan,
        of_kind.get("resistor", []),
        of_kind.get("constant_current", []),
        of_kind.get("constant_power", []),
        of_kind.get("regulator", []),
    )
    return layout, _floating(elements, reference)


def _floating(elements: Mapping[str, Element], reference: str) -> tuple[str, ...]:
    near: dict[str, list[str]] = {}
    for e in elements.values():
        ties = e.kind not in ("constant_current", "constant_power")
        near.setdefault(e.a, []).extend([e.b] if ties else [])
        near.setdefault(e.b, []).extend([e.a] if ties else [])
    held, waiting = {reference}, [reference]
    while waiting:
        for node in near[waiting.pop()]:
            if node not in held:
                held.add(node)
                waiting.append(node)
    return tuple(node for node in near if node not in held)
