"""The whole rule book: names that others rely on, sources, and the two examples of every rule."""

from __future__ import annotations

import datetime
import os
import re

import pytest

from loomwright import resources
from loomwright.facts.limits import load_limits
from loomwright.facts.registry import Ledger
from loomwright.model.load import load
from loomwright.rulebook.finding import SEVERITIES, UNPROVEN, Finding
from loomwright.rulebook.judge import judge
from loomwright.rulebook.load import load_rules
from loomwright.rulebook.tree import Rule

from ..edits import edited

# The names that other files rely on: they stay for good.
NAMES = frozenset(
    [
        "unfused-feed",
        "unfused-both-ends",
        "fuse-too-far",
        "fuse-above-cable",
        "fuse-below-load",
        "fuse-trips-on-surge",
        "step-down-unfused",
        "breaking-capacity-short",
        "fuse-never-blows",
        "fuse-slower-than-cable",
        "no-selectivity",
        "auto-reset-breaker",
        "fuse-in-earth",
        "feeder-overloaded",
        "fuse-kind-unsuited",
        "cable-overloaded",
        "voltage-drop-high",
        "charge-line-drop",
        "cut-out-margin",
        "too-thin-for-mechanics",
        "insulation-temp-low",
        "parallel-cables-unequal",
        "inverter-cable-long",
        "undersized-earth",
        "no-return",
        "isolated-earth",
        "earth-face-dirty",
        "earth-stack",
        "battery-sensor-bypassed",
        "shunt-bypassed",
        "unsupported-cable",
        "no-grommet",
        "wheel-proximity",
        "moving-part-proximity",
        "heat-proximity",
        "fuel-line-proximity",
        "no-sleeve",
        "unfused-run-single-insulated",
        "lug-stud-mismatch",
        "lug-barrel-mismatch",
        "stud-overcrowded",
        "soldered-joint",
        "twisted-joint",
        "taped-joint",
        "bare-joint",
        "loose-connection",
        "two-in-one-barrel",
        "connector-over-current",
        "unsealed-outside",
        "dissimilar-metals",
        "no-vent",
        "spark-with-gas",
        "lithium-in-habitable",
        "cold-charge",
        "heat-zone-battery",
        "chemistry-mismatch",
        "smart-alternator-no-dcdc",
        "alternator-overload",
        "charge-current-high",
        "discharge-current-high",
        "no-isolator",
        "isolator-under-rated",
        "parallel-batteries-mixed",
        "voc-over-input",
        "pv-current-over-controller",
        "pv-battery-side-unfused",
        "pv-strings-unfused",
        "pv-direct-to-battery",
        "inverter-battery-limit",
        "mains-in-same-sleeve",
        "licensed-work",
        "energy-short",
        "recharge-short",
        "standby-high",
        "no-circuit-label",
        "colour-misused",
        "dangling-end",
        "part-unspecified",
        "concession-expired",
        "concession-idle",
        "safety-system-tapped",
    ]
)

# Rules that were added since, under names of the same kind.
OURS = frozenset(
    (
        "battery-loose",
        "battery-near-fuel",
        "blade-terminal-mismatch",
        "cable-unspecified",
        "dcdc-always-on",
        "dead-short",
        "earth-on-safety-bolt",
        "excess-resistance",
        "first-support-late",
        "load-never-on",
        "no-lug-on-stud",
        "no-mode",
        "fuse-voltage-short",
        "gas-locker-wiring",
        "inverter-idle-left",
        "isolator-in-negative",
        "lug-not-made",
        "mixed-return",
        "no-drip-loop",
        "no-slack-at-movers",
        "polarity-mirrored",
        "polarity-reversed",
        "pv-no-isolation",
        "rating-not-made",
        "reading-out-of-limit",
        "relay-contact-short",
        "solid-core",
        "starter-drained",
        "supply-overloaded",
        "switch-carries-load",
        "tight-bend",
        "wrong-cable-type",
    )
)

EXAMPLE_DAY = datetime.date(2026, 11, 18)  # so that examples with a date stay what they are
BOOK = load_rules()
EXAMPLES = os.path.join(resources.folder("rules"), "examples")
SPECS = os.path.join(os.path.dirname(__file__), "..", "..", "specs", "orchard-bees")


def named(rule: Rule) -> str:
    return rule.name


def findings(rule: Rule, example: str) -> list[Finding]:
    """What the rule, judged with the whole book, finds in one of its examples."""
    path = os.path.join(EXAMPLES, rule.name, f"{example}.fitout")
    with open(path, encoding="utf-8") as file:
        loaded = load(file.read(), path)
    assert [problem.message for problem in loaded.problems] == []
    assert loaded.installation is not None
    limits = load_limits(loaded.installation.fitout.limits)
    found = judge(BOOK, Ledger(loaded.installation, limits, EXAMPLE_DAY))
    return [finding for finding in found if finding.rule == rule.name]


