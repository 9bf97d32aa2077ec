"""Writing specs: whole or not at all; sizes over the spec's own file, a new spec over nothing."""

from __future__ import annotations

import os
import shutil

MARK = "\ufeff".encode()


class NotWritten(Exception):
    """The file could not be written; it is as it was. The message says why."""


def put_in(path: str, read: str, new: str) -> bool:
    """Write `new` over the file that was read as `read`; False where there is nothing to change.

    A byte-order mark, line ends and permissions stay. Raises NotWritten, also where the file has changed since it was read.
    """
    if new == read:
        return False
    target = os.path.realpath(path)
    unfinished = f"{target}.unfinished"
    try:
        with open(target, "rb") as file:
            before = file.read()
        mark = MARK if before.startswith(MARK) else b""
        if before != mark + read.encode():
            raise NotWritten(f"{path} has changed since it was read: nothing was written")
        with open(unfinished, "xb") as file:
            file.write(mark + new.encode())
        shutil.copymode(target, unfinished)
        os.replace(unfinished, target)
    except OSError as error:
        if os.path.lexists(unfinished) and not isinstance(error, FileExistsError):
            os.unlink(unfinished)
        reason = (error.strerror or "no reason given").lower()
        raise NotWritten(f"{path} can't be written: {reason}") from None
    return True


def put_new(path: str, text: str) -> None:
    """Write a file that is not there yet. Raises NotWritten, also where there is something of that name."""
    try:
        with open(path, "x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        raise NotWritten(f"{path} is there already: nothing was written") from None
    except OSError as error:
        reason = (error.strerror or "no reason given").lower()
        raise NotWritten(f"{path} can't be written: {reason}") from None
