"""A direct-current network of named nodes: volts at every node, amps through every element, what a fault would draw.

    network = Network()
    network.battery("battery", "earth", 12.8, 0.006)
    network.resistor("battery", "pump", 0.02, name="feed")
    network.constant_power("pump", "earth", 120, name="pump")
    solution = network.solve("earth")
    solution.volts["pump"], solution.amps["feed"]

Units are volts, amperes, ohms and watts throughout. Nodes are any strings. The nodal equations are solved by sparse
elimination (`sparse`) and Newton's method (`operating`); the work grows about in proportion to the number of elements.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from math import inf, isfinite, isnan
from typing import Literal

from loomwright.analysis.circuit import Circuit
from loomwright.analysis.faults import Fault, FaultStudy
from loomwright.analysis.layout import Element, Kind, Layout, lay_out
from loomwright.analysis.nose import Shortfall, settle
from loomwright.analysis.operating import BrokenConservation, Point, must_conserve, tangent_factor
from loomwright.analysis.sparse import Factor
from loomwright.record import Record, made, replace

__all__ = ["BrokenConservation", "FloatingNodes", "Network", "NoOperatingPoint", "Solution"]

Quantity = Literal["volts", "ohms", "amps", "watts"]


class FloatingNodes(ValueError):
    """Parts of the network have no path of resistors, batteries or regulators to the reference. `nodes` names them all."""

    def __init__(self, nodes: tuple[str, ...], reference: str) -> None:
        super().__init__(f"nothing ties {', '.join(nodes)} to {reference}: the voltage there can be anything")
        self.nodes = nodes
        self.reference = reference


class NoOperatingPoint(ValueError):
    """The network can't give what is asked of it.

    `load` names the element at fault. For a constant-power load `asked_watts` and `at_most_watts` are what it asks and the
    most the network could give it with the other loads as they are. Where the fixed currents alone are already more than
    current-limited sources give, `load` is the largest of them and both figures are NaN.
    """

    def __init__(self, load: str, asked_watts: float, at_most_watts: float) -> None:
        if isnan(asked_watts):
            said = f"no operating point: the sources can't carry the fixed currents, of which {load} is the largest"
        else:
            said = f"no operating point: {load} asks for {asked_watts:.6g} W and the network can give it {at_most_watts:.6g} W"
        super().__init__(said)
        self.load = load
        self.asked_watts = asked_watts
        self.at_most_watts = at_most_watts


@dataclass(slots=True)
class Network:
    """Elements between named nodes. Every element method returns the element's name (given, or made from its kind)."""

    elements: dict[str, Element] = field(default_factory=dict)
    _layouts: dict[str, Layout] = field(default_factory=dict, repr=False)

    def resistor(self, a: str, b: str, ohms: float, name: str | None = None) -> str:
        """A resistance of `ohms` ≥ 0. A joint of no resistance counts as 1e-10 Ω, so 1000 A drop 0.1 µV in it, and joints of
        none in parallel share their current equally. Its current is positive from a to b."""
        return self._add(Element("resistor", a, b, ohms=ohms), name)

    def battery(self, pos: str, neg: str, volts: float, ohms: float, name: str | None = None) -> str:
        """`volts` behind an internal resistance of `ohms` ≥ 0. Its current is positive when it discharges."""
        return self._add(Element("battery", pos, neg, volts=volts, ohms=ohms), name)

    def regulator(
        self, pos: str, neg: str, volts: float, ohms: float, limit_amps: float | None, name: str | None = None
    ) -> str:
        """A current-limited regulated source: it gives min(limit, max(0, (volts − v) / ohms)) and never takes current.
        `limit_amps` None is no limit. Its current is positive when it delivers."""
        limit = inf if limit_amps is None else limit_amps
        return self._add(Element("regulator", pos, neg, volts=volts, ohms=ohms, amps=limit), name)

    def constant_current(self, a: str, b: str, amps: float, name: str | None = None) -> str:
        """`amps` flow from a to b through the element, whatever the voltage."""
        return self._add(Element("constant_current", a, b, amps=amps), name)

    def constant_power(self, a: str, b: str, watts: float, name: str | None = None) -> str:
        """Takes `watts` at any voltage, a being plus; a negative figure delivers them. Its current is positive from a to b."""
        return self._add(Element("constant_power", a, b, watts=watts), name)

    def _add(self, element: Element, name: str | None) -> str:
        _must_be_sound(element)
        name = name or f"{element.kind}-{len(self.elements) + 1}"
        if name in self.elements:
            raise ValueError(f"two elements are named {name}")
        self.elements[name] = element
        self._layouts = {}
        return name

    def with_values(self, **changes: Mapping[str, float]) -> Network:
        """A network of the same shape with other values, by quantity and element name: `with_values(ohms={"feed": 0.03})`.

        Quantities are `volts`, `ohms`, `amps` (of a constant current, or the limit of a regulator) and `watts`. The elimination
        order is shared, so this costs no more than the elements it changes and one copy of the rest.
        """
        elements = dict(self.elements)
        for quantity, values in changes.items():
            for name, value in values.items():
                if name not in elements:
                    raise ValueError(f"no element is named {name}")
                if quantity not in _QUANTITIES[elements[name].kind]:
                    raise ValueError(f"a {elements[name].kind} ({name}) has no {quantity}")
                elements[name] = _CHANGED[quantity](elements[name], value)
                _must_be_sound(elements[name])
        return Network(elements, self._layouts)

    def layout(self, reference: str) -> Layout:
        """Node numbers and elimination order for one reference node. Raises `FloatingNodes`, and ValueError for an
        unknown node."""
        if reference not in self._layouts:
            layout, floating = lay_out(self.elements, reference)
            if floating:
                raise FloatingNodes(floating, reference)
            self._layouts[reference] = layout
        return self._layouts[reference]

    def solve(self, reference: str, near: Solution | None = None) -> Solution:
        """The operating point of high voltage, with `reference` at 0 V. `near` is the solution of a network of the same shape
        and much the same values, where there is one: it is a shorter way from there.

        Raises `FloatingNodes` or `NoOperatingPoint`. Currents meet at every node, and what the sources give equals what the
        loads and the losses take, within 1e-9 of the whole; a solution that breaks this is never returned.
        """
        layout = self.layout(reference)
        circuit = layout.circuit(self.elements)
        point = settle(circuit, near._point.volts if near else None)
        if isinstance(point, Shortfall):
            raise self._without_point(layout, point)
        must_conserve(circuit, point)
        amps = layout.amps_by_name(self.elements, point)
        volts = dict(zip(layout.numbers, point.volts, strict=True))
        return Solution(volts, amps, True, point.steps, self, reference, circuit, point)

    def _without_point(self, layout: Layout, shortfall: Shortfall) -> NoOperatingPoint:
        if shortfall.load is not None:
            load = layout.names["constant_power"][shortfall.load]
            return NoOperatingPoint(load, self.elements[load].watts, shortfall.at_most)
        fixed = [n for n, e in self.elements.items() if e.kind in ("constant_current", "constant_power")]
        load = max(fixed, key=lambda n: abs(self.elements[n].amps)) if fixed else next(iter(self.elements))
        return NoOperatingPoint(load, float("nan"), float("nan"))

    def faults(self, reference: str) -> FaultStudy:
        """Bolted faults anywhere in this network from one factorisation; see `FaultStudy`."""
        layout = self.layout(reference)
        return FaultStudy(self.elements, layout)


