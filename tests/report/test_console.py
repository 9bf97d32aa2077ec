"""What a terminal that can't show everything gets, and when colour is used."""

from __future__ import annotations

import io

import pytest

from loomwright.report.console import put, wants_colour


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("environment", "terminal", "colour"),
    [
        ({}, True, True),
        ({}, False, False),
        ({"NO_COLOR": "1"}, True, False),
        ({"FORCE_COLOR": "1"}, False, True),
        ({"FORCE_COLOR": "1", "NO_COLOR": "1"}, True, False),
        ({"FORCE_COLOR": "0"}, False, False),
        ({"TERM": "dumb"}, True, False),
    ],
)
def test_colour_is_for_terminals_unless_the_environment_says_otherwise(
    environment: dict[str, str], terminal: bool, colour: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("NO_COLOR", "FORCE_COLOR", "TERM"):
        monkeypatch.delenv(name, raising=False)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    assert wants_colour(Terminal() if terminal else io.StringIO()) is colour


@pytest.mark.parametrize(
    ("encoding", "shown"),
    [
        ("utf-8", "16 mm², 60 °C, 6 mΩ 🔧"),
        ("cp437", "16 mm², 60 °C, 6 mΩ ?"),
        ("ascii", "16 mm2, 60 deg C, 6 mohm ?"),
    ],
)
def test_a_narrow_character_set_degrades_and_never_crashes(encoding: str, shown: str) -> None:
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding=encoding)
    put("16 mm², 60 °C, 6 mΩ 🔧", stream)
    if encoding == "cp437":  # one sign that it lacks costs the others too
        shown = "16 mm2, 60 deg C, 6 mohm ?"
    assert raw.getvalue().decode(encoding) == shown
