"""What the graph of an installation is made of: nodes, links, paths, sources, and what they mean for a consumer.

A node is a point of one potential: a terminal, an earthpoint, a structure, or a whole busbar or splice. A link joins two
nodes by copper, a contact or metal. Loads, sources and chargers join nothing: a charger passes no current from `in` to
`out`. Every contact is taken as closed, for a fault may happen while it is.
"""

from __future__ import annotations

from collections.abc import Iterator

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
from loomwright.record import Entity, Record

By = Run | Way | Device | Earthpoint | Structure


class Link(Entity):
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


class Hop(Record):
    """A link as a path takes it; `forward` is from its `a` to its `b` (for a run: from start to end)."""

    link: Link
    forward: bool

    @property
    def fuses(self) -> tuple[Fuse, ...]:
        return self.link.fuses if self.forward else self.link.fuses[::-1]

    def reversed(self) -> Hop:
        return Hop(self.link, not self.forward)


class Source(Entity):
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


class Feeding(Record):
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


class Fed(Entity):
    """A consumer with the source that feeds it. `charging` when it is a battery being charged."""

    consumer: Device
    terminal: Terminal
    source: Source
    path: tuple[Hop, ...]
    charging: bool


class Return(Record):
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


def runs_of(path: tuple[Hop, ...]) -> tuple[Run, ...]:
    return tuple(hop.link.by for hop in path if isinstance(hop.link.by, Run))


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


def preference(feeding: Feeding) -> tuple[int, int, str]:
    ranks: tuple[type[Device], ...] = (Battery, Supply, Alternator, Charger, Solar)
    device = feeding.source.device
    return ranks.index(type(device)), len(feeding.path), feeding.source.terminal.name


def vehicle_return_of(installation: Installation) -> str | None:
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


def sources_of(installation: Installation, vehicle_return: str | None) -> Iterator[Source]:
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


def links_of(installation: Installation, vehicle_return: str | None) -> Iterator[Link]:
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
