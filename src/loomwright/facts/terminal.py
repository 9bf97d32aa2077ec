"""Facts of terminals and their studs."""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil

from loomwright.facts.attribute import attributes, gather
from loomwright.facts.end import barrel_of
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.model.things import Busbar, End, Hub, Mode, Plug, Terminal, Unknown

attributes(
    "terminal",
    ("device", "thing device", "The device that it belongs to.", lambda terminal: terminal.device),
    ("place", "thing place", "Where it is.", lambda terminal: terminal.device.place),
    ("thread", "word", "The thread of its stud.", lambda terminal: terminal.thread),
    (
        "maker",
        "yes-no",
        "Whether the vehicle's maker fitted its device.",
        lambda terminal: terminal.device.maker,
    ),
)


@fact("terminal", "ends", "things end", "The ends that land on it.")
def ends(terminal: Terminal, ledger: Ledger) -> tuple[End, ...]:
    return ledger.installation.landing_on.get(terminal, ())


@fact(
    "terminal",
    "lugs",
    "count",
    "How many lugs sit on its stud; for a busbar's bare name, on its fullest stud when they are spread out.",
)
def lugs(terminal: Terminal, ledger: Ledger) -> int:
    landing = ledger.installation.landing_on.get(terminal, ())
    count = lugs_among(ledger, landing)
    device = terminal.device
    if isinstance(device, Busbar) and not terminal.label and count > 1:
        return ceil(count / _free_studs(ledger, device))
    if isinstance(device, Hub) and terminal.label == "neg" and isinstance(device.negatives, int):
        returns = lugs_among(ledger, (end for end in landing if end.run.circuit))
        return count - min(returns, device.negatives)
    return count


def lugs_among(ledger: Ledger, ends: Iterable[End]) -> int:
    """How many of some ends have lugs of their own. Missing where that is not known and there are many."""
    landing = list(ends)
    barrels = [end for end in landing if end.fitting == "lug" and barrel_of(end, ledger)[0] is end]
    unknown = tuple(end.fitting for end in landing if isinstance(end.fitting, Unknown))
    if unknown and len(barrels) + len(unknown) > ledger.limits["lugs-per-stud"].value:
        raise Missing(*unknown)
    return len(barrels)


def _free_studs(ledger: Ledger, busbar: Busbar) -> int:
    """The studs of a busbar that no run names."""
    studs: int = ledger.known(busbar.studs)
    taken = {
        t.label
        for t in ledger.installation.terminals_of[busbar]
        if t.label and ledger.installation.landing_on.get(t)
    }
    return max(1, studs - len(taken))


attributes(
    "plug",
    ("rated", "current", "What one of its contacts is rated for.", lambda plug: plug.rated),
)


@fact("plug", "current", "current", "The current of its busiest contact in a mode.", takes=("thing mode",))
def current(plug: Plug, ledger: Ledger, mode: Mode) -> float:
    landing = ledger.installation.landing_on
    poles = (landing.get(terminal, ()) for terminal in ledger.installation.terminals_of[plug])
    amps = [sum(gather(lambda end: ledger.get(end.run, "current", mode), ends)) for ends in poles]
    return float(max(amps, default=0.0))
