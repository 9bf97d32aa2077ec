"""A text that is read with what it said before says the same as one that is read anew."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from loomwright.source import Source
from loomwright.syntax.again import Earlier
from loomwright.syntax.parse import parse

CHECKOUT = Path(__file__).parents[2]
SPECS = sorted(CHECKOUT.glob("specs/*/*.fitout"))
PIECES = (
    "x",
    " ",
    "\t",
    "0",
    "-",
    ".",
    ",",
    '"',
    "{",
    "}",
    ";",
    "#",
    "\n",
    "none",
    " 16 mm2",
    "end ",
    "unknown",
    "é",
)


def retyped(text: str, chance: random.Random) -> str:
    """The text after one stroke: something put in, taken out, doubled or moved."""
    at = chance.randrange(len(text))
    to = min(len(text), at + chance.choice((1, 1, 1, 2, 5, 40)))
    match chance.randrange(4):
        case 0:
            return text[:at] + chance.choice(PIECES) + text[at:]
        case 1:
            return text[:at] + text[to:]
        case 2:
            lines = text.splitlines(keepends=True)
            line = chance.randrange(len(lines))
            return "".join((*lines[:line], lines[line], *lines[line:]))
        case _:
            lines = text.splitlines(keepends=True)
            line = chance.randrange(len(lines))
            return "".join((*lines[line:], *lines[:line]))


@pytest.mark.parametrize("path", SPECS, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_stroke_by_stroke_the_same_is_read(path: Path) -> None:
    """tests/bench/fuzz.py goes further."""
    chance = random.Random(path.stem)
    text = path.read_text(encoding="utf-8")
    before = parse(Source(path.name, text))
    for _ in range(16):
        text = retyped(text, chance)
        source = Source(path.name, text)
        after = parse(source, before)
        assert after == parse(source)
        before = after
        if len(before.problems) > 12:  # too broken to say much: begin again
            text = path.read_text(encoding="utf-8")
            before = parse(Source(path.name, text))


def test_what_stands_unchanged_is_moved_with_its_places() -> None:
    old = parse(
        Source("van", 'fitout "Van" { stage planned; system 12 V }\nload lamp in bay { draws 45 W }\n')
    )
    text = 'fitout "Van" { stage planned; system 12 V }\n# new\n\nload lamp in bay { draws 45 W; stud M6 }\n'
    source = Source("van", text)
    lamp = parse(source, old).document.statements[1]
    assert lamp.name is not None
    assert [clause.span.text for clause in lamp.clauses] == ["draws 45 W", "stud M6"]
    assert (lamp.name.span.source, lamp.name.span.text, lamp.name.span.line) == (source, "lamp", 4)


def test_a_clause_of_a_line_with_a_slip_is_read_anew() -> None:
    parsed = parse(Source("van", "load lamp in bay {\n  draws 45 w\n  stud M6\n}\n"))
    earlier = Earlier(parsed.document, parsed.problems)
    source = Source("van", "draws 45 w\nstud M6")
    assert earlier.clause("load", source.span(0, 10)) is None
    assert earlier.clause("load", source.span(11, 18)) is not None


def test_a_clause_that_stands_twice_now_is_a_slip() -> None:
    old = parse(Source("van", "load lamp in bay { stud M6 }\n"))
    source = Source("van", "load lamp in bay { stud M6; stud M6 }\n")
    assert [one.message for one in parse(source, old).problems] == ["'stud' stands here a second time"]
