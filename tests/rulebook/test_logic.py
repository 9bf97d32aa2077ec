"""Three-valued logic as Kleene has it: what is not known stays so unless the rest settles it."""

from __future__ import annotations

from typing import Any

import pytest

from loomwright.model.things import Unknown
from loomwright.rulebook.evaluate import compiled
from loomwright.rulebook.tree import Node
from loomwright.rulebook.values import Reasons, unknown
from loomwright.source import Source

PLACE = Source("test.fitout", "xyz").span(0, 1)
YES, NO = True, False
LEFT = Reasons((Unknown("the left", PLACE),))
RIGHT = Reasons((Unknown("the right", PLACE),))


def value(of: Any) -> Node:
    return Node("value", (of,), 0, 0)


def answer(op: str, *parts: Any) -> Any:
    return compiled(Node(op, parts, 0, 0))([None])


@pytest.mark.parametrize(
    ("left", "right", "both", "either"),
    [
        (YES, YES, YES, YES),
        (YES, NO, NO, YES),
        (NO, NO, NO, NO),
        (YES, RIGHT, RIGHT, YES),
        (NO, RIGHT, NO, RIGHT),
        (LEFT, YES, LEFT, YES),
        (LEFT, NO, NO, LEFT),
        (LEFT, RIGHT, Reasons((*LEFT.unknowns, *RIGHT.unknowns)), Reasons((*LEFT.unknowns, *RIGHT.unknowns))),
    ],
)
def test_and_and_or_follow_kleenes_tables(left: Any, right: Any, both: Any, either: Any) -> None:
    assert answer("and", value(left), value(right)) == both
    assert answer("or", value(left), value(right)) == either


def test_not_keeps_what_is_unknown() -> None:
    assert answer("not", value(YES)) is False
    assert answer("not", value(NO)) is True
    assert answer("not", value(LEFT)) == LEFT


@pytest.mark.parametrize("sign", ["=", "!=", "<", "<=", ">", ">="])
def test_a_comparison_with_the_unknown_is_unknown_for_the_reasons_of_both(sign: str) -> None:
    assert answer("compare", sign, value(LEFT), value(3.0)) == LEFT
    assert answer("compare", sign, value(LEFT), value(RIGHT)).unknowns == (*LEFT.unknowns, *RIGHT.unknowns)


@pytest.mark.parametrize(
    ("sign", "holds"), [("<", False), ("<=", False), (">", False), (">=", False), ("=", False), ("!=", True)]
)
def test_a_comparison_with_what_is_absent_does_not_hold(sign: str, holds: bool) -> None:
    assert answer("compare", sign, value(None), value(3.0)) is holds


def test_quantities_that_differ_by_rounding_are_equal() -> None:
    assert answer("compare", "<=", value(0.1 + 0.2), value(0.3)) is True
    assert answer("compare", "<", value(0.3), value(0.1 + 0.2)) is False
    assert answer("compare", "=", value(0.1 + 0.2), value(0.3)) is True


def test_exists_asks_whether_something_is_there_and_that_may_be_unknown() -> None:
    assert answer("exists", value(3.0)) is True
    assert answer("exists", value(None)) is False
    assert answer("exists", value(())) is False
    assert answer("exists", value(LEFT)) == LEFT


def test_a_choice_on_the_unknown_is_unknown_unless_both_branches_agree() -> None:
    assert answer("choice", value(YES), value(1.0), value(LEFT)) == 1.0
    assert answer("choice", value(LEFT), value(1.0), value(1.0)) == 1.0
    assert answer("choice", value(LEFT), value(1.0), value(2.0)) == LEFT
    assert unknown(answer("choice", value(LEFT), value(1.0), value(RIGHT)))


@pytest.mark.parametrize(
    ("word", "parts", "result"),
    [
        ("any", (), NO),
        ("any", (NO, LEFT), LEFT),
        ("any", (LEFT, YES), YES),
        ("any", (NO, NO), NO),
        ("all", (), YES),
        ("all", (YES, LEFT), LEFT),
        ("all", (LEFT, NO), NO),
        ("count", (YES, NO, YES), 2),
        ("count", (YES, LEFT), LEFT),
        ("sum", (1.0, 2.5, None), 3.5),
        ("max", (1.0, 2.5), 2.5),
        ("max", (), None),
        ("min", (LEFT, 1.0), LEFT),
    ],
)
def test_any_all_and_the_like_settle_what_can_be_settled(
    word: str, parts: tuple[Any, ...], result: Any
) -> None:
    body = Node("slot", (1,), 0, 0)
    assert compiled(Node("each", (word, 1, value(parts), body), 0, 0))([None, None]) == result


def test_arithmetic_with_the_unknown_is_unknown_and_with_the_absent_absent() -> None:
    assert answer("sum", value(1.0), "+", value(LEFT), "-", value(RIGHT)).unknowns == (
        *LEFT.unknowns,
        *RIGHT.unknowns,
    )
    assert answer("sum", value(1.0), "+", value(None)) is None
    assert answer("product", value(6.0), "*", value(2.0), "/", value(4.0)) == 3.0
    assert answer("product", value(6.0), "/", value(0.0)) == float("inf")
    assert answer("product", value(0.0), "/", value(0.0)) is None
    assert answer("minus", value(2.0)) == -2.0


def test_reasons_for_one_place_stand_once() -> None:
    assert answer("and", value(LEFT), value(LEFT)) == LEFT
