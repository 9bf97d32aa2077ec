"""Checked expressions to closures, in three-valued logic.

A closure takes the environment of one judgement, a list: the ledger in slot 0, the things and names of the rule after it. It
gives a value in SI, None for what is known to be absent, or Reasons: it can't be known, because of these clauses of the spec.
Comparing with what is absent does not hold; anything computed from it is absent too.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Callable, Iterable
from typing import Any

from loomwright.facts.registry import Ledger
from loomwright.rulebook.subjects import Unseen
from loomwright.rulebook.tree import Node
from loomwright.rulebook.values import NO_THING, Closure, Environment, Pending, Reasons, merged


def compiled(node: Node) -> Closure:
    """The closure of a checked expression."""
    return _COMPILERS[node.op](node)


def conjunction(parts: list[Closure]) -> Closure:
    """All of several conditions: false as soon as one is, unknown when none is false and one is unknown."""

    def both(env: Environment) -> Any:
        reasons = None
        for part in parts:
            value = part(env)
            if type(value) is Reasons:
                reasons = [*(reasons or ()), value]
            elif not value:
                return False
        return True if reasons is None else merged(reasons)

    return both


def _and(node: Node) -> Closure:
    return conjunction([compiled(part) for part in node.parts])


def _or(node: Node) -> Closure:
    parts = [compiled(part) for part in node.parts]

    def either(env: Environment) -> Any:
        reasons = None
        for part in parts:
            value = part(env)
            if type(value) is Reasons:
                reasons = [*(reasons or ()), value]
            elif value:
                return True
        return False if reasons is None else merged(reasons)

    return either


def _not(node: Node) -> Closure:
    part = compiled(node.parts[0])

    def negated(env: Environment) -> Any:
        value = part(env)
        return value if type(value) is Reasons else not value

    return negated


_ORDERS: dict[str, Callable[[Any, Any], bool]] = {
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
}
CLOSE = 1e-9
"""Quantities nearer than this share of themselves are equal: 0.1 m + 0.2 m is 0.3 m."""


def _compare(node: Node) -> Closure:
    sign, left, right = node.parts
    first, second = compiled(left), compiled(right)
    holds = _holds(sign)

    def compare(env: Environment) -> Any:
        a, b = first(env), second(env)
        if type(a) is Reasons or type(b) is Reasons:
            return merged(value for value in (a, b) if type(value) is Reasons)
        return holds(a, b)

    return compare


def _holds(sign: str) -> Callable[[Any, Any], bool]:
    if sign in ("=", "!="):
        wanted = sign == "="
        return lambda a, b: _same(a, b) is wanted
    order, with_equal = _ORDERS[sign], sign in ("<=", ">=")

    def holds(a: Any, b: Any) -> bool:
        if a is None or b is None:
            return False
        return with_equal if _same(a, b) else order(a, b)

    return holds


def _same(a: Any, b: Any) -> bool:
    if isinstance(a, (float, int)) and isinstance(b, (float, int)):
        return math.isclose(a, b, rel_tol=CLOSE)
    return bool(a == b)


def _exists(node: Node) -> Closure:
    part = compiled(node.parts[0])

    def exists(env: Environment) -> Any:
        value = part(env)
        return value if type(value) is Reasons else value is not None and value != ()

    return exists


def _words(node: Node) -> Closure:
    part, wanted = compiled(node.parts[0]), frozenset(node.parts[1])

    def among(env: Environment) -> Any:
        value = part(env)
        if type(value) is Reasons or value is None:
            return value if value is not None else False
        return value in wanted if isinstance(value, str) else not wanted.isdisjoint(value)

    return among


def _choice(node: Node) -> Closure:
    asked, yes, no = (compiled(part) for part in node.parts)

    def choice(env: Environment) -> Any:
        answer = asked(env)
        if type(answer) is not Reasons:
            return yes(env) if answer else no(env)
        a, b = yes(env), no(env)
        if type(a) is Reasons or type(b) is Reasons:
            return merged(value for value in (answer, a, b) if type(value) is Reasons)
        return a if _same(a, b) else answer

    return choice


def _steps(node: Node, step: Callable[[str, Any, Any], Any]) -> Closure:
    first, signs = compiled(node.parts[0]), node.parts[1::2]
    rest = [compiled(part) for part in node.parts[2::2]]

    def steps(env: Environment) -> Any:
        values = [first(env), *(part(env) for part in rest)]
        reasons = [value for value in values if type(value) is Reasons]
        if reasons:
            return merged(reasons)
        total = values[0]
        for sign, value in zip(signs, values[1:], strict=True):
            if total is None or value is None:
                return None
            total = step(sign, total, value)
        return total

    return steps


def _sum(node: Node) -> Closure:
    return _steps(node, lambda sign, a, b: a + b if sign == "+" else a - b)


def _product(node: Node) -> Closure:
    return _steps(node, lambda sign, a, b: a * b if sign == "*" else _quotient(a, b))


def _quotient(a: float, b: float) -> float | None:
    if b == 0:
        return math.copysign(math.inf, a) if a else None
    return a / b


def _minus(node: Node) -> Closure:
    part = compiled(node.parts[0])

    def minus(env: Environment) -> Any:
        value = part(env)
        return value if value is None or type(value) is Reasons else -value

    return minus


def _value(node: Node) -> Closure:
    value = node.parts[0]
    return lambda _env: value


def _slot(node: Node) -> Closure:
    slot = node.parts[0]

    def slot_of(env: Environment) -> Any:
        value = env[slot]
        if type(value) is Unseen:
            return Reasons((value.unknown,))
        return value if type(value) is not Pending else value.settle(env, slot)

    return slot_of


def _limit(node: Node) -> Closure:
    name = node.parts[0]

    def limit(env: Environment) -> Any:
        return env[0].limits[name].value

    return limit


def _fact(node: Node) -> Closure:
    owner, name = compiled(node.parts[0]), node.parts[1]
    arguments = [compiled(part) for part in node.parts[2:]]

    def fact(env: Environment) -> Any:
        thing = owner(env)
        if thing is None or type(thing) is Reasons:
            return thing
        entry = env[0].entry(thing, name)
        return Reasons(entry.missing) if entry.missing else entry.value

    def fact_of_slot(env: Environment) -> Any:
        thing = env[slot]
        if type(thing) in NO_THING:
            return fact(env)
        entry = env[0].entry(thing, name)
        return Reasons(entry.missing) if entry.missing else entry.value

    def fact_with_arguments(env: Environment) -> Any:
        thing = owner(env)
        if thing is None or type(thing) is Reasons:
            return thing
        given = _given(arguments, env)
        return given if given is None or type(given) is Reasons else asked(env[0], thing, name, given)

    if arguments:
        return fact_with_arguments
    if node.parts[0].op != "slot":
        return fact
    slot = node.parts[0].parts[0]
    return _holder(slot, name, fact) if name in ("run", "way") else fact_of_slot


def _holder(slot: int, name: str, fact: Closure) -> Closure:
    """What parts that nobody has looked for would be in is known all the same."""

    def holder(env: Environment) -> Any:
        thing = env[slot]
        return getattr(thing, name) if type(thing) is Unseen else fact(env)

    return holder


def _given(arguments: list[Closure], env: Environment) -> Any:
    """The values of the arguments as a tuple; None when one is absent, Reasons when one is unknown."""
    if not arguments:
        return ()
    values = [argument(env) for argument in arguments]
    reasons = [value for value in values if type(value) is Reasons]
    if reasons:
        return merged(reasons)
    return None if None in values else tuple(values)


def asked(ledger: Ledger, thing: Any, name: str, arguments: tuple[Any, ...] = ()) -> Any:
    """A fact's value, or Reasons."""
    entry = ledger.entry(thing, name, *arguments)
    return Reasons(entry.missing) if entry.missing else entry.value


