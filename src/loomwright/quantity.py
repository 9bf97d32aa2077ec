"""Numbers with units.

Pint decides what a unit is. For the units that specs really use, a table of factors spares its import; a test proves the table
equal to pint's. Everything is held in SI (temperatures in degrees Celsius, which is an SI unit); what is printed keeps
the writer's unit.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Quantity:
    """`si` in the SI unit of `dimension`; `unit` as its writer wrote it."""

    si: float
    unit: str
    dimension: str
