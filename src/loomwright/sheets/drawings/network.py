"""An installation as the three views of its diagram: the supply side, the way back, and what only signals."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from loomwright.model import things as t
from loomwright.record import Record, replace
from loomwright.stock import fuses as stock

Spot = t.Device | t.Earthpoint | t.Structure


class Line(Record):
    """What joins two things in a view: a run (for a circuit its feed, which then stands for both legs), or metal without a
    run. `start` and `end` are the terminals' own names, "" for a point that has none."""

    run: t.Run | None
    tail: Spot
    head: Spot
    start: str
    end: str

    def turned(self) -> Line:
        return replace(self, tail=self.head, head=self.tail, start=self.end, end=self.start)


class View(Record):
    """One network of the diagram. `spots` are in the order of the text."""

    name: str
    title: str
    spots: tuple[Spot, ...]
    lines: tuple[Line, ...]


def spot_of(point: t.Point) -> Spot:
    return point.device if isinstance(point, t.Terminal) else point


def views_of(installation: t.Installation) -> tuple[View, ...]:
    """The views that have something in them. Every run is in one of them; what no run reaches is in the first."""
    supply, back, signals = [], [], []
    for run in installation.runs:
        found = Line(run, spot_of(run.start), spot_of(run.end), _label(run.start), _label(run.end))
        if run.role == "signal":
            signals.append(found)
        elif run.role == "feed":
            supply.append(found.turned() if _is_source(found.head) and not _is_source(found.tail) else found)
        elif run.circuit is None:
            back.append(found)
    lines = (
        ("supply", "Supply side", supply),
        ("returns", "Returns and earths", _returns(installation, back)),
        ("signals", "Signals", signals),
    )
    views = [View(name, title, _spots(installation, found), tuple(found)) for name, title, found in lines]
    drawn = {spot for view in views for spot in view.spots}
    left = tuple(device for device in installation.devices if device not in drawn)
    first = replace(views[0], spots=_in_order(installation, {*views[0].spots, *left}))
    return tuple(view for view in (first, *views[1:]) if view.spots)


def two_legs(installation: t.Installation, run: t.Run) -> t.Run | None:
    """The return leg of the circuit that a feed belongs to."""
    return installation.legs_of[run.circuit][1] if run.circuit else None


def returned_to(installation: t.Installation, spot: Spot) -> list[str]:
    """The circuits whose second conductor ends on a thing: the supply side draws both of their conductors as one line."""
    legs = installation.legs_of.items()
    return [circuit.name for circuit, (_, back) in legs if spot_of(back.end) is spot]


def resets(fuse: t.Fuse) -> bool:
    """Whether it is a breaker: it is drawn with a contact and not with a wire in it."""
    return stock.kind(fuse.kind).resets


def _label(point: t.Point) -> str:
    return point.label if isinstance(point, t.Terminal) else ""


def _is_source(spot: Spot) -> bool:
    return isinstance(spot, (t.Alternator, t.Supply, t.Solar))


def _returns(installation: t.Installation, lines: Sequence[Line]) -> list[Line]:
    """Return runs and the metal between them, each turned so that it leads away from the batteries."""
    metal = list(_metal(installation, {spot for line in lines for spot in (line.tail, line.head)}))
    every = [*lines, *metal]
    meeting: dict[Spot, list[Line]] = {}
    for line in every:
        meeting.setdefault(line.tail, []).append(line)
        meeting.setdefault(line.head, []).append(line)
    far: dict[Spot, int] = {}
    batteries = [each for each in meeting if isinstance(each, t.Battery)]
    for start in [*batteries, *meeting]:
        if start in far:
            continue
        far[start] = 0
        ring = batteries if start in batteries else [start]
        far.update(dict.fromkeys(ring, 0))
        for spot in (ring := list(ring)):
            for line in meeting[spot]:
                other = line.head if line.tail is spot else line.tail
                if other not in far:
                    far[other] = far[spot] + 1
                    ring.append(other)
    return [line.turned() if far[line.tail] > far[line.head] else line for line in every]


def _metal(installation: t.Installation, reached: set[Spot]) -> Iterator[Line]:
    """What joins return points without a run: an earthpoint to its structure, a structure to the terminal it is bonded to."""
    for earthpoint in installation.earthpoints:
        yield Line(None, earthpoint.structure, earthpoint, "", "")
    used = reached | {earthpoint.structure for earthpoint in installation.earthpoints}
    for structure in installation.structures:
        if structure.bonded and (structure in used or structure.bonded.device in used):
            yield Line(None, structure.bonded.device, structure, structure.bonded.label, "")


def _spots(installation: t.Installation, lines: Sequence[Line]) -> tuple[Spot, ...]:
    return _in_order(installation, {spot for line in lines for spot in (line.tail, line.head)})


def _in_order(installation: t.Installation, wanted: set[Spot]) -> tuple[Spot, ...]:
    every: tuple[Spot, ...] = (*installation.devices, *installation.structures, *installation.earthpoints)
    return tuple(spot for spot in every if spot in wanted)
