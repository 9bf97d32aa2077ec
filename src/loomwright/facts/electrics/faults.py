"""Short circuits at the two corners of what is not known well.

The greatest current: every contact closed and perfect, batteries full, the engine running, full sun, conductors cold. The least:
batteries low and old and nothing else to help them, conductors as hot as their class, contacts as the limits have
them, and a resistance in the fault itself. Voltage-sensing relays are closed at the greatest; at the least they are open,
and closed only for what nothing else feeds. One factorisation serves all faults of a corner.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from loomwright.analysis.faults import Fault, FaultStudy
from loomwright.analysis.network import Network
from loomwright.facts.electrics import resistances as r
from loomwright.facts.electrics import sources
from loomwright.facts.electrics.bench import BLEED_OHMS, Around, Source, reasons_of
from loomwright.facts.electrics.switching import senses_voltage
from loomwright.facts.electrics.wiring import Groups, Link, Wiring, node, node_of, run_key, wiring
from loomwright.facts.guard import holding
from loomwright.facts.registry import Ledger, Missing
from loomwright.facts.wiring import START
from loomwright.model import things as t
from loomwright.quantity import show
from loomwright.stock import conductors

POSITIVES = ("pos", "in", "out", "solar")


@dataclass(slots=True)
class Corner:
    """One corner's network, ready for faults. `missing` says why nothing can be said of it."""

    least: bool
    relays_closed: bool
    network: Network = field(default_factory=Network)
    study: FaultStudy | None = None
    groups: Groups = field(default_factory=Groups)
    roots: dict[str, str] = field(default_factory=dict)
    around: Around | None = None
    structures: list[str] = field(default_factory=list)
    negatives: list[str] = field(default_factory=list)  # of the batteries and supplies
    sources: list[Source] = field(default_factory=list)
    fault_ohms: float = 0.0
    missing: tuple[t.Unknown, ...] = ()
    found: dict[tuple[str, str], Fault] = field(default_factory=dict)
    with_open: dict[frozenset[str], Corner] = field(default_factory=dict)

    def fault(self, a: str, b: str) -> Fault:
        """A fault between two live nodes of one part, kept."""
        assert self.study is not None
        if (a, b) not in self.found:
            self.found[a, b] = self.study.fault(a, b, self.fault_ohms)
        return self.found[a, b]

    def opened(self, elements: frozenset[str]) -> Corner:
        """The same with some fuses open, of which next to nothing is left; kept."""
        if elements not in self.with_open:
            network = self.network.with_values(ohms=dict.fromkeys(elements, BLEED_OHMS))
            study = network.faults(next(iter(self.roots.values())))
            self.with_open[elements] = replace(self, network=network, study=study, found={}, with_open={})
        return self.with_open[elements]

    def is_live(self, name: str) -> bool:
        return self.groups.find(name) in self.roots


def corner(ledger: Ledger, least: bool = False, relays_closed: bool = True) -> Corner:
    """The greatest or least corner. Raises Missing where an unknown leaves no fault current to be found."""
    name = f"electrics fault corner {'least' if least else 'greatest'}, relays {'closed' if relays_closed else 'open'}"
    made: Corner = ledger.index(name, lambda: _corner(ledger, least, relays_closed))
    if made.missing:
        raise Missing(*made.missing)
    return made


def least_corner(names: Iterable[str], ledger: Ledger) -> Corner:
    """The least corner with sensing relays open, or closed where one of the nodes would be dead."""
    at = corner(ledger, least=True, relays_closed=False)
    return at if all(at.is_live(name) for name in names) else corner(ledger, least=True)


def _corner(ledger: Ledger, least: bool, relays_closed: bool) -> Corner:
    made = Corner(least, relays_closed)
    try:
        _set_up(made, ledger)
    except Missing as missing:
        made.missing = missing.reasons
    return made


# ---------------------------------------------------------------- faults of things


