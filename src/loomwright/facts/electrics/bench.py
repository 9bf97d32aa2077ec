"""One mode's network set up: the live part of the wiring with everything that drives and takes current, and what had to be left out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from loomwright.analysis.network import Network
from loomwright.facts.electrics import charging, sources
from loomwright.facts.electrics import resistances as r
from loomwright.facts.electrics.switching import unread_volts
from loomwright.facts.electrics.wiring import Groups, Link, Wiring, node
from loomwright.facts.registry import Ledger, Missing
from loomwright.model import things as t
from loomwright.record import Record, replace

BLEED_OHMS = 1e6


class Switched(Record):
    """The state of everything that is either on or off: closed contacts, working chargers, loads that can't run."""

    closed: frozenset[str]
    working: frozenset[str] = frozenset()
    starved: frozenset[str] = frozenset()


@dataclass(slots=True)
class Bench:
    network: Network
    reference: str = ""
    links: list[Link] = field(default_factory=list)
    loads: dict[str, sources.Draw] = field(default_factory=dict)
    plates: dict[str, charging.Nameplate] = field(default_factory=dict)
    panels: dict[str, sources.Panel | None] = field(default_factory=dict)  # by charger, all its panels as one
    panel_names: dict[str, list[str]] = field(default_factory=dict)
    omitted: dict[str, tuple[t.Unknown, ...]] = field(default_factory=dict)  # loads and sources, with why
    unknown_links: dict[str, tuple[t.Unknown, ...] | None] = field(
        default_factory=dict
    )  # None: no current, whatever it is
    assumed: list[str] = field(default_factory=list)
    beyond: dict[str, tuple[t.Unknown, ...]] = field(
        default_factory=dict
    )  # dead groups that a load behind an unknown lies in
    around: Around | None = None

    def why_dim(self, name: str) -> tuple[t.Unknown, ...]:
        """Why a dead node that hangs on the live part by unknown cables has no volts."""
        return reasons_of(self.around.reached_from(name)[1]) if self.around else ()


class Source(Record):
    """A source before it is put in: `kind` battery or regulator. The lowest `rank` lends its return as the zero of all volts."""

    name: str
    pos: str
    neg: str
    kind: str
    volts: float
    ohms: float
    limit: float | None = None
    rank: int = 2


def set_up(
    mode: t.Mode, wiring: Wiring, switched: Switched, ohms: Mapping[str, float], ledger: Ledger
) -> Bench:
    """The network of a mode. `ohms` holds the links whose resistance is not that at 20 °C.

    Raises Missing where an unknown leaves nothing that could be said of any current: of a source, of a load's draw, or of
    one of two ways that share a current.
    """
    bench = Bench(Network())
    active = [link for link in wiring.links if link.contact is None or link.name in switched.closed]
    groups = Groups()
    for link in active:
        if not link.unknown:
            groups.join(link.a, link.b)
    driving = [*_sources(mode, wiring, ledger), *_chargers(mode, wiring, switched, groups, bench, ledger)]
    if not driving:
        raise Missing(t.Unknown(f"a source that is live in mode {mode.name}", mode.span))
    for source in driving:
        groups.join(source.pos, source.neg)
    roots: dict[str, str] = {}
    for source in sorted(driving, key=lambda source: source.rank):
        roots.setdefault(groups.find(source.pos), source.neg)
    _put_sources(bench, driving, roots)
    _put_bleeds(bench, driving, groups)
    for link in active:
        if not link.unknown and groups.find(link.a) in roots:
            bench.network.resistor(link.a, link.b, ohms.get(link.name, link.ohms), name=link.name)
            bench.links.append(link)
    around = _around(mode, wiring, active, groups, roots)
    around.must_share_nothing()
    bench.around = around
    bench.unknown_links = {link.name: None for link in around.unknown}
    for draw in [*sources.draws(mode, ledger), *_coils(wiring, ledger)]:
        if draw.device.name not in switched.starved:
            _put_load(bench, draw, groups, roots, around)
    _mark_beyond(bench, active, groups)
    for charger in bench.plates:
        inlet, back = f"{charger}.in", f"{charger}.neg"
        if charger in switched.working and groups.find(inlet) == groups.find(back):
            bench.network.constant_power(inlet, back, 0.0, name=f"{charger} in")
    return bench


