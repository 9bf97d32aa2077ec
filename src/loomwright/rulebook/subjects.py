"""What a rule can be asked of: all things of a kind in an installation, and what each of them belongs to."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import chain
from typing import Any, NamedTuple

from loomwright.facts.types import WIDER, kinds_of
from loomwright.model.things import Installation, Run, Splice, Unknown, Way


class Unseen(NamedTuple):
    """Things of a kind in a run, or the fuse of a way, that nobody has looked for: there may be some or none."""

    kind: str
    holder: Run | Way
    unknown: Unknown

    @property
    def run(self) -> Run | None:
        return self.holder if isinstance(self.holder, Run) else None

    @property
    def way(self) -> Way | None:
        return self.holder if isinstance(self.holder, Way) else None


# The field of a child that holds its parent. Kinds that are wider count for their narrower ones.
BELONGS: Mapping[tuple[str, str], str] = {
    ("end", "run"): "run",
    ("end", "point"): "point",
    ("fuse", "run"): "run",
    ("fuse", "way"): "way",
    ("joint", "run"): "run",
    ("stretch", "run"): "run",
    ("stretch", "place"): "place",
    ("terminal", "device"): "device",
    ("way", "hub"): "hub",
    ("run", "circuit"): "circuit",
    ("run", "loom"): "loom",
    ("run", "multicore"): "multicore",
    ("earthpoint", "structure"): "structure",
    ("earthpoint", "place"): "place",
    ("device", "place"): "place",
}


def widened(kind: str) -> tuple[str, ...]:
    """A kind and the wider ones it belongs to."""
    return WIDER.get(kind, (kind,))


def parent_field(child: str, parent: str) -> str | None:
    """Where a thing of the first kind keeps what it is of, or None where such things are of no such parent."""
    for own in widened(child):
        for wide in widened(parent):
            found = BELONGS.get((own, wide))
            if found:
                return found
    return None


def parents_of(child: str) -> tuple[str, ...]:
    """The kinds that a thing of this kind may be `of`."""
    return tuple(dict.fromkeys(parent for own, parent in BELONGS if own in widened(child)))


def parent(thing: Any, field: str, kind: str) -> Any:
    """What a thing belongs to, or None where that is of another kind."""
    holder = getattr(thing, field, None) if isinstance(thing, Unseen) else getattr(thing, field)
    return holder if holder is not None and kind in kinds_of(holder) else None


def _parts(kind: str, lists: Mapping[Run, Any], installation: Installation) -> Iterator[Any]:
    for run in installation.runs:
        parts = lists.get(run, ())
        if isinstance(parts, Unknown):
            yield Unseen(kind, run, parts)
        else:
            yield from parts


def _fuses(of: Installation) -> Iterator[Any]:
    yield from _parts("fuse", of.fuses_of, of)
    for way, fuse in of.fuse_of_way.items():
        if fuse is not None:
            yield Unseen("fuse", way, fuse) if isinstance(fuse, Unknown) else fuse


def _splices(of: Installation) -> Iterator[Any]:
    return (device for device in of.devices if isinstance(device, Splice))


def _asked_for(parts: Iterable[Any]) -> Iterator[Any]:
    """Without joints that nobody has thought of: only a written `joint unknown` is news of a connection."""
    return (part for part in parts if not isinstance(part, Unseen) or "joint" in part.holder.clauses)


_EACH: Mapping[str, Callable[[Installation], Iterable[Any]]] = {
    "place": lambda of: of.places,
    "structure": lambda of: of.structures,
    "earthpoint": lambda of: of.earthpoints,
    "device": lambda of: of.devices,
    "terminal": lambda of: of.terminals.values(),
    "point": lambda of: chain(of.terminals.values(), of.earthpoints, of.structures),
    "way": lambda of: chain.from_iterable(of.ways_of.values()),
    "loom": lambda of: of.looms,
    "multicore": lambda of: of.multicores,
    "circuit": lambda of: of.circuits,
    "run": lambda of: of.runs,
    "end": lambda of: _parts("end", of.ends_of, of),
    "joint": lambda of: _parts("joint", of.joints_of, of),
    "connection": lambda of: chain(
        _parts("end", of.ends_of, of), _asked_for(_parts("joint", of.joints_of, of)), _splices(of)
    ),
    "stretch": lambda of: _parts("stretch", of.stretches_of, of),
    "fuse": _fuses,
    "mode": lambda of: of.modes,
    "day": lambda of: of.days,
    "site": lambda of: (of.site,) if of.site else (),
    "concession": lambda of: of.concessions,
    "readings": lambda of: of.readings,
    "fitout": lambda of: (of.fitout,),
}


def can_be_asked(kind: str) -> bool:
    """Whether there is a list of all things of this kind."""
    return any(wide in _EACH for wide in widened(kind))


def each(installation: Installation, kind: str) -> Iterable[Any]:
    """All things of a kind in the order of the text; an Unseen stands for parts of a run that nobody has looked for."""
    whole = next(wide for wide in reversed(widened(kind)) if wide in _EACH)
    everything = _EACH[whole](installation)
    if whole == kind:
        return everything
    return [thing for thing in everything if kind in _kinds(thing)]


def _kinds(thing: Any) -> tuple[str, ...]:
    return widened(thing.kind) if isinstance(thing, Unseen) else kinds_of(thing)
