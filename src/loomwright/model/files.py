"""Reading the files of a spec, and never one outside its project folder."""

from __future__ import annotations

import os
import stat
from collections.abc import Callable

Read = Callable[[str], str | None]

LARGEST = 8_000_000  # bytes; a spec of 5,000 runs is about a tenth of it
MARKERS = ("loomwright.toml", ".git")


class FileTrouble(Exception):
    """Why a file can't be read, in words for the user."""


def project_folder(path: str) -> str:
    """The real path of the folder that includes of a root file must stay in.

    It is the nearest folder upward that holds a `loomwright.toml` or `.git`, or else the root file's own folder.
    """
    own = os.path.dirname(os.path.realpath(path))
    folder = own
    while True:
        if any(os.path.exists(os.path.join(folder, marker)) for marker in MARKERS):
            return folder
        above = os.path.dirname(folder)
        if above == folder:
            return own
        folder = above


def real_include(including: str, written: str, project: str) -> str:
    """The real path of an included file. Raises FileTrouble for one that lies outside the project folder."""
    if "\0" in written or not written.strip():
        raise FileTrouble("it names no file")
    if os.path.isabs(written):
        raise FileTrouble("an include is written relative to its own file, never from the root of the disk")
    real = os.path.realpath(os.path.join(os.path.dirname(os.path.realpath(including)), written))
    if os.path.commonpath((real, project)) != project:
        raise FileTrouble(f"it lies outside the project folder {project}")
    return real


def read_text(real: str, read: Read | None = None) -> str:
    """The text of a file: from `read` when it has one (an editor's unsaved buffer), else from the disk.

    Raises FileTrouble for what is missing, too large, no plain file or no UTF-8.
    """
    buffered = read(real) if read else None
    if buffered is not None:
        return buffered
    try:
        # not to hang on a pipe; what was opened is then looked at, so it can't be swapped in between
        handle = os.open(real, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0))
    except OSError as error:
        raise FileTrouble(_reason(error)) from None
    try:
        mode = os.fstat(handle).st_mode
        if stat.S_ISDIR(mode):
            raise FileTrouble("it is a folder")
        if not stat.S_ISREG(mode):
            raise FileTrouble("it is no plain file")
        with open(handle, "rb", closefd=False) as file:
            return text_of(file.read(LARGEST + 1))
    except OSError as error:
        raise FileTrouble(_reason(error)) from None
    finally:
        os.close(handle)


def read_file(path: str) -> str:
    """The text of the file that a user named. Raises FileTrouble, which names it."""
    try:
        return read_text(path)
    except FileTrouble as trouble:
        raise FileTrouble(f"{path} can't be read: {trouble}") from None


def decoded(content: bytes, name: str) -> str:
    """The text of what was read from elsewhere, such as standard input. Raises FileTrouble, which names it."""
    try:
        return text_of(content)
    except FileTrouble as trouble:
        raise FileTrouble(f"{name} can't be read: {trouble}") from None


def text_of(content: bytes) -> str:
    """The text that bytes hold. Raises FileTrouble for too many of them and for no UTF-8."""
    if len(content) > LARGEST:
        raise FileTrouble(too_large())
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileTrouble(f"it is not UTF-8 text (byte {error.start + 1})") from None


def too_large() -> str:
    return f"it is larger than {LARGEST // 1_000_000} MB, too much for a spec"


def _reason(error: OSError) -> str:
    if isinstance(error, FileNotFoundError):
        return "there is no such file"
    if isinstance(error, PermissionError):
        return "reading it is not permitted"
    if isinstance(error, IsADirectoryError):
        return "it is a folder"
    return (error.strerror or "it can't be read").lower()
