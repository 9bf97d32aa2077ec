"""Findings knowingly accepted: by whom, until when; and what an acceptance that covers nothing comes to."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright import resources
from loomwright.rulebook.finding import Finding

Judged = Callable[..., list[Finding]]

RULES = """
rule thin-cable SEVERITY "A thin cable" {
    for feed f
    need f.area >= 10 mm2
    at f.from
    say "{f} is thin"
    why "w"
    do "d"
    source practice
}
"""


def with_concession(spec: str, rule: str = "thin-cable", on: str = "bare", until: str = "") -> str:
    return spec + f'concession {rule} on {on} {{ reason "short and seen"; by "RM"{until} }}\n'


def conceded(
    judged: Judged, spec: str, severity: str = "major", today: str = "2026-06-01"
) -> dict[str, list[Finding]]:
    rules = RULES.replace("SEVERITY", severity) + resources.text("rules", "concessions.rules")
    found: dict[str, list[Finding]] = {}
    for finding in judged(rules, spec, today):
        found.setdefault(finding.rule, []).append(finding)
    return found


def test_a_concession_covers_its_finding_and_no_other(judged: Judged, spec: str) -> None:
    found = conceded(judged, with_concession(spec, until="; until 2026-06-01"))
    first, *others = found["thin-cable"]
    assert first.things == ("bare",)
    assert first.conceded is not None
    assert (first.conceded.reason, first.conceded.by, first.conceded.until) == (
        "short and seen",
        "RM",
        "2026-06-01",
    )
    assert [one.conceded for one in others] == [None] * len(others)
    assert set(found) == {"thin-cable"}


def test_one_day_after_its_date_it_covers_no_more_and_is_a_finding_itself(judged: Judged, spec: str) -> None:
    found = conceded(judged, with_concession(spec, until="; until 2026-06-01"), today="2026-06-02")
    assert [one.conceded for one in found["thin-cable"]] == [None] * len(found["thin-cable"])
    (expired,) = found["concession-expired"]
    assert expired.message == "the concession of thin-cable on bare ran out on 2026-06-01"
    assert expired.severity == "minor"
    assert expired.span.text.split() == ["until", "2026-06-01"]
    assert "concession-idle" not in found


@pytest.mark.parametrize(
    ("rule", "on", "says"),
    [
        ("thin-cable", "main", "main has no finding of thin-cable"),
        ("thin-cabel", "bare", "there is no rule 'thin-cabel': did you mean 'thin-cable'?"),
        ("quite-else", "bare", "there is no rule 'quite-else'"),
    ],
)
def test_a_concession_that_concedes_nothing_says_why(
    judged: Judged, spec: str, rule: str, on: str, says: str
) -> None:
    (idle,) = conceded(judged, with_concession(spec, rule, on))["concession-idle"]
    assert idle.message == f"the concession of {rule} on {on} concedes nothing: {says}"
    assert idle.things == (on,)


def test_a_dangerous_finding_is_conceded_only_with_a_date(judged: Judged, spec: str) -> None:
    found = conceded(judged, with_concession(spec), "dangerous")
    assert found["thin-cable"][0].conceded is None
    assert "only with `until`" in found["concession-idle"][0].message
    dated = conceded(judged, with_concession(spec, until="; until 2026-12-31"), "dangerous")
    assert dated["thin-cable"][0].conceded is not None
    assert "concession-idle" not in dated


def test_what_might_be_dangerous_is_conceded_only_with_a_date_too(judged: Judged, spec: str) -> None:
    found = conceded(judged, with_concession(spec, on="hidden"), "dangerous")
    (hidden,) = [one for one in found["thin-cable"] if one.things == ("hidden",)]
    assert (hidden.severity, hidden.conceded) == ("unproven", None)
    assert "concession-idle" in found
