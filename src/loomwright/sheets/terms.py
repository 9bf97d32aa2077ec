"""What cables, fuses and figures are called on the schedules."""

from __future__ import annotations

from math import inf, isinf

from loomwright.model import things as t
from loomwright.model.things import AS_MADE
from loomwright.stock import conductors, making
from loomwright.stock.conductors import ConductorSize
from loomwright.stock.fuses import kind
from loomwright.syntax.tree import Measure

DASH = "–"


def conductor_of(cable: t.Cable) -> ConductorSize:
    """The conductor of a cable, from the stock."""
    return conductors.conductor(cable.size.kind, cable.size.number)


def size_words(cable: t.Cable | t.Unknown) -> str:
    """`twin 4 mm auto tinned`."""
    if isinstance(cable, t.Unknown):
        return "not known"
    twin, tinned = "twin " if cable.twin else "", " tinned" if cable.tinned else ""
    return f"{twin}{conductor_of(cable).label}{tinned}"


def made_words(run: t.Run) -> str:
    """`, solid copper building cable`; nothing where it is what a workshop fits, or nobody has looked."""
    made = run.conductor
    words = [word for word in (made.strands, made.metal, made.use) if isinstance(word, str)]
    return "" if set(words) <= set(AS_MADE.values()) else f", {' '.join(words).replace('-cable', ' cable')}"


def over_insulation_mm(run: t.Run, cores: int = 1) -> float | None:
    """Over insulation or sheath: as it was measured, or by its size; None where that is not known."""
    if isinstance(run.diameter, Measure):
        return float(run.diameter.quantity.si * 1000)
    return (
        None
        if isinstance(run.cable, t.Unknown)
        else making.cable_outside_mm(conductor_of(run.cable), cores).value
    )


def class_words(cable: t.Cable | t.Unknown) -> str:
    """`105`, in °C; a dash where no class is stated."""
    return (
        DASH
        if isinstance(cable, t.Unknown) or cable.insulation is None
        else f"{cable.insulation.quantity.si:g}"
    )


def fuse_words(fuse: t.Fuse) -> str:
    """`strip 60 A`."""
    return f"{fuse.kind} {fuse.rating.quantity.si:g} A"


def fuse_title(fuse: t.Fuse) -> str:
    """`strip fuse 60 A`."""
    return f"{kind(fuse.kind).title} {fuse.rating.quantity.si:g} A"


def amps(value: float | None) -> str:
    """To a tenth below 100 A, whole above; `0` when nothing flows."""
    return figure(value, 1 if value is None or abs(value) < 99.95 else 0)


def figure(value: float | None, places: int) -> str:
    """A number with so many places and thousands parted; `?` for what is not known, a dash for what has no end."""
    if value is None:
        return "?"
    if isinf(value):
        return "no end"
    if float(f"{value:.{places}f}") == 0:
        return f"{0:.{places}f}"
    return f"{value:,.{places}f}".replace(",", " ").replace("-", "−")


def seconds(value: float | None) -> str:
    """Two significant digits, whole seconds from 10 s; `no end` for ever."""
    if value is None:
        return "?"
    if value == inf:
        return "no end"
    if value >= 10:
        return figure(value, 0)
    return f"{value:.2g}" if value >= 0.001 else "under 0.001"


def metres(value: float | None) -> str:
    return figure(value, 2)


def reach(low: float, high: float) -> str:
    """`8–12`, or one figure where both are the same."""
    return f"{low:g}" if low == high else f"{low:g}–{high:g}"
