"""What a workshop's `loomwright.toml` changes is told: in findings, in the summary, in JSON, and in what is explained."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from loomwright.cli import commands
from loomwright.report.books import rules_by_file
from loomwright.report.check import Report, Wishes, check, together
from loomwright.report.explain import explain, explain_in
from loomwright.report.files import Unreadable
from loomwright.report.json_form import as_data
from loomwright.report.text import summary
from loomwright.rulebook.finding import Finding

HOUSE = """
[severities]
unfused-feed = "minor"
no-isolator = "minor"

[limits]
fuse-distance = "50 mm"
"""

SPEC = """
fitout "Van" { stage planned; system 12 V }
place bay { ambient 40 degC }
structure skin { metal steel; bonded crank.neg }
battery crank in bay { chemistry lead-acid; capacity 75 Ah; internal 7 mohm; stud M8 }
load pump in bay { draws 7 A }
feed main from crank.pos to pump.pos { cable 10 mm2; along bay 4 m; fuse strip 60 A at 0.1 m; clips 0.4 m }
earth back from pump.neg to crank.neg { cable 6 mm2; along bay 1 m }
"""


@pytest.fixture
def van(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A workshop's folder with a spec, as the current one."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "van.fitout").write_text(SPEC)
    return tmp_path


def checked(van: Path, house: str) -> Report:
    (van / "loomwright.toml").write_text(house)
    report = check(SPEC, "van.fitout")
    assert not report.errors
    return report


def of(report: Report, rule: str) -> Finding:
    return next(one for one in report.findings if one.rule == rule and not one.missing)


def test_a_finding_names_the_limit_of_the_house_that_its_condition_reads(van: Path) -> None:
    found = of(checked(van, HOUSE), "fuse-too-far")
    assert "within 50 mm" in found.do
    assert found.sources[-1] == "limit fuse-distance 50 mm of loomwright.toml"
    assert any("183.455" in source for source in found.sources[:-1])


def test_a_finding_names_the_limit_of_the_house_that_only_its_remedy_speaks_of(van: Path) -> None:
    (van / "loomwright.toml").write_text(HOUSE)
    report = check(SPEC.replace("fuse strip 60 A at 0.1 m; ", ""), "van.fitout")
    found = of(report, "unfused-feed")
    assert (found.severity, found.sources[-1]) == ("minor", "limit fuse-distance 50 mm of loomwright.toml")


def test_a_finding_names_the_limit_of_the_house_that_a_fact_of_its_condition_rests_on(van: Path) -> None:
    found = of(checked(van, '[limits]\nsupport-interval-battery = "200 mm"\n'), "unsupported-cable")
    assert found.sources[-1] == "limit support-interval-battery 200 mm of loomwright.toml"


def test_a_finding_that_no_limit_of_the_house_bears_on_names_none(van: Path) -> None:
    report = checked(van, HOUSE)
    others = [one for one in report.findings if "within 50 mm" not in one.message + one.do]
    assert others
    assert not [one for one in others if any("of loomwright.toml" in source for source in one.sources)]


@pytest.mark.parametrize(
    ("house", "line"),
    [
        (HOUSE, "with 1 limit and 2 classes of loomwright.toml"),
        ('[severities]\nno-isolator = "minor"\n', "with 1 class of loomwright.toml"),
        ('[limits]\nfuse-distance = "50 mm"\n', "with 1 limit of loomwright.toml"),
    ],
)
def test_the_summary_counts_the_limits_and_classes_of_the_house(van: Path, house: str, line: str) -> None:
    report = checked(van, house)
    assert summary(report).split("\n")[-1] == line
    assert summary(together([report, check(SPEC, "copy.fitout")])).count(line) == 1


def test_a_house_that_changes_nothing_is_not_told(van: Path) -> None:
    report = checked(van, "rules = []\n")
    assert "toml" not in summary(report)
    assert as_data(report)["files"][0]["house"] is None


def test_json_names_the_limits_and_classes_of_the_house(van: Path) -> None:
    assert as_data(checked(van, HOUSE))["files"][0]["house"] == {
        "file": "loomwright.toml",
        "limits": ["fuse-distance"],
        "severities": ["unfused-feed", "no-isolator"],
    }


# ---------------------------------------------------------------- the book as the workshop has it

OWN = """
rule our-lamp minor "A load is too strong" {
    for    load l
    need   l.nominal-current <= 5 A
    say    "{l} draws {l.nominal-current}"
    why    "Our hubs' ways are small."
    do     "Fit a relay."
    source practice
}
"""


@pytest.fixture
def workshop(van: Path) -> Path:
    (van / "own.rules").write_text(OWN)
    (van / "loomwright.toml").write_text(f'rules = ["own.rules"]\n{HOUSE}')
    return van


def told(*arguments: str, status: int = 0) -> str:
    result = CliRunner().invoke(commands, arguments)
    assert result.exit_code == status, result.output
    return result.output


@pytest.mark.usefixtures("workshop")
def test_a_rule_of_the_house_is_explained_by_itself_and_in_a_spec() -> None:
    assert explain("our-lamp", ".").startswith("our-lamp: minor\nA load is too strong\n")
    in_spec = explain_in("our-lamp", "van.fitout", "pump")
    assert in_spec.startswith("our-lamp: minor\n")
    assert "it does not hold" in in_spec
    assert "pump draws 7 A [our-lamp]" in in_spec
    assert told("explain", "our-lamp", "van.fitout", "pump").startswith("our-lamp: minor\n")
    with pytest.raises(Unreadable, match="there is no rule or fact 'our-lamp'"):
        explain("our-lamp")


@pytest.mark.usefixtures("workshop")
def test_a_rule_is_explained_with_the_class_and_the_limits_of_the_house() -> None:
    assert explain("unfused-feed").startswith("unfused-feed: dangerous\n")
    here = told("explain", "unfused-feed")
    assert here.startswith("unfused-feed: minor\n")
    assert (
        "limit   fuse-distance 50 mm: house rule (loomwright.toml); 33 CFR 183.455(b)(1) has 178 mm" in here
    )
    assert explain_in("unfused-feed", "van.fitout", "main").startswith("unfused-feed: minor\n")


@pytest.mark.usefixtures("workshop")
def test_the_table_of_rules_has_those_of_the_house_and_its_classes() -> None:
    rows = {line.split()[0]: line.split()[1] for line in told("rules").split("\n") if "  " in line}
    assert rows["our-lamp"] == "minor"
    assert rows["unfused-feed"] == "minor"
    assert rows["fuse-too-far"] == "major"


def test_a_house_that_is_wrong_gives_no_table_but_its_errors(van: Path) -> None:
    (van / "loomwright.toml").write_text('[limits]\nfuse-distanse = "1 m"\n')
    output = told("rules", status=2)
    assert "loomwright.toml:2:1: error: there is no limit 'fuse-distanse'" in output
    with pytest.raises(Unreadable, match="has errors"):
        explain_in("unfused-feed", "van.fitout", "main")


@pytest.mark.usefixtures("workshop")
def test_check_can_be_asked_for_a_rule_of_the_house_alone() -> None:
    output = told("check", "--only", "our-lamp", "van.fitout")
    assert "pump draws 7 A [our-lamp]" in output
    assert "there is no rule 'our-lam'" in told("check", "--only", "our-lam", "van.fitout", status=2)


@pytest.mark.usefixtures("workshop")
def test_servers_are_told_the_class_that_a_rule_has_in_the_house() -> None:
    rules = rules_by_file(check(SPEC, "van.fitout"), Wishes())["van.fitout"]
    assert {rule.name: rule.severity for rule in rules}["unfused-feed"] == "minor"
