"""The gates of a fuse's kind in a derivation: when it must have opened, and till when it must hold."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import inf

from loomwright.analysis import opening
from loomwright.facts.registry import Ledger
from loomwright.model import things as t
from loomwright.quantity import decimal, show
from loomwright.stock import fuses as stock

ROW = 3  # gates in one line of a derivation
LEAST, MOST = 1, 2
"""The edges of the band: where in a gate the earliest and the latest time stand."""

SAYS = {LEAST: "holds for", MOST: "opens within"}
NEVER = {LEAST: ", below it without end", MOST: ", below it perhaps never"}


def gates(fuse: t.Fuse, ledger: Ledger) -> tuple[opening.Gate, ...]:
    """All gates of a fuse's kind, put into the derivation."""
    kind, found = stock.kind(fuse.kind), _of_kind(fuse)
    ledger.note(f"gates of the {kind.title}", _source(kind))
    texts = [
        f"{decimal(multiple)} × from {_time(least, 0.0)} to {_time(most)}" for multiple, least, most in found
    ]
    for first in range(0, len(texts), ROW):
        ledger.note(f"{kind.title}: {', '.join(texts[first : first + ROW])}")
    return found


def gates_at(fuse: t.Fuse, amps: float, rating: float, edge: int, ledger: Ledger) -> tuple[opening.Gate, ...]:
    """All gates of a fuse's kind; those between which a current lies on one edge are put into the derivation."""
    kind, found = stock.kind(fuse.kind), _of_kind(fuse)
    multiple = amps / rating
    ledger.note(f"{show(amps, 'current')} is {multiple:.3g} × {show(rating, 'current')}")
    points = [(gate[0], seconds) for gate in found if (seconds := gate[edge]) is not None]
    said = [f"{_time(seconds)} at {decimal(at)} ×" for at, seconds in _around(points, multiple)]
    ledger.note(
        f"the {kind.title} {SAYS[edge]} {' and '.join(said)}{_beyond(points, multiple, edge)}", _source(kind)
    )
    return found


def _around(points: Sequence[tuple[float, float]], multiple: float) -> Sequence[tuple[float, float]]:
    """The two gates between which a multiple lies; beyond them all the last, before them all the first."""
    if points and multiple < points[0][0]:
        return points[:1]
    return next(((low, high) for low, high in pairwise(points) if multiple < high[0]), points[-1:])


def _beyond(points: Sequence[tuple[float, float]], multiple: float, edge: int) -> str:
    if multiple < points[0][0]:
        return NEVER[edge]
    return ", by I²t beyond" if multiple > points[-1][0] else ""


def _of_kind(fuse: t.Fuse) -> tuple[opening.Gate, ...]:
    return tuple((gate.multiple, gate.min_s, gate.max_s) for gate in stock.kind(fuse.kind).gates)


def _source(kind: stock.FuseKind) -> str:
    return f"{kind.gates_source} ({kind.gates_basis})"


def _time(seconds: float | None, otherwise: float = inf) -> str:
    return show(otherwise if seconds is None else seconds, "time")
