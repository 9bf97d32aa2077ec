"""The fault that a fuse is judged by: the least one at the far end of the feed that it clears worst."""

from __future__ import annotations

from math import inf

from loomwright.facts.registry import Ledger
from loomwright.model import things as t
from loomwright.sheets.words import known


def far_fault(ledger: Ledger, fuse: t.Fuse) -> tuple[t.Run, float] | None:
    """That feed, and what goes through the fuse in the least fault at its far end, A; of a fuse that no feed is judged by, the run
    that it sits in. None where there is neither, or the fault is not known."""
    run, amps = known(ledger, fuse, "slowest-feed"), known(ledger, fuse, "slowest-share")
    if run is None:
        run, amps = fuse.run, known(ledger, fuse, "least-fault")
    return (run, amps) if run and amps and amps < inf else None
