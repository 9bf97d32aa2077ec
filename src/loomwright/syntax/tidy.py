"""The one layout of a fit-out text: the same statements, clauses and comments in the same order, laid out alike everywhere.

Only the space between tokens changes. What is written on one line in braces stays on one line where it fits; other blocks hold
one clause a line, their values in a column. Comments stay where they stand. Blank lines part what the writer parted, one at a
time, and stand around every block of several lines.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby

from loomwright.record import Record
from loomwright.source import Problem, Source
from loomwright.syntax.lexer import STRING, Token, lines
from loomwright.syntax.parse import parse
from loomwright.syntax.tree import Comment

WIDTH = 110
INDENT = "    "
LONG_KEYWORD = 9  # a longer one (`charges-from`) does not push the column of values for all the others
ALIGNED = ("end", "clearance")


class Untidy(Exception):
    """A text that can't be read can't be laid out: its problems come first."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__(f"{len(problems)} problems")
        self.problems = problems


@dataclass(slots=True)
class _Line:
    """A head, a clause, or only a comment. `remarks` are the comments behind its tokens, by the index of the token before, `alone`
    those on lines of their own under it."""

    tokens: list[Token]
    apart: bool = False  # the writer left a blank line before it
    remarks: dict[int, str] = field(default_factory=dict)
    alone: dict[int, list[str]] = field(default_factory=dict)
    body: list[_Line] | None = None
    together: bool = False  # its braces opened and closed on one line
    closing: str = ""  # the comment behind its closing brace

    @property
    def texts(self) -> list[str]:
        """Tokens as they are printed: a comma is part of what stands before it."""
        return _texts(self.tokens)


def tidy(text: str, path: str = "<text>") -> str:
    """The text in its one layout; a second time changes nothing. Line ends stay as the first of them is, and so does a mark of the
    byte order. Raises Untidy for a text with problems."""
    source = Source(path, text)
    problems = parse(source).problems
    if problems:
        raise Untidy(problems)
    printed = _printed(_read(source))
    if _words(Source(path, printed)) != _words(source):
        raise AssertionError(f"laying out {path} would change what it says")
    return _mark(text) + printed.replace("\n", _line_end(text))


def _mark(text: str) -> str:
    """The mark of the byte order that some editors write first, where it is there."""
    return "\ufeff" if text.startswith("\ufeff") else ""


def _line_end(text: str) -> str:
    first = text.find("\n")
    return "\r\n" if first > 0 and text[first - 1] == "\r" else "\n"


# ---------------------------------------------------------------- reading


def _read(source: Source) -> list[_Line]:
    comments: list[Comment] = []
    pieces = list(lines(source, comments))
    waiting = iter([*comments, None])
    comment = next(waiting)
    top: list[_Line] = []
    block: _Line | None = None
    last: _Line | None = None
    done = 0  # everything before this offset is laid down
    for tokens, stop, at in pieces:
        start = tokens[0][2] if tokens else at
        while comment is not None and comment.span.start < start:
            last = _remark(comment, source, done, top if block is None else _body(block), last)
            done, comment = comment.span.end, next(waiting)
        if tokens:
            line = _Line(tokens, apart=_parted(source, done, start))
            while comment is not None and comment.span.start < at:
                before = sum(token[2] < comment.span.start for token in tokens)
                if "\n" in source.text[_end(tokens[:before]) : comment.span.start]:
                    line.alone.setdefault(before - 1, []).append(comment.text)
                else:
                    line.remarks[before - 1] = comment.text
                comment = next(waiting)
            (top if block is None else _body(block)).append(line)
            last, done = line, _end(tokens)
            if stop == "{":
                line.body = []
                block = line
                done = at + 1
        if stop == "}" and block is not None:
            block.together = "\n" not in source.text[block.tokens[0][2] : at]
            last, block, done = block, None, at + 1
    while comment is not None:
        _remark(comment, source, done, top, last)
        last, done, comment = None, comment.span.end, next(waiting)
    return top


