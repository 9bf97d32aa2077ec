"""Facts of short circuits; the two corners are described in `faults`."""

from __future__ import annotations

from loomwright.facts.electrics import faults as f
from loomwright.facts.electrics import shares
from loomwright.facts.registry import Ledger, fact
from loomwright.model import things as t

METHOD = "Thévenin's theorem on the network without its loads"
GREATEST = "batteries full, engine running, full sun, perfect contacts, conductors at limit fault-cold"
LEAST = "batteries alone, low and old, conductors at their class, contacts and fault as in the limits"


def _of_run(run: t.Run, ledger: Ledger, side: str, least: bool) -> float:
    at = f.least_corner(f.nodes_of(run), ledger) if least else f.corner(ledger)
    ledger.note(LEAST if least else GREATEST, METHOD)
    if run.role == "earth":
        return f.through_earth(run, at, ledger)
    fault = f.fault_of_run(run, side, at)
    if fault is None:
        ledger.note("no source reaches it", METHOD)
        return 0.0
    f.note_shares(fault, at, ledger)
    return max(0.0, fault.amps)


@fact(
    "run",
    "start-fault",
    "current",
    "The greatest current of a dead short at its start; of an earth run, through it.",
    source=METHOD,
)
def start_fault(run: t.Run, ledger: Ledger) -> float:
    return _of_run(run, ledger, "start", least=False)


@fact(
    "run",
    "end-fault",
    "current",
    "The greatest current of a dead short at its far end; of an earth run, through it.",
    source=METHOD,
)
def end_fault(run: t.Run, ledger: Ledger) -> float:
    return _of_run(run, ledger, "end", least=False)


@fact(
    "run",
    "least-start-fault",
    "current",
    "The least current of a short at its start; of an earth run, through it.",
    source=METHOD,
)
def least_start_fault(run: t.Run, ledger: Ledger) -> float:
    return _of_run(run, ledger, "start", least=True)


@fact(
    "run",
    "least-end-fault",
    "current",
    "The least current of a short at its far end; of an earth run, through it.",
    source=METHOD,
)
def least_end_fault(run: t.Run, ledger: Ledger) -> float:
    return _of_run(run, ledger, "end", least=True)


@fact(
    "run",
    "far-fault",
    "current",
    "The greatest current through its own cable in a dead short at its far end; of a link that of the end where it is more.",
    source=METHOD,
)
def far_fault(run: t.Run, ledger: Ledger) -> float:
    ledger.note(GREATEST, METHOD)
    if run.role == "earth":
        return f.through_earth(run, f.corner(ledger), ledger)
    return shares.through_cable(run, ledger)


@fact(
    "run",
    "fault-fuses",
    "things fuse",
    "The fuses in it, and those before it that must open for a fault in it: for each source the smallest on its way.",
)
def fault_fuses(run: t.Run, ledger: Ledger) -> tuple[t.Fuse, ...]:
    return tuple(shares.standing(run, ledger))


@fact(
    "fuse",
    "share",
    "current",
    "What goes through it in a dead short at the far end of a run: its source's share.",
    source=METHOD,
    takes=("thing run",),
)
def share(fuse: t.Fuse, ledger: Ledger, run: t.Run) -> float:
    ledger.note(GREATEST, METHOD)
    return shares.through_fuse(fuse, run, ledger)


@fact(
    "fuse",
    "fault",
    "current",
    "The greatest current through it: a dead short right behind it.",
    source=METHOD,
)
def fuse_fault(fuse: t.Fuse, ledger: Ledger) -> float:
    ledger.note(GREATEST, METHOD)
    return f.through_fuse(fuse, ledger, f.corner(ledger))


@fact(
    "fuse",
    "least-fault",
    "current",
    "The least current that a short at the far end of its run, or on its way, sends through it.",
    source=METHOD,
)
def fuse_least_fault(fuse: t.Fuse, ledger: Ledger) -> float:
    ledger.note(LEAST, METHOD)
    return f.least_through_fuse(fuse, ledger)
