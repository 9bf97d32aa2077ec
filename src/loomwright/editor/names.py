"""Where a name is declared and used, what it may be changed to, and the outline of a file."""

from __future__ import annotations

import os
from collections.abc import Iterator

from loomwright.editor.desk import Desk, Sheet
from loomwright.editor.marks import Mark, mark_at
from loomwright.record import Record
from loomwright.source import Span
from loomwright.syntax.forms import RUNS
from loomwright.syntax.hints import quoted
from loomwright.syntax.lexer import NAME, NEVER_NAMES
from loomwright.syntax.parse import parse
from loomwright.syntax.tree import Statement, Text, Word


class NotRenamed(Exception):
    """Why a name can't be changed, in words for the user."""


class Symbol(Record):
    """One statement in the outline: `span` holds `selection`."""

    name: str
    kind: str
    detail: str
    span: Span
    selection: Span


def _span(sheet: Sheet, mark: Mark) -> Span:
    """Where the thing's name stands: of a terminal the part before the dot."""
    return sheet.source.span(mark.start, mark.name_end)


def name_at(desk: Desk, path: str, offset: int) -> Span | None:
    """The name of a thing at a place, or None where none stands."""
    sheet = desk.sheet(path)
    mark = mark_at(sheet.marks, offset) if sheet else None
    if sheet is None or mark is None or not mark.is_name:
        return None
    span = _span(sheet, mark)
    return span if span.start <= offset <= span.end else None


def everywhere(desk: Desk, path: str, name: str, declared: bool | None = None) -> Iterator[Span]:
    """Every place of a name in the files that share names with one; only where it is (or is not) declared."""
    for file in desk.company(path):
        sheet = desk.sheet(file)
        for mark in sheet.marks if sheet else ():
            if mark.is_name and mark.name == name and declared in (None, mark.role == "declares"):
                assert sheet is not None
                yield _span(sheet, mark)


def definition(desk: Desk, path: str, offset: int) -> tuple[Span, ...]:
    """Where the name at a place is declared; of an include the file itself."""
    sheet = desk.sheet(path)
    mark = mark_at(sheet.marks, offset) if sheet else None
    if mark is not None and mark.what in ("name", "terminal") and mark.is_name:
        return tuple(everywhere(desk, path, mark.name, declared=True))
    if mark is not None and mark.statement == "include" and mark.what == "string":
        return tuple(other.source.span(0, 0) for other in _included(desk, path, mark))
    return ()


def _included(desk: Desk, path: str, mark: Mark) -> Iterator[Sheet]:
    target = os.path.realpath(os.path.join(os.path.dirname(path), mark.text.strip('"')))
    sheet = desk.sheet(target) if target in desk.files_of(path) else None
    if sheet is not None:
        yield sheet


def references(desk: Desk, path: str, offset: int, with_declaration: bool = True) -> tuple[Span, ...]:
    """Every place of the name at a place."""
    span = name_at(desk, path, offset)
    if span is None:
        return ()
    return tuple(everywhere(desk, path, span.text, None if with_declaration else False))


def rename(desk: Desk, path: str, offset: int, new: str) -> tuple[Span, ...]:
    """The places to put a new name at. Raises NotRenamed for what is no name, or one that is taken."""
    span = name_at(desk, path, offset)
    if span is None:
        raise NotRenamed("no name of a thing stands here")
    if not NAME.fullmatch(new) or new in NEVER_NAMES:
        raise NotRenamed(
            f"{quoted(new)} is no name: small letters, digits and hyphens, a letter first; never 'none' or 'unknown'"
        )
    if new != span.text:
        taken = next(everywhere(desk, path, new, declared=True), None)
        if taken is not None:
            raise NotRenamed(
                f"the name {new} is taken: {taken.source.path}:{taken.line}; every name is one thing's"
            )
    _refuse_unread(desk, path)
    if not any(True for _ in everywhere(desk, path, span.text, declared=True)):
        raise NotRenamed(f"nothing here declares {span.text}: open the file that does")
    return tuple(everywhere(desk, path, span.text))


def _refuse_unread(desk: Desk, path: str) -> None:
    """A name in a line that can't be read would be missed."""
    for file in desk.company(path):
        sheet = desk.sheet(file)
        for problem in parse(sheet.source).problems if sheet else ():
            where = f"{problem.span.source.path}:{problem.span.line}"
            raise NotRenamed(
                f"mend what can't be read first, or a place may be missed: {where}: {problem.message}"
            )


def symbols(desk: Desk, path: str) -> tuple[Symbol, ...]:
    """The statements of a file in order; of those that could not be read nothing."""
    sheet = desk.sheet(path)
    if sheet is None:
        return ()
    return tuple(_symbol(statement) for statement in parse(sheet.source).document.statements)


def _symbol(statement: Statement) -> Symbol:
    kind = statement.kind.text
    title = _title(statement)
    detail = _detail(kind, statement.head_span.text)
    return Symbol(title.text or kind, kind, detail, statement.span, title.span)


def _title(statement: Statement) -> Word | Text:
    """What a statement goes by: its name, the thing that it concedes for, its text, or its kind."""
    heads = (statement.head.get(label) for label in ("on", "title", "path", "mode", "kind"))
    named = next((head for head in heads if isinstance(head, (Word, Text))), statement.kind)
    return statement.name or named


def _detail(kind: str, head: str) -> str:
    """What the outline says beside a name: of a run its two ends, else the kind."""
    if kind in RUNS and " from " in head:
        return f"{kind} {' '.join(head.split()[2:])}"
    return kind
