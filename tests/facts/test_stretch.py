"""How a run is held and covered along its way, and what it comes near to."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.facts.registry import Ledger, Missing
from loomwright.model.things import Run

SPEC = """
fitout "Routes" {{ stage {stage}; system 12 V }}
place bay   {{ hazards heat, vibration }}
place hole  {{ opening grommet }}
place rail  {{ hazards spray }}
place arch  {{ hazards wheel }}
place box   {{ inside }}
battery crank in bay {{ serves cranking; chemistry lead-acid; capacity 70 Ah; internal 7 mohm; stud M8 }}
load pump in box {{ draws 5 A }}
load lamp in box {{ draws 1 A }}
feed main from crank.pos to pump.pos {{
    cable  6 mm2 red
    along  bay 0.4 m, hole, {places}
    {clauses}
}}
circuit light from crank.pos to lamp {{ cable twin 1.5 mm2; along box 1 m; fuse blade 5 A at 0.1 m }}
"""

Make = Callable[[str], Ledger]


def spec(clauses: str, places: str = "box 2.0 m", stage: str = "planned") -> str:
    return SPEC.format(clauses=clauses, places=places, stage=stage)


def main_of(ledger: Ledger) -> Run:
    found = ledger.installation.named["main"]
    assert isinstance(found, Run)
    return found


@pytest.mark.parametrize(
    ("clauses", "gap"),
    [
        ("clips 0.25 m", 0.25),
        ("clips none", 2.4),
        ("clips 0.25 m; clips none in box", 2.0),
        ("clips 0.6 m in bay; clips 0.25 m in box", 0.4),  # nothing hangs farther than the stretch is long
        ("clips 3 m", 2.0),
    ],
)
def test_the_widest_gap_is_a_spacing_or_a_stretch_without_clips(
    ledger_of: Make, clauses: str, gap: float
) -> None:
    ledger = ledger_of(spec(clauses))
    assert ledger.get(main_of(ledger), "widest-gap") == pytest.approx(gap)


def test_stretches_without_clips_that_follow_one_another_hang_as_one(ledger_of: Make) -> None:
    ledger = ledger_of(
        spec("clips 0.2 m in box; clips none in bay; clips none in rail", "rail 1.0 m, box 1.0 m")
    )
    assert ledger.get(main_of(ledger), "widest-gap") == pytest.approx(1.4)


def test_clips_that_nobody_has_looked_for_leave_the_gap_unknown_and_say_where(ledger_of: Make) -> None:
    ledger = ledger_of(spec("fuse none", stage="as-found"))
    with pytest.raises(Missing) as missing:
        ledger.get(main_of(ledger), "widest-gap")
    assert "the clip spacing of main in box" in str(missing.value)


def test_a_stretch_known_to_hang_settles_the_gap_whatever_the_others_are(ledger_of: Make) -> None:
    ledger = ledger_of(spec("fuse none; clips none in box", stage="as-found"))
    assert ledger.get(main_of(ledger), "widest-gap") == pytest.approx(2.0)


def test_cables_on_a_battery_are_held_closer(ledger_of: Make) -> None:
    """ISO 10133:2012 clauses 7.3 and 7.4: 450 mm, and 300 mm for battery cables."""
    ledger = ledger_of(spec("clips 0.25 m"))
    assert ledger.get(main_of(ledger), "support-limit") == pytest.approx(0.3)


def test_a_sleeve_must_cover_every_place(ledger_of: Make) -> None:
    ledger = ledger_of(spec("sleeve braid in bay"))
    run = main_of(ledger)
    assert ledger.get(run, "sleeved") is False
    assert ledger.get(run, "bare-in") == ("box",)
    whole = ledger_of(spec("sleeve braid"))
    assert whole.get(main_of(whole), "bare-in") == ()


@pytest.mark.parametrize(
    ("clauses", "places", "metres"),
    [
        ("clearance 60 mm to wheel", "arch 0.6 m", 0.06),
        ("clearance 60 mm to wheel; clearance 0.3 m to heat", "arch 0.6 m", 0.06),
        ("clips none", "box 1 m", None),
    ],
)
def test_clearance_is_what_was_stated_or_nothing_where_there_is_no_such_hazard(
    ledger_of: Make, clauses: str, places: str, metres: float | None
) -> None:
    ledger = ledger_of(spec(clauses, places))
    assert ledger.get(main_of(ledger), "wheel-clearance") == (
        None if metres is None else pytest.approx(metres)
    )


def test_a_wheel_without_a_stated_clearance_asks_for_it(ledger_of: Make) -> None:
    ledger = ledger_of(spec("clips none", "arch 0.6 m"))
    with pytest.raises(Missing, match="the clearance of main to wheel in arch"):
        ledger.get(main_of(ledger), "wheel-clearance")


@pytest.mark.parametrize(("fuse", "ahead"), [("fuse blade 10 A at 0.1 m", True), ("fuse none", True)])
def test_whatever_lies_between_a_battery_and_the_fuse_is_ahead_of_it(
    ledger_of: Make, fuse: str, ahead: bool
) -> None:
    ledger = ledger_of(spec(fuse))
    assert ledger.get(main_of(ledger), "ahead-of-fuse") is ahead


def test_the_return_of_a_circuit_lies_beside_its_feed(ledger_of: Make) -> None:
    ledger = ledger_of(spec("clips none"))
    legs = [run for run in ledger.installation.runs if run.circuit]
    assert [ledger.get(leg, "second-leg") for leg in legs] == [False, True]
    assert [ledger.get(leg, "positive") for leg in legs] == [True, False]


@pytest.mark.parametrize(("clauses", "slack"), [("slack 120 mm in box", 0.12), ("clips none", None)])
def test_slack_is_what_was_planned_for_a_place(ledger_of: Make, clauses: str, slack: float | None) -> None:
    ledger = ledger_of(spec(clauses))
    stretch = ledger.get(main_of(ledger), "stretches")[-1]
    assert ledger.get(stretch, "slack") == (None if slack is None else pytest.approx(slack))


def test_slack_that_nobody_has_looked_for_is_something_to_look_at(ledger_of: Make) -> None:
    ledger = ledger_of(spec("fuse none", stage="as-found"))
    stretch = ledger.get(main_of(ledger), "stretches")[-1]
    with pytest.raises(Missing, match="the slack of main in box"):
        ledger.get(stretch, "slack")
