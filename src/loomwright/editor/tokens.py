"""The tokens of a text for an editor's colours: what each is by the parser, so that a cable called `charge` is a name."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.editor.marks import Mark

TYPES = (
    "keyword",
    "property",
    "enumMember",
    "variable",
    "namespace",
    "parameter",
    "number",
    "type",
    "string",
    "comment",
)
DECLARATION = 1
"""The one modifier, as a bit."""

BY_WHAT = {
    "statement": "keyword",
    "clause": "property",
    "keyword": "keyword",
    "word": "enumMember",
    "name": "variable",
    "terminal": "variable",
    "label": "parameter",
    "number": "number",
    "date": "number",
    "unit": "type",
    "thread": "type",
    "string": "string",
    "comment": "comment",
}


def tokens(marks: tuple[Mark, ...]) -> Iterator[tuple[int, int, str, int]]:
    """Start, end, type and modifiers of each token in order; a terminal is its device and then its own name."""
    for mark in marks:
        kind = BY_WHAT.get(mark.what)
        if kind is None:
            continue
        if mark.what == "terminal":
            yield mark.start, mark.name_end, "variable", 0
            yield mark.name_end + 1, mark.end, "parameter", 0
            continue
        if mark.what == "name" and (
            mark.role == "place" or (mark.role, mark.statement) == ("declares", "place")
        ):
            kind = "namespace"
        yield mark.start, mark.end, kind, DECLARATION if mark.role == "declares" else 0
