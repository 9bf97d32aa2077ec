"""Earths, routing and terminations of the complete systems: what an inspector writes down, and what he leaves alone."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from loomwright.facts.limits import load_limits
from loomwright.facts.registry import Ledger
from loomwright.model.load import load
from loomwright.rulebook.finding import Finding
from loomwright.rulebook.judge import judge
from loomwright.rulebook.load import load_rules

FILES = ("rules/earth.rules", "rules/routing.rules", "rules/terminations.rules")
OURS = frozenset(rule.name for rule in load_rules() if rule.span.source.path in FILES)

# Rule, severity, and the words of the spec that the finding points to.
AS_FOUND = [
    ("no-grommet", "major", "firewall"),
    ("no-sleeve", "major", "sleeve none"),
    ("unsupported-cable", "major", "clips  none"),
    ("wheel-proximity", "dangerous", "clearance 0 mm to wheel"),
    ("lug-stud-mismatch", "major", "end    crank.pos lug 16 mm2 M10 crimped bare loose"),
    ("lug-barrel-mismatch", "major", "end    crank.pos lug 16 mm2 M10 crimped bare loose"),
    ("bare-joint", "major", "end    crank.pos lug 16 mm2 M10 crimped bare loose"),
    ("loose-connection", "dangerous", "end    crank.pos lug 16 mm2 M10 crimped bare loose"),
    ("soldered-joint", "major", "end    house.pos lug 6 mm2 M8 soldered taped tight"),
    ("taped-joint", "dangerous", "end    house.pos lug 6 mm2 M8 soldered taped tight"),
    ("isolated-earth", "major", "end    lid       lug 16 mm2 M10 crimped bare loose"),
    ("lug-stud-mismatch", "major", "end    lid       lug 16 mm2 M10 crimped bare loose"),
    ("loose-connection", "dangerous", "end    lid       lug 16 mm2 M10 crimped bare loose"),
    ("earth-face-dirty", "major", "surface painted"),
    ("lug-barrel-mismatch", "major", "end    house.pos lug 4 mm2 M8 crimped taped tight"),
    ("loose-connection", "major", "end    box.in    blade-terminal crimped taped loose"),
    ("taped-joint", "minor", "end    house.neg lug 4 mm2 M8 crimped taped tight"),
    ("twisted-joint", "major", "ends   twisted taped"),
    ("taped-joint", "major", "ends   twisted taped"),
]


def findings(path: Path) -> list[Finding]:
    loaded = load(path.read_text(encoding="utf-8"), str(path))
    assert loaded.installation is not None
    limits = load_limits(loaded.installation.fitout.limits)
    ledger = Ledger(loaded.installation, limits, datetime.date(2026, 11, 20))
    return [finding for finding in judge(load_rules(), ledger) if finding.rule in OURS]


@pytest.fixture(scope="module")
def as_found(specs: Path) -> list[Finding]:
    return findings(specs / "orchard-bees" / "as-found.fitout")


@pytest.mark.parametrize(("rule", "severity", "words"), AS_FOUND)
def test_each_fault_that_an_inspector_sees_is_a_finding_at_its_own_words(
    as_found: list[Finding], rule: str, severity: str, words: str
) -> None:
    found = {(finding.rule, finding.severity, " ".join(finding.span.text.split())) for finding in as_found}
    assert (rule, severity, " ".join(words.split())) in found


def test_the_makers_own_link_is_left_alone(as_found: list[Finding]) -> None:
    assert not [finding.message for finding in as_found if "gen-link" in finding.things]


def test_a_lug_whose_barrel_takes_the_copper_is_sound(as_found: list[Finding]) -> None:
    """A 6 mm² lug on 4.59 mm²: DIN 46234 makes one barrel for 4 to 6 mm²."""
    at = [
        finding.things
        for finding in as_found
        if finding.rule == "lug-barrel-mismatch" and finding.severity != "unproven"
    ]
    assert ("main", "house.pos") not in at
    assert ("main", "crank.pos") in at


def test_ends_that_nobody_has_seen_are_one_thing_to_look_at(as_found: list[Finding]) -> None:
    unseen = [
        finding
        for finding in as_found
        if finding.severity == "unproven" and finding.span.text.split() == ["ends", "unknown"]
    ]
    assert (
        len({tuple((wanted.what, wanted.span.order()) for wanted in finding.missing) for finding in unseen})
        == 1
    )
    assert {finding.rule for finding in unseen} >= {
        "loose-connection",
        "soldered-joint",
        "lug-barrel-mismatch",
    }


@pytest.mark.parametrize("name", ["orchard-bees", "marsh-lab"])
def test_a_planned_system_has_nothing_dangerous_or_major(specs: Path, name: str) -> None:
    found = findings(specs / name / "planned.fitout")
    assert [finding.message for finding in found if finding.severity in ("dangerous", "major")] == []
