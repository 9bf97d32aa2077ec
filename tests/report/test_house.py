"""What a workshop's `loomwright.toml` changes is told: in findings, in the summary, in JSON, and in what is explained."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.report.check import Report, check, together
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