_QUANTITIES: dict[Kind, tuple[Quantity, ...]] = {
    "resistor": ("ohms",),
    "battery": ("volts", "ohms"),
    "regulator": ("volts", "ohms", "amps"),
    "constant_current": ("amps",),
    "constant_power": ("watts",),
}

_CHANGED: dict[str, Callable[[Element, float], Element]] = {
    "volts": lambda e, value: replace(e, volts=value),
    "ohms": lambda e, value: replace(e, ohms=value),
    "amps": lambda e, value: replace(e, amps=value),
    "watts": lambda e, value: replace(e, watts=value),
}


def _must_be_sound(element: Element) -> None:
    if element.a == element.b:
        raise ValueError(f"both ends of a {element.kind} are at {element.a}")
    for quantity in _QUANTITIES[element.kind]:
        value = getattr(element, quantity)
        unlimited = element.kind == "regulator" and quantity == "amps" and value == inf
        if not (isfinite(value) or unlimited):
            raise ValueError(f"the {quantity} of a {element.kind} must be a number, not {value}")
        if value < 0.0 and (quantity == "ohms" or element.kind == "regulator"):
            raise ValueError(f"the {quantity} of a {element.kind} can't be negative ({value:g})")


class Solution(Record):
    """A solved network: `volts` by node (above the reference), `amps` by element with the signs of the element methods.
    `iterations` counts factorisations."""

    volts: Mapping[str, float]
    amps: Mapping[str, float]
    converged: bool
    iterations: int
    network: Network
    reference: str
    _circuit: Circuit
    _point: Point
    _made: dict[str, Factor | FaultStudy] = made(factory=dict)

    def thevenin(self, a: str, b: str) -> tuple[float, float]:
        """Volts between a and b, and the ohms seen there: how far those volts give for one more ampere drawn from a to b.

        The ohms are those of the solved point: a constant-power load counts with its slope −v²/P, a regulator at its limit
        or off as open.
        """
        factor = self._factor()
        half = factor.half(self.network.layout(self.reference).ends(a, b))
        return self.volts[a] - self.volts[b], factor.joined(half, half)

    def sensitivity(self, element: str) -> dict[str, float]:
        """Volts by node for one more ohm in a resistor, a battery, or a regulator between its limits.

        From the factorisation at the solved point: resistance dr in a branch that carries i acts as a source of −i·dr.
        Raises ValueError for an element with no resistance of its own.
        """
        e = self.network.elements[element]
        if "ohms" not in _QUANTITIES[e.kind]:
            raise ValueError(f"{element} is a {e.kind}: it has no resistance")
        layout = self.network.layout(self.reference)
        weight = self.amps[element] / e.resistance
        if e.kind == "regulator" and not 0.0 < self.amps[element] < e.amps:
            weight = 0.0
        if e.is_source:
            weight = -weight
        push = [0.0] * self._circuit.plan.size
        for node, amp in layout.ends(e.a, e.b).items():
            push[node] = weight * amp
        return dict(zip(layout.numbers, self._factor().solve(push), strict=True))

    def fault(self, a: str, b: str) -> Fault:
        """A bolted fault from a to b in this network; see `FaultStudy` for what counts."""
        study = self._made.get("faults")
        if not isinstance(study, FaultStudy):
            study = self._made["faults"] = self.network.faults(self.reference)
        return study.fault(a, b)

    def _factor(self) -> Factor:
        factor = self._made.get("factor")
        if not isinstance(factor, Factor):
            factor = self._made["factor"] = tangent_factor(self._circuit, self._point)
        return factor
