"""Checks what a rule says against the facts and limits that there are, and types every expression.

Everything that is wrong is reported at its place in one pass. What has been reported has the type UNSURE, which fits
everything, so that one slip gives one message.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from loomwright.facts.limits import dimension_of
from loomwright.facts.registry import FACTS, Definition, find
from loomwright.facts.types import KIND_NAMES
from loomwright.quantity import FACTORS, QuantityError, read
from loomwright.rulebook.dimensions import (
    UNSURE,
    added,
    article,
    base,
    is_numeric,
    joined,
    noun,
    plural,
    scaled,
)
from loomwright.rulebook.parse import nearest
from loomwright.rulebook.subjects import widened
from loomwright.rulebook.tree import Node
from loomwright.source import Problem, Source

LOOPS = 2
"""How many `any x of …` may stand inside one another."""

_MEASURE = re.compile(r"(\d+(?:\.\d+)?(?:e[+-]?\d+)?) ?(.*)")


@dataclass(slots=True)
class Scope:
    """What is known while one rule is checked. `names` gives the slot and the type of each name."""

    source: Source
    limits: Mapping[str, str]
    problems: list[Problem]
    names: dict[str, tuple[int, str]] = field(default_factory=dict)
    slots: int = 1
    loops: int = 0

    def report(self, start: int, end: int, message: str, hint: str = "") -> None:
        self.problems.append(Problem(self.source.span(start, end), message, hint))

    def wrong(self, node: Node, message: str, hint: str = "") -> Node:
        self.report(node.start, node.end, message, hint)
        return node._replace(op="value", parts=(None,), type=UNSURE)

    def bind(self, name: str, type_: str) -> int:
        """A new slot for a name."""
        slot = self.slots
        self.names[name] = (slot, type_)
        self.slots += 1
        return slot


def check(node: Node, scope: Scope) -> Node:
    """The expression with types, names resolved to slots."""
    return _CHECKS[node.op](node, scope)


def check_condition(node: Node, scope: Scope, keyword: str) -> Node:
    """An expression that must ask a yes or no."""
    return _asks(check(node, scope), scope, f"`{keyword}`")


def _asks(typed: Node, scope: Scope, who: str) -> Node:
    if typed.type in ("yes-no", UNSURE):
        return typed
    hint = "add `exists`" if typed.type.startswith("thing") else "compare it with something"
    return scope.wrong(typed, f"{who} asks a yes or no, and this is {noun(typed.type)}", hint)


def _measure(node: Node, scope: Scope) -> Node:
    found = _MEASURE.fullmatch(node.parts[0])
    number, unit = found.groups() if found else (node.parts[0], "")
    dimension = dimension_of(unit)
    if dimension is None:
        known = [name for units in FACTORS.values() for name in units]
        return scope.wrong(node, f"'{unit}' is no unit", nearest(unit, known))
    try:
        return node._replace(op="value", parts=(read(number, unit, dimension).si,), type=dimension)
    except QuantityError as error:
        return scope.wrong(node, error.message, error.hint)


def _number(node: Node, scope: Scope) -> Node:
    value = float(node.parts[0])
    if value == float("inf"):
        return scope.wrong(node, f"'{node.parts[0][:40]}' is too large a number for anything real")
    return node._replace(op="value", parts=(value,), type="number")


def _text(node: Node, _scope: Scope) -> Node:
    return node._replace(op="value", type="text")


def _name(node: Node, scope: Scope) -> Node:
    name = node.parts[0]
    if name in scope.names:
        slot, type_ = scope.names[name]
        return node._replace(op="slot", parts=(slot,), type=type_)
    if name == "limit":
        return scope.wrong(node, "`limit` alone is no value", "write limit.NAME")
    hint = nearest(name, scope.names) or f"this rule's names are {', '.join(scope.names)}"
    return scope.wrong(node, f"'{name}' is no name in this rule", hint)


def _fact(node: Node, scope: Scope) -> Node:
    owner, name, *arguments = node.parts
    if owner.op == "name" and owner.parts[0] == "limit" and "limit" not in scope.names:
        return _limit(node, scope)
    typed = check(owner, scope)
    given = [check(argument, scope) for argument in arguments]
    if typed.type == UNSURE:
        return node._replace(op="value", parts=(None,), type=UNSURE)
    many, _, kind = typed.type.partition(" ")
    if many not in ("thing", "things"):
        return scope.wrong(node, f"{noun(typed.type)} has no facts: '.{name}' can't follow it")
    definition = find(widened(kind), name)
    if definition is None:
        return _no_fact(node, kind, name, scope)
    given = _arguments(node, definition, given, scope)
    if many == "thing":
        return node._replace(op="fact", parts=(typed, name, *given), type=definition.type)
    return node._replace(op="facts", parts=(typed, name, *given), type=_of_many(definition.type))


def _of_many(type: str) -> str:
    """The type of a fact of several things: all that each of them gives."""
    first, _, kind = type.partition(" ")
    if first in ("thing", "things"):
        return f"things {kind}"
    return "words" if first in ("word", "words") else f"list {type}"


def _limit(node: Node, scope: Scope) -> Node:
    name = node.parts[1]
    if len(node.parts) > 2:
        return scope.wrong(node, f"limit.{name} takes no arguments")
    if name not in scope.limits:
        start = node.end - len(name)
        scope.report(start, node.end, f"there is no limit '{name}'", nearest(name, scope.limits))
        return node._replace(op="value", parts=(None,), type=UNSURE)
    return node._replace(op="limit", parts=(name,), type=scope.limits[name])


def _no_fact(node: Node, kind: str, name: str, scope: Scope) -> Node:
    kinds = widened(kind)
    start = node.parts[0].end
    start = scope.source.text.index(name, start, node.end)
    hint = nearest(name, [fact for owner, fact in FACTS if owner in kinds])
    owners = sorted(owner for owner, fact in FACTS if fact == name)
    if not hint.startswith("did") and owners:
        hint = f"{name} is a fact of {', '.join(plural(owner) for owner in owners)}"
    scope.report(start, start + len(name), f"{article(kind)} has no fact '{name}'", hint)
    return node._replace(op="value", parts=(None,), type=UNSURE)


def _arguments(node: Node, definition: Definition, given: list[Node], scope: Scope) -> list[Node]:
    wanted = definition.takes
    arguments = ", ".join(type_.removeprefix("thing ") for type_ in wanted)
    form = f"{definition.name}({arguments})" if wanted else definition.name
    if len(given) != len(wanted):
        said = {0: "no arguments", 1: "one argument"}.get(len(wanted), f"{len(wanted)} arguments")
        stand = {0: "none stand", 1: "one stands"}.get(len(given), f"{len(given)} stand")
        scope.report(
            node.start,
            node.end,
            f"{definition.name} takes {said}, and {stand} here",
            f"write: {form}",
        )
        return given
    return [
        argument
        if fits(argument.type, type_)
        else scope.wrong(argument, _wants(definition.name, type_, argument.type))
        for argument, type_ in zip(given, wanted, strict=True)
    ]


def _wants(name: str, wanted: str, given: str) -> str:
    return f"{name} wants {noun(wanted)}, and this is {noun(given)}"


def fits(given: str, wanted: str) -> bool:
    """Whether a value of one type can stand where another is wanted: a feed where a run is."""
    if given == UNSURE or (joined(given, wanted) == wanted and not given.startswith("thing ")):
        return True
    first, _, kind = given.partition(" ")
    wide, _, wanted_kind = wanted.partition(" ")
    return first == wide and wanted_kind in widened(kind)


def _either(node: Node, scope: Scope) -> Node:
    typed = tuple(_asks(check(part, scope), scope, f"`{node.op}`") for part in node.parts)
    return node._replace(parts=typed, type="yes-no")


def _compare(node: Node, scope: Scope) -> Node:
    sign, left, right = node.parts
    left, right = check(left, scope), check(right, scope)
    both = joined(left.type, right.type)
    if both is None:
        return scope.wrong(node, f"{noun(left.type)} is compared with {noun(right.type)}")
    if sign not in ("=", "!=") and not (is_numeric(both) or both == "date"):
        return scope.wrong(
            node, f"'{sign}' compares quantities, and this is {noun(both)}", "compare it with = or !="
        )
    return node._replace(parts=(sign, left, right), type="yes-no")


def _exists(node: Node, scope: Scope) -> Node:
    return node._replace(parts=(check(node.parts[0], scope),), type="yes-no")


def _words(node: Node, scope: Scope) -> Node:
    """`is` asks of a word and `has` of several; where the fact lists its words, others are slips."""
    typed = check(node.parts[0], scope)
    wanted = "word" if node.op == "is" else "words"
    if typed.type == UNSURE:
        return node._replace(op="value", parts=(None,), type=UNSURE)
    if base(typed.type) != wanted:
        other = {"word": "write: is WORD", "words": "write: has WORD"}.get(base(typed.type), "")
        return scope.wrong(node, f"`{node.op}` asks of {noun(wanted)}, and this is {noun(typed.type)}", other)
    listed = typed.type.partition(" ")[2].split("|") if " " in typed.type else []
    for word, start, end in node.parts[1]:
        if listed and word not in listed:
            scope.report(start, end, f"'{word}' is never the value here", nearest(word, listed))
    return node._replace(parts=(typed, tuple(word for word, _, _ in node.parts[1])), type="yes-no")


def _choice(node: Node, scope: Scope) -> Node:
    asked, yes, no = node.parts
    asked = _asks(check(asked, scope), scope, "`if`")
    yes, no = check(yes, scope), check(no, scope)
    both = joined(yes.type, no.type)
    if both is None:
        return scope.wrong(node, f"one branch is {noun(yes.type)}, the other {noun(no.type)}")
    return node._replace(parts=(asked, yes, no), type=both)


def _chain(
    combine: Callable[[str, str, str], str | None], verbs: Mapping[str, str]
) -> Callable[[Node, Scope], Node]:
    """A check of `a + b - c` or `a * b / c`: from left to right."""

    def checked(node: Node, scope: Scope) -> Node:
        first = check(node.parts[0], scope)
        parts, type_ = [first], first.type
        for sign, part in zip(node.parts[1::2], node.parts[2::2], strict=True):
            typed = check(part, scope)
            result = combine(type_, sign, typed.type)
            if result is None and UNSURE in (type_, typed.type):
                result = UNSURE
            if result is None:
                message = verbs[sign].format(noun(type_), noun(typed.type))
                return scope.wrong(node._replace(end=typed.end), message)
            parts += [sign, typed]
            type_ = result
        return node._replace(parts=tuple(parts), type=type_)

    return checked


_SUMS = {"+": "{1} can't be added to {0}", "-": "{1} can't be taken from {0}"}
_PRODUCTS = {
    "*": "{0} times {1} is nothing that rules know",
    "/": "{0} divided by {1} is nothing that rules know",
}


def _minus(node: Node, scope: Scope) -> Node:
    typed = check(node.parts[0], scope)
    if not is_numeric(typed.type):
        return scope.wrong(node, f"{noun(typed.type)} has no negative")
    return node._replace(parts=(typed,), type=typed.type)


def _fold(node: Node, scope: Scope) -> Node:
    word, many = node.parts[0], check(node.parts[1], scope)
    if many.type == UNSURE:
        return node._replace(op="value", parts=(None,), type="count" if word == "count" else UNSURE)
    first, _, item = many.type.partition(" ")
    if first not in ("things", "list", "words"):
        return scope.wrong(node, f"`{word} of` goes over several, and this is {noun(many.type)}")
    if word == "count":
        return node._replace(parts=(word, many), type="count")
    if word in ("any", "all"):
        if many.type != "list yes-no":
            return scope.wrong(
                node,
                f"`{word} of` wants a yes or no of each, and this is {noun(many.type)}",
                f"write: {word} x of …: CONDITION",
            )
        return node._replace(parts=(word, many), type="yes-no")
    if first != "list" or not is_numeric(item):
        hint = f"name the fact that is meant: {word} of x.fuses.rating"
        return scope.wrong(node, f"`{word} of` wants several quantities, and this is {noun(many.type)}", hint)
    return node._replace(parts=(word, many), type=item)


def _each(node: Node, scope: Scope) -> Node:
    word, name, many, body = node.parts
    many = check(many, scope)
    if many.type != UNSURE and not many.type.startswith("things "):
        return scope.wrong(
            node, f"`{word} {name} of` goes over several things, and this is {noun(many.type)}"
        )
    if name in scope.names or name == "limit":
        return scope.wrong(node, f"the name '{name}' is taken", "choose another")
    if scope.loops >= LOOPS:
        return scope.wrong(
            node, f"more than {LOOPS} of any, all, count … stand inside one another", "make a fact of it"
        )
    scope.loops += 1
    slot = scope.bind(name, UNSURE if many.type == UNSURE else f"thing {many.type.partition(' ')[2]}")
    typed = check(body, scope)
    del scope.names[name]
    scope.loops -= 1
    if word in ("any", "all", "count"):
        typed = _asks(typed, scope, f"`{word}`")
        type_ = "count" if word == "count" else "yes-no"
    elif is_numeric(typed.type):
        type_ = typed.type
    else:
        return scope.wrong(node, f"`{word}` wants a quantity of each, and this is {noun(typed.type)}")
    return node._replace(parts=(word, slot, many, typed), type=type_)


_CHECKS: dict[str, Callable[[Node, Scope], Node]] = {
    "measure": _measure,
    "number": _number,
    "text": _text,
    "name": _name,
    "fact": _fact,
    "or": _either,
    "and": _either,
    "not": _either,
    "compare": _compare,
    "exists": _exists,
    "is": _words,
    "has": _words,
    "choice": _choice,
    "sum": _chain(added, _SUMS),
    "product": _chain(scaled, _PRODUCTS),
    "minus": _minus,
    "fold": _fold,
    "each": _each,
}


def kind_named(word: str, start: int, end: int, scope: Scope) -> str | None:
    """A kind of thing, or None with a problem."""
    if word in KIND_NAMES:
        return word
    scope.report(start, end, f"there is no kind of thing '{word}'", nearest(word, KIND_NAMES))
    return None
