"""How much heat a conductor takes in a short circuit, and the temperatures round it."""

from __future__ import annotations

from math import log, sqrt

from loomwright.stock.cited import COMPUTED, Cited
from loomwright.stock.tables import Table, cite, table

ADIABATIC_LIMIT_S = 5.0
"""The adiabatic equation holds up to this time (IEC 60364-5-54 clause 543.1.2)."""


def adiabatic_k(initial_celsius: float, final_celsius: float, metal: str = "copper") -> Cited:
    """k in A √s / mm² of IEC 60364-5-54 annex A: sqrt(Qc (β + 20) / ρ20 · ln((β + θf) / (β + θi))).

    0 when the conductor starts as hot as it may end. Metals: copper, aluminium, steel.
    """
    if metal not in table("thermal", "adiabatic"):
        raise KeyError(f"no adiabatic constants for '{metal}'")
    constants: Table = table("thermal", "adiabatic")[metal]
    source = f"{constants['source']}, {metal} from {initial_celsius:g} to {final_celsius:g} degC"
    if final_celsius <= initial_celsius:
        return Cited(0.0, source, COMPUTED)
    beta = constants["beta"]
    rise = log((beta + final_celsius) / (beta + initial_celsius))
    return Cited(sqrt(constants["heat"] * (beta + 20) / constants["resistivity"] * rise), source, COMPUTED)


def final_celsius(class_celsius: float) -> Cited:
    """The temperature in degC that insulation of a class bears at the end of a short circuit.

    Below 125 degC the insulation is taken as PVC, from there as thermosetting: the class alone doesn't name the
    material, and PVC is the weaker.
    """
    final = table("thermal", "final")
    row = next(row for row in reversed(final["rows"]) if class_celsius >= row[0])
    return cite(row[1], final, f"{row[2]} by its class of {class_celsius:g} degC")


def melting_celsius() -> Cited:
    """Melting point of copper in degC."""
    melting = table("thermal", "melting")
    return cite(melting["copper"], melting)


def class_celsius(letter: str) -> Cited:
    """Continuous temperature in degC of a vehicle cable's class letter, A to H. Raises `KeyError`."""
    classes = table("thermal", "cable_classes")
    return cite(classes["rows"][letter], classes, f"class {letter}")


def design_ambient(where: str) -> Cited:
    """Air temperature in degC to size cable for: "cabin", "load-area", "engine-space", "engine-bay"."""
    ambient = table("thermal", "design_ambient")
    return cite(ambient[where], ambient, where)


def component_limit(where: str) -> Cited:
    """The highest usual temperature in degC of what is mounted there (ISO 16750-4). Raises `KeyError`."""
    limits = table("thermal", "component_limits")
    return cite(limits[where], limits, where)
