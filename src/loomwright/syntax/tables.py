"""Parse tables made from `grammar/fitout.lark`.

Lark reads the grammar and makes the LALR(1) tables. They are kept as plain tuples and dictionaries, so that a run that
finds them kept imports neither lark nor anything else. In the tables a keyword is named by its own text, and any other
terminal by its name in braces (`{NAME}`), which no word of a text can be.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from loomwright import resources
from loomwright.cache import kept

END = "{END}"
FORMAT = "3"
"""Part of the cache key: raise it when what is kept changes shape."""

SHARED = {"bundled", "sheathed"}
"""Rules of clauses that several blocks share, beside those named after a block."""

Reduction = tuple[str, int, str, tuple[str, ...], tuple[tuple[int, str, int], ...], int]
"""Origin, length, what it builds ("parts", "word", "list", "same" or "value"), labels; of each child that has a value its
index, how it is taken ("one", "all" or a terminal's name) and how many left-out values stand before it; and how many
stand after the last."""


@dataclass(frozen=True)
class Tables:
    """`rows[state]` gives, for a terminal, the next state (0 or more) or the reduction `~action` (below 0);
    `follow[state]` the next state after a rule."""

    rows: tuple[Mapping[str, int], ...]
    follow: tuple[Mapping[str, int], ...]
    starts: Mapping[str, tuple[int, int]]
    """Per start rule the first state, and the state in which all is read."""
    reductions: tuple[Reduction, ...]
    lists: Mapping[str, tuple[str, ...]]
    """The closed lists of words, by rule."""
    words: Mapping[tuple[str, str], frozenset[str]]
    """Every keyword that a clause may hold, by block rule and the clause's first word."""

    @cached_property
    def vocabulary(self) -> frozenset[str]:
        """Every keyword of every clause."""
        return frozenset().union(*self.words.values())


def load() -> Tables:
    """The tables of the language, kept from one run to the next."""
    text = resources.text("grammar", "fitout.lark")
    return Tables(*kept("fitout-tables", FORMAT + text, lambda: _make(text)))


def _make(text: str) -> tuple[Any, ...]:
    import lark
    from lark.lexer import Lexer
    from lark.parsers.lalr_analysis import Shift

    class NoLexer(Lexer):
        """The grammar has no patterns: `lexer.py` cuts the text, and the state decides what a word is."""

        def __init__(self, lexer_conf: object) -> None:
            pass

        def lex(self, lexer_state: object, parser_state: object) -> Any:
            raise NotImplementedError

    starts = ["statement", *_blocks(text)]
    grammar = lark.Lark(text, parser="lalr", lexer=NoLexer, start=starts, maybe_placeholders=True)
    spelling = {
        terminal.name: str(terminal.pattern.value) for terminal in grammar.terminals if terminal.pattern
    }
    table = grammar.parser.parser._parse_table
    origins = {rule.origin.name for rule in grammar.rules}
    numbers: dict[Any, int] = {}
    reductions: list[Reduction] = []
    rows: list[dict[str, int]] = [{} for _ in table.states]
    follow: list[dict[str, int]] = [{} for _ in table.states]
    for state, row in table.states.items():
        for symbol, (action, target) in row.items():
            if symbol in origins:
                follow[state][symbol] = target
                continue
            if action is not Shift and target not in numbers:
                numbers[target] = len(reductions)
                reductions.append(_reduction(target, spelling))
            rows[state][_symbol(symbol, spelling)] = target if action is Shift else ~numbers[target]
    ends = {start: (table.start_states[start], table.end_states[start]) for start in starts}
    lists = _lists(grammar.rules, spelling)
    return tuple(rows), tuple(follow), ends, tuple(reductions), lists, _words(grammar.rules, spelling, starts)


def _symbol(name: str, spelling: Mapping[str, str]) -> str:
    return spelling.get(name) or "{" + name.strip("$") + "}"


def _blocks(text: str) -> list[str]:
    rules = re.findall(r"^(\w+_clause):", text, re.MULTILINE)
    return [rule for rule in rules if rule != "common_clause"]


def _reduction(rule: Any, spelling: Mapping[str, str]) -> Reduction:
    """What to do when this rule of lark's is complete."""
    origin = str(rule.origin.name)
    symbols = list(rule.expansion)
    gaps = [0] * (len(symbols) + 1)
    if rule.options.empty_indices:
        runs = "".join(str(int(empty)) for empty in rule.options.empty_indices).split("0")
        gaps = [len(run) for run in runs]
    children, before = [], 0
    for index, symbol in enumerate(symbols):
        before += gaps[index]
        if rule.options.keep_all_tokens or not (symbol.is_term and symbol.filter_out):
            taken = ("word" if symbol.name in spelling else str(symbol.name)) if symbol.is_term else "one"
            taken = "all" if not symbol.is_term and str(symbol.name).startswith("_") else taken
            children.append((index, taken, before))
            before = 0
    if origin == "statement" or (
        origin.endswith("_clause") and symbols[0].is_term and children[:1] and not children[0][0]
    ):
        del children[0]  # the first word is the kind of the statement, or the keyword of the clause
    labels = tuple(str(rule.alias).split("_")) if rule.alias else ()
    if origin.startswith("_"):
        builds = "list"
    elif rule.options.keep_all_tokens:
        builds = "word"
    elif labels or origin == "statement" or origin.endswith("_clause") or origin in SHARED:
        builds = "parts"
    else:
        builds = "same" if len(symbols) == 1 else "value"
    return origin, len(symbols), builds, labels, tuple(children), before + gaps[-1]


def _lists(rules: Any, spelling: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    lists: dict[str, tuple[str, ...]] = {}
    for rule in rules:
        if rule.options.keep_all_tokens:
            name = str(rule.origin.name)
            lists[name] = (*lists.get(name, ()), spelling[rule.expansion[0].name])
    return lists


def _words(
    rules: Any, spelling: Mapping[str, str], starts: list[str]
) -> dict[tuple[str, str], frozenset[str]]:
    """Which keywords the rest of each clause can hold, through all rules that it leads to."""
    by_origin: dict[str, list[Any]] = {}
    for rule in rules:
        by_origin.setdefault(str(rule.origin.name), []).append(rule.expansion)
    passed_on = {name for name in by_origin if name.endswith("_clause")} | SHARED

    def reached(symbols: Any, seen: set[str]) -> set[str]:
        words: set[str] = set()
        for symbol in symbols:
            name = str(symbol.name)
            if name in spelling:
                words.add(spelling[name])
            elif name not in seen:
                seen.add(name)
                words.update(*(reached(expansion, seen) for expansion in by_origin.get(name, ())))
        return words

    def clauses(origin: str) -> Iterator[Any]:
        for expansion in by_origin[origin]:
            if str(expansion[0].name) in passed_on:
                yield from clauses(str(expansion[0].name))
            else:
                yield expansion

    found: dict[tuple[str, str], frozenset[str]] = {}
    for start in starts:
        for expansion in clauses(start):
            for head in reached(expansion[:1], set()) or {""}:
                found[start, head] = found.get((start, head), frozenset()) | reached(expansion[1:], set())
    return found
