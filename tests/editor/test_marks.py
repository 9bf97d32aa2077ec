"""Words are what the parser takes them for; where it takes nothing they are what they look like, and no question fails."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.editor import changes, completion, hover, names, tokens
from loomwright.editor.desk import Desk
from loomwright.editor.marks import marks_of
from loomwright.editor.positions import Lines
from loomwright.source import Source
from loomwright.syntax.parse import parse

PLANNED = (Path(__file__).parents[2] / "specs/orchard-bees/planned.fitout").read_text(encoding="utf-8")
PATH = "/nowhere/van.fitout"


def marked(text: str) -> list[tuple[str, str, str]]:
    return [(mark.text, mark.what, mark.role) for mark in marks_of(Source(PATH, text))]


def test_a_keyword_can_be_a_name() -> None:
    assert marked("feed charge from fuse.in to place.out { loom charge }") == [
        ("feed", "statement", ""),
        ("charge", "name", "declares"),
        ("from", "keyword", ""),
        ("fuse.in", "terminal", "point"),
        ("to", "keyword", ""),
        ("place.out", "terminal", "point"),
        ("loom", "clause", ""),
        ("charge", "name", "loom"),
    ]


@pytest.mark.parametrize(
    ("text", "name", "role"),
    [
        ("place a {}", "a", "declares"),
        ("part battery b {}", "b", "declares"),
        ("load x in b is c {}", "b", "place"),
        ("load x in b is c {}", "c", "part"),
        ("earthpoint e on s in p {}", "s", "structure"),
        ("earthpoint e on s in p {}", "p", "place"),
        ("concession no-sleeve on m {}", "no-sleeve", "rule"),
        ("concession no-sleeve on m {}", "m", "thing"),
        ('readings 2026-11-20 by "RM" in night {}', "night", "mode"),
        ("day d { night 3 h }", "night", "mode"),
        ("mode m { closed iso; on lamp 50 % }", "iso", "contact"),
        ("mode m { closed iso; on lamp 50 % }", "lamp", "device"),
        ("feed f { along a 1 m, b 2 m }", "b", "place"),
        ("feed f { sleeve braid in b }", "b", "place"),
        ("feed f { fuse strip 5 A at 1 m from x.y in z }", "z", "place"),
        ("feed f { fuse strip 5 A at 1 m from x.y in z }", "x.y", "point"),
        ("feed f { end x.y lug 8 B&S M8 with g }", "g", "run"),
        ("feed f { core tail }", "tail", "multicore"),
        ("structure s { bonded a.neg }", "a.neg", "point"),
        ('readings 2026-11-20 by "RM" in n { amps main 3 A; volts a.b to c 3 V }', "main", "run"),
        ('readings 2026-11-20 by "RM" in n { amps main 3 A; volts a.b to c 3 V }', "c", "point"),
    ],
)
def test_a_name_is_known_for_what_it_names(text: str, name: str, role: str) -> None:
    assert role in [found for word, _, found in marked(text) if word == name]


def test_after_a_slip_the_next_clause_and_the_next_statement_are_read_again() -> None:
    found = marked("feed f { kable 8 B&S\n along b 1 m\nload x in b { draws 3 A }\n")
    assert ("b", "name", "place") in found
    assert ("along", "clause", "") in found
    assert ("load", "statement", "") in found
    assert ("draws", "clause", "") in found


def test_every_token_of_a_sound_spec_is_known() -> None:
    assert not [m for m in marks_of(Source(PATH, PLANNED)) if m.what in ("name", "terminal") and not m.role]


def test_every_name_that_the_reader_declares_is_a_mark() -> None:
    source = Source(PATH, PLANNED)
    declared = [s.name.span.start for s in parse(source).document.statements if s.name]
    assert declared == [m.start for m in marks_of(source) if m.role == "declares"]


def test_lines_end_as_the_protocol_says() -> None:
    lines = Lines("a\r\nb\rc\nd\u2028e")
    assert lines.texts == ["a\r\n", "b\r", "c\n", "d\u2028e"]
    assert lines.place(3) == (1, 0)
    assert lines.offset(3, 2) == 9
    assert lines.offset(9, 0) == len("a\r\nb\rc\nd\u2028e")


WORDS = st.sampled_from(
    ["feed", "main", "from", "crank.pos", "{", "}", ";", "\n", ",", "cable", "8", "B&S", "°C", "🐝", '"', "#", "along", "in", "M8", "place"]
)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(st.one_of(st.lists(WORDS, max_size=25).map(" ".join), st.text(max_size=60)), st.data())
def test_no_question_about_any_text_fails(text: str, data: st.DataObject) -> None:
    desk = Desk()
    desk.put(PATH, text)
    offset = data.draw(st.integers(0, len(desk.buffers[PATH])))
    start, _ = completion.choices(desk, PATH, offset)
    assert 0 <= start <= offset
    hover.hover(desk, PATH, offset)
    names.references(desk, PATH, offset)
    names.symbols(desk, PATH)
    changes.laid_out(text)
    end = 0
    for a, b, _, _ in tokens.tokens(marks_of(Source(PATH, text))):
        assert end <= a <= b
        end = b


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_every_cut_of_a_spec_is_answered(data: st.DataObject) -> None:
    end = data.draw(st.integers(0, len(PLANNED)))
    desk = Desk()
    desk.put(PATH, PLANNED[:end])
    completion.choices(desk, PATH, end)
    assert hover.hover(desk, PATH, end // 2) is None or end > 0


@pytest.mark.parametrize(
    "line", ["feed x from lamp.pos to ", "concession unfused-feed on ", "feed x from lamp.pos to blo"]
)
def test_a_part_is_offered_as_nothing_that_is_on_the_vehicle(line: str) -> None:
    text = f"part block load {{ draws 2 A }}\nplace box {{ }}\nload lamp in box {{ draws 1 A }}\n{line}"
    desk = Desk()
    desk.put(PATH, text)
    _, found = completion.choices(desk, PATH, len(text))
    assert "lamp.pos" in [one.text for one in found]
    assert not [one.text for one in found if one.text.startswith("block")]


@pytest.mark.parametrize(
    ("before", "written", "held"),
    [("load x in box { draws", "60 A", False), ("battery x in box { internal", "120 mohm", True)],
)
def test_how_a_quantity_is_held_is_told_where_it_is_not_as_written(
    before: str, written: str, held: bool
) -> None:
    text = f"{before} {written} }}"
    desk = Desk()
    desk.put(PATH, text)
    told = hover.hover(desk, PATH, text.index(written) + 1)
    assert told is not None
    assert ("held as" in told[1]) == held


def test_two_times_of_a_band_have_one_unit() -> None:
    assert hover._both(0.00716, 0.109) == "0.00716 to 0.109 s"
    assert hover._both(0.0021, 0.0071) == "2.1 to 7.1 ms"
