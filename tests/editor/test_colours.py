"""Colours without a server agree with the parser on sound specs, and lose no letter of any text."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.editor import colours
from loomwright.editor.highlight import TOKENS, FitoutLexer
from loomwright.editor.marks import marks_of
from loomwright.source import Source

ROOT = Path(__file__).parents[2]
SPECS = sorted((ROOT / "specs").rglob("*.fitout"))
KINDS = {token: kind for kind, token in TOKENS.items()}
SAME = {
    "statement": "statement",
    "clause": "clause",
    "string": "string",
    "comment": "comment",
    "unit": "unit",
    "number": "number",
}


def coloured(text: str) -> dict[int, tuple[str, str]]:
    """Text and kind of each token by its offset."""
    return {
        at: (value, KINDS.get(token, "")) for at, token, value in FitoutLexer().get_tokens_unprocessed(text)
    }


@pytest.mark.parametrize("path", SPECS, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_the_colours_of_a_sound_spec_are_those_of_the_parser(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    found = coloured(text)
    for mark in marks_of(Source(str(path), text)):
        if mark.what in SAME:
            assert found[mark.start] == (mark.text, SAME[mark.what]), f"{mark.text!r} at {mark.start}"
        elif mark.what == "terminal":
            assert found[mark.start] == (mark.name, "name")


def test_a_quantity_is_a_number_and_its_unit() -> None:
    found = coloured("feed main from a.b to c.d { cable 16mm² red 90 °C; along box 0.15 m }")
    kinds = dict(found.values())
    assert kinds["16"] == kinds["0.15"] == "number"
    assert kinds["mm²"] == kinds["°C"] == kinds["m"] == "unit"
    assert kinds["red"] == "word"
    assert kinds["from"] == "joining"
    assert kinds[".b"] == "terminal"


@settings(max_examples=100, deadline=None)
@given(st.text(alphabet=st.sampled_from('feed {};"#\n .8B&S°C🐝-'), max_size=80))
def test_no_letter_is_lost(text: str) -> None:
    assert "".join(value for _, _, value in FitoutLexer().get_tokens_unprocessed(text)) == text


def patterns(part: Any) -> Iterator[str]:
    if isinstance(part, dict):
        yield from (value for key, value in part.items() if key in ("match", "begin", "end"))
        for value in part.values():
            yield from patterns(value)
    elif isinstance(part, list):
        for value in part:
            yield from patterns(value)


def test_the_textmate_grammar_is_as_the_language_has_it_now() -> None:
    kept = (ROOT / "src/loomwright/editor/fitout.tmLanguage.json").read_text(encoding="utf-8")
    assert kept == colours.printed(), (
        "run: python -m loomwright.editor.colours > src/loomwright/editor/fitout.tmLanguage.json"
    )
    grammar = json.loads(kept)
    assert grammar["scopeName"] == "source.fitout"
    found = list(patterns(grammar))
    assert len(found) > 10
    for pattern in found:
        re.compile(pattern)
        assert "(?>" not in pattern  # not every engine has it


def test_the_manual_s_set_ups_start_the_server_by_its_command() -> None:
    page = (ROOT / "docs/editors.md").read_text(encoding="utf-8")
    blocks = re.findall(r"^```(\w+)\n(.*?)^```$", page, re.MULTILINE | re.DOTALL)
    for language, text in blocks:
        if language in ("lua", "elisp", "js"):
            assert re.search(r'"loomwright".*"editor"', text), language
        if language == "json":
            assert json.loads(text)["contributes"]["grammars"][0]["scopeName"] == "source.fitout"
        if language == "python":
            compile(text, "docs/editors.md", "exec")
    assert {language for language, _ in blocks} == {"lua", "elisp", "js", "json", "python"}
