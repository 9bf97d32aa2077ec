"""A file's text and places in it.

Everything that is said about a spec names its place, so every later stage carries a `Span`. Offsets count Unicode
code points from 0; lines and columns are worked out only when asked for, and count from 1.
"""

from __future__ import annotations

from bisect import bisect_right

from loomwright.record import Record


class Source:
    """One file's text as it was read. `path` is what the user wrote, and what findings print; `starts` where lines begin."""

    __slots__ = ("path", "starts", "text")

    def __init__(self, path: str, text: str) -> None:
        self.path, self.text = path, text
        starts = [0]
        at = text.find("\n")
        while at >= 0:
            starts.append(at + 1)
            at = text.find("\n", at + 1)
        self.starts = tuple(starts)

    def __repr__(self) -> str:
        return f"Source({self.path!r})"

    def __reduce__(self) -> tuple[type[Source], tuple[str, str]]:
        return Source, (self.path, self.text)

    def position(self, offset: int) -> tuple[int, int]:
        """Line and column of an offset, both from 1; the column counts code points."""
        line = bisect_right(self.starts, offset)
        return line, offset - self.starts[line - 1] + 1

    def line_text(self, line: int) -> str:
        """The text of a line (from 1), without its line end."""
        start = self.starts[line - 1]
        stop = self.starts[line] if line < len(self.starts) else len(self.text)
        return self.text[start:stop].rstrip("\r\n")

    def span(self, start: int, end: int) -> Span:
        return Span(self, start, end)


class Span(Record):
    """A stretch of a source: `start` up to but not including `end`."""

    source: Source
    start: int
    end: int

    @property
    def line(self) -> int:
        return self.source.position(self.start)[0]

    @property
    def column(self) -> int:
        return self.source.position(self.start)[1]

    @property
    def end_line(self) -> int:
        return self.source.position(self.end)[0]

    @property
    def end_column(self) -> int:
        return self.source.position(self.end)[1]

    @property
    def text(self) -> str:
        return self.source.text[self.start : self.end]

    def to(self, other: Span) -> Span:
        """From the start of this span to the end of the other, both in one source."""
        return Span(self.source, self.start, other.end)

    def order(self) -> tuple[str, int, int]:
        """Sort key: file, then place."""
        return self.source.path, self.start, self.end


class Problem(Record):
    """Something in a text that could not be read: what is wrong at a place, and what to write instead."""

    span: Span
    message: str
    hint: str = ""

    def order(self) -> tuple[str, int, int, str]:
        return (*self.span.order(), self.message)
