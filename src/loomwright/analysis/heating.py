"""How hot a conductor gets: steadily from its ampacity, at once from a fault."""

from __future__ import annotations

from math import exp, inf, log

COPPER_BETA = 234.5
"""Kelvin: IEC 60364-5-54 annex A, the reciprocal of the temperature coefficient at 0 °C."""
COPPER_ADIABATIC = 226.0
"""A s^½/mm²: IEC 60364-5-54 annex A, √(Qc (β + 20) / ρ20) for copper."""


def steady_celsius(amps: float, carries_amps: float, ambient_celsius: float, class_celsius: float) -> float:
    """The temperature that a conductor settles at: θ = θa + (θc − θa) (I / Iz)².

    The ampacity `carries_amps` is the current that brings it from `ambient_celsius` to `class_celsius`. This is the law behind the
    codes' ambient factors (IEC 60364-5-52 Table B.52.14; the principle of IEC 60287-1-1 clause 1.4.1): the heat is that of the
    resistance at the class temperature, so below the ampacity it errs to the warm side. Raises ValueError for an ampacity that
    is not positive.
    """
    if not carries_amps > 0.0:
        raise ValueError(f"an ampacity of {carries_amps:g} A is no basis for a temperature")
    return ambient_celsius + (class_celsius - ambient_celsius) * (amps / carries_amps) ** 2


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
