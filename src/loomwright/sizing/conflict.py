"""Where two rules pull one fuse apart: which they are, and by how much the limit of either would have to give."""

from __future__ import annotations

from math import isinf

from loomwright.analysis import opening
from loomwright.facts.gates import gates
from loomwright.facts.registry import Missing
from loomwright.model import things as t
from loomwright.quantity import show
from loomwright.rulebook.finding import Finding
from loomwright.sizing.ratings import Call
from loomwright.sizing.search import Solved
from loomwright.sizing.task import Task

SLOW = "fuse-never-blows"


def told(finding: Finding, solved: Solved, task: Task) -> str:
    """Of a fuse that is too large for its faults and too small for what else is asked of it: both rules, and what to relax.

    Empty for other findings, and where the fuse is not to be sized or nothing keeps it from being smaller.
    """
    found = solved.state.found
    for key, fuses in found.fuses.items():
        fuse = next((fuse for fuse in fuses if fuse.name in finding.things), None)
        if finding.rule == SLOW and fuse is not None and key in task.fuses:
            call = solved.calls.get(key)
            try:
                return _told(key, fuse, call, solved, task) if call else ""
            except Missing:
                return ""
    return ""


def _told(key: str, fuse: t.Fuse, call: Call, solved: Solved, task: Task) -> str:
    ledger = solved.state.ledger
    feed = ledger.get(fuse, "slowest-feed")
    amps = ledger.get(feed, f"least-{'start' if ledger.get(feed, 'fed-at-end') else 'end'}-fault")
    opens = ledger.get(fuse, "opens-by", amps)
    slow = (
        f"no fault-clears-within would let {fuse.rating.text} pass, for it may never open"
        if isinf(opens)
        else f"fault-clears-within would have to be {show(opens, 'time')} for {fuse.rating.text}"
    )
    return (
        f"{SLOW} wants a smaller fuse there, and {call.rule} a larger one ({call.words}). One must give: {slow}; "
        f"or {_smaller(key, fuse, call, amps, solved, task)}."
    )


def _smaller(key: str, fuse: t.Fuse, call: Call, amps: float, solved: Solved, task: Task) -> str:
    """What the other rule would have to allow for the largest fuse that opens in time."""
    ledger = solved.state.ledger
    within, curve = ledger.limit("fault-clears-within"), gates(fuse, ledger)
    cold = ledger.get(fuse, "rating-cold") / fuse.rating.quantity.si
    able = [
        option.amps
        for option in task.fuses[key]
        if option.kind == fuse.kind and opening.opens_by(curve, option.amps * cold, amps) <= within
    ]
    if not able:
        return f"the fault must draw more than {show(amps, 'current')}: no {fuse.kind} fuse opens in {show(within, 'time')} at that"
    rating = show(max(able), "current")
    if not call.limit:
        return f"{call.rule} would have to let {rating} pass, and it has no limit: {call.about} would have to ask less"
    return f"{call.limit} would have to be {show(call.relaxed(max(able)), 'ratio')} for {rating}"
