"""Ends of runs: studs, lugs, what covers and holds them, and what is said once."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.facts.registry import Ledger, Missing
from loomwright.model.things import End

SPEC = """
fitout "Ends" {{ stage {stage}; system 12 V }}
place bay {{ hazards vibration }}
place box {{ inside }}
structure body {{ metal steel; bonded crank.neg }}
battery crank in bay {{ serves cranking; chemistry lead-acid; capacity 70 Ah; internal 7 mohm; stud M8 }}
load pump in box {{ draws 8 A; stud M6 }}
load lamp in box {{ draws 2 A }}
splice tee in box {{ soldered; taped }}
earthpoint post on body in box {{ stud M6; surface bare; sealed }}
feed main from crank.pos to pump.pos {{
    cable {cable}
    along bay 0.5 m, box 1.5 m
    {clauses}
}}
earth back from pump.neg to post {{ cable 6 mm2; along box 0.3 m; ends lug 6 mm2 M6 crimped bare tight }}
circuit light from crank.pos to lamp {{
    cable twin 1.5 mm2
    along bay 0.5 m, box 1 m
    fuse  blade 5 A at 0.1 m
    ends  twisted taped
}}
feed tail from tee to lamp.pos {{ cable 1 mm2; along box 0.2 m; fuse none; ends crimped sealed tight }}
"""

Make = Callable[[str], Ledger]


def spec(
    clauses: str = "ends lug 6 mm2 M8 crimped sealed tight", cable: str = "6 mm2", stage: str = "planned"
) -> str:
    return SPEC.format(clauses=clauses, cable=cable, stage=stage)


def ends_of(ledger: Ledger, name: str) -> list[End]:
    return [
        end
        for run in ledger.installation.runs
        if run.name == name
        for end in ledger.installation.ends_of[run]
    ]


@pytest.mark.parametrize(
    ("cable", "mark", "sound"),
    [
        ("6 mm auto", "6 mm2", True),  # 4.59 mm² of copper: DIN 46234 makes one barrel for 4 to 6 mm²
        ("4 mm auto", "4 mm2", False),  # 1.84 mm²: less than half of the mark
        ("6 mm auto", "16 mm2", False),
        ("8 B&S", "8 B&S", True),
        ("8 B&S", "10 mm2", True),
        ("16 mm2", "16 mm2", True),
        ("16 mm2", "10 mm2", False),
    ],
)
def test_a_barrel_takes_a_range_of_copper(ledger_of: Make, cable: str, mark: str, sound: bool) -> None:
    """DIN 46234 barrel ranges (from memory); three quarters of the mark to a twentieth more is common practice."""
    ledger = ledger_of(spec(f"ends lug {mark} M8 crimped sealed tight", cable))
    end = ends_of(ledger, "main")[0]
    lug = ledger.get(end, "lug")
    fits = ledger.get(lug, "takes-from") <= ledger.get(end, "copper") <= ledger.get(lug, "takes-to")
    assert fits is sound


def test_a_lug_knows_its_hole(ledger_of: Make) -> None:
    """DIN 46235 (from memory): 8.4 mm for M8."""
    ledger = ledger_of(spec())
    lug = ledger.get(ends_of(ledger, "main")[0], "lug")
    assert ledger.get(lug, "thread") == "M8"
    assert ledger.get(lug, "hole") == pytest.approx(0.0084)


def test_the_stud_is_the_terminals_the_earth_points_or_the_fuses(ledger_of: Make) -> None:
    ledger = ledger_of(spec("fuse strip 30 A at 0.1 m; ends lug 6 mm2 M8 crimped sealed tight"))
    assert [ledger.get(end, "stud") for end in ends_of(ledger, "main")] == ["M8", "M5", "M5", "M6"]
    assert [ledger.get(end, "stud") for end in ends_of(ledger, "back")] == ["M6", "M6"]


def test_a_device_without_a_stated_stud_asks_for_it(ledger_of: Make) -> None:
    ledger = ledger_of(spec())
    with pytest.raises(Missing, match=r"the stud of lamp\.pos"):
        ledger.get(ends_of(ledger, "light")[3], "stud")


def test_twisted_strands_have_no_lug_and_nothing_to_tighten(ledger_of: Make) -> None:
    ledger = ledger_of(spec())
    end = ends_of(ledger, "light")[0]
    assert ledger.get(end, "lug") is None
    assert ledger.get(end, "held") is None


@pytest.mark.parametrize(
    "words", ["twisted taped loose", "lug 6 mm2 M8 twisted loose", "ferrule crimped loose"]
)
def test_an_end_that_is_written_loose_is_loose_however_it_is_made(ledger_of: Make, words: str) -> None:
    ledger = ledger_of(spec(f"ends {words}"))
    assert [ledger.get(end, "held") for end in ends_of(ledger, "main")] == ["loose", "loose"]


def test_a_lug_that_is_written_on_twisted_strands_is_judged(ledger_of: Make) -> None:
    ledger = ledger_of(spec("ends lug 10 mm2 M6 twisted taped"))
    lug = ledger.get(ends_of(ledger, "main")[0], "lug")
    assert ledger.get(lug, "thread") == "M6"


def test_an_end_that_nobody_has_seen_is_one_thing_to_look_at(ledger_of: Make) -> None:
    ledger = ledger_of(spec("fuse none; ends unknown", stage="as-found"))
    end = ends_of(ledger, "main")[0]
    assert ledger.get(end, "seen") is False
    reasons = set()
    for fact in ("lug", "made", "cover", "held"):
        with pytest.raises(Missing) as missing:
            ledger.get(end, fact)
        reasons.update(str(reason.what) for reason in missing.value.reasons)
    assert len(reasons) == 1


def test_what_one_clause_says_of_ends_that_are_alike_is_judged_once(ledger_of: Make) -> None:
    """The lamp's circuit has two ends at the battery, in the shaken bay, and two at the lamp: one of each is judged."""
    ledger = ledger_of(spec())
    judged = [end for end in ends_of(ledger, "light") if ledger.get(end, "judged")]
    assert [ledger.get(end, "place").name for end in judged] == ["bay", "box"]
    assert all(ledger.get(end, "positive") for end in judged)


