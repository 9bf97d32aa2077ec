"""Of all that a fuse limits, the feed whose far-end fault it clears worst: what is said of the fuse is said of that one."""

from __future__ import annotations

from collections.abc import Callable
from math import inf

from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.model import things as t

Weight = tuple[float, float]
"""How long a fuse takes over a far-end fault as a share of what it may take; of two that it never clears the second decides."""

Weigh = Callable[[t.Fuse, t.Run, Ledger], Weight]


@fact(
    "fuse",
    "slowest-feed",
    "thing run",
    "Of the feeds that it limits the one over whose least far-end fault it takes longest; where it is too long over several, "
    "one that carries less than it lets through.",
)
def slowest_feed(fuse: t.Fuse, ledger: Ledger) -> t.Run | None:
    return _worst(fuse, ledger, _of_limit)


@fact(
    "fuse",
    "strained-feed",
    "thing run",
    "Of the feeds that it limits the one that bears its far-end faults for the least share of the time that the fuse takes.",
)
def strained_feed(fuse: t.Fuse, ledger: Ledger) -> t.Run | None:
    return _worst(fuse, ledger, _of_bearing)


def _of_limit(fuse: t.Fuse, run: t.Run, ledger: Ledger) -> Weight:
    least = ledger.get(run, f"least-{_far(run, ledger)}-fault")
    if least <= 0.0:
        return 0.0, 0.0
    return ledger.get(fuse, "opens-by", least) / ledger.limit("fault-clears-within"), -least


def _of_bearing(fuse: t.Fuse, run: t.Run, ledger: Ledger) -> Weight:
    far = _far(run, ledger)
    return max(
        _strain(fuse, run, ledger.get(run, name), ledger) for name in (f"{far}-fault", f"least-{far}-fault")
    )


def _strain(fuse: t.Fuse, run: t.Run, amps: float, ledger: Ledger) -> Weight:
    bears, opens = ledger.get(run, "withstands", amps), ledger.get(fuse, "opens-by", amps)
    if bears == inf:
        return 0.0, 0.0
    return opens / bears if bears > 0.0 else inf, -bears


def _far(run: t.Run, ledger: Ledger) -> str:
    return "start" if ledger.get(run, "fed-at-end") else "end"


def _worst(fuse: t.Fuse, ledger: Ledger, weigh: Weigh) -> t.Run | None:
    """The feed that weighs most, the first of several alike. Unknown where one is and none of the others is too much."""
    worst: tuple[tuple[bool, float, float], t.Run] | None = None
    reasons: list[t.Unknown] = []
    for run in _candidates(fuse, ledger):
        try:
            if ledger.get(run, "guard") is not fuse or ledger.get(run, "exempt"):
                continue
            much, tie = weigh(fuse, run, ledger)
        except Missing as missing:
            reasons.extend(missing.reasons)
            continue
        key = much > 1.0 and _can_overload(run, ledger), much, tie
        if worst is None or key > worst[0]:
            worst = key, run
    if reasons and (worst is None or worst[0][1] <= 1.0):
        raise Missing(*reasons)
    return worst[1] if worst else None


def _candidates(fuse: t.Fuse, ledger: Ledger) -> list[t.Run]:
    """What it limits, and what it sits in, of which that may be unknown."""
    own = (fuse.run,) if fuse.run is not None else ledger.get(fuse.way, "runs")
    runs = dict.fromkeys((*own, *ledger.get(fuse, "protects")))
    return [run for run in runs if run.role == "feed"]


def _can_overload(run: t.Run, ledger: Ledger) -> bool:
    """Whether it is certain that more gets through than the cable carries."""
    let_through, carries = (ledger.entry(run, name) for name in ("let-through", "carries"))
    if let_through.missing or carries.missing or let_through.value is None:
        return False
    return bool(let_through.value > carries.value)
