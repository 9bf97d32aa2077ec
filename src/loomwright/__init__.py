"""Loomwright: check the 12 V system of a working vehicle before copper is cut, and print its papers.

`check(text, path)` is the whole job as one call; it prints nothing, exits nothing and keeps no global state.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from loomwright.version import __version__

if TYPE_CHECKING:
    from loomwright.report.check import Report


__all__ = ["__version__", "check"]


def check(text: str, path: str | None = None) -> Report:
    """Findings of one fit-out text. `path` is what findings print and what includes are relative to."""
    from loomwright.report.check import check as run_check

    return run_check(text, path)
