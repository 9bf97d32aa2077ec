"""Facts of loads as their labels give them; what they really take in a mode is solved in `electrics`."""

from __future__ import annotations

from loomwright.facts.attribute import attributes
from loomwright.facts.registry import Ledger, fact
from loomwright.model import things as t

attributes(
    "load",
    ("critical", "yes-no", "Whether something is lost when it stops.", lambda load: load.critical),
    ("surge-time", "time", "How long the start-up surge lasts.", lambda load: load.surge_time),
    ("cuts-out", "voltage", "The voltage below which it switches itself off.", lambda load: load.cuts_out),
    ("count", "count", "How many alike.", lambda load: load.count),
)


@fact(
    "load",
    "duty",
    "ratio",
    "The share of the time that it draws while it is on; 100 % where none is written.",
)
def duty(load: t.Load, ledger: Ledger) -> float:
    share: float = ledger.known(load.duty, "duty").quantity.si if load.duty else 1.0
    return share


@fact("load", "surge", "current", "The current that it starts up with, of all that are alike together.")
def surge(load: t.Load, ledger: Ledger) -> float | None:
    amps = ledger.known(load.surge, "surge")
    return amps.quantity.si * load.count if amps else None


@fact(
    "load",
    "nominal-current",
    "current",
    "What it draws at the system's nominal voltage, of all that are alike together.",
)
def nominal_current(load: t.Load, ledger: Ledger) -> float:
    draws = ledger.known(load.draws, "draws").quantity
    volts = ledger.installation.fitout.system.quantity.si
    if draws.dimension == "current":
        return draws.si * load.count
    each: float = draws.si / volts if draws.dimension == "power" else volts / draws.si
    return each * load.count


@fact("load", "feed", "thing run", "The positive run that lands on it.")
def feed(load: t.Load, ledger: Ledger) -> t.Run | None:
    installation = ledger.installation
    terminals = [terminal for terminal in installation.terminals_of[load] if terminal.label == "pos"]
    ends = [end for terminal in terminals for end in installation.landing_on.get(terminal, ())]
    return next((end.run for end in ends if end.run.role == "feed"), None)
