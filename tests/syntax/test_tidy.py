"""One layout: a second time changes nothing, nothing said is lost, comments stay where they stand."""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from syrupy.assertion import SnapshotAssertion

from loomwright.source import Source
from loomwright.syntax.lexer import lines
from loomwright.syntax.parse import parse
from loomwright.syntax.tidy import Untidy, tidy
from loomwright.syntax.tree import Comment

CHECKOUT = Path(__file__).parent.parent.parent
FILES = sorted([*CHECKOUT.glob("specs/*/*.fitout"), *CHECKOUT.glob("rules/examples/*/*.fitout")])
MESSY = """\
fitout   "Van"   { stage planned;system 12 V   # twelve
     job "7"
}
# places


place   a{ ambient 40degC; hazards heat,vibration }
place cabinet { ambient 30 degC }   # cool
place empty { }
battery   house in a {
  # what is on the label
  chemistry   lifepo4; capacity 120Ah


  charges-from 0 degC # below that it stops itself

  stud M8
} # two people lift it
feed main from house.pos to hub.in { cable 16mm2 red; along a 0.5m,   # first
    cabinet 1.25m
  end house.pos lug 16 mm2 M8 ; end hub.in lug 16 mm2 M6 }
hub hub in cabinet { rated 60 A
way 1 blade 15 A switched
way 2 none }
"""


def said(text: str) -> tuple[list[list[str]], list[str]]:
    comments: list[Comment] = []
    clauses = [
        [word for _, word, _ in tokens] for tokens, _, _ in lines(Source("", text), comments) if tokens
    ]
    return clauses, [comment.text.rstrip() for comment in comments]


def test_a_messy_spec_is_laid_out(snapshot: SnapshotAssertion) -> None:
    assert tidy(MESSY) == snapshot


@pytest.mark.parametrize("path", FILES, ids=lambda path: "/".join(path.parts[-2:]))
def test_every_spec_says_the_same_afterwards_and_is_tidy_then(path: Path) -> None:
    text = path.read_text()
    once = tidy(text)
    assert said(once) == said(text)
    assert tidy(once) == once
    assert len(parse(Source("", once)).document.statements) == len(
        parse(Source("", text)).document.statements
    )


@settings(max_examples=60, deadline=None)
@given(st.randoms(use_true_random=False), st.sampled_from(FILES))
def test_any_layout_of_a_spec_comes_to_the_same(chance: random.Random, path: Path) -> None:
    """Spaces, blank lines, semicolons and comments strewn about: the words and comments all come through, once."""
    strewn: list[str] = []
    for line in path.read_text().splitlines():
        code, _, comment = line.partition("#") if line.count('"') < 2 else (line, "", "")
        code = re.sub(r" (?=(?:[^\"]*\"[^\"]*\")*[^\"]*$)", lambda _: " " * chance.randint(1, 3), code)
        strewn.append(" " * chance.randint(0, 5) + code.strip() + (f"#{comment}" if comment else ""))
        if chance.random() < 0.1 and not code.rstrip().endswith(","):
            strewn.append(chance.choice(["", "# seen by RM", "   # 16 mm² 🔧", ""]))
    text = "\n".join(strewn) + "\n"
    once = tidy(text)
    assert said(once) == said(text)
    assert tidy(once) == once


def test_what_is_written_together_is_parted_and_long_lists_break_behind_commas() -> None:
    names = ", ".join(f"lamp-number-{number}" for number in range(12))
    rows = tidy(f"mode night {{ engine off; on {names} }}\n").splitlines()
    assert rows[0] == "mode night {"
    assert rows[1] == "    engine off"
    assert all(len(row) <= 110 for row in rows)
    assert rows[3].startswith("           lamp-number-")


@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_line_ends_and_marks_of_other_systems_stay(mark: str) -> None:
    """What is tidy but for them is tidy: no editor of another system is fought."""
    plain = tidy(MESSY)
    other = mark + plain.replace("\n", "\r\n")
    assert tidy(other) == other
    assert tidy(mark + MESSY.replace("\n", "\r\n")) == other
    assert tidy(other.replace("\r\n", "\n", 1)) == mark + plain  # mixed: all end as the first does


def test_comments_on_lines_of_their_own_in_a_list_stay_there() -> None:
    text = """\
feed a from b.pos to c.pos {
    cable 4 mm2 red
    along bay 1 m,  # behind
          # under it
          # and one more
          box 1 m,
          # before the last
          bay 2 m
}
"""
    assert tidy(text) == text
    squeezed = text.replace("          #", "  #").replace("          b", " b")
    assert tidy(squeezed) == text


def test_a_text_with_problems_is_left_alone() -> None:
    with pytest.raises(Untidy) as refused:
        tidy("feed main frm a.pos to b.pos\n")
    assert len(refused.value.problems) == 1
