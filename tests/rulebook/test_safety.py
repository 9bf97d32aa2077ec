"""A rule file from a stranger can waste its own lines and nothing else."""

from __future__ import annotations

import random
import time
from collections.abc import Callable

import pytest

from loomwright.rulebook.load import Rulebook

Book = Callable[..., Rulebook]


def rule(condition: str) -> str:
    return f'rule x major "t" {{ for feed f; need {condition}\n say "s"; why "w"; do "d"; source practice }}'


@pytest.mark.parametrize(
    "reach",
    [
        "f.__class__ exists",
        "f.span exists",
        "f.start exists",
        "f.clauses exists",
        "__import__(f) exists",
        "open(f) exists",
        "f.from.__init__.__globals__ exists",
        "f['maker']",
        "lambda: f",
        "f.maker; import os",
        "limit.__class__ exists",
    ],
)
def test_no_expression_reaches_python(reach: str, book: Book) -> None:
    read = book(rule(reach))
    assert read.problems
    assert not read.rules


@pytest.mark.parametrize(
    ("bomb", "message"),
    [
        ("not " * 500 + "f.maker", "nests more than 40 deep"),
        ("- " * 500 + "3 A < f.carries", "nests more than 40 deep"),
        ("1 if f.maker else " * 300 + "2 = 2", "nests more than 40 deep"),
        ("(" * 1500 + "f.maker" + ")" * 1500, "more than 2000 words"),
        ("(" * 500 + "f.maker", "something is missing"),
        ("f" + ".from" * 300 + " exists", "nests more than 40 deep"),
        (" and ".join(["f.maker"] * 3000), "more than 2000 words"),
        ("any a of f.ends: any b of f.ends: any c of f.ends: a.held is tight", "inside one another"),
        ("1e999 < 2", "too large a number"),
        ("9" * 5000 + " A < f.carries", "too large a number"),
    ],
)
def test_bombs_are_refused_in_words(bomb: str, message: str, book: Book) -> None:
    problems = book(rule(bomb)).problems
    assert len(problems) == 1
    assert message in problems[0].message


def test_a_long_chain_is_not_deep(book: Book) -> None:
    assert (
        book(rule(" and ".join(["f.maker"] * 300) + " and " + " + ".join(["3 A"] * 300) + " > 1 A")).problems
        == ()
    )


def test_names_given_with_let_do_not_multiply(book: Book) -> None:
    lets = "\n".join(f"let a{n + 1} = a{n} + a{n}" for n in range(60))
    text = rule("f.maker").replace("for feed f;", f"for feed f\nlet a0 = f.carries\n{lets}\n")
    started = time.process_time()
    assert book(text).problems == ()
    assert time.process_time() - started < 1


@pytest.mark.parametrize("seed", range(20))
def test_broken_text_gives_problems_and_never_an_exception(seed: int, book: Book) -> None:
    chance = random.Random(seed)
    text = rule('any e of f.ends: e.held is tight and f.area < 3 mm2 if f.maker else "x"') * 3
    for _ in range(12):
        at = chance.randrange(len(text))
        text = (
            text[:at]
            + chance.choice(["", "{", "}", '"', "\n", "(", ")", " of ", "\0", "é", "#", ";", "{f}"])
            + text[at + chance.randrange(4) :]
        )
    book(text)


def test_what_is_no_rule_file_takes_time_in_proportion(book: Book) -> None:
    started = time.process_time()
    read = book("x { " * 20_000 + '"' * 20_000 + "\x00\xff" * 20_000)
    assert read.problems
    assert time.process_time() - started < 5
