"""Specs on disk and on standard input: which files a path means, and their texts."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable

from loomwright.facts.registry import Ledger
from loomwright.report.check import Wishes, check


class Unreadable(Exception):
    """A path that names no spec, or a file that cannot be read; the message says which and why, `why` that alone."""

    def __init__(self, message: str, why: str = "") -> None:
        super().__init__(message)
        self.why = why or message


def specs_of(paths: Iterable[str]) -> list[str]:
    """The spec files that paths mean, each once, in order; a folder means every `.fitout` below it.

    Raises Unreadable for a path that is not there and for a folder that holds none.
    """
    found: dict[str, None] = {}
    for path in paths:
        if path == "-" or os.path.isfile(path):
            found[path] = None
        elif os.path.isdir(path):
            inside = _below(path)
            if not inside:
                raise Unreadable(f"the folder {path} holds no .fitout file")
            found.update(dict.fromkeys(inside))
        elif os.path.exists(path):
            raise Unreadable(f"{path} is neither a file nor a folder")
        else:
            raise Unreadable(f"there is no file or folder {path}")
    return list(found)


def _below(folder: str) -> list[str]:
    files: list[str] = []
    for here, folders, names in os.walk(folder):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        inside = (name for name in sorted(names) if name.endswith(".fitout"))
        files += (os.path.normpath(os.path.join(here, name)) for name in inside)
    return files


def read_spec(path: str) -> str:
    """The text of a spec; `-` is standard input. Raises Unreadable for what is no UTF-8 text or too large."""
    from loomwright.model.files import FileTrouble, read_text, text_of

    try:
        return text_of(sys.stdin.buffer.read()) if path == "-" else read_text(path)
    except FileTrouble as trouble:
        name = "standard input" if path == "-" else path
        raise Unreadable(f"{name} can't be read: {trouble}", str(trouble)) from None


def facts_of(path: str) -> Ledger:
    """The facts of one spec that must be readable. Raises Unreadable with the first error."""
    report = check(read_spec(path), "<stdin>" if path == "-" else path, Wishes(judging=False))
    if report.errors or report.ledger is None:
        first = report.errors[0] if report.errors else None
        where = (
            f"{first.span.source.path}:{first.span.line}: {first.message}" if first else "it is a fragment"
        )
        raise Unreadable(f"{path} can't be read whole ({where}); 'loomwright check {path}' lists every error")
    return report.ledger
