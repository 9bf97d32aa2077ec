"""Every message about `loomwright.toml`, limits files and the limits that a spec asks for."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from syrupy.assertion import SnapshotAssertion

from loomwright.facts.limits import LimitsError, limits_of, load_limits
from loomwright.report.check import check
from loomwright.rulebook.house import house_in, house_of
from loomwright.rulebook.load import load_rules
from loomwright.source import Problem

from .gallery import SURROUNDINGS, cases, shown

HOUSE = """
rules = ["house.rules
----
ruels = ["house.rules"]
----
colour = "red"
----
rules = "house.rules"
----
rules = ["missing.rules"]
----
prices = ["a.csv", "b.csv"]
----
prices = "missing.csv"
----
severities = "major"
----
[severities]
no-isolator = 3
----
[severities]
no-isolator = "grave"
----
[severities]
no-isolater = "major"
----
[limits]
support-intervall = "300 mm"
----
[limits]
support-interval = "300 A"
----
[limits]
support-interval = "wide"
----
[limits]
support-interval = "300 parsec"
----
[limits]
support-interval = 300
"""

LIMITS = """
[fuse-distance
----
[fuse-distance]
value = "178 mm"
----
[fuse-distance]
value = "178 mm"
says = "How far."
source = "33 CFR 183.455"
basis = "hearsay"
----
[fuse-distance]
value = "178 parsec"
says = "How far."
source = "33 CFR 183.455"
basis = "read"
----
[fuse-distance]
value = "1e999 mm"
says = "How far."
source = "33 CFR 183.455"
basis = "read"
"""


def of_limits(text: str) -> str:
    try:
        limits_of(text, "rules/limits/house.toml")
    except LimitsError as error:
        return str(error)
    raise AssertionError(text)


def test_what_is_said_of_a_house_file(snapshot: SnapshotAssertion) -> None:
    def provoke(text: str) -> Iterable[Problem]:
        house = house_in(text, "loomwright.toml")
        judged = house.judged(load_rules()).problems
        return [*dict.fromkeys([*house.problems, *judged]), *house.limited(load_limits())[1]]

    assert shown(cases(HOUSE), provoke) == snapshot


def test_what_is_said_of_a_house_file_that_can_t_be_read(tmp_path: Path, snapshot: SnapshotAssertion) -> None:
    (tmp_path / "loomwright.toml").write_bytes("# küche".encode("latin-1"))
    (problem,) = house_of(str(tmp_path / "case.fitout")).problems
    assert f"{problem.message.replace(str(tmp_path), 'PROJECT')}\n" == snapshot


def test_what_is_said_of_a_limits_file(snapshot: SnapshotAssertion) -> None:
    assert "\n\n".join(f"{text}\n    {of_limits(text)}" for text in cases(LIMITS)) + "\n" == snapshot


def test_what_is_said_of_limits_that_there_are_not(snapshot: SnapshotAssertion) -> None:
    text = 'fitout "x" { stage planned; system 12 V; limits caravan }'
    assert shown([text], lambda case: check(f"{case}\n{SURROUNDINGS}", "case.fitout").errors) == snapshot