def faults_at(name: str, devices: Iterable[t.Device], at: Corner) -> list[Fault]:
    """Faults from a node to each return near it: its devices' own negatives, and every structure that leads back.

    A device without a negative may lie beside any source's. Empty where no source reaches. Raises Missing where an unknown
    cable lies between.
    """
    root = at.groups.find(name)
    if root not in at.roots:
        assert at.around is not None
        live, links, _ = at.around.reached_from(name)
        if live:
            raise Missing(*reasons_of(links))
        return []
    own = [node(device, "neg") for device in devices]
    near = own if any(at.groups.find(goal) == root for goal in own) else at.negatives
    goals = [
        goal
        for goal in dict.fromkeys([*near, *at.structures])
        if at.groups.find(goal) == root and goal != name
    ]
    return [at.fault(name, goal) for goal in goals]


def devices_at(run: t.Run, side: str = "") -> list[t.Device]:
    """The devices on one side of a run, or on both."""
    points = {"start": (run.start,), "end": (run.end,)}.get(side, (run.start, run.end))
    return [point.device for point in points if isinstance(point, t.Terminal)]


def pick(faults: Iterable[Fault], least: bool) -> Fault | None:
    """The greatest of the faults, or the least."""
    ordered = sorted(faults, key=lambda fault: fault.amps)
    return (ordered[0] if least else ordered[-1]) if ordered else None


def fault_of_run(run: t.Run, side: str, at: Corner) -> Fault | None:
    """The fault at one end of a positive run; None where nothing feeds it."""
    point = run.start if side == "start" else run.end
    return pick(faults_at(node_of(point), devices_at(run, side), at), at.least)


def note_shares(fault: Fault, at: Corner, ledger: Ledger, spot: str = "") -> None:
    """Put into the derivation where the current comes from, and which return it takes."""
    ledger.note(f"a short from {spot or fault.a} to {fault.b}: {show(abs(fault.amps), 'current')}")
    for source in at.sources:
        amps = fault.through(source.name)
        if abs(amps) >= 0.05:
            ledger.note(f"{source.name} {'gives' if amps > 0 else 'takes'} {show(abs(amps), 'current')}")


def through_earth(run: t.Run, at: Corner, ledger: Ledger) -> float:
    """The most that a fault sends through a return run: a battery's positive on any structure, or what it returns shorted."""
    key = run_key(run)
    if key not in at.network.elements:
        return 0.0
    pairs: list[tuple[str, str]] = []
    for device in devices_at(run):
        pairs += [(node(device, label), node(device, "neg")) for label in POSITIVES]
    for source in at.sources:
        if source.kind == "battery":
            pairs += [(source.pos, structure) for structure in at.structures]
    live = [(a, b) for a, b in pairs if a != b and at.is_live(a) and at.groups.find(a) == at.groups.find(b)]
    through = {abs(fault.through(key)): fault for fault in (at.fault(a, b) for a, b in reversed(live))}
    if not through:
        return 0.0
    note_shares(through[max(through)], at, ledger)
    return max(through)


def nodes_of(run: t.Run) -> tuple[str, str]:
    return node_of(run.start), node_of(run.end)


def through_fuse(fuse: t.Fuse, ledger: Ledger, at: Corner) -> float:
    """The greatest current through a fuse: a fault right behind it, on either side."""
    element, before, after, devices = fuse_place(fuse, ledger)
    faults = [*faults_at(before, devices, at), *faults_at(after, devices, at)]
    if element not in at.network.elements:
        return nothing_through(fuse, ledger)
    return _through(fuse, element, faults, at, ledger)


def nothing_through(fuse: t.Fuse, ledger: Ledger) -> float:
    """0 A through a fuse that no source reaches. Raises Missing where only its cable is unknown."""
    reasons = r.unknowns(fuse.run, ledger) if fuse.run is not None else ()
    if reasons:
        raise Missing(*reasons)
    return 0.0


