"""Garbage is looked for when nobody waits: at a key it would be felt."""

from __future__ import annotations

import gc

REST = 0.2
"""Seconds without a question that are a rest."""


def collect() -> None:
    """What has been there since the first rest stays from then on: the rule book, the tables, the libraries."""
    gc.collect()
    if not gc.get_freeze_count():
        gc.freeze()
