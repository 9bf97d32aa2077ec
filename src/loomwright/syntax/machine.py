"""The LALR machine: runs the tables over the tokens of one head or clause."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from loomwright.syntax.build import Builder
from loomwright.syntax.lexer import PUNCTUATION, Token, classes
from loomwright.syntax.tables import END, Tables

Mend = Callable[[list[Token], int, Mapping[str, int]], bool]
"""Called where a token fits nothing, with the state's row. True when it put a better token in its place."""


def run(tables: Tables, start: str, tokens: list[Token], builder: Builder, mend: Mend) -> Any:
    """What the tokens say by the rule `start`, or None when they don't fit it and could not be mended.

    Nothing more is said of tokens of which a value was wrong already.
    """
    rows, follow, reductions = tables.rows, tables.follow, tables.reductions
    state, end_state = tables.starts[start]
    states, values = [state], []
    index, count = 0, len(tokens)
    while True:
        row = rows[state]
        if index < count:
            kind, text, _ = tokens[index]
            # A word is a keyword where one may stand, else what the state can take it for.
            action = row.get(text) if kind >= PUNCTUATION else None
            if action is None:
                for name in classes(kind, text):
                    if name in row:
                        action = row[name]
                        break
        else:
            action = row.get(END)
        if action is None:
            action = _only(row)
        if action is None:
            if not builder.failed and mend(tokens, index, row):
                continue
            return None
        if action >= 0:
            state = action
            values.append(tokens[index])
            index += 1
        else:
            reduction = reductions[~action]
            length = reduction[1]
            value = builder.build(reduction, values[-length:])
            del states[-length:], values[-length:]
            state = follow[states[-1]][reduction[0]]
            values.append(value)
            if index == count and state == end_state:
                return value
        states.append(state)


def _only(row: Mapping[str, int]) -> int | None:
    """The reduction of a state that can do nothing else: done first, it leads to the state that knows what is wanted."""
    actions = set(row.values())
    return actions.pop() if len(actions) == 1 and min(actions) < 0 else None
