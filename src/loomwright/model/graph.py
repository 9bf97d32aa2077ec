"""What is joined to what: which sources can drive current where, what hangs on a run, and how current comes back.

A node is a point of one potential: a terminal, an earthpoint, a structure, or a whole busbar or splice. A link joins two
nodes by copper, a contact or metal. Loads, sources and chargers join nothing: a charger passes no current from `in` to
`out`. Every contact is taken as closed, for a fault may happen while it is. Positive and return side are parts of one graph
that only meet where somebody has wired a short circuit.
"""

from __future__ import annotations

import heapq
from collections import deque
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from loomwright.model.things import (
    Alternator,
    Battery,
    Busbar,
    Charger,
    Contact,
    Device,
    Earthpoint,
    Fuse,
    Hub,
    Installation,
    Inverter,
    Load,
    Plug,
    Point,
    Relay,
    Run,
    Sensor,
    Solar,
    Splice,
    Structure,
    Supply,
    Terminal,
    Unknown,
    Way,
)

By = Run | Way | Device | Earthpoint | Structure


@dataclass(frozen=True, slots=True, eq=False)
class Link:
    """A way for current between nodes `a` and `b`. `fuses` stand in order from a to b; `unsure` when they are unknown."""

    a: str
    b: str
    by: By
    fuses: tuple[Fuse, ...] = ()
    unsure: Unknown | None = None

    @property
    def width(self) -> float:
        """The greatest current (A) that it passes for long: its smallest fuse, or no limit."""
        return min((fuse.rating.quantity.si for fuse in self.fuses), default=float("inf"))

    def other(self, node: str) -> str:
        return self.b if node == self.a else self.a


@dataclass(frozen=True, slots=True)
class Hop:
    """A link as a path takes it; `forward` is from its `a` to its `b` (for a run: from start to end)."""

    link: Link
    forward: bool

    @property
    def fuses(self) -> tuple[Fuse, ...]:
        return self.link.fuses if self.forward else self.link.fuses[::-1]

    def reversed(self) -> Hop:
        return Hop(self.link, not self.forward)


@dataclass(frozen=True, slots=True, eq=False)
class Source:
    """What can drive current out of `terminal`, and the node that it must come back to (None: there is none).

    A `limited` source (a charger's output, a panel) can't drive more than its own rating.
    """

    device: Device
    terminal: Terminal
    back: str | None
    limited: bool

    @property
    def name(self) -> str:
        return self.device.name


@dataclass(frozen=True, slots=True)
class Feeding:
    """A source that can drive current into a point, by its least protected way, hop by hop from the source."""

    source: Source
    path: tuple[Hop, ...]

    @property
    def fuses(self) -> tuple[Fuse, ...]:
        """The protective devices on the way, in order from the source: those of runs and of hub ways."""
        return tuple(fuse for hop in self.path for fuse in hop.fuses)

    @property
    def unsure(self) -> tuple[Unknown, ...]:
        """What to look at before it is known whether there are more fuses on the way."""
        return tuple(hop.link.unsure for hop in self.path if hop.link.unsure)

    @property
    def runs(self) -> tuple[Run, ...]:
        return runs_of(self.path)


@dataclass(frozen=True, slots=True, eq=False)
class Fed:
    """A consumer with the source that feeds it. `charging` when it is a battery being charged."""

    consumer: Device
    terminal: Terminal
    source: Source
    path: tuple[Hop, ...]
    charging: bool


@dataclass(frozen=True, slots=True)
class Return:
    """How current comes back from a consumer's neg to its source, hop by hop from the consumer."""

    source: Source
    path: tuple[Hop, ...]

    @property
    def runs(self) -> tuple[Run, ...]:
        return runs_of(self.path)

    @property
    def structures(self) -> tuple[Structure, ...]:
        """The metal that the current passes, in order."""
        met: dict[Structure, None] = {}
        for hop in self.path:
            by = hop.link.by
            if isinstance(by, Earthpoint):
                met[by.structure] = None
            elif isinstance(by, Structure):
                met[by] = None
        return tuple(met)


@dataclass(frozen=True, slots=True)
class ShuntSides:
    """The terminals that land on each side of a shunt; `bypassed` when the sides are joined elsewhere as well."""

    battery: tuple[Terminal, ...]
    system: tuple[Terminal, ...]
    bypassed: bool


def runs_of(path: tuple[Hop, ...]) -> tuple[Run, ...]:
    return tuple(hop.link.by for hop in path if isinstance(hop.link.by, Run))


Tree = Mapping[
    str, tuple[str, Link] | None
]  # node → the node before it and the link between; None at the root


