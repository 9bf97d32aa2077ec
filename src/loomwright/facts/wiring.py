"""The graph of an installation as facts ask it: what can feed a fault into a run, and what hangs on it."""

from __future__ import annotations

from math import inf

from loomwright.facts.registry import Ledger
from loomwright.model import things as t
from loomwright.model.graph import Feeding, Graph

START, END = "start", "end"
SIDES = (START, END)


def graph(ledger: Ledger) -> Graph:
    """The graph of the ledger's installation, made once."""
    found: Graph = ledger.index("graph", lambda: Graph(ledger.installation))
    return found


def feedings(run: t.Run, side: str, ledger: Ledger) -> tuple[Feeding, ...]:
    """The sources that can drive current into a positive run at an end, not through itself; none for a return."""
    if run.role == "earth":
        return ()
    kept: dict[tuple[t.Run, str], tuple[Feeding, ...]] = ledger.index("feedings", dict)
    key = run, side
    if key not in kept:
        kept[key] = graph(ledger).feeds(point_at(run, side), without=run)
    return kept[key]


def smallest(feeding: Feeding) -> t.Fuse | None:
    """The fuse that limits a source on its way."""
    return min(feeding.fuses, key=lambda fuse: fuse.rating.quantity.si, default=None)


def lets_through(feeding: Feeding) -> float:
    """What gets through the fuses on a source's way for good, A; infinite with none."""
    fuse = smallest(feeding)
    return fuse.rating.quantity.si if fuse else inf


def point_at(run: t.Run, side: str) -> t.Point:
    return run.start if side == START else run.end


def way_at(installation: t.Installation, point: t.Point) -> t.Way | None:
    """The way of a hub that a point is the terminal of."""
    if not isinstance(point, t.Terminal) or not isinstance(point.device, t.Hub):
        return None
    ways = installation.ways_of.get(point.device, ())
    return next((way for way in ways if str(way.number) == point.label), None)


def terminal_of_way(installation: t.Installation, way: t.Way) -> t.Terminal | None:
    """The terminal that a way feeds."""
    return installation.terminals.get(f"{way.hub.name}.{way.number}")


def device_at(point: t.Point) -> t.Device | None:
    """The device that a run ends on, if it is one."""
    return point.device if isinstance(point, t.Terminal) else None