def test_the_book_has_no_problem() -> None:
    said = [
        f"{one.span.source.path}:{one.span.line}:{one.span.column} {one.message} {one.hint}"
        for one in BOOK.problems
    ]
    assert said == []


@pytest.mark.parametrize("rule", BOOK.rules, ids=named)
def test_the_name_is_one_of_those_that_stay(rule: Rule) -> None:
    assert rule.name in NAMES | OURS
    assert re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)*", rule.name)


def test_names_are_not_reused() -> None:
    assert len({rule.name for rule in BOOK}) == len(BOOK.rules)


@pytest.mark.parametrize("rule", BOOK.rules, ids=named)
def test_the_rule_cites_documents_and_speaks_briefly(rule: Rule) -> None:
    assert rule.severity in SEVERITIES
    assert rule.sources
    assert not any("://" in source or "www." in source for source in rule.sources)
    assert len(rule.title) <= 80
    assert not rule.title.endswith(".")
    for text in rule.texts:
        assert len(text) <= 240, text
    say, why, do = rule.texts
    assert not say.endswith(".")
    assert why.endswith(".")
    assert do.endswith(".")


@pytest.mark.parametrize("rule", BOOK.rules, ids=named)
def test_the_failing_example_fails_and_proves_it(rule: Rule) -> None:
    found = findings(rule, "fails")
    assert found
    assert any(finding.severity in SEVERITIES for finding in found)


@pytest.mark.parametrize("rule", BOOK.rules, ids=named)
def test_the_holding_example_holds_and_leaves_nothing_unproven(rule: Rule) -> None:
    assert [(finding.severity, finding.message) for finding in findings(rule, "holds")] == []


def test_every_folder_of_examples_belongs_to_a_rule() -> None:
    assert sorted(set(os.listdir(EXAMPLES)) - {rule.name for rule in BOOK}) == []


def judged_text(text: str, path: str) -> list[Finding]:
    loaded = load(text, path)
    assert [problem.message for problem in loaded.problems] == []
    assert loaded.installation is not None
    return judge(
        BOOK, Ledger(loaded.installation, load_limits(loaded.installation.fitout.limits), EXAMPLE_DAY)
    )


def worse_than(mended: Finding, before: list[Finding], after: list[Finding], least: int = 0) -> list[str]:
    """What is found after a fix that was not there before, or milder, and is graver than what was mended by `least` classes."""
    ranks = (*SEVERITIES, UNPROVEN)
    known = {finding.identity: ranks.index(finding.severity) for finding in before}
    return [
        f"{finding.severity}: {finding.message} [{finding.rule}]"
        for finding in after
        if ranks.index(finding.severity) < known.get(finding.identity, len(ranks))
        and ranks.index(finding.severity) <= ranks.index(mended.severity) - least
    ]


@pytest.mark.parametrize("rule", [rule for rule in BOOK if rule.fixes], ids=named)
def test_the_fix_mends_the_finding_and_brings_none_that_is_worse(rule: Rule) -> None:
    path = os.path.join(EXAMPLES, rule.name, "fails.fitout")
    with open(path, encoding="utf-8") as file:
        text = file.read()
    before = judged_text(text, path)
    mended = next(finding for finding in before if finding.rule == rule.name and finding.edits)
    after = judged_text(edited(text, mended), path)
    assert mended.identity not in [finding.identity for finding in after if finding.rule == rule.name]
    assert worse_than(mended, before, after, least=1) == []


FOUND = {
    "as found": ("as-found", ()),
    "thin earth": (
        "planned",
        (("cable  6 B&S black 105 degC        #", "cable  10 mm2 black 105 degC        #"),),
    ),
    "lights of 60 A": (
        "planned",
        (("draws    3.2 A", "draws    60 A"), ("way 2      blade 10 A", "way 2      blade 40 A")),
    ),
    "a far load": ("planned", (("toolbox 1.8 m", "toolbox 8 m"),)),
    "no fuse at the house battery": ("planned", (("    fuse   strip 50 A at 0.1 m from house.pos\n", ""),)),
    "a way with no fuse": ("planned", (("way 3      blade 15 A switched", "way 3      none"),)),
    "thin lights": ("planned", (("twin 4 mm auto 90", "twin 0.5 mm2 90"),)),
}


@pytest.mark.parametrize("name", FOUND)
def test_every_fix_offered_on_a_whole_spec_mends_and_brings_nothing_as_bad(name: str) -> None:
    spec, changes = FOUND[name]
    path = os.path.join(SPECS, f"{spec}.fitout")
    with open(path, encoding="utf-8") as file:
        text = file.read()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    before = judged_text(text, path)
    offered = [finding for finding in before if finding.edits]
    assert offered
    for mended in offered:
        after = judged_text(edited(text, mended), path)
        assert mended.identity not in [finding.identity for finding in after], mended.message
        assert worse_than(mended, before, after) == [], mended.message