class Graph:
    """The conductors of one installation. Made once; what is asked is computed once and kept."""

    def __init__(self, installation: Installation) -> None:
        self.installation = installation
        self.vehicle_return = _vehicle_return(installation)
        self.links: tuple[Link, ...] = tuple(_links(installation, self.vehicle_return))
        self._at: dict[str, list[Link]] = {}
        for link in self.links:
            self._at.setdefault(link.a, []).append(link)
            self._at.setdefault(link.b, []).append(link)
        self.sources: tuple[Source, ...] = tuple(_sources(installation, self.vehicle_return))
        self._of_run = {link.by: link for link in self.links if isinstance(link.by, Run)}
        self._trees: dict[str, Tree] = {}

    # ------------------------------------------------------------ sources

    def feeds(self, point: Point, without: Run | None = None) -> tuple[Feeding, ...]:
        """The sources that can drive current into a point, nearest first; `without` leaves one run out.

        Where there are several ways from a source, it is the one whose smallest fuse is greatest (none at all before any).
        """
        barred = self._of_run.get(without) if without else None
        found = []
        for source in self.sources:
            path = self._path_without(node_of(source.terminal), node_of(point), barred)
            if path is not None:
                found.append(Feeding(source, path))
        return tuple(sorted(found, key=lambda feeding: (len(feeding.path), feeding.source.terminal.name)))

    def feeds_start(self, run: Run) -> tuple[Feeding, ...]:
        """The sources that can drive a fault current into a run at its start, not through itself."""
        return self.feeds(run.start, without=run)

    def feeds_end(self, run: Run) -> tuple[Feeding, ...]:
        """The sources that can drive a fault current into a run at its end, not through itself."""
        return self.feeds(run.end, without=run)

    def short_circuits(self) -> tuple[Feeding, ...]:
        """Sources whose positive is joined to their own return by nothing but conductors, with the way."""
        found = []
        for source in self.sources:
            path = self._path(node_of(source.terminal), source.back) if source.back else None
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
                best = min(feedings, key=_preference)
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
        path = self._path(fed.source.back, neg)
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
        for node in sorted({*self._at, *home}):
            if node not in seen:
                for each in self._reached(node, None):
                    seen.add(each)
                    home[each] = node
        return home

    def shunt_sides(self, shunt: Contact) -> ShuntSides:
        """What lands on each side of a shunt: negatives on the battery's side are not measured by it."""
        ends = [node_of(self.installation.terminals[f"{shunt.name}.{label}"]) for label in ("in", "out")]
        own = next((link for link in self.links if link.by is shunt), None)
        sides = [self._reached(end, own) for end in ends]
        batteries = {f"{each.name}.neg" for each in self.installation.devices if isinstance(each, Battery)}
        first = 1 if batteries & sides[1] and not batteries & sides[0] else 0
        landed = [self._landed(side - set(ends)) for side in (sides[first], sides[1 - first])]
        return ShuntSides(landed[0], landed[1], ends[1] in sides[0])

    def _landed(self, nodes: set[str]) -> tuple[Terminal, ...]:
        found = self.installation.terminals
        return tuple(found[name] for name in sorted(nodes) if name in found)

    # ------------------------------------------------------------ search

    def _path(self, root: str, node: str) -> tuple[Hop, ...] | None:
        """The least protected way between two nodes; of several alike the one with the fewest hops."""
        tree = self._trees.get(root)
        if tree is None:
            tree = self._trees[root] = self._tree(root, None)
        return _trace(tree, node)

    def _path_without(self, root: str, node: str, barred: Link | None) -> tuple[Hop, ...] | None:
        path = self._path(root, node)
        if barred is None or not path or path[-1].link is not barred:
            return path  # a way that ends at one end of a run uses the run last or not at all
        if barred in self._bridges:
            return None
        return _trace(self._tree(root, barred), node)

    def _tree(self, root: str, barred: Link | None) -> Tree:
        """Widest ways from a root to all nodes (Dijkstra on the smallest fuse, then on the number of hops)."""
        tree: dict[str, tuple[str, Link] | None] = {}
        heap: list[tuple[float, int, int, str, tuple[str, Link] | None]] = [(-float("inf"), 0, 0, root, None)]
        count = 0
        while heap:
            narrow, hops, _, node, before = heapq.heappop(heap)
            if node in tree:
                continue
            tree[node] = before
            for link in self._at.get(node, ()):
                other = link.other(node)
                if other not in tree and link is not barred:
                    count += 1
                    heapq.heappush(heap, (max(narrow, -link.width), hops + 1, count, other, (node, link)))
        return tree

    def _reached(self, root: str, barred: Link | None) -> set[str]:
        seen = {root}
        waiting = deque(seen)
        while waiting:
            node = waiting.popleft()
            for link in self._at.get(node, ()):
                other = link.other(node)
                if other not in seen and link is not barred:
                    seen.add(other)
                    waiting.append(other)
        return seen

    @cached_property
    def _bridges(self) -> frozenset[Link]:
        """The links that are the only way between their ends (Tarjan's low numbers, without recursion)."""
        number: dict[str, int] = {}
        low: dict[str, int] = {}
        bridges = []
        for root in self._at:
            if root in number:
                continue
            number[root] = low[root] = len(number)
            stack: list[tuple[str, Link | None, Iterator[Link]]] = [(root, None, iter(self._at[root]))]
            while stack:
                node, above, links = stack[-1]
                link = next(links, None)
                if link is None:
                    stack.pop()
                    if above:
                        parent = above.other(node)
                        low[parent] = min(low[parent], low[node])
                        if low[node] > number[parent]:
                            bridges.append(above)
                elif link is not above:
                    other = link.other(node)
                    if other in number:
                        low[node] = min(low[node], number[other])
                    else:
                        number[other] = low[other] = len(number)
                        stack.append((other, link, iter(self._at[other])))
        return frozenset(bridges)


