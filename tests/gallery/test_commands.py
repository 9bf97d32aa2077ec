"""Every message about the command line and about files that can't be read."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from click.testing import CliRunner
from syrupy.assertion import SnapshotAssertion

from loomwright.cli import commands
from loomwright.report.files import Unreadable

from .gallery import HEAD

ASKED = """
check
check missing.fitout
check empty
check latin.fitout
check --only unfused-fed sound.fitout
check --skip xyzzy sound.fitout
check --skip licensed-work sound.fitout
check --severity grave sound.fitout
check --format prose sound.fitout
check --today tomorrow sound.fitout
chek sound.fitout
explain xyzzy
explain run.carrys
explain xyzzy sound.fitout main
explain run.carries sound.fitout
explain run.carries sound.fitout mian
explain run.carries sound.fitout crank
explain run.sturdy-size sound.fitout back
explain run.carries broken.fitout main
figures --mode nite sound.fitout
sheets sound.fitout -o papers --only work-ordr
"""

SPEC = f"""{HEAD}
place bay {{ ambient 60 degC }}
structure chassis {{ metal steel; bonded crank.neg }}
battery crank in bay {{ chemistry lead-acid; capacity 75 Ah; stud M8 }}
load lamp in bay {{ draws 5 A }}
feed main from crank.pos to lamp.pos {{ cable 2 mm2; along bay 1 m; fuse blade 10 A at 0.1 m }}
earth back from lamp.neg to chassis {{ cable 2 mm2; along bay 1 m }}
mode night {{ on lamp }}
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "empty").mkdir()
    (tmp_path / "latin.fitout").write_bytes("place küche".encode("latin-1"))
    (tmp_path / "sound.fitout").write_text(SPEC, encoding="utf-8")
    (tmp_path / "broken.fitout").write_text("frobnicate", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def answer(line: str, typed: bytes = b"") -> str:
    """What is said, without the usage that stands above it. `typed` is what comes on standard input."""
    result = CliRunner().invoke(commands, line.split(), input=typed, prog_name="loomwright")
    if isinstance(result.exception, Unreadable):
        return f"loomwright: {result.exception}"
    assert result.exit_code == 2, (line, result.output, result.exception)
    return "\n".join(said for said in result.output.split("\n") if said.startswith("Error:"))


@pytest.mark.usefixtures("folder")
def test_what_is_said_of_a_command_line(snapshot: SnapshotAssertion) -> None:
    lines = ASKED.strip().split("\n")
    assert "\n".join(f"loomwright {line}\n    {answer(line)}\n" for line in lines) == snapshot


def test_what_is_said_of_a_path_that_is_neither_file_nor_folder(
    folder: Path, snapshot: SnapshotAssertion
) -> None:
    os.mkfifo(folder / "pipe")
    assert f"loomwright check pipe\n    {answer('check pipe')}\n" == snapshot


def test_what_is_said_of_standard_input_that_is_no_text(snapshot: SnapshotAssertion) -> None:
    assert f"loomwright check -\n    {answer('check -', 'place küche'.encode('latin-1'))}\n" == snapshot