def _body(block: _Line) -> list[_Line]:
    assert block.body is not None
    return block.body


def _end(tokens: Sequence[Token]) -> int:
    return tokens[-1][2] + len(tokens[-1][1])


def _parted(source: Source, start: int, stop: int) -> bool:
    return start > 0 and source.text.count("\n", start, stop) > 1


def _remark(
    comment: Comment, source: Source, done: int, into: list[_Line], last: _Line | None
) -> _Line | None:
    """Put a comment behind the line that it stands behind, or on a line of its own."""
    behind = last is not None and "\n" not in source.text[done : comment.span.start]
    if last is not None and behind and last.body is not None and last not in into:
        last.remarks[len(last.tokens) - 1] = comment.text
    elif last is not None and behind and last.body is not None:
        last.closing = comment.text
    elif last is not None and behind:
        last.remarks[len(last.tokens) - 1] = comment.text
    else:
        into.append(_Line([], apart=_parted(source, done, comment.span.start), remarks={-1: comment.text}))
        return None
    return last


def _words(source: Source) -> tuple[list[list[str]], list[str]]:
    """What the text says: its clauses as words, and its comments."""
    comments: list[Comment] = []
    said = [[token[1] for token in tokens] for tokens, _, _ in lines(source, comments) if tokens]
    return said, [comment.text.rstrip() for comment in comments]


# ---------------------------------------------------------------- printing


def _printed(top: list[_Line]) -> str:
    printed: list[str] = []
    before: _Line | None = None
    for group in _groups(top):
        heads = _columns(group) if len(group) > 1 else [" ".join(line.texts) for line in group]
        for line, head in zip(group, heads, strict=True):
            rows = list(_statement(line, head))
            several = len(rows) > 1
            if before is not None and (line.apart or (several and before.tokens) or _is_block(before)):
                printed.append("")
            printed += rows
            before = line
    return "".join(row.rstrip() + "\n" for row in printed)


def _is_block(line: _Line) -> bool:
    return line.body is not None and not _fits(line, " ".join(line.texts))


def _groups(top: list[_Line]) -> Iterator[list[_Line]]:
    """Statements on one line that follow each other, of one kind and one build of head, are laid out in columns."""
    parts: list[tuple[object, _Line]] = []
    for index, line in enumerate(top):
        key: object = index
        if line.tokens and _fits(line, " ".join(line.texts)):
            key = (line.tokens[0][1], len(line.texts))
        parts.append((key, line))
    for _, run in groupby(parts, key=lambda part: part[0]):
        group: list[_Line] = []
        for _, line in run:
            if line.apart and group:
                yield group
                group = []
            group.append(line)
        yield group


