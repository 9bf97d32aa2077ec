"""Small specs, put together from a few lines each."""

from __future__ import annotations

from collections.abc import Callable

from loomwright.facts.registry import Ledger

LedgerOf = Callable[[str], Ledger]

HEAD = """
fitout "test" { stage planned; system 12 V }
practice { ends lug 16 mm2 M8 crimped tight }
place box { ambient 20 degC }
"""
HOUSE = (
    "battery house in box { chemistry lifepo4; capacity 100 Ah; internal 10 mohm; serves house; stud M8 }\n"
)
CRANK = "battery crank in box { chemistry lead-acid; capacity 75 Ah; internal 7 mohm; serves cranking; stud M8 }\n"
GEN = "alternator gen in box { rated 100 A; holds 14.2 V; regulation fixed; stud M8 }\n"


def run(
    kind: str, name: str, start: str, end: str, metres: float = 1.0, size: str = "16 mm2", more: str = ""
) -> str:
    """One run of a cable that is never warmer than its place: insulation of a class so high that its rise is small."""
    return f"{kind} {name} from {start} to {end} {{ cable {size} 105 degC; along box {metres} m; {more} }}\n"


def there_and_back(source: str, load: str, metres: float = 1.0, size: str = "16 mm2") -> str:
    feed = run("feed", f"{load}-feed", f"{source}.pos", f"{load}.pos", metres, size)
    return feed + run("earth", f"{load}-return", f"{load}.neg", f"{source}.neg", metres, size)


def mode(ledger: Ledger, name: str) -> object:
    return next(mode for mode in ledger.installation.modes if mode.name == name)


class Asked:
    """Facts by the names of things: `asked("lamp", "current", "on")`."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger = ledger

    def __call__(self, thing: str, fact: str, in_mode: str | None = None) -> object:
        found = self.thing(thing)
        return self.ledger.get(found, fact, *([mode(self.ledger, in_mode)] if in_mode else []))

    def thing(self, name: str) -> object:
        installation = self.ledger.installation
        terminal = installation.terminals.get(name)
        return terminal or installation.named[name]
