"""Text is reckoned from a table and broken to fit."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from loomwright.sheets.drawings.lettering import SIZE, shortened, width_of, wrapped
from loomwright.sheets.drawings.svg import course, escaped, number


def test_widths_are_those_of_the_face() -> None:
    """DejaVu Sans 2.37: A is 1401, i 569 and the space 651 of 2048 units wide (its hmtx table, rounded to thousandths)."""
    for letter, units in (("A", 1401), ("i", 569), (" ", 651)):
        assert abs(width_of(letter) - units / 2048 * SIZE) < 0.01


def test_a_picture_is_wide_and_a_mark_adds_nothing() -> None:
    assert width_of("\U0001f41d") > width_of("W")
    assert width_of("e\u0301") == width_of("e")


@given(st.text(max_size=60), st.floats(20, 120))
def test_wrapped_lines_fit(text: str, room: float) -> None:
    lines = wrapped(text, room, 3)
    assert 1 <= len(lines) <= 3
    assert all(width_of(line) <= room for line in lines)


def test_names_break_after_hyphens_and_lose_nothing_that_fits() -> None:
    assert wrapped("incubator-feed", 50.0) == ("incubator-", "feed")
    assert wrapped("short", 50.0) == ("short",)


def test_what_is_cut_says_so() -> None:
    assert shortened("a very long name of a run", 40.0).endswith("…")


def test_numbers_are_rounded_to_a_tenth() -> None:
    assert [number(value) for value in (1.0, 1.25, -0.04, 10.06)] == ["1", "1.2", "0", "10.1"]


def test_a_course_has_no_needless_points() -> None:
    assert course([(0, 0), (5, 0), (5, 0), (9, 0), (9, 4)]) == "M0 0L9 0L9 4"


def test_what_xml_cannot_hold_is_replaced() -> None:
    assert escaped("a\x00\x0b<b>\"&'\ud800") == "a\ufffd\ufffd&lt;b&gt;&quot;&amp;'\ufffd"
