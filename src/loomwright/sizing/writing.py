"""Putting the sizes into the spec's own file: whole or not at all, and nothing else of it changed."""

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
