"""JUnit XML: a suite for each spec, a case for each rule, and valid whatever the text holds."""

from __future__ import annotations

from typing import Any
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner

from loomwright.cli import commands
from loomwright.report.check import Checked, Report
from loomwright.report.junit import READING, as_junit
from loomwright.rulebook.finding import Conceded, Finding, Wanted
from loomwright.rulebook.load import load_rules
from loomwright.source import Problem, Source

RULES = load_rules().rules
SOURCE = Source("van.fitout", "feed main from crank.pos to house.pos { cable 16 mm² }\n")


def finding(**changes: Any) -> Finding:
    fields: dict[str, Any] = {
        "rule": "unfused-feed",
        "severity": "dangerous",
        "rule_severity": "dangerous",
        "span": SOURCE.span(15, 24),
        "things": ("main",),
        "at": "",
        "message": "main leaves crank.pos with no fuse",
        "why": "A rub-through meets 1 800 A.",
        "do": "Fit a fuse.",
        "sources": (),
    }
    return Finding(**{**fields, **changes})


def made(
    *findings: Finding, errors: tuple[Problem, ...] = (), threshold: str = "major"
) -> ElementTree.Element:
    report = Report((Checked("van.fitout", "Van", "planned", 1, 2, 30),), findings, errors)
    return ElementTree.fromstring(as_junit(report, {"van.fitout": RULES}, threshold))


def case(root: ElementTree.Element, name: str) -> ElementTree.Element:
    (found,) = (each for each in root.iter("testcase") if each.get("name") == name)
    return found


def test_when_all_is_well_every_rule_is_a_passed_case_of_a_named_suite() -> None:
    root = made()
    (suite,) = root
    assert suite.get("name") == "van.fitout"
    assert [each.get("name") for each in suite] == [READING, *(rule.name for rule in RULES)]
    assert (suite.get("tests"), suite.get("failures"), suite.get("errors")) == (str(len(RULES) + 1), "0", "0")
    assert all(len(each) == 0 for each in suite)


def test_findings_of_one_rule_fail_one_case_at_their_places() -> None:
    root = made(finding(), finding(things=("charge",)))
    failure = case(root, "unfused-feed").find("failure")
    assert failure is not None
    assert failure.get("type") == "dangerous"
    assert (failure.text or "").count("van.fitout:1:16: dangerous:") == 2
    assert root.get("failures") == "1"


def test_a_case_fails_only_where_the_command_does() -> None:
    minor = made(finding(severity="minor"))
    assert minor.get("failures") == "0"
    assert "minor" in (case(minor, "unfused-feed").findtext("system-out") or "")
    assert made(finding(severity="minor"), threshold="minor").get("failures") == "1"
    assert made(finding(conceded=Conceded("left", "RM", None))).get("failures") == "0"


def test_what_is_not_proven_is_a_skipped_case_that_says_what_to_look_at() -> None:
    wanted = Wanted("the cable size of main", SOURCE.span(0, 4))
    skipped = case(made(finding(severity="unproven", missing=(wanted,))), "unfused-feed").find("skipped")
    assert skipped is not None
    assert skipped.get("message") == "unproven; look at or measure: the cable size of main"


def test_a_spec_that_cannot_be_read_is_an_error() -> None:
    root = made(errors=(Problem(SOURCE.span(0, 4), "'fead' is no statement"),))
    assert root.get("errors") == "1"
    assert case(root, READING).findtext("error") == "van.fitout:1:1: 'fead' is no statement"


def test_control_characters_and_halves_of_surrogates_are_left_out() -> None:
    text = 'a\x00b\x08c\x1bd\ud800e\ufffef <&>" mm² 🔧\x85'
    root = made(finding(message=text, why=text))
    failure = case(root, "unfused-feed").find("failure")
    assert failure is not None
    assert failure.get("message") == 'abcdef <&>" mm² 🔧\x85'


def test_findings_in_an_included_file_stand_in_a_suite_of_their_own() -> None:
    shared = Source("shared.fitout", "feed x\n")
    root = made(finding(), finding(span=shared.span(0, 4)))
    assert [suite.get("name") for suite in root] == ["van.fitout", "shared.fitout"]


@pytest.mark.usefixtures("in_checkout")
def test_the_command_writes_one_suite_for_each_spec() -> None:
    done = CliRunner().invoke(commands, ["check", "--format", "junit", "specs/orchard-bees"])
    root = ElementTree.fromstring(done.stdout)
    names = [suite.get("name") for suite in root]
    assert names[0] == "specs/orchard-bees/as-found.fitout"
    assert int(root.get("failures", "0")) > 0
    assert done.exit_code == 1
