"""Bolted faults: what the batteries and regulators drive into two nodes joined together, and each one's share.

One factorisation of the network without its loads serves every fault in it. A fault then costs the two half
solutions of `sparse.Factor.half`, and each element whose share is asked one more.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from loomwright.analysis.circuit import Regulated
from loomwright.analysis.layout import Element, Layout
from loomwright.analysis.operating import find_linear
from loomwright.record import Record, made

Half = dict[int, float]


class FaultStudy:
    """Faults between any two nodes of a network.

    A bolted fault is a joint of no resistance. Batteries drive it from their open voltage through their internal resistance,
    regulators up to their current limit. Constant-power and constant-current elements are left out: a fault takes the
    voltage they live on, and what they feed back from their own stores is not known here. `fault_ohms` lets a fault have
    a resistance.
    """

    def __init__(self, elements: Mapping[str, Element], layout: Layout) -> None:
        self._elements = elements
        self._layout = layout
        circuit = layout.circuit(elements, loads=False)
        self._regulated = circuit.regulated
        self._factor, self._volts, amps = find_linear(circuit)
        self._regulators = tuple(layout.names["regulator"])
        self._amps = dict(
            zip((*layout.names["resistor"], *layout.names["battery"], *self._regulators), amps, strict=True)
        )
        self._halves: dict[str, Half] = {}
        own = [self._half(name) for name in self._regulators]
        self._between = [[self._factor.joined(one, other) for other in own] for one in own]
        self._open = [self._volts[r.a] - self._volts[r.b] for r in circuit.regulated]

    def fault(self, a: str, b: str, fault_ohms: float = 0.0) -> Fault:
        """The fault current that flows from a to b (negative where b is the higher). Raises ValueError for unknown nodes."""
        factor, names = self._factor, self._regulators
        half = factor.half(self._layout.ends(a, b))
        ohms = factor.joined(half, half) + fault_ohms
        volts = self._volts[self._layout.numbers[a]] - self._volts[self._layout.numbers[b]]
        across = [factor.joined(half, self._half(name)) for name in names]
        spans = [v - u * volts / ohms for v, u in zip(self._open, across, strict=True)]
        ties = [
            [z - across[r] * across[s] / ohms for s, z in enumerate(row)]
            for r, row in enumerate(self._between)
        ]
        extra = _bent_back(self._regulated, spans, ties)
        amps = (volts + sum(u * c for u, c in zip(across, extra, strict=True))) / ohms
        return Fault(a, b, amps, self, half, tuple(extra))

    def through(self, fault: Fault, name: str) -> float:
        """Amperes through one element during a fault, with the sign its element method gives; kept with the fault."""
        if name not in fault._shares:
            fault._shares[name] = self._through(fault, name)
        return fault._shares[name]

    def _through(self, fault: Fault, name: str) -> float:
        e = self._elements[name]
        if e.kind in ("constant_current", "constant_power"):
            return 0.0
        half, factor = self._half(name), self._factor
        change = -fault.amps * factor.joined(half, fault._half)
        for other, amps in zip(self._regulators, fault._extra, strict=True):
            if amps:
                change += amps * factor.joined(half, self._half(other))
        amps = self._amps[name] + change / e.resistance
        if e.kind == "regulator":
            amps -= fault._extra[self._regulators.index(name)]
        return -amps if e.is_source else amps

    def sources(self) -> tuple[str, ...]:
        """The names of the batteries and regulators."""
        return tuple(name for name, e in self._elements.items() if e.is_source)

    def _half(self, name: str) -> Half:
        if name not in self._halves:
            e = self._elements[name]
            self._halves[name] = self._factor.half(self._layout.ends(e.a, e.b))
        return self._halves[name]


class Fault(Record):
    """A bolted fault: `amps` flow from a to b through the fault itself."""

    a: str
    b: str
    amps: float
    _study: FaultStudy
    _half: Half
    _extra: tuple[float, ...]
    _shares: dict[str, float] = made(factory=dict)

    @property
    def shares(self) -> dict[str, float]:
        """What each battery and regulator delivers during the fault, by name. A battery that takes current shows negative.

        Sources also feed one another, so the shares add up to the fault current only where nothing else joins their poles.
        """
        return {name: self.through(name) for name in self._study.sources()}

    def through(self, element: str) -> float:
        """Amperes through any element during the fault, with the sign that its element method gives."""
        return self._study.through(self, element)


def _bent_back(regulated: Iterable[Regulated], spans: list[float], ties: list[list[float]]) -> list[float]:
    """What each regulator gives beyond its straight law (volts − v) / ohms, all of them consistent with one another.

    `spans` are their volts on the straight law, `ties` the ohms by which an extra ampere of one lifts another. Each is
    on its straight piece, at its limit, or off; the pieces are found by changing one at a time, the first that disagrees
    (least-index pivoting, which ends for positive definite `ties`: Murty, Linear Complementarity, 1988, chapter 4).
    """
    sources = list(regulated)
    piece: list[float | None] = [None] * len(sources)
    extra = [0.0] * len(sources)
    for _ in range(3 ** min(len(sources), 6) + 20 * len(sources)):
        wrong = None
        for r, source in enumerate(sources):
            volts = spans[r] + sum(z * c for z, c in zip(ties[r], extra, strict=True))
            straight = (source.emf - volts) * source.siemens
            slack = 1e-9 * (1.0 + abs(source.emf) * min(source.siemens, 1.0))
            want: float | None = None
            if straight > source.limit + slack:
                want = source.limit
            elif straight < -slack:
                want = 0.0
            if want != piece[r] and (want is not None or abs(straight) > slack):
                # From one bend never straight to the other: what lies between may be the only state there is.
                wrong = r, want if piece[r] is None else None
                break
        if wrong is None:
            return extra
        piece[wrong[0]] = wrong[1]
        extra = _extra_amps(sources, piece, spans, ties)
    raise ArithmeticError("the regulators of this network find no common state under a fault")


def _extra_amps(
    sources: list[Regulated], piece: list[float | None], spans: list[float], ties: list[list[float]]
) -> list[float]:
    """Extra amps for given pieces: those off the straight piece give a fixed current, so (r − Z) c = v − emf + fixed · r."""
    bent = [r for r, fixed in enumerate(piece) if fixed is not None]
    rows = []
    for r in bent:
        ohms = 1.0 / sources[r].siemens
        row = [(ohms if r == s else 0.0) - ties[r][s] for s in bent]
        rows.append([*row, spans[r] - sources[r].emf + (piece[r] or 0.0) * ohms])
    extra = [0.0] * len(sources)
    for r, amps in zip(bent, _dense(rows), strict=True):
        extra[r] = amps
    return extra


def _dense(rows: list[list[float]]) -> list[float]:
    """Gauss-Jordan for a few symmetric positive definite equations, the right-hand side last in each row."""
    for k, row in enumerate(rows):
        pivot = row[k] if row[k] > 1e-18 else 1e-18
        rows[k] = [x / pivot for x in row]
        for j, other in enumerate(rows):
            if j != k and other[k]:
                rows[j] = [x - other[k] * y for x, y in zip(other, rows[k], strict=True)]
    return [row[-1] for row in rows]
