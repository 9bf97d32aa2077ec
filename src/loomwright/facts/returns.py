"""What each earth run must bear: the faults and feeds whose current has no other way back.

Shared by facts of earths; no rule reads it.
"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.facts.live import Limit, freest, limit_of, limits_along, stands
from loomwright.facts.registry import Ledger
from loomwright.facts.wiring import graph
from loomwright.model.graph import Link, Source
from loomwright.model.things import Place, Run, Structure, Terminal, Unknown
from loomwright.record import Record


class Burden(Record):
    """An earth run that is the only way back to a source for all that lies beyond the node `beyond`.

    `fault` is the largest rating that lets the current of a fault beyond it through; None where no fuse stands before any.
    """

    source: Source
    beyond: str
    fault: Limit | None


def burdens(run: Run, ledger: Ledger) -> tuple[Burden, ...]:
    """What an earth run bears, for each source that it is the only way back to."""
    found: dict[Run, list[Burden]] = ledger.index("burdens", lambda: _burdens(ledger))
    return tuple(found.get(run, ()))


def _burdens(ledger: Ledger) -> dict[Run, list[Burden]]:
    found: dict[Run, list[Burden]] = {}
    links: dict[str, list[Link]] = {}
    for link in graph(ledger).links:
        links.setdefault(link.a, []).append(link)
        links.setdefault(link.b, []).append(link)
    faults = _faults(ledger)
    for source in graph(ledger).sources:
        if source.back in links and source.name in faults:
            for run, beyond, fault in _only_ways(links, source.back, faults[source.name]):
                found.setdefault(run, []).append(Burden(source, beyond, fault))
    return found


# ---------------------------------------------------------------- faults


Faults = dict[str, dict[str, Limit]]


def _faults(ledger: Ledger) -> Faults:
    """By source and node the largest fuse through which a fault can put the source's current onto the node.

    A dead short inside a device comes out at its negative; a cable that has rubbed through puts its current onto a
    structure. Where no fuse stands before the fault the rules of protection speak, and not these.
    """
    faults: Faults = {}
    wires = graph(ledger)
    for point in ledger.installation.landing_on:
        out = wires.negative(point) if isinstance(point, Terminal) and _goes_in_by(point) else None
        if out is not None:
            for feeding in wires.feeds(point):
                if stands(feeding):
                    _put(faults, feeding.source.name, out, limit_of(feeding))
    _chafe(faults, ledger)
    return faults


def _put(faults: Faults, source: str, node: str, limit: Limit) -> None:
    of_source = faults.setdefault(source, {})
    if not limit.unfused and (node not in of_source or limit.order() < of_source[node].order()):
        of_source[node] = limit


def _goes_in_by(terminal: Terminal) -> bool:
    """Whether a short inside the device of a terminal puts what is live there onto the device's negative."""
    in_relay = terminal.device.kind == "relay" and terminal.label != "coil-pos"
    return not in_relay and terminal.label not in ("neg", "coil-neg")


def _chafe(faults: Faults, ledger: Ledger) -> None:
    """What a rubbed-through cable puts onto each structure; what the maker wired is left out.

    Onto one that is bonded any cable; onto another that has earth points only a cable that passes the place of one.
    """
    installation = ledger.installation
    places: dict[Structure, set[Place]] = {}
    for earthpoint in installation.earthpoints:
        if not earthpoint.structure.bonded:
            places.setdefault(earthpoint.structure, set()).add(earthpoint.place)
    for run in installation.runs:
        if run.role == "earth" or run.maker:
            continue
        path = installation.stretches_of[run]
        passed = None if isinstance(path, Unknown) else {stretch.place for stretch in path}
        near = [s for s in installation.structures if s not in places or passed is None or places[s] & passed]
        for source, limit in limits_along(run, ledger):
            for structure in near:
                _put(faults, source, structure.name, limit)


# ---------------------------------------------------------------- the only ways back


def _only_ways(
    links: dict[str, list[Link]], root: str, faults: dict[str, Limit]
) -> Iterator[tuple[Run, str, Limit | None]]:
    """Each earth run that is the only way back to a node, the node beyond it, and the largest fault beyond it.

    Those are the bridges of the graph by Tarjan's low numbers. The walk keeps a stack of its own, because a harness can be
    a long chain.
    """
    order, low = {root: 0}, {root: 0}
    worst = {root: faults.get(root)}
    stack: list[tuple[str, Link | None, Iterator[Link]]] = [(root, None, iter(links[root]))]
    while stack:
        here, above, ways = stack[-1]
        link = next(ways, None)
        if link is None:
            stack.pop()
            if above is not None:
                before = above.other(here)
                low[before] = min(low[before], low[here])
                worst[before] = freest(limit for limit in (worst[before], worst[here]) if limit)
                if low[here] > order[before] and isinstance(above.by, Run):
                    yield above.by, here, worst[here]
        elif link is not above:
            there = link.other(here)
            if there in order:
                low[here] = min(low[here], order[there])
            else:
                order[there] = low[there] = len(order)
                worst[there] = faults.get(there)
                stack.append((there, link, iter(links[there])))
