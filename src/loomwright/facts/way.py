"""Facts of the ways of hubs."""

from __future__ import annotations

from loomwright.facts.attribute import attributes
from loomwright.facts.registry import Ledger, fact
from loomwright.facts.wiring import terminal_of_way
from loomwright.model import things as t

attributes(
    "way",
    ("hub", "thing hub", "The hub that the way is of.", lambda way: way.hub),
    ("number", "count", "The way's number.", lambda way: way.number),
    ("control", "word switched|dimmed", "Whether the hub switches or dims it.", lambda way: way.control),
    ("maker", "yes-no", "Whether the hub is the maker's.", lambda way: way.hub.maker),
)


@fact("way", "fuse", "thing fuse", "The fuse or breaker of the way.")
def fuse(way: t.Way, ledger: Ledger) -> t.Fuse | None:
    found: t.Fuse | None = ledger.known(ledger.installation.fuse_of_way[way])
    return found


@fact("way", "runs", "things run", "The runs that are wired to the way.")
def runs(way: t.Way, ledger: Ledger) -> tuple[t.Run, ...]:
    terminal = terminal_of_way(ledger.installation, way)
    ends = ledger.installation.landing_on.get(terminal, ()) if terminal else ()
    return tuple(dict.fromkeys(end.run for end in ends))


@fact("way", "spare", "yes-no", "Whether nothing is wired to the way.")
def spare(way: t.Way, ledger: Ledger) -> bool:
    return not ledger.get(way, "runs")
