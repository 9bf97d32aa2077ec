"""Of all that a fuse limits, the feed whose far-end fault it clears worst: what is said of the fuse is said of that one.

A fuse is judged by what it sees of the fault, the cable by what the cable sees: two sources that feed one fault through two
fuses send each its share only.
"""

from __future__ import annotations

from collections.abc import Callable
from math import inf

from loomwright.facts.electrics.shares import Share, clearing, share
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.model import things as t
from loomwright.quantity import show

Weight = tuple[float, float]
"""How long a fuse takes over a far-end fault as a share of what it may take; of two that it never clears the second decides."""

Weigh = Callable[[t.Fuse, t.Run, Ledger], Weight]

SHARES = "Thévenin's theorem on the network without its loads, the fuses opened one after another"


@fact(
    "fuse",
    "slowest-feed",
    "thing run",
    "Of the feeds whose faults it must end the one over whose least far-end fault it takes longest; where it is too long over "
    "several, one that carries less than it lets through.",
)
def slowest_feed(fuse: t.Fuse, ledger: Ledger) -> t.Run | None:
    return _worst(fuse, ledger, _of_limit)


@fact(
    "fuse",
    "slowest-share",
    "current",
    "What goes through it in the least fault at the far end of its slowest feed, once fuses that open sooner have opened.",
    source=SHARES,
)
def slowest_share(fuse: t.Fuse, ledger: Ledger) -> float | None:
    found = _least(fuse, ledger)
    return found.fuse_amps if found else None


@fact(
    "fuse",
    "slowest-opening",
    "time",
    "When it has surely opened over the least fault at the far end of its slowest feed, fuses that open sooner counted first.",
    source=SHARES,
)
def slowest_opening(fuse: t.Fuse, ledger: Ledger) -> float | None:
    found = _least(fuse, ledger)
    return found.seconds if found else None


def _least(fuse: t.Fuse, ledger: Ledger) -> Share | None:
    run = ledger.get(fuse, "slowest-feed")
    return _seen(fuse, run, ledger, least=True) if run else None


@fact(
    "fuse",
    "strained-feed",
    "thing run",
    "Of the feeds whose faults it must end the one that bears its far-end faults for the least share of the time that the fuse "
    "takes.",
)
def strained_feed(fuse: t.Fuse, ledger: Ledger) -> t.Run | None:
    return _worst(fuse, ledger, _of_bearing)


@fact(
    "fuse",
    "strain",
    "ratio",
    "How much of what the cable of its strained feed bears is used up when it has surely opened, in the worse of the greatest "
    "and the least fault at the far end.",
    source=SHARES,
)
def strain(fuse: t.Fuse, ledger: Ledger) -> float | None:
    found = _straining(fuse, ledger)
    return _strain(found, ledger.get(fuse, "strained-feed"), ledger)[0] if found else None


@fact(
    "fuse",
    "strained-fault",
    "current",
    "What the cable of its strained feed carries in that fault when the fuse's turn has come.",
    source=SHARES,
)
def strained_fault(fuse: t.Fuse, ledger: Ledger) -> float | None:
    found = _straining(fuse, ledger)
    return found.run_amps if found else None


@fact(
    "fuse",
    "strained-share",
    "current",
    "What goes through it in that fault: less than through the cable where several sources feed the fault.",
    source=SHARES,
)
def strained_share(fuse: t.Fuse, ledger: Ledger) -> float | None:
    found = _straining(fuse, ledger)
    return found.fuse_amps if found else None


@fact(
    "fuse",
    "strained-opening",
    "time",
    "When it has surely opened over that fault, fuses that open sooner counted first.",
    source=SHARES,
)
def strained_opening(fuse: t.Fuse, ledger: Ledger) -> float | None:
    found = _straining(fuse, ledger)
    return found.seconds if found else None


def _straining(fuse: t.Fuse, ledger: Ledger) -> Share | None:
    """The corner that strains the cable most; of two alike the greatest fault."""
    run = ledger.get(fuse, "strained-feed")
    if run is None:
        return None
    corners = [_seen(fuse, run, ledger, least) for least in (False, True)]
    return max(corners, key=lambda each: _strain(each, run, ledger))


def _seen(fuse: t.Fuse, run: t.Run, ledger: Ledger, least: bool) -> Share:
    """The fault as the fuse sees it, put into the derivation."""
    found = share(fuse, run, ledger, least)
    ledger.note(
        f"the {'least' if least else 'greatest'} fault at the far end of {run.name}: {show(found.fuse_amps, 'current')} "
        f"through the fuse, {show(found.run_amps, 'current')} through the cable",
        SHARES,
    )
    return found


def _of_limit(fuse: t.Fuse, run: t.Run, ledger: Ledger) -> Weight:
    found = share(fuse, run, ledger, least=True)
    return found.seconds / ledger.limit("fault-clears-within"), -found.fuse_amps


def _of_bearing(fuse: t.Fuse, run: t.Run, ledger: Ledger) -> Weight:
    return max(_strain(share(fuse, run, ledger, least), run, ledger) for least in (False, True))


def _strain(found: Share, run: t.Run, ledger: Ledger) -> Weight:
    """How much of what the cable bears is used up when the fuse has opened: each current's time over that for which it is borne."""
    used, least = 0.0, inf
    for amps, seconds in found.cable:
        bears = ledger.get(run, "withstands", amps)
        if bears < inf and seconds > 0.0:
            used += seconds / bears if bears > 0.0 else inf
            least = min(least, bears)
    return (used, -least) if used else (0.0, 0.0)


def _worst(fuse: t.Fuse, ledger: Ledger, weigh: Weigh) -> t.Run | None:
    """The feed that weighs most, the first of several alike. Unknown where one is and none of the others is too much."""
    worst: tuple[tuple[bool, float, float], t.Run] | None = None
    reasons: list[t.Unknown] = []
    for run in _candidates(fuse, ledger):
        try:
            if fuse not in clearing(run, ledger) or ledger.get(run, "exempt"):
                continue
            much, tie = weigh(fuse, run, ledger)
        except Missing as missing:
            reasons.extend(missing.reasons)
            continue
        key = much > 1.0 and _can_overload(fuse, run, ledger), much, tie
        if worst is None or key > worst[0]:
            worst = key, run
    if reasons and (worst is None or worst[0][1] <= 1.0):
        raise Missing(*reasons)
    return worst[1] if worst else None


def _candidates(fuse: t.Fuse, ledger: Ledger) -> list[t.Run]:
    """What it must open for, and what it sits in, of which that may be unknown."""
    own = (fuse.run,) if fuse.run is not None else ledger.get(fuse.way, "runs")
    cleared = ledger.index("cleared", lambda: _cleared(ledger))
    return [run for run in dict.fromkeys((*own, *cleared.get(fuse, ()))) if run.role == "feed"]


def _cleared(ledger: Ledger) -> dict[t.Fuse, list[t.Run]]:
    """Feeds by each fuse that must open for them; one of which that is unknown is under none."""
    found: dict[t.Fuse, list[t.Run]] = {}
    for run in ledger.installation.runs:
        if run.role != "feed":
            continue
        try:
            fuses = clearing(run, ledger)
        except Missing:
            continue
        for fuse in fuses:
            found.setdefault(fuse, []).append(run)
    return found


def _can_overload(fuse: t.Fuse, run: t.Run, ledger: Ledger) -> bool:
    """Whether it is certain that more gets through than the cable carries."""
    carries = ledger.entry(run, "carries")
    return not carries.missing and bool(fuse.rating.quantity.si > carries.value)
