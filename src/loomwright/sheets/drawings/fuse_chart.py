"""The lid of a fuse box: a row for each way with its fuse in the colour of its body, the circuit and what it takes."""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.facts.registry import Ledger, Missing
from loomwright.model import things as t
from loomwright.quantity import show
from loomwright.record import Record
from loomwright.sheets.drawings.lettering import SIZE, shortened, width_of, wrapped
from loomwright.sheets.drawings.svg import COPPER, HAIR, INK, SOFT, Drawing, drawing, line, of_run, rect, text
from loomwright.sheets.dyes import dye
from loomwright.stock import fuses as stock

ROW = 24.0
WIDE = 380.0
FUSE, RATING, NAME, AMPS = 26.0, 52.0, 134.0, WIDE - 6
"""Where the columns begin; the last one where it ends."""


class Slot(Record):
    """One way as it is printed: `colour` is the trade's name for the body of the fuse ("" where it has none), `circuit` the
    label or name of what hangs on it, `feeds` what that feeds, `amps` its normal current in words, `runs` the names of its runs."""

    way: str
    rating: str
    colour: str
    circuit: str
    feeds: str
    amps: str
    runs: tuple[str, ...] = ()


def fuse_chart(name: str, title: str, slots: Sequence[Slot]) -> Drawing:
    """The rows of one box under one another, spare ways too."""
    top = 18.0
    body = (
        text(6, 11, "way", fill=SOFT)
        + text(FUSE, 11, "fuse", fill=SOFT)
        + text(NAME, 11, "circuit", fill=SOFT)
    )
    body += text(AMPS, 11, "normal", anchor="end", fill=SOFT)
    for index, slot in enumerate(slots):
        body += _row(slot, top + index * ROW)
    height = top + len(slots) * ROW
    body += rect(1, top, WIDE - 2, height - top, f'stroke="{INK}" stroke-width="1.2" rx="4"')
    told = "; ".join(
        f"way {slot.way}: {slot.rating or 'no fuse'}, {slot.circuit or 'spare'}" for slot in slots
    )
    return drawing(name, title, f"{told}." if told else "No ways.", body, WIDE, height + 4, False)


def slots_of(ledger: Ledger, hub: t.Hub) -> tuple[Slot, ...]:
    """The rows of a hub of an installation, in the order of its ways."""
    return tuple(_slot(ledger, way) for way in ledger.installation.ways_of[hub])


def _slot(ledger: Ledger, way: t.Way) -> Slot:
    fuse = ledger.installation.fuse_of_way[way]
    runs = ledger.get(way, "runs")
    rating = colour = amps = ""
    if isinstance(fuse, t.Unknown):
        rating = "unknown"
    elif fuse is not None:
        rating = f"{fuse.rating.text} {fuse.kind}"
        cited = stock.colour(stock.kind(fuse.kind), fuse.rating.quantity.si)
        colour = cited.value[0] if cited else ""
        amps = _normal(ledger, fuse) if runs else ""
    names = ", ".join(run.label or run.name for run in runs)
    loads = tuple(dict.fromkeys(load.name for run in runs for load in ledger.get(run, "loads")))
    ends = tuple(run.end.device.name for run in runs if isinstance(run.end, t.Terminal))
    said = ", ".join([*(loads or ends), *([way.control] if way.control else [])])
    return Slot(
        way.name.rpartition(".")[2], rating, colour, names, said, amps, tuple(run.name for run in runs)
    )


def _normal(ledger: Ledger, fuse: t.Fuse) -> str:
    try:
        return show(ledger.get(fuse, "greatest-load"), "A")
    except Missing:
        return "?"


def _row(slot: Slot, y: float) -> str:
    middle = y + ROW / 2
    drawn = line([(1, y), (WIDE - 1, y)], f'stroke="{HAIR}" stroke-width="0.5"')
    drawn += text(14, middle + 2.7, slot.way, bold=True, anchor="middle")
    if slot.rating:
        drawn += _body(slot, middle)
        drawn += text(RATING, middle - 1.5, shortened(slot.rating, NAME - RATING - 4), bold=True)
        drawn += text(RATING, middle + SIZE, slot.colour, fill=SOFT)
    else:
        drawn += text(RATING, middle + 2.7, "no fuse", fill=SOFT)
    room = AMPS - NAME - width_of(slot.amps, bold=True) - 8
    first, *second = wrapped(slot.circuit or "spare", room, bold=True)
    drawn += text(NAME, middle - 1.5, first, bold=True, fill=COPPER)
    if (
        second
    ):  # a long name takes the second line too: what is cut off it may be all that tells it from the next
        drawn += text(NAME, middle + SIZE, second[0], bold=True, fill=COPPER)
    else:
        drawn += text(NAME, middle + SIZE, shortened(slot.feeds, room), fill=SOFT)
    drawn += text(AMPS, middle + 2.7, slot.amps, bold=True, anchor="end")
    for run in slot.runs:
        drawn = of_run(run, drawn, "")
    return drawn


def _body(slot: Slot, y: float) -> str:
    """A blade fuse from the front: its coloured body with its two blades."""
    blades = rect(FUSE + 3, y + 3, 4, 6, f'fill="{HAIR}" stroke-width="0.5"')
    blades += rect(FUSE + 13, y + 3, 4, 6, f'fill="{HAIR}" stroke-width="0.5"')
    fill = dye(slot.colour) if slot.colour else "none"
    return blades + rect(FUSE, y - 7, 20, 11, f'fill="{fill}" rx="2"')
