"""Values in print, and sentences with values in them."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from functools import cache, partial
from typing import Any, Protocol

from loomwright.facts.types import name_of
from loomwright.model.things import End, Fuse, Stretch
from loomwright.quantity import DIMENSIONS, decimal, show
from loomwright.rulebook.dimensions import noun
from loomwright.rulebook.evaluate import compiled
from loomwright.rulebook.finding import Rested
from loomwright.rulebook.subjects import Unseen
from loomwright.rulebook.tree import Node, Template
from loomwright.rulebook.values import Environment, Reasons


class Sentence(Protocol):
    """A template made ready. Where it is to be `settled` it says nothing rather than name what is not known."""

    def __call__(self, env: Environment, settled: bool = False) -> str: ...


def called(thing: Any) -> str:
    """What a sentence calls a thing: its name; an end by what it is on, a stretch by its place."""
    if isinstance(thing, End):
        return called(thing.point) if isinstance(thing.point, Fuse) else thing.point.name
    if isinstance(thing, Stretch):
        return thing.place.name
    if isinstance(thing, Fuse):
        return f"the fuse of {thing.name}" + (f" at {thing.near}" if thing.near else "")
    return name_of(thing.holder if isinstance(thing, Unseen) else thing)


def names_in_finding(thing: Any) -> tuple[str, ...]:
    """The names that make a finding about this thing the same finding in another version of the spec."""
    if isinstance(thing, End):
        return thing.run.name, "fuse" if isinstance(thing.point, Fuse) else thing.point.name
    if isinstance(thing, Stretch):
        return thing.run.name, thing.place.name
    return (name_of(thing.holder if isinstance(thing, Unseen) else thing),)


def printed(value: Any, type_: str) -> str:
    """A value as a sentence has it; what is not known reads "an unknown length"."""
    return printer(type_)(value)


@cache
def printer(type_: str) -> Callable[[Any], str]:
    """How the values of a type are printed."""
    of_known, not_known = _printer_of_known(type_), unknown_of(type_)

    def print_one(value: Any) -> str:
        if value is None:
            return "none"
        return not_known if type(value) in NOT_KNOWN else of_known(value)

    return print_one


NOT_KNOWN = (Reasons, Unseen)


def _printer_of_known(type_: str) -> Callable[[Any], str]:
    first, _, rest = type_.partition(" ")
    if first == "thing":
        return called
    if first in DIMENSIONS:
        return lambda value: show(value, first)
    if first == "words":
        return lambda values: ", ".join(sorted(values)) or "none"
    if first in ("things", "list"):
        of_each = called if first == "things" else printer(rest)
        return lambda values: ", ".join(map(of_each, values)) or "none"
    return _plainly


def _plainly(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return decimal(value)
    return value.isoformat() if isinstance(value, datetime.date) else str(value)


def unknown_of(type_: str) -> str:
    """ "an unknown length", "an unknown fuse"."""
    first, _, kind = type_.partition(" ")
    what = (
        kind if first in ("thing", "things") and kind else noun(type_).removeprefix("a ").removeprefix("an ")
    )
    if first in ("things", "list", "words"):
        return "unknown"
    return f"an unknown {what}"


SIZE = re.compile(r",? of(?: at (?:most|least))? $")
"""What leads up to a size in advice: without the size it goes too."""

POSSESSIVES = ("its ", "their ", "his ", "your ")


def sentence(template: Template) -> Sentence:
    """A template as a function of the environment. It never fails: values that are not known are said to be so."""
    return partial(_joined, _parts(template), False)


def advice(template: Template) -> Sentence:
    """As `sentence`, for what is to be done: a size that is not known is left out, "Fit a fuse within 178 mm"."""
    return partial(_joined, _parts(template), True)


Part = str | Callable[[Environment], tuple[str, bool]]
"""A text, or a value: how it reads and whether it is known."""


def _parts(template: Template) -> list[Part]:
    return [part if isinstance(part, str) else _told(part) for part in template]


def _joined(parts: list[Part], advice: bool, env: Environment, settled: bool = False) -> str:
    said, left_out = "", False
    for part in parts:
        if isinstance(part, str):
            said, left_out = said + part, left_out and part == " to "
            continue
        text, known = part(env)
        if known:
            said += "" if left_out and text.startswith(" (") else text
        elif advice and (left_out or SIZE.search(said)):
            said, left_out = SIZE.sub("", said.removesuffix(" to ") if left_out else said), True
        elif settled:
            return ""
        else:
            said += _not_known(text, said)
    return said


def _not_known(text: str, before: str) -> str:
    """How an unknown value goes on: after a possessive without its article, and nothing where it would be glued to a word."""
    if before.endswith(POSSESSIVES):
        return text.removeprefix("an ").removeprefix("a ")
    return text if before[-1:] in ("", " ", "(", "'") else ""


def _told(node: Node) -> Callable[[Environment], tuple[str, bool]]:
    if node.op == "limit":
        name = node.parts[0]
        return lambda env: (str(env[0].limits[name].text), True)
    closure, print_one = compiled(node), printer(node.type)

    def told(env: Environment) -> tuple[str, bool]:
        value = closure(env)
        return print_one(value), type(value) not in NOT_KNOWN

    return told


def rested(name: str, node: Node, closure: Callable[[Environment], Any], env: Environment) -> Rested:
    """A fact that a finding rested on, under the name that the rule gives it."""
    value = closure(env)
    text = env[0].limits[node.parts[0]].text if node.op == "limit" else printed(value, node.type)
    unit = DIMENSIONS[node.type].unit if node.type in DIMENSIONS else ""
    return Rested(name, _plain(value, text), unit, text)


def _plain(value: Any, text: str) -> float | str | bool | None:
    """A value for programs: a number in SI, a yes or no, a text; None for what is unknown or absent."""
    if value is None or type(value) in NOT_KNOWN:
        return None
    return value if isinstance(value, (bool, int, float, str)) else text
