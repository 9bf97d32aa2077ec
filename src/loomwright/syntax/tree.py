"""Declarations: what a fit-out text says, statement by statement, before anything is resolved.

A `Statement` has a kind (`feed`, `battery`, …), mostly a name, and a head (`from`, `to`, `place`, …); its clauses are in the order
of the text. The parts of a clause are named as in `syntax/forms.py`. Every value knows its place.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from loomwright.quantity import Quantity
from loomwright.record import Record
from loomwright.source import Source, Span


class Word(Record):
    """A name, a keyword, a terminal (`crank.pos`), a thread (`M8`), a colour, `none` or `unknown`."""

    text: str
    span: Span


class Text(Record):
    """What stood between double quotes."""

    text: str
    span: Span


class Number(Record):
    value: float
    text: str
    span: Span


class Measure(Record):
    """A quantity as written: `text` is the writer's own ("150mm"), `quantity` what it means."""

    quantity: Quantity
    text: str
    span: Span


class Date(Record):
    value: datetime.date
    span: Span


class Size(Record):
    """A conductor size: `kind` is `area` (number in mm²), `awg`, `bs` or `auto`; `number` as the trade writes it ("2/0")."""

    kind: str
    number: str
    text: str
    span: Span


Parts = Mapping[
    str, "Word | Text | Number | Measure | Date | Size | tuple[object, ...] | Mapping[str, object]"
]


class Clause(Record):
    keyword: Word
    parts: Parts
    span: Span


class Statement(Record):
    """`kind` is the statement's first word; `name` is None for those that have none (`fitout`, `practice`, `site`, …)."""

    kind: Word
    name: Word | None
    head: Parts
    clauses: tuple[Clause, ...]
    span: Span
    head_span: Span


class Comment(Record):
    text: str
    span: Span


class Document(Record):
    """One parsed file; `statements` holds all that could be read, even where problems were found.

    `unread` are the names of statements whose heads could not be read: they are not missing, only not understood.
    """

    source: Source
    statements: tuple[Statement, ...]
    comments: tuple[Comment, ...] = ()
    unread: tuple[Word, ...] = ()
