"""Which files a spec's findings and papers rest on, and whether one of them has changed."""

from __future__ import annotations

import os
from collections.abc import Iterable

State = tuple[int, int, int] | None
"""Modification time, size and number of a file; None where there is none. A file saved under another name and moved into place
has another number, and one that is gone may come back."""


def state(path: str) -> State:
    try:
        found = os.stat(path)
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


class Glance:
    """A look at some files every now and then."""

    def __init__(self) -> None:
        self._told: dict[str, State] | None = None
        self._seen: dict[str, State] = {}

    def changed(self, paths: Iterable[str]) -> bool:
        """Whether the files are others than when this last said yes, and have stood still since the look before: a file
        that is being written is left alone until it is whole."""
        now = {path: state(path) for path in paths}
        still = self._told is None or now == self._seen
        self._seen = now
        if not still or now == self._told:
            return False
        self._told = now
        return True

    def settle(self, paths: Iterable[str]) -> None:
        """Take the files for known as they were at the last look; those that come in now as they are."""
        self._told = {path: self._seen[path] if path in self._seen else state(path) for path in paths}
        self._seen = dict(self._told)
