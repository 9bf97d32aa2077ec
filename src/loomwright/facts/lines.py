"""Which devices stand on one line: joined by conductors, fuses and contacts alone, every contact taken as closed."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Collection, Iterable, Mapping
from typing import TypeVar

from loomwright.facts.registry import Ledger, Missing
from loomwright.facts.wiring import graph
from loomwright.model import things as t
from loomwright.model.links import Link, consumers, node_of

D = TypeVar("D", bound=t.Device)
A = TypeVar("A")
Reached = Mapping[str, "tuple[str, Link] | None"]
"""Each node that was reached, with the node before it and the link between; None at the start."""


def terminal(ledger: Ledger, device: t.Device, label: str) -> t.Terminal:
    """A terminal that every device of the kind has."""
    return ledger.installation.terminals[f"{device.name}.{label}"]


def on_line(ledger: Ledger, start: t.Terminal, kind: type[D], label: str) -> tuple[D, ...]:
    """The devices of a kind whose terminal `label` is on the line of `start`, in the order of the text."""
    lines: dict[tuple[str, str], list[t.Device]] = ledger.index("lines", lambda: _lines(ledger))
    node = node_of(start)
    home = graph(ledger).components.get(node, node)
    found: tuple[D, ...] = ledger.index(
        ("on line", home, label, kind),
        lambda: tuple(device for device in lines.get((home, label), ()) if isinstance(device, kind)),
    )
    return found


def spread(
    ledger: Ledger, start: t.Terminal, passes: Callable[[Link], bool], stops: Collection[str] = ()
) -> Reached:
    """What is reached from a terminal over the links that `passes`, nearest first, and not beyond the nodes in `stops`."""
    links: Mapping[str, list[Link]] = ledger.index("links at", lambda: _links_at(ledger))
    reached: dict[str, tuple[str, Link] | None] = {node_of(start): None}
    waiting = deque(reached)
    while waiting:
        node = waiting.popleft()
        if node in stops and reached[node] is not None:
            continue
        for link in links.get(node, ()):
            other = link.other(node)
            if other not in reached and passes(link):
                reached[other] = (node, link)
                waiting.append(other)
    return reached


def way_to(reached: Reached, node: str) -> tuple[Link, ...]:
    """The links from the start to a node that was reached, nearest to the node first."""
    way = []
    step = reached[node]
    while step is not None:
        way.append(step[1])
        step = reached[step[0]]
    return tuple(way)


def taking(ledger: Ledger, nodes: Iterable[str]) -> tuple[t.Device, ...]:
    """The loads, inverters and sensors whose `pos` is among some nodes, in the order of the text."""
    reached = set(nodes)
    found = {taker.device for taker in consumers(ledger.installation) if node_of(taker) in reached}
    devices = ledger.installation.devices
    return tuple(device for device in devices if device in found and isinstance(device, TAKERS))


TAKERS = (t.Load, t.Inverter, t.Sensor)


def surely(ask: Callable[[Callable[[Link], bool]], A]) -> A:
    """An answer that rests on the links without a fuse.

    Raises Missing where it depends on fuses that nobody has looked for: where it is another if they are there.
    """
    doubts: list[t.Unknown] = []

    def unfused(link: Link) -> bool:
        doubts.extend([link.unsure] if link.unsure else [])
        return not link.fuses

    most = ask(unfused)
    if doubts and ask(lambda link: not link.fuses and link.unsure is None) != most:
        raise Missing(*doubts)
    return most


def _lines(ledger: Ledger) -> dict[tuple[str, str], list[t.Device]]:
    home_of = graph(ledger).components
    lines: dict[tuple[str, str], list[t.Device]] = {}
    for device in ledger.installation.devices:
        for each in ledger.installation.terminals_of[device]:
            node = node_of(each)
            lines.setdefault((home_of.get(node, node), each.label), []).append(device)
    return lines


def _links_at(ledger: Ledger) -> dict[str, list[Link]]:
    at: dict[str, list[Link]] = {}
    for link in graph(ledger).links:
        at.setdefault(link.a, []).append(link)
        at.setdefault(link.b, []).append(link)
    return at
