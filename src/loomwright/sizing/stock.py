"""What may be chosen at a place: the stocked sizes of the run's own trade, the ratings made, and what each costs."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Iterable
from functools import cache
from typing import Any

from loomwright.facts.registry import Ledger, Missing
from loomwright.model import things as t
from loomwright.record import Record, replace
from loomwright.sheets.cords import cords
from loomwright.sheets.lists import Prices
from loomwright.sizing.slots import Found, Slot
from loomwright.stock import conductors, fuses
from loomwright.stock.conductors import ConductorSize
from loomwright.syntax.tree import Size

COPPER_KG = 8.96e-3
"""Mass of 1 m of 1 mm² of copper in kg: 8.96 g/cm³ (from memory)."""

THINNEST_MM2 = 0.5
OPEN_FUSES = ("blade", "strip", "class-t")
"""The kinds that an open fuse is chosen from, in the order of preference."""


class CableOption(Record):
    """One size for a slot: what all its cable costs in that size, and the copper in it, kg."""

    size: ConductorSize
    cost: float
    copper_kg: float
    listed: bool

    @property
    def label(self) -> str:
        return self.size.label


class FuseOption(Record):
    """One fuse for a slot, and what all its fuses cost."""

    kind: str
    amps: float
    cost: float
    listed: bool

    @property
    def label(self) -> str:
        return f"{self.kind} {self.amps:g} A"


@cache
def _standard() -> dict[str, Any]:
    with open(os.path.join(os.path.dirname(__file__), "data", "prices.toml"), encoding="utf-8") as file:
        return tomllib.loads(file.read())


def trade_of(slots: Iterable[Slot]) -> str:
    """How a workshop names its cable, for those that it left open: by area or by AWG where it writes nothing else.

    Otherwise ("bs") by area below the thinnest B&S size and by B&S from there up.
    """
    written = {slot.kind for slot in slots if slot.what == "cable" and slot.kind} - {"auto"}
    return written.pop() if len(written) == 1 else "bs"


def stocked(kind: str | None, trade: str) -> tuple[ConductorSize, ...]:
    """The sizes to choose from, from thin to thick; auto cable goes on as B&S, which goes on downward by area."""
    wanted = kind or trade
    found = list(conductors.sizes(wanted))
    if wanted in ("auto", "bs"):
        found = [*(conductors.sizes("auto") if wanted == "auto" else ()), *conductors.sizes("bs")]
    if wanted == "bs" and kind is None:
        found = [*(s for s in conductors.sizes("area") if s.area_mm2 < found[0].area_mm2), *found]
    thick = sorted((size for size in found if size.area_mm2 >= THINNEST_MM2), key=lambda size: size.area_mm2)
    return tuple(thick)


def sized_as(run: t.Run, size: ConductorSize) -> t.Run:
    """The run with another conductor, for what asks only what its cable is."""
    assert isinstance(run.cable, t.Cable)
    number = size.label.split()[0]
    named = Size(size.kind, size.gauge or number, size.label, run.cable.size.span)
    return replace(run, cable=replace(run.cable, size=named))


def cable_options(
    slot: Slot, found: Found, trade: str, ledger: Ledger, prices: Prices
) -> tuple[CableOption, ...]:
    """Every size for a slot with what its runs then cost. A list that prices some of the sizes leaves the others out.

    Raises Missing where a run's length is not known.
    """
    runs = found.runs.get(slot.key, [])
    pieces = [(cord, _metres(cord.metres, cord.run)) for cord in cords(ledger, runs)]
    options = []
    for size in stocked(slot.kind, trade):
        cost = copper = 0.0
        listed = bool(pieces)
        for cord, metres in pieces:
            again = replace(cord, runs=(sized_as(cord.run, size),), cable=sized_as(cord.run, size).cable)
            price = prices.of(cord.run.order or "", _title(again.kind, again.colour, again.insulation))
            each = metres * len(cord.runs) * size.area_mm2 * COPPER_KG
            copper += each
            if price is not None and price.unit.casefold() == "m":
                cost += metres * float(price.price)
            else:
                listed = False
                cable = _standard()["cable"]
                cost += each * cable["copper_per_kg"] + metres * len(cord.runs) * cable["per_metre"]
        options.append(CableOption(size, cost, copper, listed))
    return tuple(option for option in options if option.listed) or tuple(options)


def _metres(metres: float | None, run: t.Run) -> float:
    if metres is None:
        raise Missing(t.Unknown(f"the length of {run.name}", run.place_of("along")))
    return metres


def _title(kind: str, colour: str, insulation: str) -> str:
    """The description of a cable as the parts list prints it."""
    return ", ".join(word for word in (kind, colour, f"{insulation} °C") if not word.startswith("–"))


def fuse_options(slot: Slot, found: Found, prices: Prices) -> tuple[FuseOption, ...]:
    """Every fuse for a slot, by kind in the order of preference and then from small to large."""
    kinds = (slot.kind,) if slot.kind else OPEN_FUSES
    count = max(1, len(found.fuses.get(slot.key, ())))
    options = []
    for name in kinds:
        kind = fuses.kind(name)
        ratings = kind.ratings
        if slot.written and slot.kind == name:
            ratings = tuple(sorted({*ratings, float(slot.written.split()[1])}))
        for amps in ratings:
            price = prices.of("", f"{kind.title} {amps:g} A")
            each = float(price.price) if price else _standard()["fuse"][name]
            options.append(FuseOption(name, amps, each * count, price is not None))
    return tuple(options)
