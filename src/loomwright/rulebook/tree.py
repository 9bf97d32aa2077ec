"""What a rule file says: rules with their expressions as trees, offsets into the text on everything.

Plain tuples and one small class, because the checked book is kept in a cache and must come back fast.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from loomwright.record import Record
from loomwright.source import Span


class Node(NamedTuple):
    """One operation: its parts are nodes, texts and numbers. `type` is empty until the rule is checked."""

    op: str
    parts: tuple[Any, ...]
    start: int
    end: int
    type: str = ""
    depth: int = 1


Template = tuple["str | Node", ...]


class Subject(NamedTuple):
    """`for KIND name`: `slot` is where the thing stands while the rule is judged."""

    kind: str
    name: str
    slot: int


class Fix(NamedTuple):
    """`set`: write `value` in place of what `target` gives. `add`: put the clause `value` into the statement of `target`."""

    action: str
    target: Node
    value: Template


class Rule(Record):
    """A checked rule. `sources` are as they are printed; `file` is empty for the built-in book's own rules."""

    name: str
    severity: str
    title: str
    span: Span
    about: Subject
    of: Subject | None
    mode: Subject | None
    lets: tuple[tuple[int, Node], ...]
    whens: tuple[Node, ...]
    needs: tuple[Node, ...]
    severities: tuple[tuple[str, Node], ...]
    at: Node | None
    say: Template
    why: Template
    do: Template
    sources: tuple[str, ...]
    fixes: tuple[Fix, ...] = ()
    slots: int = 1
    file: str = ""
    texts: tuple[str, str, str] = ("", "", "")  # say, why, do as the rule file has them