def test_a_fuse_holder_of_which_nothing_is_said_is_not_judged(ledger_of: Make) -> None:
    ledger = ledger_of(
        spec(
            "fuse blade 15 A at 0.1 m; end crank.pos lug 6 mm2 M8 crimped sealed tight;"
            " end pump.pos lug 6 mm2 M6 crimped sealed tight"
        )
    )
    assert [ledger.get(end, "judged") for end in ends_of(ledger, "main")] == [True, False, False, True]


def test_at_a_splice_the_splice_is_judged_and_not_the_ends_on_it(ledger_of: Make) -> None:
    ledger = ledger_of(spec())
    at_splice, at_lamp = ends_of(ledger, "tail")
    assert ledger.get(at_splice, "judged") is False
    assert ledger.get(at_lamp, "judged") is True
    tee = ledger.installation.named["tee"]
    assert (ledger.get(tee, "made"), ledger.get(tee, "cover"), ledger.get(tee, "positive")) == (
        "soldered",
        "taped",
        True,
    )


def test_a_sealed_earth_point_seals_what_lands_on_it(ledger_of: Make) -> None:
    ledger = ledger_of(spec())
    at_pump, at_post = ends_of(ledger, "back")
    assert (ledger.get(at_pump, "cover"), ledger.get(at_post, "cover")) == ("bare", "sealed")


def test_only_what_lies_between_the_battery_and_the_fuse_is_ahead_of_it(ledger_of: Make) -> None:
    ledger = ledger_of(spec("fuse strip 30 A at 0.1 m; ends lug 6 mm2 M8 crimped sealed tight"))
    assert [ledger.get(end, "ahead-of-fuse") for end in ends_of(ledger, "main")] == [True, True, False, False]
    assert not any(ledger.get(end, "ahead-of-fuse") for end in ends_of(ledger, "back"))


def test_a_fuse_that_nobody_has_looked_for_leaves_it_open_whether_an_end_is_ahead(ledger_of: Make) -> None:
    ledger = ledger_of(spec("ends lug 6 mm2 M8 crimped sealed tight", stage="as-found"))
    at_battery, at_pump = ends_of(ledger, "main")
    assert ledger.get(at_battery, "ahead-of-fuse") is True
    with pytest.raises(Missing, match="the fuses of main"):
        ledger.get(at_pump, "ahead-of-fuse")


def test_a_joint_is_ahead_of_the_fuse_or_behind_it_by_its_distance(ledger_of: Make) -> None:
    ledger = ledger_of(
        spec("fuse strip 30 A at 0.4 m; joint at 0.2 m crimped taped; joint at 0.9 m crimped taped")
    )
    run = ledger.installation.named["main"]
    joints = ledger.get(run, "joints")
    assert [ledger.get(joint, "ahead-of-fuse") for joint in joints] == [True, False]
    assert [ledger.get(joint, "place").name for joint in joints] == ["bay", "box"]


def test_a_connection_must_pass_what_its_load_draws(ledger_of: Make) -> None:
    ledger = ledger_of(spec("fuse strip 30 A at 0.1 m; ends lug 6 mm2 M8 crimped sealed tight"))
    assert ledger.get(ends_of(ledger, "light")[0], "long-current") == pytest.approx(2.0)
    assert ledger.get(ends_of(ledger, "main")[0], "long-current") == pytest.approx(30.0)


