"""What closures take and give: the environment of a judgement, and values that are not known or that nobody has asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, NamedTuple

from loomwright.model.things import Unknown
from loomwright.rulebook.subjects import Unseen

Environment = list[Any]
Closure = Callable[[Environment], Any]


class Reasons(NamedTuple):
    """Why a value is not known: what to look at, each once and in order."""

    unknowns: tuple[Unknown, ...]


def merged(reasons: Iterable[Reasons]) -> Reasons:
    """All reasons together, those for one place and matter once."""
    unknowns = {(one.what, one.span.order()): one for each in reasons for one in each.unknowns}
    return Reasons(tuple(unknowns.values()))


def unknown(value: Any) -> bool:
    return type(value) is Reasons


class Pending(NamedTuple):
    """A `let` that nobody has asked for yet."""

    closure: Closure

    def settle(self, env: Environment, slot: int) -> Any:
        env[slot] = value = self.closure(env)
        return value


NO_THING = frozenset((Pending, Unseen, Reasons, type(None)))
"""What may be in a slot and is no thing that facts are of."""
