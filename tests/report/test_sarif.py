"""SARIF 2.1.0: valid by the OASIS schema, places counted as the standard says, concessions as suppressions."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import CliRunner

from loomwright.cli import commands
from loomwright.report import sarif
from loomwright.report.check import Checked, Report, Wishes, check
from loomwright.rulebook.finding import Conceded, Finding, Wanted
from loomwright.rulebook.load import load_rules
from loomwright.source import Problem, Source

SCHEMA = json.loads((Path(__file__).parent / "data" / "sarif-schema-2.1.0.json").read_text("utf-8"))
TEXT = 'feed main from crank.pos to house.pos { note "8 mm² at 60 °C 🔧🔧"; cable 16 mm² }\r\n'
SOURCE = Source("van specs/mm²/van.fitout", TEXT)
RULES = {"van specs/mm²/van.fitout": load_rules().rules}


def valid(data: dict[str, Any]) -> dict[str, Any]:
    jsonschema.Draft7Validator(SCHEMA).validate(data)
    return data


def finding(word: str = "cable", **changes: Any) -> Finding:
    start = TEXT.index(word)
    fields: dict[str, Any] = {
        "rule": "unfused-feed",
        "severity": "dangerous",
        "rule_severity": "dangerous",
        "span": SOURCE.span(start, start + len(word)),
        "things": ("main",),
        "at": "crank.pos",
        "message": "main leaves crank.pos with no fuse",
        "why": "A rub-through meets 1 800 A.",
        "do": "Fit a fuse.",
        "sources": ("33 CFR 183.455",),
    }
    return Finding(**{**fields, **changes})


def made(*findings: Finding, **more: Any) -> dict[str, Any]:
    report = Report((Checked(SOURCE.path, "Van", "planned", 1, 2, 30),), findings, more.pop("errors", ()))
    return valid(json.loads(sarif.as_sarif(report, RULES, **more)))["runs"][0]  # type: ignore[no-any-return]


def test_the_schema_refuses_what_is_no_sarif() -> None:
    with pytest.raises(jsonschema.ValidationError):
        valid({"version": "2.1.0", "runs": [{"results": []}]})


def every_spec() -> list[str]:
    top = Path(__file__).parent.parent.parent
    return sorted(
        str(path.relative_to(top))
        for path in (*top.glob("specs/**/*.fitout"), *top.glob("rules/examples/concession-*/*.fitout"))
    )


@pytest.mark.usefixtures("in_checkout")
@pytest.mark.parametrize("path", every_spec())
def test_every_spec_gives_valid_sarif(path: str) -> None:
    done = CliRunner().invoke(commands, ["check", "--format", "sarif", path])
    run = valid(json.loads(done.stdout))["runs"][0]
    known = json.loads(CliRunner().invoke(commands, ["check", "--format", "json", path]).stdout)
    assert [result["ruleId"] for result in run["results"]] == [each["rule"] for each in known["findings"]]
    ids = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    assert all(ids[result["ruleIndex"]] == result["ruleId"] for result in run["results"])


def test_columns_count_from_1_in_code_points_past_square_metres_degrees_and_emoji() -> None:
    region = made(finding())["results"][0]["locations"][0]["physicalLocation"]["region"]
    column = len('feed main from crank.pos to house.pos { note "8 mm² at 60 °C 🔧🔧"; ') + 1
    assert (region["startLine"], region["startColumn"]) == (1, column)
    assert (region["endLine"], region["endColumn"]) == (
        1,
        column + len("cable"),
    )  # the end is past the last character
    assert made()["columnKind"] == "unicodeCodePoints"


def test_a_checked_text_keeps_its_columns_through_sarif() -> None:
    text = 'fitout "Van 🔧" { stage planned; system 12 V }\nplace box { ambient 40 °C }\n' + (
        'battery a in box { note "16 mm² °C 🔧"; chemistry agm; capacity 75 Ah; internal 7 mohm; stud M8 }\n'
        "load lamp in box { draws 3 A }\n"
        "feed f from a.pos to lamp.pos { cable 2.5 mm² red; along box 2 m; fuse none }\n"
    )
    report = check(text, "van.fitout", Wishes(only=frozenset({"unfused-feed"})))
    run = valid(sarif.as_data(report, {"van.fitout": load_rules().rules}))["runs"][0]
    region = run["results"][0]["locations"][0]["physicalLocation"]["region"]
    line = text.split("\n")[region["startLine"] - 1]
    assert line[region["startColumn"] - 1 : region["endColumn"] - 1] == region["snippet"]["text"] == "a.pos"


def test_paths_are_relative_references_with_slashes_and_escapes(tmp_path: Path) -> None:
    place = made(finding())["results"][0]["locations"][0]["physicalLocation"]
    assert place["artifactLocation"]["uri"] == "van%20specs/mm%C2%B2/van.fitout"
    assert sarif.uri("./a/../b/van.fitout") == "b/van.fitout"
    assert sarif.uri(str(Path.cwd() / "van.fitout")) == "van.fitout"
    assert not sarif.uri(str(tmp_path / "van.fitout")).startswith(("/", "."))
    assert sarif.uri("<stdin>") == "stdin"


def test_all_rules_are_declared_with_help_even_when_all_is_well() -> None:
    run = made()
    assert run["results"] == []
    declared = run["tool"]["driver"]["rules"]
    assert [rule["id"] for rule in declared] == [rule.name for rule in load_rules().rules]
    assert all(rule["help"]["text"].strip() and rule["help"]["markdown"].strip() for rule in declared)


def test_levels_follow_the_deficiency_classes_and_an_unproven_finding_is_open() -> None:
    classes = ("dangerous", "major", "minor")
    found = made(*(finding(severity=name) for name in classes))["results"]
    assert [(each["kind"], each["level"]) for each in found] == [
        ("fail", "error"),
        ("fail", "warning"),
        ("fail", "note"),
    ]
    wanted = Wanted("the cable size of main", SOURCE.span(0, 4))
    unproven = made(finding(severity="unproven", missing=(wanted,)))["results"][0]
    assert (unproven["kind"], unproven["level"]) == ("open", "none")
    assert unproven["relatedLocations"][0]["message"]["text"] == "look at: the cable size of main"


def test_a_concession_is_a_suppression_with_its_reason_and_expiry() -> None:
    agreed = Conceded("left as found", "RM", "2027-01-31")
    conceded, other = made(finding(conceded=agreed), finding())["results"]
    assert conceded["suppressions"] == [
        {
            "kind": "inSource",
            "status": "accepted",
            "justification": "left as found",
            "properties": {"by": "RM", "until": "2027-01-31"},
        }
    ]
    assert other["suppressions"] == []


def test_fingerprints_come_from_rule_and_names_and_not_from_place_or_words() -> None:
    def prints(*findings: Finding) -> list[str]:
        return [each["partialFingerprints"][sarif.FINGERPRINT] for each in made(*findings)["results"]]

    assert prints(finding()) == prints(finding("crank.pos", message="other words", severity="unproven"))
    assert prints(finding()) != prints(finding(things=("charge",)))
    assert prints(finding()) != prints(finding(rule="bare-joint"))
    assert len(set(prints(finding(), finding()))) == 2  # two of one identity stay two alerts


def test_a_baseline_shows_as_the_state_of_each_result() -> None:
    old, new = finding(), finding(things=("charge",))
    states = [each["baselineState"] for each in made(old, new, known=[old])["results"]]
    assert states == ["unchanged", "new"]
    assert "baselineState" not in made(old)["results"][0]


def test_a_spec_that_cannot_be_read_is_a_fault_of_the_run() -> None:
    run = made(errors=(Problem(SOURCE.span(0, 4), "'fead' is no statement", "did you mean 'feed'?"),))
    invocation = run["invocations"][0]
    assert invocation["executionSuccessful"] is False
    assert "did you mean" in invocation["toolExecutionNotifications"][0]["message"]["text"]
    assert made()["invocations"] == [{"executionSuccessful": True}]