def _facts(node: Node) -> Closure:
    """A fact of several things: the values of all, things of things in one row, what is absent left out."""
    owners, name = compiled(node.parts[0]), node.parts[1]
    arguments = [compiled(part) for part in node.parts[2:]]
    flat = node.type.startswith(("things ", "words"))

    def facts(env: Environment) -> Any:
        things, given = owners(env), _given(arguments, env)
        for value in (things, given):
            if value is None or type(value) is Reasons:
                return value
        values = [asked(env[0], thing, name, given) for thing in things]
        reasons = [value for value in values if type(value) is Reasons]
        if reasons:
            return merged(reasons)
        return _flattened(values) if flat else tuple(value for value in values if value is not None)

    return facts


def _flattened(values: list[Any]) -> tuple[Any, ...]:
    """Values and rows of values in one row, each thing once."""
    row = [one for value in values for one in _as_row(value)]
    return tuple(dict.fromkeys(one for one in row if one is not None))


def _as_row(value: Any) -> Iterable[Any]:
    if isinstance(value, frozenset):
        return sorted(value)
    return value if isinstance(value, (tuple, list)) else (value,)


_FOLDS: dict[str, Callable[[Any], Any]] = {
    "count": len,
    "sum": math.fsum,
    "max": lambda values: max(values, default=None),
    "min": lambda values: min(values, default=None),
    "any": any,
    "all": all,
}


def _fold(node: Node) -> Closure:
    fold, many = _FOLDS[node.parts[0]], compiled(node.parts[1])

    def folded(env: Environment) -> Any:
        values = many(env)
        if type(values) is Reasons:
            return values
        return fold(() if values is None else values)

    return folded


def _each(node: Node) -> Closure:
    word, slot, things, body = node.parts[0], node.parts[1], compiled(node.parts[2]), compiled(node.parts[3])
    settle = _settle_any if word in ("any", "all") else _settle_all
    decisive, fold = word == "any", sum if word == "count" else _FOLDS[word]

    def each(env: Environment) -> Any:
        many = things(env)
        if type(many) is Reasons:
            return many
        values = _values_of(many or (), slot, body, env)
        return settle(values, decisive, fold)

    return each


def _values_of(many: Iterable[Any], slot: int, body: Closure, env: Environment) -> Iterable[Any]:
    for thing in many:
        env[slot] = thing
        yield body(env)


def _settle_any(values: Iterable[Any], decisive: bool, _fold: Callable[[Any], Any]) -> Any:
    """`any` is settled by a yes, `all` by a no; without one, by what is unknown."""
    reasons = []
    for value in values:
        if type(value) is Reasons:
            reasons.append(value)
        elif bool(value) is decisive:
            return decisive
    return merged(reasons) if reasons else not decisive


def _settle_all(values: Iterable[Any], _decisive: bool, fold: Callable[[Any], Any]) -> Any:
    """A sum, a greatest, a count: unknown as soon as one part is."""
    row = list(values)
    reasons = [value for value in row if type(value) is Reasons]
    return merged(reasons) if reasons else fold([value for value in row if value is not None])


_COMPILERS: dict[str, Callable[[Node], Closure]] = {
    "and": _and,
    "or": _or,
    "not": _not,
    "compare": _compare,
    "exists": _exists,
    "is": _words,
    "has": _words,
    "choice": _choice,
    "sum": _sum,
    "product": _product,
    "minus": _minus,
    "value": _value,
    "slot": _slot,
    "limit": _limit,
    "fact": _fact,
    "facts": _facts,
    "fold": _fold,
    "each": _each,
}