# ---------------------------------------------------------------- sources


def _sources(mode: t.Mode, wiring: Wiring, ledger: Ledger) -> Iterable[Source]:
    slope = r.limit(ledger, "regulator-slope")
    for device in ledger.installation.devices:
        pos, neg = node(device, "pos"), node(device, "neg")
        if pos not in wiring.landed:
            continue
        if isinstance(device, t.Battery):
            yield from _battery(device, mode, wiring, ledger)
        elif isinstance(device, t.Alternator) and mode.engine == "running":
            limit = sources.alternator_limit(device, ledger)
            yield Source(
                device.name, pos, neg, "regulator", ledger.known(device.holds).quantity.si, slope, limit
            )
        elif isinstance(device, t.Supply) and sources.is_live(device, mode, ledger):
            ohms = r.limit(ledger, "supply-internal")
            yield Source(
                device.name,
                pos,
                wiring.vehicle_return,
                "regulator",
                ledger.known(device.holds).quantity.si,
                ohms,
            )
        elif isinstance(device, t.Solar) and neg in wiring.landed:
            panel = sources.panel(device, sources.irradiance(mode), ledger)
            if panel:
                yield Source(device.name, pos, neg, "regulator", panel.open, panel.ohms, panel.short)


def _battery(battery: t.Battery, mode: t.Mode, wiring: Wiring, ledger: Ledger) -> Iterable[Source]:
    """Its open-circuit voltage behind its internal resistance; one that resists charge more has a branch for each direction."""
    pos, neg, rank = node(battery, "pos"), node(battery, "neg"), 0 if battery.serves == "cranking" else 1
    charge = sources.charge_of(battery, mode)
    volts, ohms = sources.open_volts(battery, charge, ledger, wiring), sources.internal_ohms(battery, ledger)
    tail = sources.charging_ohms(battery, charge, ohms, ledger)
    if tail is None:
        yield Source(battery.name, pos, neg, "battery", volts, ohms, None, rank)
        return
    yield Source(battery.name, pos, neg, "regulator", volts, ohms * tail / (tail - ohms), None, rank)
    yield Source(f"{battery.name} tail", pos, neg, "battery", volts, tail, None, rank)


def _chargers(
    mode: t.Mode, wiring: Wiring, switched: Switched, groups: Groups, bench: Bench, ledger: Ledger
) -> Iterable[Source]:
    """Chargers that give anything; their solar input is put in at once."""
    slope = r.limit(ledger, "regulator-slope")
    sun = sources.irradiance(mode)
    solars = [d for d in ledger.installation.devices if isinstance(d, t.Solar)] if sun > 0 else []
    for device in ledger.installation.devices:
        if (
            not isinstance(device, t.Charger)
            or not {node(device, "out"), node(device, "neg")} <= wiring.landed
        ):
            continue
        inlet = groups.find(node(device, "solar"))
        own = [s for s in solars if groups.find(node(s, "pos")) == inlet and node(s, "neg") in wiring.landed]
        if not own and device.name not in switched.working and not on_mains(device, mode, wiring):
            continue
        plate = charging.nameplate(device, ledger)
        bench.plates[device.name] = plate
        bench.panel_names[device.name] = [s.name for s in own]
        panels = [p for s in own if (p := sources.panel(s, sun, ledger))]
        bench.panels[device.name] = panel = charging.together(panels)
        if panel:
            sink = charging.at_first(plate, False, panel).sink_ohms
            bench.network.resistor(
                node(device, "solar"), node(device, "neg"), sink, name=f"{device.name} solar"
            )
        yield Source(
            f"{device.name} out",
            node(device, "out"),
            node(device, "neg"),
            "regulator",
            plate.volts,
            slope,
            plate.amps,
        )


