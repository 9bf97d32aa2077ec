"""How hot a conductor gets: steadily from its ampacity, at once from a fault, and a network with its copper warm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, inf, log

from loomwright.analysis.network import Network, Solution

COPPER_ALPHA = 0.00393
"""Per kelvin at 20 °C: IEC 60028, standard annealed copper."""
COPPER_BETA = 234.5
"""Kelvin: IEC 60364-5-54 annex A, the reciprocal of the temperature coefficient at 0 °C."""
COPPER_ADIABATIC = 226.0
"""A s^½/mm²: IEC 60364-5-54 annex A, √(Qc (β + 20) / ρ20) for copper."""


def resistance_factor(celsius: float, alpha: float = COPPER_ALPHA) -> float:
    """Resistance at a temperature over that at 20 °C: 1 + α (θ − 20), IEC 60228 annex (temperature correction)."""
    return 1.0 + alpha * (celsius - 20.0)


def steady_celsius(
    amps: float,
    carries_amps: float,
    ambient_celsius: float,
    class_celsius: float,
    alpha: float = COPPER_ALPHA,
) -> float:
    """The temperature that a conductor settles at.

    The ampacity `carries_amps` is the current that brings it from this very ambient to `class_celsius`. Heat made grows with
    I² R(θ) and heat lost with θ − ambient (the principle of IEC 60287-1-1 clause 1.4.1 without the dielectric terms), so

        θ − θa = (θc − θa) (I / Iz)² R(θ) / R(θc)

    which is solved for θ. Infinite where the growing resistance outruns the cooling. Raises ValueError for an ampacity that is
    not positive, or an ambient at or above the class temperature.
    """
    if not (carries_amps > 0.0 and ambient_celsius < class_celsius):
        raise ValueError(
            f"{carries_amps:g} A from {ambient_celsius:g} °C to {class_celsius:g} °C is no basis for a temperature"
        )
    heat = (
        (class_celsius - ambient_celsius)
        * (amps / carries_amps) ** 2
        / resistance_factor(class_celsius, alpha)
    )
    cooling = 1.0 - alpha * heat
    return (ambient_celsius + heat * (1.0 - 20.0 * alpha)) / cooling if cooling > 0.0 else inf


def adiabatic_celsius(
    amps: float,
    seconds: float,
    area_mm2: float,
    start_celsius: float,
    constant: float = COPPER_ADIABATIC,
    beta: float = COPPER_BETA,
) -> float:
    """The temperature after a short current with no heat lost, for a few seconds: IEC 60364-5-54 annex A solved for the end.

    `constant` and `beta` are the metal's (copper's where left out). Infinite where the figure is beyond all metals.
    """
    if not area_mm2 > 0.0:
        raise ValueError(f"a conductor of {area_mm2:g} mm² has no temperature")
    power = (amps / (constant * area_mm2)) ** 2 * seconds
    return (beta + start_celsius) * exp(power) - beta if power < 50.0 else inf


def adiabatic_amps(
    area_mm2: float,
    seconds: float,
    start_celsius: float,
    end_celsius: float,
    constant: float = COPPER_ADIABATIC,
    beta: float = COPPER_BETA,
) -> float:
    """The current that takes a conductor from start to end temperature in a short time, IEC 60364-5-54 annex A. With the
    melting temperature as the end (1083 °C for copper) it is the fusing current."""
    if not (seconds > 0.0 and area_mm2 > 0.0 and end_celsius >= start_celsius):
        raise ValueError(
            f"no current takes {area_mm2:g} mm² from {start_celsius:g} °C to {end_celsius:g} °C in {seconds:g} s"
        )
    return float(constant * area_mm2 * (log((beta + end_celsius) / (beta + start_celsius)) / seconds) ** 0.5)


@dataclass(frozen=True, slots=True)
class Warming:
    """What makes the temperature of one resistor: see `steady_celsius`."""

    carries_amps: float
    ambient_celsius: float
    class_celsius: float
    alpha: float = COPPER_ALPHA


def solve_warm(
    network: Network, reference: str, conductors: Mapping[str, Warming], cap_celsius: float = 250.0
) -> tuple[Solution, dict[str, float]]:
    """A network whose conductors warm with their own currents: the solution, and the °C of each conductor by name.

    The resistors named in `conductors` have their ohms at 20 °C. Currents and temperatures are found in turns until no
    temperature moves by 0.01 K. No conductor counts as hotter than `cap_celsius`: its insulation is gone before that, and the
    figure only says so. Raises what `Network.solve` raises, and ArithmeticError where the turns do not settle.
    """
    celsius = {name: warming.ambient_celsius for name, warming in conductors.items()}
    cold = {name: network.elements[name].ohms for name in conductors}
    for _ in range(100):
        ohms = {
            name: cold[name] * resistance_factor(celsius[name], conductors[name].alpha) for name in conductors
        }
        solution = network.with_values(ohms=ohms).solve(reference)
        found = {
            name: min(
                cap_celsius,
                steady_celsius(
                    solution.amps[name], w.carries_amps, w.ambient_celsius, w.class_celsius, w.alpha
                ),
            )
            for name, w in conductors.items()
        }
        moved = max((abs(found[name] - celsius[name]) for name in found), default=0.0)
        celsius = found
        if moved < 0.01:
            return solution, celsius
    raise ArithmeticError("the temperatures of the conductors do not settle")
