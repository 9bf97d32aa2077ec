"""Baselines: known findings by rule and names; they shrink, never grow, and never hide what is dangerous."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from hypothesis import given
from hypothesis import strategies as st

from loomwright.cli import commands
from loomwright.report import baseline
from loomwright.report.check import Checked, Report
from loomwright.report.files import Unreadable
from loomwright.rulebook.finding import Conceded, Finding
from loomwright.source import Source

SOURCE = Source("specs/van.fitout", "feed main from crank.pos to house.pos\n" * 9)
PATH = "specs/known.json"
RULES = {"bare-joint", "taped-joint", "unfused-feed"}


def finding(
    rule: str = "bare-joint", thing: str = "main", severity: str = "major", **changes: Any
) -> Finding:
    fields: dict[str, Any] = {
        "rule": rule,
        "severity": severity,
        "rule_severity": severity,
        "span": SOURCE.span(15, 24),
        "things": (thing, "crank.pos"),
        "at": "",
        "message": "a joint is bare",
        "why": "",
        "do": "",
        "sources": (),
    }
    return Finding(**{**fields, **changes})


def report(*findings: Finding) -> Report:
    return Report((Checked("specs/van.fitout", "Van", "as-found", 1, 2, 30),), findings, ())


def known(*findings: Finding) -> list[baseline.Entry]:
    return baseline.parse(baseline.written(report(*findings), PATH, None, RULES))


def part(found: Report, *before: Finding) -> baseline.Parted:
    return baseline.part(found, known(*before), PATH, RULES)


def test_the_file_has_one_sorted_entry_a_line_with_paths_from_its_own_folder() -> None:
    text = baseline.written(report(finding("taped-joint"), finding()), PATH, None, RULES)
    assert text == (
        '{"version": 1, "known": [\n'
        '  {"file": "van.fitout", "rule": "bare-joint", "things": ["main", "crank.pos"], "severity": "major"},\n'
        '  {"file": "van.fitout", "rule": "taped-joint", "things": ["main", "crank.pos"], "severity": "major"}\n'
        "]}\n"
    )
    assert text == baseline.written(report(finding(), finding("taped-joint")), PATH, None, RULES)


def test_a_known_finding_is_known_on_another_line_and_in_other_words() -> None:
    moved = finding(span=SOURCE.span(90, 99), message="other words")
    assert part(report(moved), finding()).report.findings == ()


def test_a_new_finding_stays_and_so_does_a_second_one_of_a_kind_known_once() -> None:
    assert part(report(finding(), finding(thing="charge")), finding()).report.findings == (
        finding(thing="charge"),
    )
    assert len(part(report(finding(), finding()), finding()).report.findings) == 1


def test_a_finding_that_got_worse_is_new_and_one_that_got_better_is_known() -> None:
    worse = part(report(finding(severity="major")), finding(severity="minor"))
    assert len(worse.report.findings) == 1
    better = part(report(finding(severity="minor")), finding(severity="major"))
    assert better.report.findings == ()


def test_a_dangerous_finding_stays_in_force_although_it_is_known() -> None:
    parted = part(
        report(finding(severity="dangerous"), finding(thing="charge")),
        finding(severity="dangerous"),
        finding(thing="charge"),
    )
    assert [each.severity for each in parted.report.findings] == ["dangerous"]
    assert parted.report.reaches("dangerous")
    assert "stay in force" in baseline.told(parted, PATH)


def test_what_may_be_dangerous_is_not_hidden_either() -> None:
    perhaps = finding(severity="unproven", rule_severity="dangerous")
    assert part(report(perhaps), perhaps).report.findings == (perhaps,)


def test_a_concession_uses_up_nothing_and_is_not_taken_into_a_baseline() -> None:
    agreed = finding(conceded=Conceded("left", "RM", None))
    assert known(agreed) == []
    assert part(report(agreed), finding()).report.findings == (agreed,)


def test_what_no_longer_occurs_is_told_and_taken_out_when_written_again() -> None:
    parted = part(report(finding()), finding(), finding("taped-joint"))
    assert [entry.rule for entry in parted.gone] == ["taped-joint"]
    assert "taped-joint on main, crank.pos" in baseline.told(parted, PATH)
    again = baseline.written(report(finding()), PATH, known(finding(), finding("taped-joint")), RULES)
    assert again == baseline.written(report(finding()), PATH, None, RULES)


def test_writing_over_a_baseline_never_takes_up_what_is_new() -> None:
    again = baseline.written(report(finding(), finding("taped-joint")), PATH, known(finding()), RULES)
    assert [entry.rule for entry in baseline.parse(again)] == ["bare-joint"]


def test_what_was_not_looked_at_is_not_gone() -> None:
    entries = known(finding("taped-joint"))
    assert baseline.part(report(), entries, PATH, {"bare-joint"}).gone == ()
    elsewhere = [entry._replace(file="other.fitout") for entry in entries]
    assert baseline.part(report(), elsewhere, PATH, RULES).gone == ()
    assert baseline.written(report(), PATH, entries, {"bare-joint"}).count("taped-joint") == 1


findings = st.lists(
    st.builds(
        finding,
        st.sampled_from(sorted(RULES)),
        st.sampled_from(["main", "charge"]),
        st.sampled_from(["dangerous", "major", "minor", "unproven"]),
    ),
    max_size=6,
)


@given(findings, findings)
def test_shrinking_keeps_to_what_is_known_and_still_there(before: list[Finding], now: list[Finding]) -> None:
    entries = known(*before)
    parted = baseline.part(report(*now), entries, PATH, RULES)
    shrunk = baseline.parse(baseline.written(report(*now), PATH, entries, RULES))
    assert sorted([*shrunk, *parted.gone]) == sorted(entries)
    assert len(shrunk) == len(parted.known)
    again = baseline.part(report(*now), shrunk, PATH, RULES)
    assert again.gone == ()
    assert again.report == parted.report


@given(findings)
def test_against_its_own_baseline_only_what_is_or_may_be_dangerous_is_left(now: list[Finding]) -> None:
    parted = part(report(*now), *now)
    assert all(each.rule_severity == "dangerous" for each in parted.report.findings)
    assert parted.gone == ()


@pytest.mark.parametrize(
    "text",
    ["", "[]", '{"version": 2, "known": []}', '{"version": 1}', '{"version": 1, "known": [7]}',
     '{"version": 1, "known": [{"file": "a", "rule": "b", "things": "main", "severity": "major"}]}',
     '{"version": 1, "known": [{"file": "a", "rule": "b", "things": [], "severity": "grave"}]}'],
)  # fmt: skip
def test_what_is_no_baseline_is_refused(tmp_path: Path, text: str) -> None:
    (tmp_path / "known.json").write_text(text)
    with pytest.raises(Unreadable, match="is no baseline of version 1"):
        baseline.read(str(tmp_path / "known.json"))


# ---------------------------------------------------------------- on the command line

BAD = """fitout "Van" { stage as-found; system 12 V }
place box { ambient 40 degC }
battery a in box { chemistry agm; capacity 75 Ah; internal 7 mohm; stud M8; serves house; held-down none }
load lamp in box { draws 3 A }
circuit light from a.pos to lamp { cable twin 2.5 mm2; along box 2 m; fuse blade 5 A at 0.1 m; ends soldered taped }
"""


def run(*words: str) -> Result:
    return CliRunner().invoke(commands, ["check", "--format", "json", "--today", "2026-11-25", *words])


def rules_of(done: Result) -> list[str]:
    return [each["rule"] for each in json.loads(done.stdout)["findings"]]


def test_a_vehicle_is_taken_over_with_its_known_faults_and_only_new_ones_are_shown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "van.fitout").write_text(BAD)
    assert "soldered-joint" in rules_of(run("van.fitout"))
    first = run("van.fitout", "--write-baseline", "known.json")
    assert "soldered-joint" not in rules_of(first)
    (tmp_path / "van.fitout").write_text("# a line above\n\n" + BAD.replace("soldered", "twisted"))
    then = run("van.fitout", "--baseline", "known.json")
    assert "twisted-joint" in rules_of(then)
    assert "soldered-joint" in then.stderr  # it no longer occurs
    run("van.fitout", "--write-baseline", "known.json")
    text = (tmp_path / "known.json").read_text()
    assert "soldered-joint" not in text
    assert "twisted-joint" not in text


@pytest.mark.usefixtures("in_checkout")
def test_a_dangerous_vehicle_stays_red_whatever_is_known_of_it(tmp_path: Path) -> None:
    path = "specs/orchard-bees/as-found.fitout"
    known_file = str(tmp_path / "known.json")
    run(path, "--write-baseline", known_file)
    done = run(path, "--baseline", known_file)
    assert done.exit_code == 1
    found = json.loads(done.stdout)["findings"]
    assert found
    assert {each["rule_severity"] for each in found if not each["conceded"]} == {"dangerous"}
    sarif = CliRunner().invoke(commands, ["check", "--format", "sarif", path, "--baseline", known_file])
    states = {each["baselineState"] for each in json.loads(sarif.stdout)["runs"][0]["results"]}
    assert states == {"unchanged"}


def test_a_baseline_that_is_not_there_is_told_and_none_is_made(tmp_path: Path) -> None:
    spec = tmp_path / "van.fitout"
    spec.write_text(BAD)
    done = run(str(spec), "--baseline", str(tmp_path / "known.json"))
    assert isinstance(done.exception, Unreadable)
    assert "--write-baseline" in str(done.exception)
    assert not (tmp_path / "known.json").exists()
