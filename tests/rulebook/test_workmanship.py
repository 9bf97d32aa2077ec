"""Earths, routing and terminations of the complete systems: what an inspector writes down, and what he leaves alone."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

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


def test_a_way_that_nobody_has_looked_into_is_unproven_at_its_own_words_and_never_taken_for_fused(
    specs: Path,
) -> None:
    path = specs / "orchard-bees" / "planned.fitout"
    text = path.read_text(encoding="utf-8").replace("way 4      blade 5 A", "way 4      unknown")
    loaded = load(text, str(path))
    assert loaded.installation is not None
    found = judge(load_rules(), Ledger(loaded.installation, load_limits(), datetime.date(2026, 11, 20)))
    unseen = {one.rule for one in found if one.things == ("ways.4",)}
    assert {"breaking-capacity-short", "fuse-below-load", "fuse-slower-than-cable"} <= unseen
    assert not unseen & {"fuse-too-far", "unfused-run-single-insulated"}  # of fuses in a run only
    behind = {one.rule for one in found if one.things == ("radio-feed",)}
    assert "fuse-above-cable" in behind
    assert {one.severity for one in found if one.rule in unseen | behind} == {"unproven"}
    assert {one.what for each in found for one in each.missing} == {"the protection of ways.4"}


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


# ---------------------------------------------------------------- better work never earns a worse word

ONE_RUN = """
fitout "One run" {{ stage planned; system 12 V }}
practice {{ sleeve split-tube; ends crimped sealed tight }}
place bay {{ ambient 40 degC; hazards wheel, driveline, exhaust, fuel }}
battery house in bay {{ chemistry agm; capacity 100 Ah; internal 5 mohm; stud M8 }}
load pump in bay {{ draws 8 A; stud M8 }}
feed out from house.pos to pump.pos {{
    cable 10 mm2 105 degC
    along bay 3 m
    fuse  strip 40 A at 0.1 m
    clips {spacing} mm
    clearance {clear} mm to {hazard}
}}
earth back from pump.neg to house.neg {{ cable {area} mm2 105 degC; along bay 3 m; clips 250 mm }}
"""
NEAR = {
    "wheel": "wheel-proximity",
    "driveline": "moving-part-proximity",
    "exhaust": "heat-proximity",
    "fuel": "fuel-line-proximity",
}
RANK = ("dangerous", "major", "minor")
RULES = {rule.name: rule for rule in load_rules()}


def rank(rule: str, spacing: int = 250, clear: int = 500, hazard: str = "wheel", area: float = 10) -> int:
    """How bad the rule finds the run named `out` or `back`: 0 for dangerous, 3 for not at all."""
    loaded = load(ONE_RUN.format(spacing=spacing, clear=clear, hazard=hazard, area=area), "one.fitout")
    assert loaded.installation is not None
    found = judge([RULES[rule]], Ledger(loaded.installation, load_limits()))
    return min((RANK.index(each.severity) for each in found if each.severity in RANK), default=len(RANK))


@given(st.sampled_from(sorted(NEAR)), st.integers(0, 400), st.integers(0, 400))
@settings(max_examples=60, deadline=None)
def test_a_greater_clearance_is_never_judged_worse(hazard: str, one: int, other: int) -> None:
    near, far = sorted((one, other))
    assert rank(NEAR[hazard], clear=near, hazard=hazard) <= rank(NEAR[hazard], clear=far, hazard=hazard)


@given(st.integers(50, 3000), st.integers(50, 3000))
@settings(max_examples=40, deadline=None)
def test_closer_clips_are_never_judged_worse(one: int, other: int) -> None:
    close, wide = sorted((one, other))
    assert rank("unsupported-cable", spacing=wide) <= rank("unsupported-cable", spacing=close)


AREAS = (0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50)


@given(st.sampled_from(AREAS), st.sampled_from(AREAS))
@settings(max_examples=40, deadline=None)
def test_a_thicker_earth_is_never_judged_worse(one: float, other: float) -> None:
    thin, thick = sorted((one, other))
    assert rank("undersized-earth", area=thin) <= rank("undersized-earth", area=thick)


@pytest.mark.parametrize(
    ("hazard", "clear", "severity"),
    [
        ("wheel", 0, "dangerous"),
        ("wheel", 49, "major"),
        ("wheel", 50, None),  # common practice
        ("driveline", 74, "major"),
        ("driveline", 75, None),  # AC 43.13-1B: 3 in
        ("fuel", 151, "major"),
        ("fuel", 152, None),  # AC 43.13-1B 11-96: 6 in
        ("exhaust", 199, "major"),
        ("exhaust", 200, None),  # common practice
    ],
)
def test_clearances_are_judged_by_the_codes_figures(hazard: str, clear: int, severity: str | None) -> None:
    assert rank(NEAR[hazard], clear=clear, hazard=hazard) == (
        len(RANK) if severity is None else RANK.index(severity)
    )


@pytest.mark.parametrize(
    ("spacing", "severity"), [(300, None), (301, "minor"), (450, "minor"), (451, "major")]
)
def test_cables_on_a_battery_are_held_every_300_mm(spacing: int, severity: str | None) -> None:
    """ISO 10133:2012 clause 7.4; half as much again is the limit of a minor deficiency."""
    assert rank("unsupported-cable", spacing=spacing) == (
        len(RANK) if severity is None else RANK.index(severity)
    )
