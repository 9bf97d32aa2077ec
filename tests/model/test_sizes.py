"""A size that nobody makes is told at its place, and never met by a fact."""

from __future__ import annotations

from pathlib import Path

import pytest

import loomwright

PLANNED = (Path(__file__).parents[2] / "specs/orchard-bees/planned.fitout").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("sound", "wrong", "hint"),
    [
        ("cable  8 B&S red", "12 B&S", "8 B&S and 6 B&S"),
        ("lug 8 B&S M8", "12 B&S", "8 B&S and 6 B&S"),
        ("twin 4 mm auto", "17 mm auto", "5 mm auto and 6 mm auto"),
        ("cable  8 B&S red", "999 mm2", "95 mm² and 120 mm²"),
        ("cable  8 B&S red", "39 AWG", "24 AWG and 22 AWG"),
    ],
)
def test_a_size_that_is_not_made_is_an_error_with_the_nearest_that_are(
    sound: str, wrong: str, hint: str
) -> None:
    written = next(size for size in ("8 B&S", "4 mm auto") if size in sound)
    report = loomwright.check(PLANNED.replace(sound, sound.replace(written, wrong), 1))
    (error,) = report.errors
    assert error.message == f"there is no conductor of '{wrong}'"
    assert error.span.text == wrong
    assert hint in error.hint