def least_through_fuse(fuse: t.Fuse, ledger: Ledger) -> float:
    """The least current that a fault at the far end of the fuse's own run, or on its way's terminal, sends through it."""
    element, before, after, devices = fuse_place(fuse, ledger)
    at = least_corner((before, after), ledger)
    if element not in at.network.elements:
        faults_at(before, devices, at), faults_at(after, devices, at)
        return nothing_through(fuse, ledger)
    run = fuse.run
    if run is None:
        faults = faults_at(after, devices, at)
    else:
        far, side = (run.end, "end") if _fed_at_start(fuse, run, ledger) else (run.start, "start")
        faults = faults_at(node_of(far), devices_at(run, side), at)
    return _through(fuse, element, faults, at, ledger)


def _through(fuse: t.Fuse, element: str, faults: Iterable[Fault], at: Corner, ledger: Ledger) -> float:
    """The most that one of the faults sends through a fuse, at the least corner the least."""
    through = {abs(fault.through(element)): fault for fault in faults}
    if not through:
        return 0.0
    amps = min(through) if at.least else max(through)
    inside = through[amps].a.startswith(f"{element.partition('/')[0]}/")
    note_shares(through[amps], at, ledger, f"right behind the fuse of {fuse.name}" if inside else "")
    return amps


def _fed_at_start(fuse: t.Fuse, run: t.Run, ledger: Ledger) -> bool:
    """Whether what the fuse must end comes in by its run's start; of one that ends nothing whether it sits nearer to that."""
    side = holding(run, ledger).get(fuse)
    if side is not None:
        return side == START
    return bool(ledger.known(fuse.from_start_m) * 2 <= r.run_length(run, ledger))


def fuse_place(fuse: t.Fuse, ledger: Ledger) -> tuple[str, str, str, list[t.Device]]:
    """The fuse's element, the nodes on its two sides, and the devices by it."""
    if fuse.way is not None:
        return fuse.way.name, node(fuse.way.hub, "in"), fuse.way.name, [fuse.way.hub]
    assert fuse.run is not None
    fuses = ledger.known(ledger.installation.fuses_of[fuse.run])
    k, key = 2 * fuses.index(fuse) + 1, run_key(fuse.run)
    return f"{key}/{k}", f"{key}/{k}", f"{key}/{k + 1}", devices_at(fuse.run)


def element_of(fuse: t.Fuse, ledger: Ledger) -> str:
    return fuse_place(fuse, ledger)[0]


# ---------------------------------------------------------------- the network of a corner


def _set_up(made: Corner, ledger: Ledger) -> None:
    graph, network, groups = wiring(ledger), made.network, made.groups
    counted = [link for link in graph.links if _counts(link, made.relays_closed)]
    pieces = [piece for link in counted for piece in _pieces(link, ledger)]
    for piece in pieces:
        if not piece.unknown:
            groups.join(piece.a, piece.b)
    driving = list(_sources(graph, ledger, made.least))
    if not driving:
        raise Missing(t.Unknown("a battery or another source", ledger.installation.fitout.span))
    for source in driving:
        groups.join(source.pos, source.neg)
    for source in sorted(driving, key=lambda source: source.rank):
        if groups.find(source.pos) not in made.roots:
            made.roots[groups.find(source.pos)] = source.neg
            network.resistor(source.pos, source.neg, BLEED_OHMS, name=f"{source.name} bleed")
    made.around = Around(groups, made.roots, [piece for piece in pieces if piece.unknown])
    made.around.must_share_nothing()
    for source in driving:
        if source.kind == "battery":
            network.battery(source.pos, source.neg, source.volts, source.ohms, name=source.name)
        else:
            network.regulator(
                source.pos, source.neg, source.volts, source.ohms, source.limit, name=source.name
            )
    for piece in pieces:
        if not piece.unknown and groups.find(piece.a) in made.roots:
            network.resistor(piece.a, piece.b, _ohms(piece, ledger, made.least), name=piece.name)
    reference, *others = made.roots.values()
    for k, other in enumerate(others, 1):
        network.resistor(reference, other, 0.0, name=f"tie {k}")
    made.sources = driving
    made.negatives = [source.neg for source in driving if source.kind == "battery"] or list(
        made.roots.values()
    )
    made.structures = [s.name for s in ledger.installation.structures]
    made.fault_ohms = r.limit(ledger, "fault-contact") if made.least else 0.0
    made.study = network.faults(reference)


