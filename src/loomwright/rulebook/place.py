"""Where a finding points to: the `at` of its rule as a place in the spec and a label."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from loomwright.model.things import End, Run, Terminal, Thing
from loomwright.rulebook.evaluate import compiled
from loomwright.rulebook.subjects import Unseen
from loomwright.rulebook.tree import Node
from loomwright.rulebook.values import Environment, unknown
from loomwright.rulebook.wording import called
from loomwright.source import Span

Place = tuple[Span, str]
Finder = Callable[[Environment], "Place | None"]


def of_thing(thing: Any) -> Place:
    """Where a thing is written, and what it is called."""
    if isinstance(thing, Unseen):
        return thing.unknown.span, called(thing)
    return thing.span, called(thing)


def finder(node: Node) -> Finder:
    """The place that an `at` expression means, or nothing where it can't be known."""
    if node.op == "choice":
        return _chosen(node)
    if node.op != "fact":
        closure = compiled(node)
        return lambda env: _known_thing(closure(env))
    owner, name, value = compiled(node.parts[0]), node.parts[1], compiled(node)

    def find(env: Environment) -> Place | None:
        whose = owner(env)
        if whose is None or unknown(whose) or not hasattr(whose, "span"):
            return None
        return _of_fact(whose, name, value(env))

    return find


def _chosen(node: Node) -> Finder:
    asked, yes, no = compiled(node.parts[0]), finder(node.parts[1]), finder(node.parts[2])

    def find(env: Environment) -> Place | None:
        answer = asked(env)
        return yes(env) if answer and not unknown(answer) else no(env)

    return find


def _known_thing(value: Any) -> Place | None:
    return of_thing(value) if hasattr(value, "span") else None


def _of_fact(owner: Any, name: str, value: Any) -> Place:
    """The clause that gives the fact where there is one; a thing of its own statement by its own place.

    A terminal is pointed to where the run or its end names it, not where its device is declared.
    """
    if isinstance(owner, Run) and name in ("from", "to"):
        span = owner.start_span if name == "from" else owner.end_span
        return span, called(value) if hasattr(value, "span") else called(owner)
    if hasattr(value, "span") and not (isinstance(value, Terminal) and isinstance(owner, End)):
        return of_thing(value)
    label = called(value) if hasattr(value, "span") else called(owner)
    return owner.place_of(name) if isinstance(owner, Thing) else owner.span, label
