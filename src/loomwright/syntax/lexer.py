"""Cutting a text into tokens, and the tokens into heads and clauses.

One pattern cuts everything. It decides no word's meaning: whether `charge` is a keyword, a name or a unit is settled by what the
parser can take where it stands.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from loomwright.source import Source
from loomwright.syntax.tree import Comment

LINE_END, COMMENT, STRING, DATE, NUMBER, PUNCTUATION, WORD = range(1, 8)

TOKEN = re.compile(
    r"[^\S\n]*(?:(\n)"
    r"|(#[^\n]*)"
    r'|("[^"\n]*"?)'
    r"|([0-9]{4}-[0-9]{2}-[0-9]{2}(?![\w-]))"
    r"|((?>[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+|/0)?)(?!-[a-z0-9]))"
    r"|([{};,])"
    r'|([^\s{};,"#]+)|\Z)'
)
NAME = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")
TERMINAL = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*\.[a-z0-9]+(?:-[a-z0-9]+)*")
LOCAL = re.compile(r"[0-9]+(?:-[a-z0-9]+)+")
THREAD = re.compile(r"M[0-9]+(?:\.[0-9]+)?")
TRACER = re.compile(r"[a-z]+/[a-z]+")
UNPRINTABLE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
NEVER_UNITS = frozenset(("at", "in", "for", "from", "to", "max", "on", "by", "x"))
NEVER_NAMES = frozenset(("none", "unknown"))

Token = tuple[int, str, int]
"""Kind, text, offset."""
Line = tuple[list[Token], str, int]
"""The tokens of a head or clause; what ended it (`{`, `}`, `;` for a line end too, or nothing at the end of the text); where."""


def lines(source: Source, comments: list[Comment]) -> Iterator[Line]:
    """The heads and clauses of a text in order; comments are put aside in the list. Time and space are in proportion.

    A line end does not end a clause after `,` or before `{`. Some of what comes out has no tokens, only an end.
    """
    tokens: list[Token] = []
    ended_at = -1
    start = 1 if source.text.startswith("\ufeff") else 0
    for found in TOKEN.finditer(source.text, start):
        kind = found.lastindex
        if kind is None:
            break
        if kind == LINE_END:
            if tokens and ended_at < 0 and tokens[-1][1] != ",":
                ended_at = found.start(LINE_END)
            continue
        text = found[kind]
        at = found.start(kind)
        if kind == COMMENT:
            text = text.rstrip("\r")
            comments.append(Comment(text, source.span(at, at + len(text))))
            continue
        if ended_at >= 0:
            if text != "{":
                yield tokens, ";", ended_at
                tokens = []
            ended_at = -1
        if kind != PUNCTUATION or text == ",":
            whole = text.rstrip() if kind == STRING else text
            if kind != STRING or len(whole) < 2 or whole[-1] not in "{}":
                tokens.append((kind, text, at))
                continue
            # No closing quote: the brace at the end of the line is still the statement's.
            tokens.append((kind, whole[:-1], at))
            at, text = at + len(whole) - 1, whole[-1]
        yield tokens, text, at
        tokens = []
    yield tokens, "", len(source.text)


def classes(kind: int, text: str) -> tuple[str, ...]:
    """The terminals that a token may be besides a keyword, the first one that the parser can take being meant."""
    if kind == WORD:
        return _of_word(text) if len(text) < 80 else _word_classes(text)
    if kind == STRING:
        return ("{STRING}",) if is_whole(text) else ()
    return ("{DATE}",) if kind == DATE else ("{NUMBER}",) if kind == NUMBER else ()


def is_name(token: Token) -> bool:
    return token[0] == WORD and "{NAME}" in classes(WORD, token[1])


def is_sound(token: Token) -> bool:
    return token[0] != STRING or is_whole(token[1])


def is_whole(string: str) -> bool:
    """Whether a string has its closing quote, and nothing in it that can't be printed or turns the text around."""
    return len(string) > 1 and string.endswith('"') and not UNPRINTABLE.search(string)


def _word_classes(text: str) -> tuple[str, ...]:
    if text in NEVER_NAMES:
        return ()
    if NAME.fullmatch(text):
        return ("{NAME}",) if text in NEVER_UNITS else ("{NAME}", "{UNIT}")
    if TERMINAL.fullmatch(text):
        return ("{TERMINAL}",)
    if LOCAL.fullmatch(text):
        return ("{LOCAL}",)
    if THREAD.fullmatch(text):
        return ("{THREAD}",)
    return ("{TRACER}", "{UNIT}") if TRACER.fullmatch(text) else ("{UNIT}",)


_of_word = lru_cache(maxsize=4096)(_word_classes)