LOOP = """
fitout "Loop" { stage planned; system 12 V }
practice { ends crimped sealed tight }
place roof { ambient 40 degC }
battery house in roof { chemistry agm; capacity 100 Ah; internal 5 mohm; stud M8 }
charger sun in roof { output 20 A at 14.4 V; efficiency 95 %; suits agm; stud M6; solar 75 V max 25 A }
solar panel in roof { peak 100 W; open 22 V; short 5.8 A; at-peak 18.6 V; count 1 series }
load pump in roof { draws 8 A; stud M6 }
feed panel-plus from panel.pos to sun.solar { cable 6 mm2; along roof 1 m }
earth panel-return from panel.neg to sun.neg { cable 6 mm2; along roof 1 m }
feed pump-plus from house.pos to pump.pos { cable 4 mm2; along roof 1 m; fuse blade 15 A at 0.1 m }
earth pump-return from pump.neg to house.neg { cable 4 mm2; along roof 1 m }
"""


@pytest.mark.parametrize(
    ("out", "back", "amps"), [("panel-plus", "panel-return", 5.8), ("pump-plus", "pump-return", 15)]
)
def test_both_legs_of_one_loop_pass_the_same_current(
    ledger_of: Make, out: str, back: str, amps: float
) -> None:
    ledger = ledger_of(LOOP)
    for name in (out, back):
        assert ledger.get(ends_of(ledger, name)[0], "long-current") == pytest.approx(amps)


SHARED = """
fitout "Shared barrels" {{ stage planned; system 12 V }}
practice {{ ends crimped sealed tight }}
place box {{ inside }}
battery house in box {{ chemistry agm; capacity 100 Ah; internal 5 mohm; stud M8 }}
load pump in box {{ draws 8 A; stud M6 }}
feed one from house.pos to pump.pos {{ cable 4 mm2; along box 1 m; fuse blade 10 A at 0.1 m; end house.pos lug 6 mm2 M8; end pump.pos lug 4 mm2 M6 }}
feed two from house.pos to pump.pos {{ cable 2.5 mm2; along box 1 m; fuse blade 10 A at 0.1 m; end house.pos lug 6 mm2 M8 {shared}; end pump.pos lug 2.5 mm2 M6 }}
"""


def test_conductors_that_share_a_barrel_count_as_one_lug_with_all_their_copper(ledger_of: Make) -> None:
    ledger = ledger_of(SHARED.format(shared="with one"))
    first, second = (ends_of(ledger, name)[0] for name in ("one", "two"))
    for end in (first, second):
        assert ledger.get(end, "conductors") == 2
        assert ledger.get(end, "copper") == pytest.approx(6.5e-6)
        assert ledger.get(end, "barrel-ratio") == pytest.approx(1.6)
    assert [ledger.get(end, "leads-barrel") for end in (first, second)] == [True, False]
    assert ledger.get(ledger.installation.terminals["house.pos"], "lugs") == 1
    apart = ledger_of(SHARED.format(shared=""))
    assert apart.get(apart.installation.terminals["house.pos"], "lugs") == 2


def test_a_barrel_can_be_shared_only_with_a_run_that_ends_there() -> None:
    from loomwright.model.load import load

    problems = load(SHARED.format(shared="with three"), "test.fitout").problems
    assert [problem.message for problem in problems] == [
        "no run three ends at house.pos, so two can't share its lug there"
    ]


@pytest.mark.parametrize(
    ("mark", "hole", "made"),
    [
        ("6 mm2", "M8", True),
        ("16 mm2", "M10", True),
        ("70 mm2", "M6", False),
        ("10 mm2", "M4", False),
        ("8 B&S", "M6", True),
    ],
)
def test_lugs_are_made_for_some_studs_only(ledger_of: Make, mark: str, hole: str, made: bool) -> None:
    """DIN 46234 and DIN 46235 (from memory): no 70 mm² lug below M8, no 10 mm² lug below M5."""
    ledger = ledger_of(spec(f"ends lug {mark} {hole} crimped sealed tight"))
    assert ledger.get(ledger.get(ends_of(ledger, "main")[0], "lug"), "made") is made


@pytest.mark.parametrize(
    ("cable", "lug"),
    [("6 mm auto", "6 mm²"), ("4 mm auto", "2.5 mm²"), ("8 B&S", "8 B&S"), ("16 mm2", "16 mm²")],
)
def test_the_lug_to_fit_takes_the_copper(ledger_of: Make, cable: str, lug: str) -> None:
    """DIN 46234: 4.59 mm² goes into the barrel for 4 to 6 mm², 1.84 mm² into that for 1.5 to 2.5 mm²."""
    ledger = ledger_of(spec(cable=cable))
    assert ledger.get(ends_of(ledger, "main")[0], "lug-to-fit") == lug


