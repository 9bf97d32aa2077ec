"""The installation as a graph: every conductor, contact and structure between named nodes, whatever the mode.

A node is a terminal, an earthpoint or a structure by its name; all studs of a busbar, and all tails of a splice, are one node.
Between the fuses of a run its nodes are named after it (`main/1`, `main/2`).
"""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.facts.electrics import resistances as r
from loomwright.facts.registry import Ledger, Missing
from loomwright.model import things as t
from loomwright.record import Record


class Link(Record):
    """A passive piece from node a to b, in ohms: `copper` at 20 °C, `contacts` and `fuse`.

    `contact` is the device or way that can open it, `unknown` why its resistance is not known (its ohms are then 0).
    """

    name: str
    a: str
    b: str
    copper: float
    contacts: float
    fuse: float
    of: object
    contact: t.Device | t.Way | None = None
    unknown: tuple[t.Unknown, ...] = ()

    @property
    def ohms(self) -> float:
        """Everything at 20 °C."""
        return self.copper + self.contacts + self.fuse


class Wiring(Record):
    links: tuple[Link, ...]
    vehicle_return: str  # where supplies and cases of the vehicle's own have their return
    landed: frozenset[str]  # nodes on which a run ends
    series: frozenset[t.Battery]  # batteries that stand on another's positive


def wiring(ledger: Ledger) -> Wiring:
    """The graph of this installation, made once."""
    made: Wiring = ledger.index("electrics wiring", lambda: _wire(ledger))
    return made


def node_of(point: t.Point | t.Fuse) -> str:
    """The node of a terminal, earthpoint or structure."""
    if isinstance(point, t.Terminal) and isinstance(point.device, (t.Busbar, t.Splice)):
        return point.device.name
    return point.name


def node(device: t.Device, label: str) -> str:
    """The node of a device's terminal by its label."""
    return f"{device.name}.{label}"


def run_key(run: t.Run) -> str:
    """A run's name among the elements; the legs of a circuit share a name, so theirs say which leg."""
    return f"{run.name} {run.role}" if run.circuit else run.name


def _wire(ledger: Ledger) -> Wiring:
    installation = ledger.installation
    landed = frozenset(node for run in installation.runs for node in (node_of(run.start), node_of(run.end)))
    home = _vehicle_return(installation)
    links = [_run_link(run, ledger) for run in installation.runs if node_of(run.start) != node_of(run.end)]
    for device in installation.devices:
        links += _inside(device, ledger, landed, home)
    for structure in installation.structures:
        if structure.bonded is not None:
            ohms = r.stated(structure.resistance, ledger, "contact-structure")
            links.append(
                Link(
                    f"{structure.name} bond",
                    structure.name,
                    node_of(structure.bonded),
                    0.0,
                    ohms,
                    0.0,
                    structure,
                )
            )
    for point in installation.earthpoints:
        if point.name in landed:
            links.append(_face_link(point, ledger))
    positives = {node(d, "pos") for d in installation.devices if isinstance(d, t.Battery)}
    series = frozenset(
        d
        for d in installation.devices
        if isinstance(d, t.Battery) and _touches(links, node(d, "neg"), positives)
    )
    return Wiring(tuple(links), home, landed, series)


def _touches(links: Iterable[Link], start: str, goals: set[str]) -> bool:
    return any(
        (link.a == start and link.b in goals) or (link.b == start and link.a in goals) for link in links
    )


def _vehicle_return(installation: t.Installation) -> str:
    """The structure bonded to the cranking battery, else that battery's neg; failing it those of any battery, else one of its own."""
    batteries = [d for d in installation.devices if isinstance(d, t.Battery)]
    for battery in sorted(batteries, key=lambda b: b.serves != "cranking"):
        for structure in installation.structures:
            if structure.bonded is not None and structure.bonded.device is battery:
                return structure.name
        return node(battery, "neg")
    return installation.structures[0].name if installation.structures else "return"


def _run_link(run: t.Run, ledger: Ledger) -> Link:
    a, b = node_of(run.start), node_of(run.end)
    try:
        parts = r.segments(run, ledger)
    except Missing as missing:
        return Link(run_key(run), a, b, 0.0, 0.0, 0.0, run, None, missing.reasons)
    copper = sum(part.copper for part in parts)
    contacts = sum(part.contacts for part in parts)
    return Link(run_key(run), a, b, copper, contacts, sum(part.fuse for part in parts), run)


def _face_link(point: t.Earthpoint, ledger: Ledger) -> Link:
    """A structure's own resistance lies in its bond; without a bond, half of it lies before each earthpoint."""
    ohms = r.earth_face_ohms(point, ledger)
    if point.structure.bonded is None:
        ohms += r.stated(point.structure.resistance, ledger, "contact-structure") / 2
    return Link(f"{point.name} face", point.name, point.structure.name, 0.0, ohms, 0.0, point)


def _inside(device: t.Device, ledger: Ledger, landed: frozenset[str], home: str) -> list[Link]:
    """The ways through a device."""

    def through(a: str, b: str, ohms: float, contact: t.Device | None, name: str = "") -> Link:
        return Link(name or device.name, node(device, a), node(device, b), 0.0, ohms, 0.0, device, contact)

    if isinstance(device, t.Hub):
        return [_way_link(way, ledger) for way in ledger.installation.ways_of[device] if way.name in landed]
    if isinstance(device, t.Contact):
        return [
            through("in", "out", r.contact_ohms(device, ledger), None if device.kind == "shunt" else device)
        ]
    if isinstance(device, t.Relay):
        ohms = r.contact_ohms(device, ledger)
        rest = (
            [through("in", "rest", ohms, device, f"{device.name} rest")]
            if node(device, "rest") in landed
            else []
        )
        return [through("in", "out", ohms, device), *rest]
    if isinstance(device, t.Plug):
        poles = [label[:-2] for label in device.terminal_names if label.endswith("-a")]
        ohms = r.contact_ohms(device, ledger)
        return [through(f"{pole}-a", f"{pole}-b", ohms, None, f"{device.name} {pole}") for pole in poles]
    if isinstance(device, t.Alternator):
        case = r.limit(ledger, "contact-case")
        return [Link(f"{device.name} case", node(device, "neg"), home, 0.0, case, 0.0, device)]
    return []


def _way_link(way: t.Way, ledger: Ledger) -> Link:
    contacts, fuse = r.way_ohms(way, ledger)
    return Link(
        way.name, node(way.hub, "in"), way.name, 0.0, contacts, fuse, way, way if way.control else None
    )


class Groups:
    """Nodes that hang together, joined as links are added."""

    def __init__(self) -> None:
        self._above: dict[str, str] = {}

    def find(self, node: str) -> str:
        above = self._above
        root = node
        while (up := above.get(root, root)) != root:
            root = up
        while node != root:
            above[node], node = root, above.get(node, node)
        return root

    def join(self, a: str, b: str) -> None:
        first, second = self.find(a), self.find(b)
        if first != second:
            self._above[second] = first