def on_mains(charger: t.Charger, mode: t.Mode, wiring: Wiring) -> bool:
    """Whether the mains feed it: mains on, and a charger that has a mains inlet in use or no other input."""
    wired = wiring.landed
    other = node(charger, "in") in wired or node(charger, "solar") in wired
    return mode.mains and (node(charger, "mains") in wired or not other)


def _put_sources(bench: Bench, driving: Iterable[Source], roots: Mapping[str, str]) -> None:
    """Sources, and a tie between the returns of parts that nothing joins, so that all have one zero. A tie carries nothing."""
    for source in driving:
        if source.kind == "battery":
            bench.network.battery(source.pos, source.neg, source.volts, source.ohms, name=source.name)
        else:
            bench.network.regulator(
                source.pos, source.neg, source.volts, source.ohms, source.limit, name=source.name
            )
    bench.reference, *others = roots.values()
    for k, other in enumerate(others, 1):
        bench.network.resistor(bench.reference, other, 0.0, name=f"tie {k}")


def _put_bleeds(bench: Bench, driving: Iterable[Source], groups: Groups) -> None:
    """A part with no battery would have any voltage above its regulators' while nothing draws: a megohm holds it down."""
    held = {groups.find(source.pos) for source in driving if source.kind == "battery"}
    for source in driving:
        root = groups.find(source.pos)
        if root not in held:
            held.add(root)
            bench.network.resistor(source.pos, source.neg, BLEED_OHMS, name=f"{source.name} bleed")


# ---------------------------------------------------------------- what takes current


def _coils(wiring: Wiring, ledger: Ledger) -> Iterable[sources.Draw]:
    volts = sources.system_volts(ledger)
    for device in ledger.installation.devices:
        if (
            isinstance(device, t.Relay)
            and {node(device, "coil-pos"), node(device, "coil-neg")} <= wiring.landed
        ):
            amps = max(1e-6, r.stated(device.coil, ledger, "relay-coil-unstated"))
            ends = node(device, "coil-pos"), node(device, "coil-neg")
            yield sources.Draw(f"{device.name} coil", device, *ends, "resistor", volts / amps, amps)


def _around(
    mode: t.Mode, wiring: Wiring, active: list[Link], groups: Groups, roots: Mapping[str, str]
) -> Around:
    """What hangs on the live part by unknown links: cables that nobody knows, and contacts that these may or may not close."""
    unknown = [link for link in active if link.unknown]
    settled = {device.name for device in (*mode.closed, *mode.opened)} | {link.name for link in active}
    left = [link for link in wiring.links if isinstance(link.of, t.Relay) and link.name not in settled]
    around = Around(groups, roots, unknown)
    while found := {link.name: why for link in left if (why := undecided(link.of, around))}:
        unknown += [replace(link, unknown=found[link.name]) for link in left if link.name in found]
        left = [link for link in left if link.name not in found]
        around = Around(groups, roots, unknown)
    return around


def undecided(device: object, around: Around) -> tuple[t.Unknown, ...]:
    """Why nobody knows whether a relay closes: its voltages are not known, or a cable of its coil; empty where one knows."""
    if not isinstance(device, t.Relay):
        return ()
    if unknown := unread_volts(device):
        return unknown
    live_pos, to_pos, _ = around.reached_from(node(device, "coil-pos"))
    live_neg, to_neg, _ = around.reached_from(node(device, "coil-neg"))
    return reasons_of([*to_pos, *to_neg]) if live_pos and live_neg else ()


