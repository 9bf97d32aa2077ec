"""The order in which cables are laid, so that none has to be lifted again.

Where cables share a place, the one that goes on through the most places belongs at the bottom, against the structure: the
others branch off it and lie on top. So, of two cables that share a place, the one that passes more places is laid first; of
two that pass the same places, the longer; then the one that stands first in the spec. The clips and sleeve of a place are
closed once, when the last of its cables lies in. Cables whose path is not written down come last.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from loomwright.model import things as t


@dataclass(frozen=True, slots=True, eq=False)
class Pull:
    """What is laid in one go: a run, both legs of a circuit, or a multicore with all its cores.

    `stretches` are those of its first conductor, None where the path is not known.
    """

    name: str
    runs: tuple[t.Run, ...]
    stretches: tuple[t.Stretch, ...] | None

    @property
    def places(self) -> tuple[t.Place, ...]:
        return tuple(dict.fromkeys(stretch.place for stretch in self.stretches or ()))

    @property
    def length_m(self) -> float | None:
        return self.stretches[-1].stop_m if self.stretches else None


@dataclass(frozen=True, slots=True)
class Closing:
    """A place is closed: nothing more is laid through it. `pulls` are all that lie in it."""

    place: t.Place
    pulls: tuple[Pull, ...]


def pulls(installation: t.Installation, kept: frozenset[str] = frozenset()) -> tuple[Pull, ...]:
    """All that is to be laid, in the order of the text; not the maker's runs, nor those named in `kept`."""
    groups: dict[str, list[t.Run]] = {}
    for run in installation.runs:
        if not run.maker and run.name not in kept:
            groups.setdefault(run.multicore.name if run.multicore else run.name, []).append(run)
    return tuple(Pull(name, tuple(runs), _path(installation, runs[0])) for name, runs in groups.items())


def _path(installation: t.Installation, run: t.Run) -> tuple[t.Stretch, ...] | None:
    stretches = installation.stretches_of[run]
    return None if isinstance(stretches, t.Unknown) or not stretches else stretches


def laying_order(pulls: Iterable[Pull], places: Sequence[t.Place]) -> tuple[Pull, ...]:
    """The pulls in a sound order: most places first, those that start in one place together, then the longest.

    `places` are the vehicle's, in the order of the text, which is the order in which the fitter walks through it.
    """
    rank = {place: number for number, place in enumerate(places)}

    def key(pull: Pull) -> tuple[bool, int, int, float]:
        first = min((rank[place] for place in pull.places), default=len(rank))
        return pull.stretches is None, -len(pull.places), first, -(pull.length_m or 0.0)

    return tuple(sorted(pulls, key=key))


def with_closings(order: Sequence[Pull], places: Sequence[t.Place]) -> Iterator[Pull | Closing]:
    """The pulls in their order, and after the last that lies in a place its closing."""
    last = {place: number for number, pull in enumerate(order) for place in pull.places}
    for number, pull in enumerate(order):
        yield pull
        for place in places:
            if last.get(place) == number:
                yield Closing(place, tuple(each for each in order if place in each.places))
