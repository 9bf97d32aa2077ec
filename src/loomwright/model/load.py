"""From a spec's text to its installation: parse it, follow its includes, build."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from loomwright import garbage
from loomwright.model.building import build, is_fragment
from loomwright.model.building.register import Troubles
from loomwright.model.files import (
    LARGEST,
    FileTrouble,
    Read,
    decoded,
    project_folder,
    read_file,
    read_text,
    real_include,
    too_large,
)
from loomwright.model.things import Installation
from loomwright.record import Record
from loomwright.source import Problem, Source, Span
from loomwright.syntax.forms import CLAUSES, STATEMENTS
from loomwright.syntax.parse import Parsed, parse
from loomwright.syntax.tree import Document, Statement, Text

DEEPEST = 16  # includes within includes
MOST_FILES = 200
MOST_STATEMENTS = 20_000  # four times a vehicle of 2,500 circuits
NAMELESS = "-"  # how a text without a file is called in findings

__all__ = ["FileTrouble", "Loaded", "decoded", "load", "read_file"]


class Loaded(Record):
    """A spec as it was read. `installation` is None where there are problems, and for a fragment.

    `documents` holds the root file first, then the included ones in the order they were met. A `fragment` has no `fitout`
    of its own: it is checked where it is included, so names that it does not declare are no problems of it.
    """

    installation: Installation | None
    problems: tuple[Problem, ...]
    documents: tuple[Document, ...]
    fragment: bool


def load(
    text: str, path: str | None, read: Read | None = None, before: dict[str, Parsed] | None = None
) -> Loaded:
    """Read a spec. `path` is where its text comes from (None: nowhere, then it can't include); it is not read again.

    `read` serves unsaved buffers: it gets the real path of an included file and returns its text, or None for the
    disk's. `before` is what files said when they were read before, by real path; what they say now is put in its place.
    Nothing is raised for what the text says; every problem is in the answer, sorted by file and place.
    """
    if len(text) > LARGEST:
        source = Source(path or NAMELESS, "")
        return Loaded(
            None, (Problem(source.span(0, 0), f"this spec can't be read: {too_large()}"),), (), False
        )
    with garbage.never():
        return _load(text, path, read, {} if before is None else before)


def _load(text: str, path: str | None, read: Read | None, before: dict[str, Parsed]) -> Loaded:
    folder = project_folder(path) if path else None
    reading = _Reading(folder, read, before)
    start = os.path.realpath(path) if path else NAMELESS
    reading.open[start] = path or NAMELESS
    try:
        statements = reading.statements(Source(path or NAMELESS, text.removeprefix("\ufeff")), start)
    except _TooManyError as error:
        return _too_many(error.beyond, error.count, tuple(reading.documents))
    if len(statements) > MOST_STATEMENTS:
        beyond = statements[MOST_STATEMENTS].head_span
        return _too_many(beyond, len(statements), tuple(reading.documents))
    troubles = Troubles(reading.problems, (word for one in reading.documents for word in one.unread))
    installation, problems = build(statements, troubles)
    fragment = is_fragment(statements, troubles)
    every = tuple(sorted({*reading.problems, *problems}, key=Problem.order))
    return Loaded(None if every else installation, every, tuple(reading.documents), fragment)


class _TooManyError(Exception):
    """More statements than a spec may have: the place of the first beyond, and how many."""

    def __init__(self, beyond: Span, count: int) -> None:
        super().__init__(count)
        self.beyond, self.count = beyond, count


def _too_many(beyond: Span, count: int, documents: tuple[Document, ...]) -> Loaded:
    """A spec that no vehicle can have is not built."""
    said = f"a spec and its includes may have {MOST_STATEMENTS} statements at most, and this has {count}"
    return Loaded(None, (Problem(beyond, said, "part it into one spec a vehicle"),), documents, False)


def _heads(source: Source) -> list[Span]:
    """Where the heads of statements stand in a long text, by a look at the lines: it takes a hundredth of reading it."""
    if len(source.text) < MOST_STATEMENTS * len("place a"):
        return []
    kinds = "|".join(kind for kind in STATEMENTS if not any(kind in forms for forms in CLAUSES.values()))
    heads = re.finditer(rf"^[ \t]*((?:{kinds})[ \t]+[a-z][a-z0-9-]*)", source.text, re.MULTILINE)
    return [source.span(*head.span(1)) for head in heads]


@dataclass(slots=True)
class _Reading:
    """The files of one spec while they are being read. `open` are those that the present one is included from."""

    folder: str | None
    read: Read | None
    before: dict[str, Parsed]
    documents: list[Document] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    open: dict[str, str] = field(default_factory=dict)
    seen: set[str] = field(default_factory=set)

    def statements(self, source: Source, real: str) -> list[Statement]:
        """All statements of a file, those of its includes in the place of each. Raises _TooManyError before it reads so many."""
        heads = _heads(source)
        if len(heads) > MOST_STATEMENTS:
            raise _TooManyError(heads[MOST_STATEMENTS], len(heads))
        parsed = self.before[real] = parse(source, self.before.get(real))
        self.documents.append(parsed.document)
        self.problems.extend(parsed.problems)
        self.seen.add(real)
        found: list[Statement] = []
        for statement in parsed.document.statements:
            if statement.kind.text != "include":
                found.append(statement)
                continue
            title = statement.head["path"]
            if isinstance(title, Text):
                found.extend(self._included(source, real, title))
        return found

    def _included(self, source: Source, real: str, written: Text) -> list[Statement]:
        try:
            within = self._allowed(real, written.text)
            if within in self.seen and within not in self.open:
                return []  # two fragments may share a third: it is taken once
            if within in self.open:
                raise FileTrouble(
                    "it includes itself, by way of " + " → ".join([*self.open.values(), written.text])
                )
            text = read_text(within, self.read)
        except FileTrouble as error:
            self.problems.append(Problem(written.span, f"'{written.text}' can't be included: {error}"))
            return []
        shown = os.path.normpath(os.path.join(os.path.dirname(source.path), written.text)).replace(
            os.sep, "/"
        )
        self.open[within] = shown
        found = self.statements(Source(shown, text), within)
        del self.open[within]
        return list(self._without_heads(found))

    def _allowed(self, real: str, written: str) -> str:
        if self.folder is None:
            raise FileTrouble("this text has no file of its own that the path could be relative to")
        if len(self.open) > DEEPEST:
            raise FileTrouble(f"includes go deeper than {DEEPEST} files")
        if len(self.seen) >= MOST_FILES:
            raise FileTrouble(f"a spec may have {MOST_FILES} files at most")
        return real_include(real, written, self.folder)

    def _without_heads(self, statements: Iterable[Statement]) -> Iterator[Statement]:
        for statement in statements:
            if statement.kind.text == "fitout":
                self.problems.append(
                    Problem(
                        statement.kind.span,
                        "an included file has no 'fitout' of its own",
                        "move what is shared into a file without one",
                    )
                )
            else:
                yield statement