def _counts(link: Link, relays_closed: bool) -> bool:
    """Whether a link passes current in a fault: every contact is closed, a sensing relay as the corner has it."""
    relay = link.of
    return not isinstance(relay, t.Relay) or (
        link.name == relay.name and (relays_closed or not senses_voltage(relay))
    )


def _pieces(link: Link, ledger: Ledger) -> Iterator[Link]:
    """A run cut at its fuses, so that a fault can be put behind each of them."""
    run = link.of
    if not isinstance(run, t.Run) or link.unknown or not link.fuse:
        yield link
        return
    parts = r.segments(run, ledger)
    nodes = [link.a, *[f"{link.name}/{k}" for k in range(1, len(parts))], link.b]
    for k, part in enumerate(parts):
        yield Link(f"{link.name}/{k}", nodes[k], nodes[k + 1], part.copper, part.contacts, part.fuse, run)


def _ohms(link: Link, ledger: Ledger, least: bool) -> float:
    if not least:
        cold = conductors.copper_temperature_factor(r.limit(ledger, "fault-cold"))
        structure = link.contacts if isinstance(link.of, t.Structure) else 0.0
        return link.copper * cold + link.fuse + structure
    hot = r.limit(ledger, "conductor-unstated")
    if isinstance(link.of, t.Run):
        entry = ledger.entry(link.of, "class")
        hot = hot if entry.missing else entry.value
    return link.copper * conductors.copper_temperature_factor(hot) + link.contacts + link.fuse


def _sources(graph: Wiring, ledger: Ledger, least: bool) -> Iterator[Source]:
    for device in ledger.installation.devices:
        pos, neg = node(device, "pos"), node(device, "neg")
        if isinstance(device, t.Battery) and pos in graph.landed:
            charge = r.limit(ledger, "fault-low-charge") if least else 1.0
            ohms = sources.internal_ohms(device, ledger, lowest=not least)
            if least and not isinstance(device.internal, t.Unknown):
                ohms *= r.limit(ledger, "fault-battery-aged")
            volts = sources.open_volts(device, charge, ledger, graph)
            yield Source(
                device.name, pos, neg, "battery", volts, ohms, None, 0 if device.serves == "cranking" else 1
            )
        elif isinstance(device, t.Supply) and pos in graph.landed:
            ohms = r.limit(ledger, "supply-internal") * (
                r.limit(ledger, "fault-battery-aged") if least else 1.0
            )
            volts = ledger.known(device.holds).quantity.si
            yield Source(device.name, pos, graph.vehicle_return, "battery", volts, ohms)
        elif not least:
            yield from _limited_source(device, pos, neg, graph, ledger)


def _limited_source(device: t.Device, pos: str, neg: str, graph: Wiring, ledger: Ledger) -> Iterator[Source]:
    """What can't give more than its own limit, whatever it is joined to."""
    slope = r.limit(ledger, "regulator-slope")
    if isinstance(device, t.Alternator) and pos in graph.landed:
        limit = ledger.known(device.rated).quantity.si * device.count
        yield Source(device.name, pos, neg, "regulator", ledger.known(device.holds).quantity.si, slope, limit)
    elif isinstance(device, t.Charger) and node(device, "out") in graph.landed:
        volts, amps = (
            ledger.known(device.output_volts).quantity.si,
            ledger.known(device.output_amps).quantity.si,
        )
        yield Source(device.name, node(device, "out"), neg, "regulator", volts, slope, amps * device.count)
    elif isinstance(device, t.Solar) and pos in graph.landed:
        panel = sources.panel(device, 1.0, ledger)
        if panel:
            yield Source(device.name, pos, neg, "regulator", panel.open, panel.ohms, panel.short)
