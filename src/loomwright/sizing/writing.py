"""Writing specs: whole or not at all; sizes over the spec's own file, a new spec over nothing."""

from __future__ import annotations

from loomwright import whole

MARK = "\ufeff".encode()


class NotWritten(Exception):
    """The file could not be written; it is as it was. The message says why."""


def put_in(path: str, read: str, new: str) -> bool:
    """Write `new` over the file that was read as `read`; False where there is nothing to change.

    A byte-order mark, line ends and permissions stay. Raises NotWritten, also where the file has changed since it was read.
    """
    if new == read:
        return False
    try:
        with open(path, "rb") as file:
            before = file.read()
        mark = MARK if before.startswith(MARK) else b""
        if before != mark + read.encode():
            raise NotWritten(f"{path} has changed since it was read: nothing was written")
        whole.write(path, mark + new.encode())
    except OSError as error:
        raise NotWritten(f"{path} can't be written: {whole.reason(error)}") from None
    return True


def put_new(path: str, text: str) -> None:
    """Write a file that is not there yet. Raises NotWritten, also where there is something of that name."""
    try:
        whole.write_new(path, text.encode())
    except FileExistsError:
        raise NotWritten(f"{path} is there already: nothing was written") from None
    except OSError as error:
        raise NotWritten(f"{path} can't be written: {whole.reason(error)}") from None