HUB = """
hub ways in box {{ rated 40 A; stud M6; negatives 4 x M4; way 1 blade 10 A; way 2 blade 5 A; stud 2 M5 }}
feed supply from crank.pos to ways.in {{ cable 6 mm2; along bay 0.5 m, box 1 m; ends lug 6 mm2 M6 crimped sealed tight }}
earth supply-back from ways.neg to crank.neg {{ cable 6 mm2; along box 1 m; ends lug 6 mm2 M6 crimped sealed tight }}
load fan in box {{ draws 1 A; stud M5 }}
load horn in box {{ draws 1 A; stud M5 }}
circuit air from ways.1 to fan {{ cable twin 2.5 mm2; along box 1 m; ends lug 2.5 mm2 M4 crimped sealed tight }}
circuit noise from ways.2 to horn {{ cable twin 2.5 mm2; along box 1 m; ends lug 2.5 mm2 M5 crimped sealed tight }}
"""


def test_a_hubs_stud_is_of_in_and_neg_and_each_return_of_a_circuit_has_its_own(ledger_of: Make) -> None:
    ledger = ledger_of(spec() + HUB.replace("{{", "{").replace("}}", "}"))
    assert ledger.get(ends_of(ledger, "supply")[1], "stud") == "M6"
    assert ledger.get(ends_of(ledger, "supply-back")[0], "stud") == "M6"
    [back] = [end for end in ends_of(ledger, "air") if end.point.name == "ways.neg"]
    assert ledger.get(back, "stud") == "M4"
    with pytest.raises(Missing, match=r"the stud of ways\.1"):
        ledger.get(ends_of(ledger, "air")[0], "stud")
    assert ledger.get(ends_of(ledger, "noise")[0], "stud") == "M5"


# ---------------------------------------------------------------- what is on a stud in place of a lug

STUDS = """
fitout "Studs" { stage planned; system 12 V }
place bay { ambient 30 degC }
battery house in bay { serves house; chemistry agm; capacity 100 Ah; internal 9 mohm; stud M8 }
relay link in bay { rated 40 A; coil 150 mA; stud M6 }
plug tow in bay { rated 30 A; stud M6 }
hub box in bay { rated 60 A; stud M6; negatives 4 x M4; way 1 blade 10 A }
load lamp in bay { draws 2 A }
RUN
"""
ONE_END = "feed it from START to lamp.pos { cable 2.5 mm2; along bay 1 m; fuse none; end START TERMS }"


@pytest.mark.parametrize(
    ("start", "terms", "found"),
    [
        ("house.pos", "lug 2.5 mm2 M8 crimped sealed tight", None),
        ("house.pos", "blade-terminal crimped sealed tight", "blade terminal"),
        ("house.pos", "ferrule", "ferrule"),
        ("house.pos", "plug", "plug contact"),
        ("house.pos", "twisted taped", None),  # judged as a twisted joint
        ("link.out", "blade-terminal", "blade terminal"),
        ("link.coil-pos", "blade-terminal", None),  # the stud of a relay is not its coil's
        ("tow.pos-b", "plug", None),  # the connector's own contact
        ("tow.pos-b", "ferrule", "ferrule"),
        ("box.1", "blade-terminal", None),  # what a way has, `stud` does not say
    ],
)
def test_a_fitting_that_is_no_lug_counts_where_the_spec_gives_a_stud(
    ledger_of: Make, start: str, terms: str, found: str | None
) -> None:
    ledger = ledger_of(STUDS.replace("RUN", ONE_END.replace("START", start).replace("TERMS", terms)))
    [end] = [end for end in ends_of(ledger, "it") if end.side == "start"]
    assert ledger.get(end, "instead-of-lug") == found


def test_the_return_of_a_circuit_sits_on_the_negative_stud_of_its_hub(ledger_of: Make) -> None:
    circuit = (
        "circuit it from box.1 to lamp { cable twin 2.5 mm2; along bay 1 m; ends blade-terminal crimped }"
    )
    ledger = ledger_of(STUDS.replace("RUN", circuit))
    legs = [run for run in ledger.installation.runs if run.circuit]
    ends = [end for run in legs for end in ledger.installation.ends_of[run]]
    told = {getattr(end.point, "name", ""): ledger.get(end, "instead-of-lug") for end in ends}
    assert {name for name, found in told.items() if found} == {"box.neg"}
    [on_stud] = [end for end in ends if getattr(end.point, "name", "") == "box.neg"]
    assert ledger.get(on_stud, "lug-clause") == "lug 2.5 mm2 M4"


def test_a_fitting_that_nobody_names_is_not_known(ledger_of: Make) -> None:
    ledger = ledger_of(
        STUDS.replace("RUN", ONE_END.replace("START", "house.pos").replace("TERMS", "crimped"))
    )
    with pytest.raises(Missing):
        ledger.known(ledger.get(ends_of(ledger, "it")[0], "instead-of-lug"))
