"""The order in which cables are laid, so that none has to be lifted again.

Where cables share a place, the one that goes on through the most places belongs at the bottom, against the structure: the
others branch off it and lie on top. So, of two cables that share a place, the one that passes more places is laid first; of
two that pass the same places, the longer; then the one that stands first in the spec. The clips and sleeve of a place are
closed once, when the last of its cables lies in. Cables whose path is not written down come last.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from loomwright.model import things as t
from loomwright.record import Record
from loomwright.sheets.cords import Cord


class Closing(Record):
    """A place is closed: nothing more is laid through it. `cords` are all that lie in it, in the order in which they were laid."""

    place: t.Place
    cords: tuple[Cord, ...]


def places_of(cord: Cord) -> tuple[t.Place, ...]:
    """The places that a cable passes, openings included, each once; none where its path is not known."""
    if isinstance(cord.stretches, t.Unknown):
        return ()
    return tuple(dict.fromkeys(stretch.place for stretch in cord.stretches))


def laying_order(cords: Iterable[Cord], places: Sequence[t.Place]) -> tuple[Cord, ...]:
    """The cables in a sound order: most places first, those that begin in one place together, the longest of them first.

    `places` are the vehicle's in the order of the text, which is the order in which the fitter walks through it.
    """
    rank = {place: number for number, place in enumerate(places)}

    def key(cord: Cord) -> tuple[bool, int, int, float]:
        passed = places_of(cord)
        first = min((rank[place] for place in passed), default=len(rank))
        return not passed, -len(passed), first, -(cord.metres or 0.0)

    return tuple(sorted(cords, key=key))


def with_closings(order: Sequence[Cord], places: Sequence[t.Place]) -> Iterator[Cord | Closing]:
    """The cables in their order, and after the last that lies in a place its closing."""
    last = {place: number for number, cord in enumerate(order) for place in places_of(cord)}
    for number, cord in enumerate(order):
        yield cord
        for place in places:
            if last.get(place) == number:
                yield Closing(place, tuple(each for each in order if place in places_of(each)))
