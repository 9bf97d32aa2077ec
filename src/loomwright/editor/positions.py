"""Lines and columns as the protocol counts them: a line ends at `\\n`, `\\r\\n` or `\\r`, all from 0, columns in code points."""

from __future__ import annotations

import re
from bisect import bisect_right
from functools import lru_cache

from loomwright.source import Source

LINE = re.compile(r"\r\n|\n|\r")


class Lines:
    """The lines of a text with their ends."""

    def __init__(self, text: str) -> None:
        self.starts = [0, *(found.end() for found in LINE.finditer(text))]
        self.text = text

    @property
    def texts(self) -> list[str]:
        return [self.text[a:b] for a, b in zip(self.starts, [*self.starts[1:], len(self.text)], strict=True)]

    def place(self, offset: int) -> tuple[int, int]:
        line = bisect_right(self.starts, offset) - 1
        return line, offset - self.starts[line]

    def offset(self, line: int, column: int) -> int:
        """A place outside the text is taken for the nearest within."""
        if line >= len(self.starts):
            return len(self.text)
        end = self.starts[line + 1] if line + 1 < len(self.starts) else len(self.text)
        return min(self.starts[line] + column, end)


@lru_cache(maxsize=16)
def _of_text(text: str) -> tuple[Lines, list[str]]:
    lines = Lines(text)
    return lines, lines.texts


def lines_of(source: Source) -> tuple[Lines, list[str]]:
    """The lines of a source, and their texts for a codec to count units in."""
    return _of_text(source.text)
