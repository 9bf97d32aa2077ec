"""A derivation in lines: a fact, and beneath it what it rests on, down to clauses and table rows."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from loomwright.facts.registry import Entry, Note
from loomwright.facts.types import name_of
from loomwright.model.things import Run
from loomwright.report.text import INDENT
from loomwright.rulebook.wording import called, printed
from loomwright.source import Span

DEEPEST = 8  # levels of a derivation; what lies deeper is explained by asking for that fact
OBVIOUS = "definition"  # the source of a fact that follows from the words of its sentence
ABOVE = ", as above"


@dataclass(slots=True)
class Told:
    """What a derivation has said already: it is said once."""

    facts: set[int] = field(default_factory=set)
    notes: set[Note] = field(default_factory=set)


def tree(entry: Entry, told: Told, depth: int = 0, source: str = OBVIOUS) -> Iterator[str]:
    """A fact, and beneath it what it rests on. `source` is that of the fact above: it is not repeated."""
    pad = INDENT * depth
    again = id(entry) in told.facts and bool(entry.inputs)
    yield (
        f"{pad}{_one_line(entry, entry.definition.source)}{ABOVE}"
        if again
        else f"{pad}{_one_line(entry, source)}"
    )
    told.facts.add(id(entry))
    if not again and depth <= DEEPEST:
        yield from beneath(entry.inputs, told, depth + 1, entry.definition.source)


def beneath(parts: Iterable[Entry | Note], told: Told, depth: int, source: str = OBVIOUS) -> Iterator[str]:
    """What something rests on, each part with what it rests on in its turn."""
    for part in parts:
        if not isinstance(part, Note):
            yield from tree(part, told, depth, source)
        elif part not in told.notes:
            told.notes.add(part)
            yield f"{INDENT * depth}{_note(part, source)}"


def _one_line(entry: Entry, source: str) -> str:
    definition = entry.definition
    taken = zip(entry.arguments, definition.takes, strict=True)
    arguments = ", ".join(printed(argument, kind) for argument, kind in taken)
    name = f"{who(entry.thing)}.{definition.name}" + (f"({arguments})" if arguments else "")
    if entry.missing:
        value = "unknown: " + "; ".join(f"{reason.what}{_place(reason.span)}" for reason in entry.missing)
    else:
        value = printed(entry.value, definition.type)
    return f"{name} = {value}{_cited(definition.source, source)}"


def who(thing: Any) -> str:
    """The name of a thing; of the two legs of a circuit, which bear one name, the second as its return."""
    second = isinstance(thing, Run) and thing.circuit is not None and thing.role == "earth"
    return f"the return of {thing.name}" if second else called(thing) or name_of(thing)


def _note(note: Note, source: str) -> str:
    return f"{note.text}{_cited(note.source, source)}{_place(note.span) if note.span else ''}"


def _cited(source: str, above: str) -> str:
    return f"  ({source})" if source not in ("", OBVIOUS, above) else ""


def _place(span: Span) -> str:
    line, column = span.source.position(span.start)
    return f"  {os.path.basename(span.source.path)}:{line}:{column}"