def _columns(group: list[_Line]) -> list[str]:
    rows = [line.texts for line in group]
    widths = [max(len(row[index]) for row in rows) for index in range(len(rows[0]))]
    padded = [" ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)) for row in rows]
    if all(_fits(line, head) for line, head in zip(group, padded, strict=True)):
        return padded
    return [" ".join(row) for row in rows]


def _statement(line: _Line, head: str) -> Iterator[str]:
    if not line.tokens:
        yield line.remarks[-1]
        return
    if line.body is None:
        yield from _broken(head.rstrip(), line, "")
        return
    if _fits(line, head):
        clauses = "; ".join(" ".join(clause.texts) for clause in line.body)
        yield _with(f"{head} {{ {clauses} }}" if clauses else head.rstrip(), line.closing)
        return
    yield _with(f"{head.rstrip()} {{", line.remarks.get(len(line.tokens) - 1, ""))
    columns = _Columns.of(line.body)
    for index, clause in enumerate(line.body):
        if clause.apart and index:
            yield ""
        yield from _clause(clause, columns)
    yield _with("}", line.closing)


def _fits(line: _Line, head: str) -> bool:
    """Whether a statement goes on one line with its braces, as its writer had it."""
    if line.body is None:
        return len(head) <= WIDTH
    if line.body and not line.together:
        return False
    bare = not line.remarks and all(c.tokens and not c.remarks and not c.alone for c in line.body)
    clauses = "; ".join(" ".join(clause.texts) for clause in line.body)
    return bare and len(head) + len(clauses) + 5 <= WIDTH


class _Columns(Record):
    """Where the values of a block begin, and how wide the second word of a clause that repeats is (`end TERMINAL …`)."""

    keyword: int
    second: dict[str, int]

    @classmethod
    def of(cls, body: Sequence[_Line]) -> _Columns:
        valued = [clause for clause in body if len(clause.tokens) > 1]
        widths = [len(_key(clause)) for clause in valued]
        repeated = [clause for clause in valued if clause.tokens[0][1] in ALIGNED and len(clause.tokens) > 2]
        names = {clause.tokens[0][1] for clause in repeated}
        second = {
            name: max(len(clause.tokens[1][1]) for clause in repeated if clause.tokens[0][1] == name)
            for name in names
        }
        return cls(max((width for width in widths if width <= LONG_KEYWORD), default=0), second)


def _key(clause: _Line) -> str:
    """What stands before the column of values: the keyword, of a way its number too."""
    texts = clause.texts
    return " ".join(texts[:2]) if texts[0] == "way" and len(texts) > 2 else texts[0]


def _clause(clause: _Line, columns: _Columns) -> Iterator[str]:
    if not clause.tokens:
        yield INDENT + clause.remarks[-1]
        return
    key = _key(clause)
    values = clause.texts[key.count(" ") + 1 :]
    wide = columns.second.get(key)
    if wide and len(values) > 1:
        values[0] = values[0].ljust(wide)
    hanging = INDENT + " " * (columns.keyword + 1)
    yield from _broken(f"{INDENT}{key.ljust(columns.keyword)} {' '.join(values)}", clause, hanging)


def _broken(whole: str, line: _Line, hanging: str) -> Iterator[str]:
    """A line whole, or broken behind commas: where it is too long, or where a comment stands in it."""
    last = len(line.tokens) - 1
    inner = {index: remark for index, remark in line.remarks.items() if index != last}
    closing = line.remarks.get(last, "")
    if not inner and not line.alone and len(whole.rstrip()) <= WIDTH:
        yield _with(whole.rstrip(), closing)
        return
    indent = whole[: len(whole) - len(whole.lstrip())]
    row = indent + _first(line, hanging)
    for index, token in enumerate(line.tokens[1:], 1):
        if token[1] == ",":
            row += ","
            if index in inner or index in line.alone:
                yield _with(row, inner.get(index, ""))
                yield from ((hanging or INDENT) + text for text in line.alone.get(index, ()))
                row = hanging or INDENT
            continue
        piece = _until_comma(line.tokens, index)
        if line.tokens[index - 1][1] == "," and len(row) + 1 + len(piece) > WIDTH and row.strip():
            yield row
            row = hanging or INDENT
        row += token[1] if row.endswith(" ") else f" {token[1]}"
    yield _with(row, closing)


def _first(line: _Line, hanging: str) -> str:
    """The keyword, padded to the column of the values."""
    return line.tokens[0][1].ljust(max(len(hanging) - len(INDENT), 0))


def _until_comma(tokens: Sequence[Token], index: int) -> str:
    stop = next((at for at in range(index, len(tokens)) if tokens[at][1] == ","), len(tokens))
    return " ".join(token[1] for token in tokens[index:stop]) + ","


def _with(row: str, remark: str) -> str:
    return f"{row}  {remark}" if remark else row


def _texts(tokens: Sequence[Token]) -> list[str]:
    texts: list[str] = []
    for kind, text, _ in tokens:
        if text == "," and kind != STRING and texts:
            texts[-1] += ","
        else:
            texts.append(text)
    return texts
