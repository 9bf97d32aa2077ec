"""What the findings of a spec rest on beside its own text: the files that it includes, and the house file with its rules."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from functools import lru_cache

from loomwright import resources
from loomwright.model.files import FileTrouble, Read, project_folder, read_text
from loomwright.rulebook.house import NAME, house_of
from loomwright.version import __version__


def recording(read: Read | None = None) -> tuple[dict[str, str | None], Callable[[str], str]]:
    """A reader of included files, and what it has read so far by real path: None for a file that could not be read."""
    seen: dict[str, str | None] = {}

    def reading(real: str) -> str:
        seen[real] = None
        text = seen[real] = read_text(real, read)
        return text

    return seen, reading


def house_files(spec: str) -> tuple[str, ...]:
    """The `loomwright.toml` that holds for a spec, there or not, and the rule files that it names."""
    house = house_of(spec)
    return os.path.join(project_folder(spec), NAME), *house.rules


def text_or_none(path: str) -> str | None:
    try:
        return read_text(path)
    except FileTrouble:
        return None


def digest(*texts: str | None) -> str:
    """32 hexadecimal digits that change when one of the texts does."""
    made = hashlib.sha256()
    for text in texts:
        piece = b"\0" if text is None else text.encode("utf-8", "surrogatepass")
        made.update(b"%d:" % len(piece) + piece)
    return made.hexdigest()[:32]


@lru_cache(maxsize=1)
def program() -> str:
    """What changes when the program, its rule book, its limits or its tables do."""
    roots = [resources.PACKAGE, resources.folder("grammar"), resources.folder("rules")]
    parts: list[str] = [__version__]
    for root in roots:
        for here, folders, names in os.walk(root):
            folders[:] = sorted(name for name in folders if name not in ("__pycache__", "examples"))
            for name in sorted(names):
                state = os.stat(os.path.join(here, name))
                parts.append(f"{name} {state.st_size} {state.st_mtime_ns}")
    return digest(*parts)
