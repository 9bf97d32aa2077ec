"""Which contacts a mode closes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from loomwright.facts.electrics.sources import things_on
from loomwright.facts.electrics.wiring import Groups, Link, Wiring, node
from loomwright.facts.registry import Ledger
from loomwright.model import things as t

SOURCES = {
    t.Battery: ("pos", "neg"),
    t.Alternator: ("pos", "neg"),
    t.Supply: ("pos",),
    t.Solar: ("pos", "neg"),
    t.Charger: ("out", "neg"),
}
TAKERS = {t.Charger: ("in", "solar", "sense"), t.Sensor: ("pos", "neg")}


def closed_contacts(mode: t.Mode, wiring: Wiring, ledger: Ledger) -> frozenset[str]:
    """Names of the contacts (devices and ways) closed in a mode; relays that act on a voltage or by a coil are not decided here.

    As the mode says, and otherwise closed where something that is on lies behind: away from a source, or on either side
    when both sides have one.
    """
    said = {device.name: True for device in mode.closed} | {device.name: False for device in mode.opened}
    links = {link.name: link for link in wiring.links if link.contact is not None}
    behind = _Behind(mode, wiring, links.values(), ledger)
    closed = set()
    for name, link in links.items():
        relay = link.of if isinstance(link.of, t.Relay) else None
        if relay is not None:
            said_of_relay = said.get(relay.name)
            if said_of_relay is None and not acts_by_itself(relay, wiring) and not unread_volts(relay):
                said_of_relay = behind.wanted(links[relay.name])
            if bool(said_of_relay) == (name == relay.name):
                closed.add(name)
        elif said.get(name) or (name not in said and behind.wanted(link)):
            closed.add(name)
    return frozenset(closed)


def acts_by_itself(relay: t.Relay, wiring: Wiring) -> bool:
    """Whether a voltage or a wired coil moves it."""
    return senses_voltage(relay) or has_coil(relay, wiring)


def senses_voltage(relay: t.Relay) -> bool:
    return relay.closes is not None and not isinstance(relay.closes, t.Unknown)


def unread_volts(relay: t.Relay) -> tuple[t.Unknown, ...]:
    """The voltages of a relay that senses them which the spec calls unknown; the one at which it opens may be left out."""
    if relay.coil is not None:
        return ()
    opens = relay.opens if "opens" in relay.clauses else None
    return tuple(volts for volts in (relay.closes, opens) if isinstance(volts, t.Unknown))


def has_coil(relay: t.Relay, wiring: Wiring) -> bool:
    return {node(relay, "coil-pos"), node(relay, "coil-neg")} <= wiring.landed


class _Behind:
    """What lies on each side of a contact: groups of nodes joined without contacts, and the contacts between the groups."""

    def __init__(self, mode: t.Mode, wiring: Wiring, contacts: Iterable[Link], ledger: Ledger) -> None:
        groups = Groups()
        for link in wiring.links:
            if link.contact is None:
                groups.join(link.a, link.b)
        self._find = groups.find
        self._near: dict[str, list[tuple[str, str]]] = {}
        for link in contacts:
            a, b = groups.find(link.a), groups.find(link.b)
            self._near.setdefault(a, []).append((link.name, b))
            self._near.setdefault(b, []).append((link.name, a))
        self._sources, self._on = self._ends(mode, wiring, ledger)

    def _ends(self, mode: t.Mode, wiring: Wiring, ledger: Ledger) -> tuple[set[str], set[str]]:
        sources: set[str] = set()
        on: set[str] = set()
        for device in ledger.installation.devices:
            sources |= {self._find(node(device, label)) for label in SOURCES.get(type(device), ())}
            on |= {self._find(node(device, label)) for label in TAKERS.get(type(device), ())}
            if isinstance(device, t.Relay) and has_coil(device, wiring):
                on |= {self._find(node(device, "coil-pos")), self._find(node(device, "coil-neg"))}
        for device in things_on(mode):
            on |= {self._find(node(device, label)) for label in ("pos", "neg")}
        return sources, on

    def wanted(self, link: Link) -> bool:
        """Whether something that is on lies behind the contact. The far side is asked first: it is mostly the small one."""
        a, b, name = self._find(link.a), self._find(link.b), link.name
        if self._meets(b, name, self._on) and self._meets(a, name, self._sources):
            return True
        return self._meets(b, name, self._sources) and self._meets(a, name, self._on)

    def _meets(self, start: str, without: str, goals: set[str]) -> bool:
        """Whether one of the goals can be got to from a group without passing the contact."""
        found = {start}
        waiting = [start]
        while waiting:
            here = waiting.pop()
            if here in goals:
                return True
            for name, there in self._near.get(here, ()):
                if name != without and there not in found:
                    found.add(there)
                    waiting.append(there)
        return False


def moves(
    relay: t.Relay, closed: bool, volts: Mapping[str, float], nominal: float, pull_in: float
) -> bool | None:
    """Whether a relay that acts by itself would be closed at these volts; None where nothing tells.

    A voltage-sensing relay looks at the higher of its two sides and stays as it is between its two voltages.
    """
    coil = [volts.get(node(relay, label)) for label in ("coil-pos", "coil-neg")]
    if coil[0] is not None and coil[1] is not None:
        return abs(coil[0] - coil[1]) >= pull_in * nominal
    closes = relay.closes
    if closes is None or isinstance(closes, t.Unknown):
        return None
    seen = max(
        (volts[node(relay, side)] for side in ("in", "out") if node(relay, side) in volts), default=0.0
    )
    opens = closes if relay.opens is None or isinstance(relay.opens, t.Unknown) else relay.opens
    return seen >= (opens if closed else closes).quantity.si
