"""No text at all makes the reader fail, or take more than time in proportion."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.syntax.forms import CLAUSES, STATEMENTS

from ..timing import seconds
from .saying import read, told

WORDS = [
    *STATEMENTS, *sorted({word for forms in CLAUSES.values() for word in forms}), "{", "}", "{", "}", ";", "\n", "\n", ",", "none",
    "unknown", "auto", "x", "at", "in", "from", "to", "main", "crank.pos", "M8", "8 B&S", "16 mm2", "6 mm", "0.5 m", "60 A", "12 V",
    "1e999 V", "-5 Ah", "2026-11-18", "2026-99-99", '"text"', '"open', "red", "black/red", "#", "°C", "🐝", "\r\n", "\x00", "2/0", "50 %",
]  # fmt: skip


def check(text: str) -> None:
    parsed = read(text)
    for problem in parsed.problems:
        assert 0 <= problem.span.start <= problem.span.end <= len(text)
        assert problem.message.isprintable()
        assert len(problem.message) < 300
    for statement in parsed.document.statements:
        assert 0 <= statement.span.start < statement.span.end <= len(text)
        assert statement.kind.text in STATEMENTS


@settings(max_examples=150, deadline=None)
@given(st.text())
def test_any_text_is_read_without_failing(text: str) -> None:
    check(text)


@settings(max_examples=50, deadline=None)
@given(st.lists(st.sampled_from(WORDS), max_size=60))
def test_the_same_text_gives_the_same_problems(words: list[str]) -> None:
    assert told(read(" ".join(words))) == told(read(" ".join(words)))


@settings(max_examples=120, deadline=None)
@given(st.lists(st.sampled_from(WORDS), max_size=60))
def test_any_order_of_words_is_read_without_failing(words: list[str]) -> None:
    check(" ".join(words))


@settings(max_examples=120, deadline=None)
@given(st.data())
def test_a_spec_with_a_piece_cut_out_or_moved_is_read_without_failing(
    specs: Path, data: st.DataObject
) -> None:
    text = (specs / "orchard-bees" / "planned.fitout").read_text(encoding="utf-8")
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, min(len(text), start + 200)))
    to = data.draw(st.integers(0, len(text)))
    rest = text[:start] + text[end:]
    check(rest)
    check(rest[:to] + text[start:end] + rest[to:])
    check(text[:start])


def binary(size: int) -> str:
    return random.Random(1).randbytes(size).decode("utf-8", "surrogateescape")


RUBBISH: dict[str, Callable[[int], str]] = {
    "letters": lambda size: "".join(random.Random(1).choices('abc {}\n;,"#0.1-', k=size)),
    "binary": binary,
    "open braces": lambda size: "{" * size,
    "closing braces": lambda size: "}" * size,
    "blocks in blocks": lambda size: "a{" * (size // 2),
    "braces in a block": lambda size: "place x {" + "{}" * (size // 2),
    "open braces in a block": lambda size: "place x {" + "{ a\n" * (size // 4),
    "heads without braces": lambda size: "place x inside\n" * (size // 15),
    "heads in heads": lambda size: "place x {\n" * (size // 10),
    "one name": lambda size: "a-" * (size // 2) + "a",
    "one number": lambda size: "battery b in c { capacity " + "9" * size + " Ah }",
    "one unit": lambda size: "battery b in c { capacity 9 " + "m*" * (size // 2) + "m }",
    "one text": lambda size: 'fitout "' + "x" * size,
    "one list": lambda size: "place x { hazards " + "heat, " * (size // 6) + "sun }",
    "one end": lambda size: "feed a from b to c { end b " + "crimped " * (size // 8) + "}",
    "carried on": lambda size: "load x in y {" + "critical,\n" * (size // 10) + "}",
    "repeats": lambda size: "feed a from b to c {" + "cable 6 mm2\n" * (size // 12) + "}",
    "open texts": lambda size: 'fitout "x }\n' * (size // 11),
    "blanks": lambda size: " " * size,
    "line ends": lambda size: "\n" * size,
    "comments": lambda size: "#x\n" * (size // 3),
}  # fmt: skip


@pytest.mark.parametrize("kind", RUBBISH)
def test_rubbish_takes_time_in_proportion(kind: str) -> None:
    few, many = RUBBISH[kind](10_000), RUBBISH[kind](100_000)
    most = 30 * min(seconds(lambda: check(few)) for _ in range(3)) + 0.1
    assert any(seconds(lambda: check(many)) < most for _ in range(2))  # something else may be in the way once


RUN = """
feed run-{0} from a{0}.pos to b{0}.in {{
    cable  8 B&S red 105 degC   # why
    along  toolbox 0.7 m, firewall, rail-inside 3.1 m
    fuse   strip 60 A at 0.15 m
    end    a{0}.pos lug 8 B&S M8
    label  "RUN {0}"
}}
"""


def test_ten_times_the_runs_take_about_ten_times_as_long() -> None:
    def text_of(runs: int) -> str:
        text = "".join(RUN.format(number) for number in range(runs))
        parsed = read(text)
        assert len(parsed.document.statements) == runs
        assert parsed.count == 0
        return text

    few, many = text_of(100), text_of(1000)
    most = 30 * min(seconds(lambda: read(few)) for _ in range(3))
    assert any(seconds(lambda: read(many)) < most for _ in range(3))
