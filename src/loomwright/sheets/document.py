"""The neutral document that every sheet is written in, and that each renderer prints.

A sheet says what stands on the paper, never how it looks: a renderer turns the same blocks into HTML, a typeset page or Markdown.
All text is plain text; what a renderer's language would take for markup is the renderer's business.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Piece:
    """Text with a meaning: `strong`, or the name of a run (so that a screen can show the run wherever it stands)."""

    text: str
    strong: bool = False
    run: str = ""


Words = str | tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class Heading:
    text: str
    level: int = 2  # a sheet's title is level 1 and no block


@dataclass(frozen=True, slots=True)
class Paragraph:
    words: Words


@dataclass(frozen=True, slots=True)
class Tick:
    """A box to tick; `key` stays the same from one printing to the next."""

    key: str
    label: str = ""


@dataclass(frozen=True, slots=True)
class Blank:
    """Room to write a reading or a name by hand; `hint` says what goes there."""

    hint: str = ""


@dataclass(frozen=True, slots=True)
class Swatch:
    """A colour by its trade name, never shown without the name."""

    colour: str


Cell = str | tuple[Piece, ...] | Tick | Blank | Swatch


@dataclass(frozen=True, slots=True)
class Column:
    """`unit` is printed in the head, so that cells are bare numbers."""

    title: str
    unit: str = ""
    number: bool = False  # right-aligned, digits of one width
    narrow: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """`run`, `place` and `person` let a screen filter and highlight."""

    cells: tuple[Cell, ...]
    run: str = ""
    place: str = ""
    person: str = ""
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    caption: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    empty: str = "None."  # what is printed when there are no rows


@dataclass(frozen=True, slots=True)
class Caution:
    """A safety caution with its own number and the source it rests on."""

    number: str
    text: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    text: Words


@dataclass(frozen=True, slots=True)
class Step:
    """One numbered step of work, with a box to tick; cautions stand before it."""

    key: str
    words: Words
    details: tuple[Words, ...] = ()
    cautions: tuple[Caution, ...] = ()
    place: str = ""
    person: str = ""
    run: str = ""


@dataclass(frozen=True, slots=True)
class Steps:
    """Steps numbered on from `first`."""

    steps: tuple[Step, ...]
    first: int = 1


@dataclass(frozen=True, slots=True)
class Facts:
    """Pairs of a label and a value, as at the head of a form."""

    pairs: tuple[tuple[str, Cell], ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing as SVG, with a caption and a description for those who cannot see it."""

    caption: str
    description: str
    svg: str


@dataclass(frozen=True, slots=True)
class Signature:
    """Lines to sign: who signs for what."""

    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PageBreak:
    pass


Block = Heading | Paragraph | Table | Caution | Note | Steps | Facts | Figure | Signature | PageBreak


@dataclass(frozen=True, slots=True)
class Sheet:
    """`name` as in `--only` and in the page's id; `readers` says whom it is for."""

    name: str
    title: str
    readers: str
    blocks: tuple[Block, ...]
    landscape: bool = False


@dataclass(frozen=True, slots=True)
class Revision:
    """Which text a document was made from: `commit` is None outside version control."""

    spec: str
    fingerprint: str
    commit: str | None
    clean: bool
    drawn: str


@dataclass(frozen=True, slots=True)
class Papers:
    """All sheets of one spec, with what every page says at its head and foot."""

    title: str
    job: str
    vehicle: str
    customer: str
    stage: str
    revision: Revision
    sheets: tuple[Sheet, ...]


def plain(words: Words) -> str:
    """Words without their meanings, for renderers and tests that want text only."""
    return words if isinstance(words, str) else "".join(piece.text for piece in words)


def run_name(name: str) -> tuple[Piece, ...]:
    """A run's name, marked as one."""
    return (Piece(name, run=name),)


def numbered(blocks: Sequence[Block]) -> tuple[Block, ...]:
    """The blocks with all their steps numbered through from 1."""
    first = 1
    done: list[Block] = []
    for block in blocks:
        if isinstance(block, Steps):
            block = Steps(block.steps, first)
            first += len(block.steps)
        done.append(block)
    return tuple(done)