def _put_load(
    bench: Bench, draw: sources.Draw, groups: Groups, roots: Mapping[str, str], around: Around
) -> None:
    a, b = groups.find(draw.pos), groups.find(draw.neg)
    if a == b and a in roots:
        put = getattr(bench.network, draw.kind)
        put(draw.pos, draw.neg, draw.value, name=draw.name)
        bench.loads[draw.name] = draw
        return
    if draw.name.endswith(" coil"):
        return
    from_nodes, why_from, beyond = around.reached_from(draw.pos)
    to_nodes, why_to, beyond_too = around.reached_from(draw.neg)
    if not from_nodes or not to_nodes or not (why_from or why_to) or from_nodes == to_nodes:
        what = (
            f"the way from a source to {draw.pos}"
            if not from_nodes
            else f"the way back from {draw.neg} to a source"
        )
        bench.omitted[draw.name] = (t.Unknown(what, draw.device.span),)
        return
    if len(from_nodes) > 1 or len(to_nodes) > 1 or groups.find(from_nodes[0]) != groups.find(to_nodes[0]):
        raise Missing(*reasons_of([*why_from, *why_to]))
    # Where the cable is unknown, its load counts for everything before it with its nominal current.
    bench.network.constant_current(from_nodes[0], to_nodes[0], draw.nominal_amps, name=f"{draw.name} nominal")
    bench.assumed.append(draw.name)
    why = reasons_of([*why_from, *why_to])
    bench.omitted[draw.name] = why
    bench.beyond.update(dict.fromkeys([*beyond, *beyond_too], why))
    for link in (*why_from, *why_to):
        bench.unknown_links[link.name] = why


def _mark_beyond(bench: Bench, active: Iterable[Link], groups: Groups) -> None:
    """What a load behind an unknown cable draws through sound cables is as unknown as the load's own current."""
    for link in active:
        why = bench.beyond.get(groups.find(link.a))
        if why is not None and not link.unknown:
            bench.unknown_links[link.name] = why


def reasons_of(links: Iterable[Link]) -> tuple[t.Unknown, ...]:
    return tuple(dict.fromkeys(reason for link in links for reason in link.unknown))


class Around:
    """Dead groups that hang on the live part by links of unknown resistance."""

    def __init__(self, groups: Groups, roots: Mapping[str, str], unknown: list[Link]) -> None:
        self._groups, self._roots, self.unknown = groups, roots, unknown
        self._at: dict[str, list[tuple[Link, str]]] = {}
        for link in unknown:
            self._at.setdefault(groups.find(link.a), []).append((link, link.b))
            self._at.setdefault(groups.find(link.b), []).append((link, link.a))

    def reached_from(self, start: str) -> tuple[list[str], list[Link], list[str]]:
        """The live nodes that a node is joined to by unknown links, these links, and the dead groups passed.

        Where the node is live it is itself the answer.
        """
        root = self._groups.find(start)
        if root in self._roots:
            return [start], [], []
        live: list[str] = []
        passed: list[Link] = []
        found, waiting = [root], [root]
        while waiting:
            for link, there in self._at.get(waiting.pop(), ()):
                if link in passed:
                    continue
                passed.append(link)
                group = self._groups.find(there)
                if group in self._roots:
                    live.append(there)
                elif group not in found:
                    found.append(group)
                    waiting.append(group)
        return live, passed, found

    def must_share_nothing(self) -> None:
        """Raises Missing where an unknown link lies beside another way for the same current."""
        between: dict[frozenset[str], Link] = {}
        for link in self.unknown:
            a, b = self._groups.find(link.a), self._groups.find(link.b)
            if a not in self._roots or b not in self._roots:
                continue
            pair = frozenset((a, b))
            if a == b or pair in between:
                raise Missing(*reasons_of([link, *([between[pair]] if pair in between else [])]))
            between[pair] = link
        for name in dict.fromkeys(name for link in self.unknown for name in (link.a, link.b)):
            live, links, _ = self.reached_from(name)
            if len(live) > 1:
                raise Missing(*reasons_of(links))
