"""The neutral document that every sheet is written in, and that each renderer prints.

A sheet says what stands on the paper, never how it looks: a renderer turns the same blocks into HTML, a typeset page or Markdown.
All text is plain text; what a renderer's language would take for markup is the renderer's business.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from loomwright.record import Record


class Piece(Record):
    """Text with a meaning: `strong`, or the name of a run (so that a screen can show the run wherever it stands)."""

    text: str
    strong: bool = False
    run: str = ""


Words = str | tuple[Piece, ...]


class Heading(Record):
    text: str
    level: int = 2  # a sheet's title is level 1 and no block


class Paragraph(Record):
    words: Words


class Tick(Record):
    """A box to tick; `key` stays the same from one printing to the next."""

    key: str
    label: str = ""


class Blank(Record):
    """Room to write a reading or a name by hand; `hint` says what goes there."""

    hint: str = ""


class Swatch(Record):
    """A colour by its trade name, never shown without the name."""

    colour: str


Cell = str | tuple[Piece, ...] | Tick | Blank | Swatch


class Column(Record):
    """`unit` is printed in the head, so that cells are bare numbers."""

    title: str
    unit: str = ""
    number: bool = False  # right-aligned, digits of one width
    narrow: bool = False


class Row(Record):
    """`run`, `place` and `person` let a screen filter and highlight; `place` names every place that it is about, a space between."""

    cells: tuple[Cell, ...]
    run: str = ""
    place: str = ""
    person: str = ""
    strong: bool = False


class Table(Record):
    caption: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    empty: str = "None."  # what is printed when there are no rows


class Caution(Record):
    """A safety caution with its own number and the source it rests on."""

    number: str
    text: str
    source: str = ""


class Note(Record):
    text: Words


class Step(Record):
    """One numbered step of work, with a box to tick; cautions stand before it. `place` as in a row."""

    key: str
    words: Words
    details: tuple[Words, ...] = ()
    cautions: tuple[Caution, ...] = ()
    place: str = ""
    person: str = ""
    run: str = ""


class Steps(Record):
    """Steps numbered on from `first`; those that keep people safe are `always` shown, whatever a screen filters."""

    steps: tuple[Step, ...]
    first: int = 1
    always: bool = False


class Facts(Record):
    """Pairs of a label and a value, as at the head of a form."""

    pairs: tuple[tuple[str, Cell], ...]


class Figure(Record):
    """A drawing as SVG, with a caption and a description for those who cannot see it. `landscape` where it wants a page across
    or upright whatever its sheet has; None where it stands on either."""

    caption: str
    description: str
    svg: str
    landscape: bool | None = None


class Signature(Record):
    """Lines to sign: who signs for what."""

    lines: tuple[str, ...]


class PageBreak(Record):
    pass


Block = Heading | Paragraph | Table | Caution | Note | Steps | Facts | Figure | Signature | PageBreak


class Sheet(Record):
    """`name` as in `--only` and in the page's id; `readers` says whom it is for."""

    name: str
    title: str
    readers: str
    blocks: tuple[Block, ...]
    landscape: bool = False

    @property
    def short(self) -> bool:
        """Whether it is no more than a few sentences, which need no page of their own."""
        few = len(self.blocks) < 4 and not self.landscape
        return few and all(isinstance(block, (Paragraph, Note)) for block in self.blocks)


class Revision(Record):
    """Which text a document was made from: `commit` is None outside version control, `clean` whether all that the papers rest on
    is committed as it is, `rest_clean` whether the other files of the tree are."""

    spec: str
    fingerprint: str
    commit: str | None
    clean: bool
    drawn: str
    rest_clean: bool = True


class Papers(Record):
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


def turned(sheet: Sheet) -> Iterator[tuple[bool, tuple[Block, ...]]]:
    """The blocks of a sheet by the pages that they want: whether these lie across, and what stands on them."""
    for landscape, blocks in groupby(sheet.blocks, lambda block: _lies_across(block, sheet)):
        yield landscape, tuple(blocks)


def _lies_across(block: Block, sheet: Sheet) -> bool:
    own = block.landscape if isinstance(block, Figure) else None
    return sheet.landscape if own is None else own


def run_name(name: str) -> tuple[Piece, ...]:
    """A run's name, marked as one."""
    return (Piece(name, run=name),)


def numbered(blocks: Sequence[Block]) -> tuple[Block, ...]:
    """The blocks with all their steps numbered through from 1."""
    first = 1
    done: list[Block] = []
    for block in blocks:
        if isinstance(block, Steps):
            block = Steps(block.steps, first, block.always)
            first += len(block.steps)
        done.append(block)
    return tuple(done)
