"""`new`: a first spec that checks clean, sized, and never over a file that is there."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from loomwright.cli import commands
from loomwright.report.check import check
from loomwright.sizing.beginning import LOADS, BadAnswer, answers, fitting, load
from loomwright.sizing.first_spec import spec_of

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


@pytest.mark.parametrize(
    ("battery", "charger", "says"),
    [
        ("agm 100 Ah", 40, "more than the 25 A that agm of 100 Ah is charged with"),
        ("lifepo4 100 Ah", 120, "a charger of 50 A at most, or 240 Ah"),
        # by hand: 120 A × 14.4 V / (0.9 × 14.2 V) = 135 A of an alternator of 110 A
        ("lifepo4 400 Ah", 120, "would take 135 A of the alternator, and 6[05] % of its 110 A"),
    ],
)
def test_a_charger_that_the_battery_or_the_alternator_can_t_have_is_refused(
    battery: str, charger: float, says: str
) -> None:
    with pytest.raises(BadAnswer, match=says):
        fitting(answers("A van", battery, charger, 0, 5, ("fridge 45 W critical",)))


@pytest.mark.parametrize(
    ("battery", "charger", "solar", "metres", "loads", "has"),
    [
        # IEC 62548: 125 % of 1000 W / 17.5 W a short-circuit ampere is 71 A
        ("agm 300 Ah", 50, 1000, 5, ("fridge 45 W critical",), "solar      50 V max 75 A"),
        # ISO 8820-3: a blade breaks 1000 A, and more than that may flow here
        ("lifepo4 300 Ah", 30, 0, 5, ("a 10 A critical 3 m",), "class-t 30 A"),
        # IEC 62485-3 for a valve-regulated battery: 840 mm² a hundred Ah; twice that is written
        ("agm 400 Ah", 50, 200, 5, ("fridge 45 W", "w 20 A"), "vents 68 cm2"),
    ],
)
def test_controller_fuses_and_vents_grow_with_the_answers(
    battery: str, charger: float, solar: float, metres: float, loads: tuple[str, ...], has: str
) -> None:
    text = spec_of(answers("A van", battery, charger, solar, metres, loads))
    assert has in text
    assert [(one.rule, one.message) for one in check(text, "new.fitout").findings] == []


GIVEN = ("--title", "V", "--battery", "lifepo4 100 Ah", "--charger", "20", "--solar", "0", "--metres", "4")


def test_what_check_finds_in_the_new_spec_is_told_and_ends_with_1(tmp_path: Path) -> None:
    (tmp_path / "loomwright.toml").write_text('[limits]\nsupport-interval = "50 mm"\n')
    spec = tmp_path / "van.fitout"
    made = CliRunner().invoke(commands, ["new", str(spec), *GIVEN, "--load", "lamps 2 A"])
    assert spec.exists()
    assert made.exit_code == 1, made.output
    assert "major" in made.output


def test_without_answers_it_ends_with_2_and_says_so(tmp_path: Path) -> None:
    made = CliRunner().invoke(commands, ["new", str(tmp_path / "van.fitout")], input="")
    assert made.exit_code == 2
    assert "'What is it called' was not answered" in made.output
    loads = CliRunner().invoke(commands, ["new", str(tmp_path / "van.fitout"), *GIVEN], input="")
    assert loads.exit_code == 2
    assert "'Loads, parted by commas' was not answered" in loads.output


def test_an_answer_given_wrong_is_told_before_anything_is_asked(tmp_path: Path) -> None:
    made = CliRunner().invoke(
        commands, ["new", str(tmp_path / "van.fitout"), "--battery", "potato"], input=""
    )
    assert made.exit_code == 2
    assert "a battery is written as" in made.output
    assert "What is it called" not in made.output


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
