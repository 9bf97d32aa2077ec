"""Declarations: what a fit-out text says, statement by statement, before anything is resolved.

A `Statement` has a kind (`feed`, `battery`, …), mostly a name, and a head (`from`, `to`, `place`, …); its clauses are in the order
of the text. The parts of a clause are named as in `syntax/forms.py`. Every value knows its place.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field

from loomwright.quantity import Quantity
from loomwright.source import Source, Span


@dataclass(frozen=True, slots=True)
class Word:
    """A name, a keyword, a terminal (`crank.pos`), a thread (`M8`), a colour, `none` or `unknown`."""

    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Text:
    """What stood between double quotes."""

    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Number:
    value: float
    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Measure:
    """A quantity as written: `text` is the writer's own ("150mm"), `quantity` what it means."""

    quantity: Quantity
    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Date:
    value: datetime.date
    span: Span


@dataclass(frozen=True, slots=True)
class Size:
    """A conductor size: `kind` is `area` (number in mm²), `awg`, `bs` or `auto`; `number` as the trade writes it ("2/0")."""

    kind: str
    number: str
    text: str
    span: Span


Part = "Word | Text | Number | Measure | Date | Size | tuple[Part, ...] | Mapping[str, Part]"
Parts = Mapping[
    str, "Word | Text | Number | Measure | Date | Size | tuple[object, ...] | Mapping[str, object]"
]


@dataclass(frozen=True, slots=True)
class Clause:
    keyword: Word
    parts: Parts
    span: Span


@dataclass(frozen=True, slots=True)
class Statement:
    """`kind` is the statement's first word; `name` is None for those that have none (`fitout`, `practice`, `site`, …)."""

    kind: Word
    name: Word | None
    head: Parts
    clauses: tuple[Clause, ...]
    span: Span
    head_span: Span


@dataclass(frozen=True, slots=True)
class Comment:
    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Document:
    """One parsed file; `statements` holds all that could be read, even where problems were found.

    `unread` are the names of statements whose heads could not be read: they are not missing, only not understood.
    """

    source: Source
    statements: tuple[Statement, ...]
    comments: tuple[Comment, ...] = field(default=())
    unread: tuple[Word, ...] = field(default=())
