"""Cuts a rule file into heads and clauses, each a list of tokens for the parser.

Cutting first means that an error costs one clause: what follows the next line end is read afresh.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from loomwright.record import Record
from loomwright.rulebook.finding import SEVERITIES
from loomwright.source import Problem, Source

CLAUSES = ("for", "let", "when", "need", "at", "say", "why", "do", "fix", "source")
FOLDS = ("any", "all", "count", "sum", "max", "min")
OPERATORS = ("and", "or", "not", "if", "else", "exists", "has", "is", "of", "in", "each", "to")

STRAY = "STRAY"
"""Text that is no token. It has been reported, so the clause that holds it needs no second message."""

_NO_UNIT = "|".join((*OPERATORS, "x", "on"))
_SCAN = re.compile(
    rf"""
    (?P<GAP>[ \t\r\ufeff]+ | \#[^\n]*)
  | (?P<END>[\n;])
  | (?P<STRING>"[^"\n]*")
  | (?P<MEASURE>(?>\d+(?:\.\d+)?(?:e[+-]?\d+)?)[ ]?(?!(?:{_NO_UNIT})\b)[%°A-Za-zµμΩ][%°A-Za-zµμΩ0-9²³/&^*]*)
  | (?P<NUMBER>\d+(?:\.\d+)?(?:e[+-]?\d+)?)
  | (?P<NAME>[a-z][a-z0-9]*(?:-[a-z0-9]+)*)
  | (?P<COMPARE>!=|<=|>=|<|>)
  | (?P<EQUALS>=) | (?P<PLUS>\+) | (?P<MINUS>-) | (?P<TIMES>\*) | (?P<DIVIDE>/)
  | (?P<DOT>\.) | (?P<COMMA>,) | (?P<COLON>:) | (?P<OPEN>\() | (?P<CLOSE>\)) | (?P<LEFT>\{{) | (?P<RIGHT>\}})
    """,
    re.VERBOSE,
)

_WORD = re.compile(r"[\w.-]+")

_LEANS_ON_NEXT = frozenset(
    (
        "EQUALS",
        "COMPARE",
        "PLUS",
        "MINUS",
        "TIMES",
        "DIVIDE",
        "COMMA",
        "COLON",
        "AND",
        "OR",
        "NOT",
        "IF",
        "ELSE",
        "OF",
        "IS",
        "HAS",
        "TO",
    )
)
_LEANS_ON_LAST = frozenset(("AND", "OR", "IF", "ELSE"))
_STARTERS = frozenset(("rule", *CLAUSES, *SEVERITIES))


class Token(NamedTuple):
    type: str
    text: str
    start: int
    end: int


class Block(Record):
    """The tokens of one rule: its head and its clauses, cut but not parsed."""

    head: tuple[Token, ...]
    clauses: tuple[tuple[Token, ...], ...]


def scan(source: Source, start: int, end: int, problems: list[Problem]) -> Iterator[Token]:
    """Tokens of a stretch of text, END tokens included; what no token starts with is a problem and becomes a STRAY."""
    text, at, last = source.text, start, ""
    while at < end:
        found = _SCAN.match(text, at, end)
        if found is None:
            stop = _stray(source, at, end, problems)
            yield Token(STRAY, text[at:stop], at, stop)
            at = stop
            continue
        kind, word = str(found.lastgroup), found.group()
        if kind != "GAP":
            if kind == "NAME" and last != "DOT":
                kind = _keyword(word)
            yield Token(kind, word, at, found.end())
            last = kind
        at = found.end()


def _keyword(word: str) -> str:
    if word in OPERATORS:
        return word.upper()
    return "FOLD" if word in FOLDS else "NAME"


def _stray(source: Source, at: int, end: int, problems: list[Problem]) -> int:
    """Say what is wrong with a character that starts nothing; where to read on."""
    text = source.text
    if text[at] == '"':
        line_end = text.find("\n", at, end)
        stop = line_end if line_end >= 0 else end
        problems.append(
            Problem(source.span(at, stop), "the text is not closed", 'end it with " on the same line')
        )
        return stop
    word = _WORD.match(text, at, end)
    stop = word.end() if word else at + 1
    what = text[at : min(stop, at + 20)]
    hint = "names are written small: letters, digits, hyphens" if what[0].isalpha() else ""
    problems.append(Problem(source.span(at, stop), f"'{what}' has no meaning in a rule", hint))
    return stop


def cut(source: Source, problems: list[Problem]) -> list[Block]:
    """The rules of a file as blocks of tokens. Reports text outside rules and rules that are not closed."""
    blocks: list[Block] = []
    head: tuple[Token, ...] | None = None
    clauses: list[tuple[Token, ...]] = []
    for piece, closing in _pieces(scan(source, 0, len(source.text), problems)):
        starts_rule = bool(piece) and piece[0].text == "rule" and piece[-1].type == "LEFT"
        if starts_rule:
            if head is not None:
                problems.append(_unclosed(source, head))
                blocks.append(Block(head, tuple(clauses)))
            head, clauses = tuple(piece[:-1]), []
        elif piece and head is not None:
            clauses.append(tuple(piece))
        elif piece:
            _outside(source, piece, problems)
        if closing:
            if head is not None:
                blocks.append(Block(head, tuple(clauses)))
                head = None
            else:
                problems.append(Problem(source.span(closing.start, closing.end), "this '}' closes nothing"))
    if head is not None:
        problems.append(_unclosed(source, head))
        blocks.append(Block(head, tuple(clauses)))
    return blocks


def _pieces(tokens: Iterator[Token]) -> Iterator[tuple[list[Token], Token | None]]:
    """Stretches of tokens that end at a line end, `;`, `{` (kept, as the last) or `}` (given beside).

    A line that starts with a clause's word always starts a clause, whatever brackets the last one left open.
    """
    piece: list[Token] = []
    brackets = 0
    new_line = ended = False
    for token in tokens:
        if token.type == "END":
            new_line = True
            leans = bool(piece) and piece[-1].type in _LEANS_ON_NEXT
            ended = ended or token.text == ";" or (brackets <= 0 and not leans)
            continue
        fresh = ended and token.type not in _LEANS_ON_LAST and token.type not in ("LEFT", "RIGHT")
        if piece and (fresh or (new_line and token.text in _STARTERS)):
            yield piece, None
            piece, brackets = [], 0
        new_line = ended = False
        brackets += (token.type == "OPEN") - (token.type == "CLOSE")
        if token.type != "RIGHT":
            piece.append(token)
        if token.type in ("LEFT", "RIGHT"):
            yield piece, token if token.type == "RIGHT" else None
            piece, brackets = [], 0
    if piece:
        yield piece, None


def _outside(source: Source, piece: list[Token], problems: list[Problem]) -> None:
    span = source.span(piece[0].start, piece[-1].end)
    if piece[0].text == "rule":
        problems.append(Problem(span, "the rule has no body", 'write: rule NAME SEVERITY "TITLE" { … }'))
    else:
        hint = 'a rule file holds only rules: rule NAME SEVERITY "TITLE" { … }'
        problems.append(Problem(span, f"'{piece[0].text}' stands outside every rule", hint))


def _unclosed(source: Source, head: tuple[Token, ...]) -> Problem:
    return Problem(source.span(head[0].start, head[-1].end), "the rule is not closed", "end it with }")


def named(piece: tuple[Token, ...]) -> tuple[Token, ...]:
    """A clause's tokens with its first word as a keyword, `major when …` included."""
    first = piece[0]
    if first.text in SEVERITIES:
        when = piece[1]._replace(type="WHEN") if len(piece) > 1 and piece[1].text == "when" else None
        return (first._replace(type="SEVERITY"), *((when,) if when else piece[1:2]), *piece[2:])
    if first.text in CLAUSES:
        return (first._replace(type=first.text.upper()), *piece[1:])
    return piece
