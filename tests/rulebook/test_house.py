"""A workshop's `loomwright.toml`: taken where it is sound, refused at its line where it is not."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.facts.limits import load_limits
from loomwright.rulebook.house import house_in, house_of
from loomwright.rulebook.load import load_rules


def problems_of(text: str) -> list[tuple[int, int, str, str]]:
    return [
        (one.span.line, one.span.column, one.message, one.hint)
        for one in house_in(text, "loomwright.toml").problems
    ]


def test_the_nearest_file_upward_holds(tmp_path: Path) -> None:
    (tmp_path / "loomwright.toml").write_text('[severities]\nconcession-idle = "major"\n')
    (tmp_path / "jobs").mkdir()
    spec = tmp_path / "jobs" / "van.fitout"
    spec.write_text("")
    assert house_of(str(spec)).severities == {"concession-idle": "major"}


def test_without_a_file_nothing_changes(tmp_path: Path) -> None:
    (tmp_path / ".git").mkdir()
    house = house_of(str(tmp_path / "van.fitout"))
    book = load_rules()
    assert house.judged(book).rules == book.rules
    assert house.limited(load_limits()) == (load_limits(), ())


def test_a_class_of_severity_is_replaced() -> None:
    house = house_in('[severities]\nconcession-idle = "major"\n', "loomwright.toml")
    rule = house.judged(load_rules()).rule("concession-idle")
    assert rule is not None
    assert rule.severity == "major"


def test_a_limit_is_replaced_and_says_whose_it_is() -> None:
    limits, problems = house_in('[limits]\nfuse-distance = "150 mm"\n', "jobs/loomwright.toml").limited(
        load_limits()
    )
    assert problems == ()
    assert limits["fuse-distance"].value == pytest.approx(0.15)
    assert (
        limits["fuse-distance"].printed_source
        == "house rule (jobs/loomwright.toml); 33 CFR 183.455(b)(1) has 178 mm"
    )


@pytest.mark.parametrize(
    ("text", "where", "message", "hint"),
    [
        ('\nprice = "a.csv"\n', (2, 1), "loomwright.toml has no key 'price'", "did you mean 'prices'?"),
        (
            '[severities]\nno-vent = "fatal"\n',
            (2, 1),
            "'fatal' is no class of severity",
            "write dangerous, major or minor",
        ),
        ('rules = "a.rules"\n', (1, 1), '`rules` must be a list of file names, such as ["house.rules"]', ""),
        (
            'rules = ["missing.rules"]\n',
            (1, 1),
            "there is no file 'missing.rules' beside loomwright.toml",
            "",
        ),
        ("limits = 3\n", (1, 1), "`limits` must be a table: write it as [limits]", ""),
        (
            "[limits]\nfuse-distance = 178\n",
            (2, 1),
            "the value of 'fuse-distance' must be a text in quotes",
            "",
        ),
        ("[limits\n", (1, 8), "expected ']' at the end of a table declaration", "this file is TOML"),
    ],
)
def test_what_is_wrong_is_told_at_its_line(
    text: str, where: tuple[int, int], message: str, hint: str
) -> None:
    assert problems_of(text) == [(*where, message, hint)]


def test_unknown_rules_and_limits_name_the_nearest() -> None:
    house = house_in(
        '[severities]\nconcession-idel = "minor"\n[limits]\nfuse-distanse = "1 m"\n', "loomwright.toml"
    )
    (rule,) = house.judged(load_rules()).problems
    (limit,) = house.limited(load_limits())[1]
    assert (rule.message, rule.hint) == (
        "there is no rule 'concession-idel'",
        "did you mean 'concession-idle'?",
    )
    assert (limit.message, limit.hint) == (
        "there is no limit 'fuse-distanse'",
        "did you mean 'fuse-distance'?",
    )


def test_a_limit_of_another_kind_is_refused() -> None:
    (problem,) = house_in('[limits]\nfuse-distance = "15 A"\n', "loomwright.toml").limited(load_limits())[1]
    assert problem.message == "the limit fuse-distance is a length, such as 178 mm: '15 A' is not"
