"""Results that are slow to make and depend only on their key, kept in the user's cache folder.

Parse tables, compiled rules and data tables are kept, and the reports of many specs (`report/many.py` knows what those rest on). A
cache that cannot be read or written is no error: the result is made again. `LOOMWRIGHT_CACHE=off` turns it off,
`LOOMWRIGHT_CACHE=FOLDER` puts it elsewhere. What is kept is pickled, so the folder must belong to the user.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import sys
from collections.abc import Callable
from functools import cache
from typing import TypeVar

from loomwright import resources
from loomwright.version import __version__

T = TypeVar("T")


def cache_folder() -> str | None:
    """The folder, or None when there is to be none."""
    wish = os.environ.get("LOOMWRIGHT_CACHE", "")
    if wish.lower() == "off":
        return None
    if wish:
        return wish
    base = os.environ.get("LOCALAPPDATA") if os.name == "nt" else os.environ.get("XDG_CACHE_HOME")
    base = base or os.path.join(os.path.expanduser("~"), ".cache")
    return os.path.join(base, "loomwright")


def kept(name: str, key: str, make: Callable[[], T]) -> T:
    """`make()`, or what it gave the last time for the same name, key, program version and Python.

    `key` must hold everything that the result depends on (the whole text of a grammar, say).
    """
    path = _path(name, key)
    if path is None:
        return make()
    try:
        with open(path, "rb") as file:
            found: T = pickle.load(file)
            return found
    except Exception:  # a damaged or foreign cache file is the same as none
        made = make()
    _store(path, made)
    return made


def recall(name: str, slot: str) -> object | None:
    """What was last kept in a slot, or None. Whether it still holds is for the caller to see."""
    path = _path(name, slot)
    try:
        with open(path or "", "rb") as file:
            found: object = pickle.load(file)
            return found
    except Exception:
        return None


def keep(name: str, slot: str, value: object) -> None:
    """Put a value into a slot in place of what was there, where there is a cache at all."""
    path = _path(name, slot)
    if path is not None:
        _store(path, value)


def _path(name: str, key: str) -> str | None:
    """The file of a name and key, of this program version and Python only."""
    folder = cache_folder()
    if folder is None:
        return None
    stamp = f"{__version__}\0{_edition()}\0{sys.version_info[:3]}\0{name}\0{key}"
    return os.path.join(folder, f"{name}-{hashlib.sha256(stamp.encode()).hexdigest()[:24]}")


@cache
def _edition() -> int:
    """In a checkout, where the code changes without a new version: when it last did. In an installed wheel nothing."""
    if os.path.isdir(resources.INSTALLED):
        return 0
    rooms = (os.path.join(resources.PACKAGE, room) for room in ("syntax", "facts", "rulebook", "stock"))
    return max(
        entry.stat().st_mtime_ns for room in rooms for entry in os.scandir(room) if entry.name.endswith(".py")
    )


def _store(path: str, value: object) -> None:
    """Write whole or not at all: to a name of this process's own, then renamed."""
    own = f"{path}.{os.getpid()}"
    try:
        os.makedirs(os.path.dirname(path), mode=0o700, exist_ok=True)
        with open(own, "wb") as file:
            pickle.dump(value, file, protocol=pickle.HIGHEST_PROTOCOL)
        os.replace(own, path)
    except (OSError, pickle.PicklingError):
        pass
    finally:  # Ctrl-C leaves nothing behind either
        if os.path.exists(own):
            os.remove(own)