def _trace(tree: Tree, node: str) -> tuple[Hop, ...] | None:
    """The way from a tree's root to a node, or None when it is not in the tree."""
    if node not in tree:
        return None
    hops = []
    while (step := tree[node]) is not None:
        before, link = step
        hops.append(Hop(link, link.a == before))
        node = before
    return tuple(reversed(hops))


# ---------------------------------------------------------------- what makes the graph


def node_of(point: Point) -> str:
    """The node that a point belongs to: all studs of a busbar, and all of a splice, are one."""
    if isinstance(point, Terminal) and isinstance(point.device, (Busbar, Splice)):
        return point.device.name
    return point.name


def consumers(installation: Installation) -> Iterator[Terminal]:
    """The terminals by which current enters what uses it: loads, inverters, sensors, chargers, coils, batteries."""
    labels: tuple[tuple[type[Device], tuple[str, ...]], ...] = (
        (Load, ("pos",)),
        (Inverter, ("pos",)),
        (Sensor, ("pos",)),
        (Charger, ("in", "solar")),
        (Relay, ("coil-pos",)),
        (Battery, ("pos",)),
    )
    for device in installation.devices:
        for kind, entries in labels:
            if isinstance(device, kind):
                yield from (installation.terminals[f"{device.name}.{label}"] for label in entries)


def _preference(feeding: Feeding) -> tuple[int, int, str]:
    ranks: tuple[type[Device], ...] = (Battery, Supply, Alternator, Charger, Solar)
    device = feeding.source.device
    return ranks.index(type(device)), len(feeding.path), feeding.source.terminal.name


def _vehicle_return(installation: Installation) -> str | None:
    """The node of the vehicle's own return: the structure bonded to the cranking battery, else that battery's neg.

    Without a cranking battery it is the first bonded structure; without one, there is none.
    """
    bonded = sorted((each for each in installation.structures if each.bonded), key=lambda each: each.name)
    cranking = [
        each for each in installation.devices if isinstance(each, Battery) and each.serves == "cranking"
    ]
    for structure in bonded:
        if structure.bonded and structure.bonded.device in cranking:
            return structure.name
    if cranking:
        return f"{min(each.name for each in cranking)}.neg"
    return bonded[0].name if bonded else None


def _sources(installation: Installation, vehicle_return: str | None) -> Iterator[Source]:
    terminals = installation.terminals
    for device in installation.devices:
        name = device.name
        if isinstance(device, (Battery, Alternator, Solar)):
            yield Source(device, terminals[f"{name}.pos"], f"{name}.neg", isinstance(device, Solar))
        elif isinstance(device, Charger):
            yield Source(device, terminals[f"{name}.out"], f"{name}.neg", True)
        elif isinstance(device, Supply):
            back = f"{name}.neg" if f"{name}.neg" in terminals else vehicle_return
            yield Source(device, terminals[f"{name}.pos"], back, False)


def _links(installation: Installation, vehicle_return: str | None) -> Iterator[Link]:
    for run in installation.runs:
        fuses = installation.fuses_of[run]
        ends = node_of(run.start), node_of(run.end)
        yield Link(*ends, run, unsure=fuses) if isinstance(fuses, Unknown) else Link(*ends, run, fuses)
    for device in installation.devices:
        yield from _within(installation, device, vehicle_return)
    for earthpoint in installation.earthpoints:
        yield Link(earthpoint.name, earthpoint.structure.name, earthpoint)
    for structure in installation.structures:
        if structure.bonded:
            yield Link(structure.name, node_of(structure.bonded), structure)


def _within(installation: Installation, device: Device, vehicle_return: str | None) -> Iterator[Link]:
    """The ways through a device itself."""
    name = device.name
    if isinstance(device, Hub):
        for way in installation.ways_of[device]:
            fuse = installation.fuse_of_way[way]
            known = (fuse,) if isinstance(fuse, Fuse) else ()
            yield Link(f"{name}.in", way.name, way, known, fuse if isinstance(fuse, Unknown) else None)
    elif isinstance(device, Contact):
        yield Link(f"{name}.in", f"{name}.out", device)
    elif isinstance(device, Relay):
        yield Link(f"{name}.in", f"{name}.out", device)
        yield Link(f"{name}.in", f"{name}.rest", device)
    elif isinstance(device, Plug):
        for label in device.terminal_names:
            if label.endswith("-a"):
                yield Link(f"{name}.{label}", f"{name}.{label[:-1]}b", device)
    elif isinstance(device, Alternator) and vehicle_return:
        yield Link(f"{name}.neg", vehicle_return, device)
