"""How long a cable stands a current before its insulation is harmed."""

from __future__ import annotations

from math import inf, log1p

ADIABATIC_SECONDS = 5.0
"""IEC 60364-4-43 clause 434.5.2 and 60364-5-54 clause 543.1.2 take conductors to keep all their heat up to here."""


def adiabatic_seconds(amps: float, area_mm2: float, k: float) -> float:
    """t = (k S / I)²: IEC 60364-5-54 clause 543.1.2. k in A s^½/mm² from the metal and the start and end temperature (annex A).
    Infinite at no current, 0 where k is 0 (a cable as hot as it may get). Raises ValueError for an area that is not positive."""
    if not (area_mm2 > 0.0 and k >= 0.0 and amps >= 0.0):
        raise ValueError(f"no withstand time for {amps:g} A in {area_mm2:g} mm² with k = {k:g}")
    return (k * area_mm2 / amps) ** 2 if amps else inf


def adiabatic_area_mm2(amps: float, seconds: float, k: float) -> float:
    """S = I √t / k: the smallest conductor for a fault of this length, IEC 60364-5-54 clause 543.1.2."""
    if not (k > 0.0 and amps >= 0.0 and seconds >= 0.0):
        raise ValueError(f"no area for {amps:g} A over {seconds:g} s with k = {k:g}")
    return float(amps * seconds**0.5 / k)


def withstands_seconds(amps: float, area_mm2: float, k: float, carries_amps: float) -> float:
    """Seconds that a cable at its working temperature stands `amps`; infinite up to `carries_amps`, which it carries for ever.

    `k` runs from the insulation's continuous temperature to the end temperature allowed once. Short times tend to the
    adiabatic (k S / I)², and the curve rises without end towards the steady limit:

        t = τ ln(I² / (I² − Iz²)),  τ = (k S / Iz)²

    It falls with the current everywhere, and is never less than the adiabatic time, which grants the cable no cooling.
    It is on the cautious side of a body with one time constant that starts at the continuous temperature and would settle at
    the end temperature at a current If > Iz. For that body t is (k S)² times the mean of 1/(I² − s) for s from Iz² to If²;
    here it is the mean for s from 0 to Iz², and 1/(I² − s) grows with s.
    Raises ValueError for figures that are not positive.
    """
    adiabatic = adiabatic_seconds(amps, area_mm2, k)
    if not carries_amps > 0.0:
        raise ValueError(f"a cable that carries {carries_amps:g} A has no withstand time")
    if amps <= carries_amps:
        return inf
    part = (carries_amps / amps) ** 2
    return adiabatic * -log1p(-part) / part if part < 1.0 else inf
