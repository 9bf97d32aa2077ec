"""`new`: a first spec that checks clean, sized, and never over a file that is there."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from loomwright.cli import commands
from loomwright.report.check import check
from loomwright.sizing.beginning import LOADS, BadAnswer, answers, load, spec_of

CASES = [
    ("lifepo4 120 Ah", 30, 160, 5, LOADS),
    ("agm 100 Ah", 20, 0, 6, ("lamps 2 A in canopy 3 m", "radio 1 A critical")),
]


@pytest.mark.parametrize(("battery", "charger", "solar", "metres", "loads"), CASES)
def test_a_new_spec_has_no_finding_of_any_class_and_says_auto_nowhere(
    battery: str, charger: float, solar: float, metres: float, loads: tuple[str, ...]
) -> None:
    text = spec_of(answers("Our van", battery, charger, solar, metres, loads))
    report = check(text, "new.fitout")
    assert report.errors == ()
    assert [(one.rule, one.message) for one in report.findings] == []
    assert " auto" not in text
    assert text.count("#") >= 6


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("fridge", "a load is written as"),
        ("fridge 45 kg", "a load is written as"),
        ("Fridge 45 W", "can't be a name"),
        ("ways 45 W", "can't be a name"),
        ("fridge 45 W 90 m", "out of reason"),
        ("fridge 0 W", "a load is written as"),
    ],
)
def test_a_load_that_can_t_be_read_says_how_one_is_written(text: str, says: str) -> None:
    with pytest.raises(BadAnswer, match=says):
        load(text)


@pytest.mark.parametrize(
    ("battery", "charger", "loads", "says"),
    [
        ("nickel 100 Ah", 30, ("a 1 A",), "one of lead-acid"),
        ("agm 100 W", 30, ("a 1 A",), "and its capacity"),
        ("agm 100 Ah", 0, ("a 1 A",), "the charger"),
        ("agm 100 Ah", 30, ("a 1 A", "a 2 A"), "stands for two things"),
        ("agm 100 Ah", 30, (), "one load at least"),
    ],
)
def test_answers_out_of_reason_are_refused(
    battery: str, charger: float, loads: tuple[str, ...], says: str
) -> None:
    with pytest.raises(BadAnswer, match=says):
        answers("A van", battery, charger, 100, 5, loads)


def test_the_command_writes_asks_for_what_is_not_given_and_refuses_to_overwrite(tmp_path: Path) -> None:
    spec = tmp_path / "van.fitout"
    words = [
        "new",
        str(spec),
        "--title",
        "Van",
        "--battery",
        "lifepo4 100 Ah",
        "--charger",
        "20",
        "--solar",
        "0",
    ]
    made = CliRunner().invoke(commands, words, input="4\nlamps 2 A, fan 1 A\n")
    assert made.exit_code == 0, made.output
    assert "circuit fan-feed" in spec.read_text(encoding="utf-8")
    spec.write_text("mine\n")
    again = CliRunner().invoke(commands, [*words, "--metres", "4", "--load", "lamps 2 A"])
    assert again.exit_code != 0
    assert "is there already" in str(again.exception)
    assert spec.read_text() == "mine\n"
