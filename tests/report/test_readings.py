"""What the `readings` command prints of the example as installed, and of a file of readings."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from syrupy.assertion import SnapshotAssertion

from loomwright.cli import commands

INSTALLED = "specs/orchard-bees/installed.fitout"
PLANNED = "specs/orchard-bees/planned.fitout"


@pytest.fixture(autouse=True)
def _in_the_project(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(Path(__file__).parents[2])


def run(*arguments: str) -> Result:
    return CliRunner().invoke(commands, ["readings", *arguments])


def test_the_table_and_the_conclusion_of_the_installed_example(snapshot: SnapshotAssertion) -> None:
    result = run(INSTALLED)
    assert result.exit_code == 0
    assert result.output == snapshot
    assert max(map(len, result.output.splitlines())) <= 160


def test_only_the_mode_in_which_the_bad_crimp_carries_current_shows_it() -> None:
    blocks = json.loads(run("--format", "json", INSTALLED).output)["readings"]
    found = {block["mode"]: block["diagnosis"] for block in blocks}
    assert not found["driving"]["nothing_wrong"]
    assert found["working"]["nothing_wrong"]
    assert found["night"]["nothing_wrong"]
    first = found["driving"]["suspects"][0]
    assert first["elements"] == ["main"]
    assert first["extra_ohms"] == pytest.approx(0.014, abs=first["extra_ohms_error"])
    assert any("crimp" in piece for piece in found["driving"]["places"][0]["pieces"])


def test_every_reading_beyond_its_limit_says_so_and_no_other() -> None:
    blocks = json.loads(run("--format", "json", INSTALLED).output)["readings"]
    beyond = [row["of"] for block in blocks for row in block["rows"] if row["within"] is False]
    assert beyond == [["dcdc.in", "dcdc.neg"], ["crank.pos", "dcdc.in"]]


def test_a_file_of_readings_tells_the_same_as_a_block_in_the_spec(tmp_path: Path) -> None:
    table = tmp_path / "meter.csv"
    table.write_text(
        "point,shown\ncrank.pos,14.07\ndcdc.in,13.04\ncommon,dcdc.neg,-4 mV\nmain,35.0 A\n", "utf-8"
    )
    result = run("--csv", str(table), "--mode", "driving", "--format", "json", PLANNED)
    (block,) = json.loads(result.output)["readings"]
    assert [row["what"] for row in block["rows"]] == ["volts", "volts", "volts", "amps"]
    assert block["diagnosis"]["suspects"][0]["elements"] == ["main"]


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        ("crank.pso,12.6\n", "meter.csv:1: there is no terminal or run 'crank.pso'"),
        ("crank.pos,12.6\ndcdc.in,low\n", "meter.csv:2: 'low' is no reading"),
        ("crank.pos,12.6 A\n", "meter.csv:1:"),
        ("point,shown\n", "holds no readings"),
    ],
)
def test_a_line_that_is_no_reading_is_named_with_its_place(lines: str, says: str, tmp_path: Path) -> None:
    from loomwright.report.files import Unreadable

    table = tmp_path / "meter.csv"
    table.write_text(lines, "utf-8")
    result = run("--csv", str(table), "--mode", "driving", PLANNED)
    assert isinstance(result.exception, Unreadable)
    assert says in str(result.exception)


def test_a_spec_without_readings_says_what_to_do() -> None:
    from loomwright.report.files import Unreadable

    result = run(PLANNED)
    assert isinstance(result.exception, Unreadable)
    assert "--csv" in str(result.exception)


def test_a_file_of_readings_needs_its_mode_and_a_mode_must_be_there() -> None:
    assert "name it with --mode" in run("--csv", "meter.csv", PLANNED).output
    assert "the spec has no mode 'nite'" in run("--mode", "nite", INSTALLED).output
