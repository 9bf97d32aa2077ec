"""The fault that a fuse is judged by: the least one at the far end of the feed that it clears worst."""

from __future__ import annotations

from math import inf

from loomwright.facts.registry import Ledger
from loomwright.model import things as t
from loomwright.sheets.words import known


def far_fault(ledger: Ledger, fuse: t.Fuse) -> tuple[t.Run, float] | None:
    """That feed, and the least fault at its far end in A; None where it feeds none, or the fault is not known."""
    run = known(ledger, fuse, "slowest-feed")
    if run is None:
        return None
    far = "start" if known(ledger, run, "fed-at-end") else "end"
    amps = known(ledger, run, f"least-{far}-fault")
    return (run, amps) if amps and amps < inf else None
