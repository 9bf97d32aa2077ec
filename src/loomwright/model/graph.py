"""What is joined to what: which sources can drive current where, what hangs on a run, and how current comes back.

Positive and return side are parts of one graph, which only meet where somebody has wired a short circuit.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

from loomwright.model.links import (
    Fed,
    Feeding,
    Hop,
    Link,
    Return,
    Source,
    consumers,
    links_of,
    node_of,
    preference,
    sources_of,
    vehicle_return_of,
)
from loomwright.model.search import Search
from loomwright.model.things import Battery, Device, Installation, Point, Run, Structure, Terminal

__all__ = ["Fed", "Feeding", "Graph", "Hop", "Link", "Return", "Source", "node_of"]


class Graph:
    """The conductors of one installation. Made once; what is asked is computed once and kept."""

    def __init__(self, installation: Installation) -> None:
        self.installation = installation
        self.vehicle_return = vehicle_return_of(installation)
        self.links: tuple[Link, ...] = tuple(links_of(installation, self.vehicle_return))
        self._search = Search(self.links)
        self.sources: tuple[Source, ...] = tuple(sources_of(installation, self.vehicle_return))
        self._of_run = {link.by: link for link in self.links if isinstance(link.by, Run)}

    # ------------------------------------------------------------ sources

    def feeds(self, point: Point, without: Run | None = None) -> tuple[Feeding, ...]:
        """The sources that can drive current into a point, nearest first; `without` leaves one run out.

        Where there are several ways from a source, it is the one whose smallest fuse is greatest (none at all before any).
        """
        barred = self._of_run.get(without) if without else None
        found = []
        for source in self._sources_at.get(self.components.get(node_of(point), ""), ()):
            path = self._search.path_without(node_of(source.terminal), node_of(point), barred)
            if path is not None:
                found.append(Feeding(source, path))
        return tuple(sorted(found, key=lambda feeding: (len(feeding.path), feeding.source.terminal.name)))

    @cached_property
    def _sources_at(self) -> Mapping[str, tuple[Source, ...]]:
        """The sources of each part of the graph that hangs together."""
        found: dict[str, list[Source]] = {}
        for source in self.sources:
            home = self.components.get(node_of(source.terminal))
            if home:
                found.setdefault(home, []).append(source)
        return {home: tuple(sources) for home, sources in found.items()}

    def short_circuits(self) -> tuple[Feeding, ...]:
        """Sources whose positive is joined to their own return by nothing but conductors, with the way."""
        found = []
        for source in self.sources:
            path = self._search.path(node_of(source.terminal), source.back) if source.back else None
            if path:
                found.append(Feeding(source, path))
        return tuple(found)

    # ------------------------------------------------------------ consumers

    @cached_property
    def fed(self) -> tuple[Fed, ...]:
        """Every consumer with the one source that it lives on, and every battery with each source that charges it.

        A consumer lives on the nearest battery, or where none reaches it on the nearest supply, alternator, or limited
        source. What nothing reaches is not here.
        """
        found = []
        for terminal in consumers(self.installation):
            feedings = self.feeds(terminal)
            if isinstance(terminal.device, Battery):
                charging = [each for each in feedings if not isinstance(each.source.device, Battery)]
                found += [Fed(terminal.device, terminal, each.source, each.path, True) for each in charging]
            elif feedings:
                best = min(feedings, key=preference)
                found.append(Fed(terminal.device, terminal, best.source, best.path, False))
        return tuple(found)

    @cached_property
    def _fed_by_terminal(self) -> Mapping[Terminal, tuple[Fed, ...]]:
        found: dict[Terminal, tuple[Fed, ...]] = {}
        for each in self.fed:
            found[each.terminal] = (*found.get(each.terminal, ()), each)
        return found

    def feeds_device(self, device: Device) -> tuple[Fed, ...]:
        """What a device lives on: one entry for each of its feeding terminals, several for a battery being charged."""
        terminals = self.installation.terminals_of[device]
        return tuple(fed for each in terminals for fed in self._fed_by_terminal.get(each, ()))

    @cached_property
    def _hanging(self) -> Mapping[Run, tuple[tuple[Fed, bool], ...]]:
        found: dict[Run, list[tuple[Fed, bool]]] = {}
        for each in self.fed:
            for hop in each.path:
                if isinstance(hop.link.by, Run):
                    found.setdefault(hop.link.by, []).append((each, hop.forward))
        return {run: tuple(hanging) for run, hanging in found.items()}

    def downstream(self, run: Run, forward: bool = True) -> tuple[Fed, ...]:
        """The consumers that a run carries the current of: `forward` from its start to its end, or the other way.

        Of an earth it is those whose current comes back through it.
        """
        if run.role == "earth":
            return self.returning(run)
        return tuple(fed for fed, along in self._hanging.get(run, ()) if along == forward)

    # ------------------------------------------------------------ the way back

    def returns(self, fed: Fed) -> Return | None:
        """How the current of a consumer comes back to its source, or None when it can't."""
        neg = self.negative(fed.terminal)
        if neg is None or fed.source.back is None:
            return None
        path = self._search.path(fed.source.back, neg)
        return None if path is None else Return(fed.source, tuple(hop.reversed() for hop in reversed(path)))

    def negative(self, terminal: Terminal) -> str | None:
        """The node at which the current that enters by a terminal leaves the device; None when it has none."""
        label = "coil-neg" if terminal.label == "coil-pos" else "neg"
        found = self.installation.terminals.get(f"{terminal.device.name}.{label}")
        return node_of(found) if found else None

    @cached_property
    def _returning(self) -> Mapping[Run, tuple[Fed, ...]]:
        found: dict[Run, list[Fed]] = {}
        for fed in self.fed:
            back = self.returns(fed)
            for run in back.runs if back else ():
                found.setdefault(run, []).append(fed)
        return {run: tuple(feds) for run, feds in found.items()}

    def returning(self, run: Run) -> tuple[Fed, ...]:
        """The consumers whose current comes back through a run."""
        return self._returning.get(run, ())

    @cached_property
    def islands(self) -> tuple[tuple[Structure, ...], ...]:
        """Structures that are joined to none that is bonded, those that are joined to one another together."""
        groups: dict[str, list[Structure]] = {}
        joined = set()
        for structure in self.installation.structures:
            home = self.components[structure.name]
            groups.setdefault(home, []).append(structure)
            if structure.bonded:
                joined.add(home)
        return tuple(tuple(group) for home, group in groups.items() if home not in joined)

    def is_island(self, structure: Structure) -> bool:
        return any(structure in island for island in self.islands)

    def joined(self, one: Point, other: Point) -> bool:
        """Whether two points are joined by conductors."""
        a, b = node_of(one), node_of(other)
        return a == b or (a in self.components and self.components.get(a) == self.components.get(b))

    @cached_property
    def components(self) -> Mapping[str, str]:
        """For each node the name of the least node that it is joined to."""
        home: dict[str, str] = {structure.name: structure.name for structure in self.installation.structures}
        seen: set[str] = set()
        for node in sorted({*self._search.nodes(), *home}):
            if node not in seen:
                for each in self._search.reached(node, None):
                    seen.add(each)
                    home[each] = node
        return home
