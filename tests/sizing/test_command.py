"""`size` on the command line: what it prints, and that it writes sizes into a spec and nothing else."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from loomwright.cli import commands
from loomwright.sizing.writing import NotWritten, put_in

SPEC = """fitout "Bench" { stage planned; system 12 V }
practice { sleeve split-tube; clips 0.25 m; ends crimped sealed tight }
place shed { ambient 30 degC }
battery b in shed { serves house; chemistry lifepo4; capacity 100 Ah; internal 10 mohm; stud M8 }
load lamp in shed { draws 9 A; stud M5 }
feed f from b.pos to lamp.pos { cable auto red 105 degC; along shed 4 m; fuse auto at 0.1 m; ends lug auto M8 }   # kept
earth e from lamp.neg to b.neg { cable auto black; along shed 4 m; end lamp.neg lug auto M5; end b.neg lug auto M8 }
mode on { engine off; on lamp }
"""


def run(*words: str) -> str:
    result = CliRunner().invoke(commands, ["size", *words])
    assert result.exit_code == 0, result.output
    return result.output


def test_it_tells_old_new_and_what_binds_and_does_not_write_unasked(tmp_path: Path) -> None:
    spec = tmp_path / "x.fitout"
    spec.write_text(SPEC)
    told = run(str(spec))
    assert "f cable" in told
    assert "auto" in told
    assert "licensed electrician" in told
    assert "invented for want of a price list" in told
    assert spec.read_text() == SPEC


def test_writing_keeps_the_mark_the_line_ends_and_the_comments(tmp_path: Path) -> None:
    spec = tmp_path / "x.fitout"
    spec.write_bytes(b"\xef\xbb\xbf" + SPEC.replace("\n", "\r\n").encode())
    run("--write", str(spec))
    written = spec.read_bytes()
    assert written.startswith(b"\xef\xbb\xbffitout")
    assert written.count(b"\r\n") == SPEC.count("\n")
    assert b"auto" not in written
    assert b"# kept" in written
    assert [path.name for path in tmp_path.iterdir()] == ["x.fitout"]
    again = run("--all", str(spec))
    assert "auto" not in again
    run("--write", "--all", str(spec))
    assert spec.read_bytes() == written


def test_as_json_each_size_has_its_binding_rule_and_cost(tmp_path: Path) -> None:
    spec = tmp_path / "x.fitout"
    spec.write_text(SPEC)
    data = json.loads(run("--format", "json", str(spec)))
    assert data["version"] == 1
    assert {(one["what"], one["of"]) for one in data["sizes"]} == {
        ("cable", "f"),
        ("cable", "e"),
        ("fuse", "f"),
    }
    assert all(one["old"] is None and one["binding"]["text"] for one in data["sizes"])
    assert data["cost"] == pytest.approx(sum(one["cost"] for one in data["sizes"]), abs=1e-3)


def test_a_spec_that_leaves_nothing_open_says_so(tmp_path: Path) -> None:
    spec = tmp_path / "x.fitout"
    spec.write_text('fitout "X" { stage planned; system 12 V }\n')
    assert "Nothing here says auto" in run(str(spec))


def test_a_spec_with_errors_lists_them_and_exits_with_2(tmp_path: Path) -> None:
    spec = tmp_path / "x.fitout"
    spec.write_text(SPEC.replace("draws 9 A", "drows 9 A"))
    result = CliRunner().invoke(commands, ["size", str(spec)])
    assert result.exit_code == 2
    assert "drows" in result.output


def test_where_no_choice_holds_it_exits_with_1_and_says_which_limit(tmp_path: Path) -> None:
    spec = tmp_path / "x.fitout"
    spec.write_text(
        SPEC.replace("4 m", "20 m").replace("M5", "M8").replace("draws 9 A", "draws 120 A; critical")
    )
    result = CliRunner().invoke(commands, ["size", "--write", str(spec)])
    assert result.exit_code == 1
    assert "drop-critical would have to be" in result.output
    assert "auto" in spec.read_text()


HOT = SPEC.replace("ambient 30 degC", "ambient 120 degC")


def test_insulation_that_its_place_is_too_hot_for_is_named_with_what_would_do(tmp_path: Path) -> None:
    spec = tmp_path / "x.fitout"
    spec.write_text(HOT.replace("auto black", "auto black 105 degC"))
    result = CliRunner().invoke(commands, ["size", str(spec)])
    assert result.exit_code == 1
    # by hand: 120 °C and the 10 K of the limit insulation-margin
    assert "its insulation is of 105 °C and its hottest place has 120 °C" in result.output
    assert "take insulation of 130 °C or more" in result.output


STANDING = """fitout "Bench" { stage planned; system 12 V }
practice { sleeve split-tube; clips 0.25 m; ends crimped sealed tight }
place shed { ambient 30 degC }
battery b in shed { serves house; chemistry lifepo4; capacity 100 Ah; internal 2 mohm; stud M8 }
load lamp in shed { draws 9 A; stud M5 }
feed f from b.pos to lamp.pos { cable 16 mm2 red 105 degC; along shed 1 m; fuse blade auto at 0.1 m; ends lug auto M8 }
earth e from lamp.neg to b.neg { cable 16 mm2 black; along shed 1 m; end lamp.neg lug auto M5; end b.neg lug auto M8 }
mode on { engine off; on lamp }
"""


@pytest.mark.parametrize("words", [(), ("--write",)])
def test_a_major_finding_that_no_size_mends_ends_with_1(words: tuple[str, ...], tmp_path: Path) -> None:
    spec = tmp_path / "x.fitout"
    spec.write_text(STANDING)  # ISO 8820-3: a blade fuse breaks 1000 A, and this battery sends more
    result = CliRunner().invoke(commands, ["size", *words, str(spec)])
    assert "No size mends" in result.output
    assert result.exit_code == 1
    assert ("blade auto" in spec.read_text()) == (not words)


def test_a_file_that_changed_meanwhile_is_left_alone(tmp_path: Path) -> None:
    spec = tmp_path / "x.fitout"
    spec.write_text("new\n")
    with pytest.raises(NotWritten, match="has changed"):
        put_in(str(spec), "old\n", "sized\n")
    assert spec.read_text() == "new\n"
