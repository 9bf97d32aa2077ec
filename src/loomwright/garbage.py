"""When Python looks for garbage: seldom, not at all while a text is read, and in an editor when nobody waits."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

REST = 0.2
"""Seconds without a question that are a rest."""


def seldom() -> None:
    """A check makes many objects and frees few: looking often costs a fifth of its time."""
    gc.set_threshold(200_000, 20, 20)


@contextmanager
def never() -> Iterator[None]:
    """While a text is read nothing becomes garbage in circles, and looking for it takes half of the time of a large one."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def now() -> None:
    """At a rest: at a key it would be felt. What has been there since the first rest stays: the rule book, the tables, the
    libraries."""
    gc.collect()
    if not gc.get_freeze_count():
        gc.freeze()
