"""Writing files whole or not at all.

The content goes to a name of its own beside the file and is moved into place only when it is safe on the disk: what was there
before stays until then, and an interrupted run leaves nothing half-written.
"""

from __future__ import annotations

import os
from collections.abc import Mapping


def write(path: str, content: bytes) -> None:
    """Put `content` into the file at `path`, through a symbolic link to what it names. Raises OSError, and then nothing is changed."""
    write_all({path: content})


def write_new(path: str, content: bytes) -> None:
    """Put `content` into a file that is not there yet. Raises OSError, FileExistsError for what is there, and then nothing is
    changed."""
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))  # the name is taken first
    try:
        write(path, content)
    except BaseException:
        os.unlink(path)
        raise


def write_all(files: Mapping[str, bytes]) -> None:
    """All files or none of them, as far as the disk allows: all are written beside their places before the first is moved."""
    parts: dict[str, str] = {}
    try:
        for path, content in files.items():
            target = os.path.realpath(path)
            parts[target] = _part(target, content)
        for target, part in parts.items():
            os.replace(part, target)
    finally:
        for part in parts.values():
            if os.path.lexists(part):
                os.unlink(part)


def reason(error: OSError) -> str:
    """Why a file could not be written, in the words of the system, for the end of a sentence."""
    text = error.strerror or "no reason given"
    return text[:1].lower() + text[1:]


def _part(target: str, content: bytes) -> str:
    """The content under a name of its own beside the target, with the target's permissions; nothing is left when that fails."""
    folder, name = os.path.split(target)
    part = os.path.join(folder, f".{name}.{os.getpid()}.part")
    try:
        with open(part, "xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if os.path.exists(target):
            os.chmod(part, os.stat(target).st_mode & 0o7777)
    except FileExistsError:
        raise  # it is another's
    except BaseException:  # Ctrl-C leaves nothing behind either
        if os.path.lexists(part):
            os.unlink(part)
        raise
    return part
