"""Every slip in a name is reported once, at its own place, with the nearest known word, and hides no other."""

from __future__ import annotations

from collections.abc import Callable

import pytest

Slips = Callable[..., list[tuple[int, str]]]

# what is written, and a piece of the message that it must give
CASES = {
    "a second thing of one name": ("load crank in box", "the name crank is given twice: a battery has it already"),
    "the first place is in the hint": ("load crank in box", "first given at test.fitout:7"),
    "a place that is not there": ("load tap in bax", "there is no place named bax: did you mean 'box'?"),
    "a place that is no place": ("load tap in crank", "crank is a battery, and a place is wanted here"),
    "a structure that is not there": ("earthpoint e on chasis in box", "no structure named chasis: did you mean 'chassis'?"),
    "a part that is not there": ("load tap in box is tap-12", "there is no part named tap-12"),
    "a part for another kind": ("part load tap-12\nhub h in box is tap-12", "tap-12 is a part for a load, and h is a hub"),
    "a terminal that is not there": ("feed f from crank.pso to lamp.pos", "crank has no terminal 'pso': it has pos, neg: did you mean 'pos'?"),
    "a way that is not there": ("circuit f from ways.3 to lamp", "ways has no terminal '3': it has in, neg, 1, 2"),
    "a device without its terminal": ("feed f from crank to lamp.pos", "crank is a battery: say which terminal"),
    "a place where a terminal is wanted": ("feed f from bay to lamp.pos", "bay is a place, and a terminal is wanted here"),
    "a feed to a structure": ("feed f from crank.pos to chassis", "chassis is a structure, and a feed runs between terminals"),
    "a run that ends where it starts": ("earth e from crank.neg to crank.neg", "crank.neg is where this run starts"),
    "a circuit to what is no load": ("circuit c from ways.1 to crank", "crank is a battery, and a load is wanted here"),
    "a circuit to a load's terminal": ("circuit c from ways.1 to lamp.pos", "a circuit feeds a load by its name"),
    "a circuit with nowhere to return": ("busbar bar in box\ncircuit c from bar to lamp", "c can't return to bar, which has no neg"),
    "a circuit from a hub without negatives": ("hub h in box { way 1 blade 5 A; negatives none }\ncircuit c from h.1 to lamp", "c can't return to h, which has no neg"),
    "an end that the run does not reach": ("circuit c from ways.1 to lamp { end pump.pos ferrule }", "c does not end at pump.pos"),
    "an end twice": ("feed f from crank.pos to lamp.pos { end lamp.pos ferrule; end lamp.pos tight }", "the end of f at lamp.pos is given twice"),
    "an end at a fuse that is not there": ("feed f from crank.pos to lamp.pos { end fuse tight }", "f has no fuse to end at"),
    "a sleeve in a place that is not passed": ("feed f from crank.pos to lamp.pos { along box 1 m; sleeve braid in bay }", "f does not pass bay"),
    "a fuse measured from elsewhere": ("feed f from crank.pos to lamp.pos { fuse blade 5 A at 0.1 m from pump.pos }", "f does not reach pump.pos"),
    "a fuse beyond the end": ("feed f from crank.pos to lamp.pos { along box 1 m; fuse blade 5 A at 1.2 m }", "f is 1 m long, and its fuse would sit at 1.2 m"),
    "a fuse in the wrong place": ("feed f from crank.pos to lamp.pos { along bay 1 m, box 1 m; fuse blade 5 A at 0.2 m in box }", "its distance puts it in bay"),
    "a fuse and none": ("feed f from crank.pos to lamp.pos { fuse none; fuse blade 5 A at 0.2 m }", "f has a fuse and 'none' as well"),
    "a joint beyond the end": ("feed f from crank.pos to lamp.pos { along box 1 m; joint at 2 m crimped }", "its joint would be at 2 m"),
    "a place without a length": ("feed f from crank.pos to lamp.pos { along bay, wall, box 1 m }", "f passes bay without a length"),
    "a loom that is not there": ("feed f from crank.pos to lamp.pos { loom spine }", "there is no loom named spine"),
    "a multicore that is not there": ('feed f from crank.pos to lamp.pos { core tail "red" }', "there is no multicore named tail"),
    "a load that is not there": ("mode m { on lmp }", "there is no load or inverter named lmp: did you mean 'lamp'?"),
    "a load that is no load": ("mode m { on crank }", "crank is a battery, and a load or inverter is wanted here"),
    "two duties at one temperature": ("load n in box { duty 20 % at 20 degC, 30 % at 20 degC }", "n has two duties at 20 °C"),
    "a duty of nothing": ("load n in box { duty 0 % at 20 degC }", "n never draws: its duty is 0 % at every temperature"),
    "a usual day that is warmer than it ever gets": (
        "place p { ambient 40 degC; usually 10 degC to 45 degC }",
        "p is usually up to 45 °C warm, and its ambient says at most 40 °C",
    ),
    "a usual day that is colder than it ever gets": (
        "place p { ambient 0 degC to 40 degC; usually -4 degC to 25 degC }",
        "p is usually down to -4 °C, and its ambient says at least 0 °C",
    ),
    "a load twice": ("mode m { on lamp, lamp }", "lamp is switched on twice in m"),
    "a switch that is no switch": ("mode m { closed lamp }", "lamp is a load, and a switch, isolator, relay or plug is wanted here"),
    "a mode that is not there": ("mode m\nday d { n 3 h }", "there is no mode named n"),
    "a day that is too long": ("mode m\nmode n\nday d { m 20 h; n 5 h }", "d lasts 25 h, and a day has 24 h"),
    "a concession on nothing": ('concession no-sleeve on lmp { reason "x"; by "RM" }', "there is nothing named lmp: did you mean 'lamp'?"),
    "a concession that nobody owns": ('concession no-sleeve on lamp { reason "x" }', "this concession does not say who accepts it"),
    "readings in no mode": ('readings 2026-11-18 by "RM" in nite', "there is no mode named nite"),
    "amps of what is no run": ('mode m\nreadings 2026-11-18 by "RM" in m { amps lamp 2 A }', "lamp is a load, and a run is wanted here"),
    "a value that can't be none": ("battery b in box { chemistry none }", "the chemistry of b can't be none"),
    "a charger that stops above where it starts": ("charger dcdc in box {\n starts 12.0 V; stops 12.7 V }", "dcdc has 'starts 12.0 V' below 'stops 12.7 V' | it would stop again"),
    "a charger whose part stops above where it starts": ("part charger dc { stops 12.7 V }\ncharger dcdc in box is dc { starts 12 V }", "dcdc has 'starts 12 V' below 'stops 12.7 V'"),
    "a relay that opens above where it closes": ("relay r in box { closes 12.8 V; opens 13.3 V }", "r has 'closes 12.8 V' below 'opens 13.3 V'"),
    "a panel with more volts at work than open": ("solar p in box { open 18.6 V; at-peak 22.4 V }", "p has 'open 18.6 V' below 'at-peak 22.4 V'"),
    "an alternator of another system": ("alternator gen in bay { holds 28 V }", "gen holds 28 V, and the system has 12 V | from 10.8 V to 16.8 V is wanted here"),
    "spaced but not counted": ("load l in box { spaced 0.5 m }", "l is spaced but not counted"),
    "a second head": ('fitout "two" { stage planned; system 12 V }', "there is a fitout already, and there can be only one"),
    "a second practice": ("practice { sleeve braid }\npractice { clips 0.2 m }", "there is a practice already"),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_a_slip_is_reported_at_its_line(case: str, slips: Slips) -> None:
    text, expected = CASES[case]
    found = slips(text)
    assert len(found) == 1, found
    line, message = found[0]
    assert expected in message
    assert line == text.count("\n") + 1  # each case ends with the line that is wrong


def test_twenty_slips_give_twenty_messages(slips: Slips) -> None:
    lines = [f"load tap-{number} in nowhere-{number}" for number in range(20)]
    assert [line for line, _ in slips("\n".join(lines))] == list(range(1, 21))


def test_what_could_not_be_built_is_not_reported_again_where_it_is_used(slips: Slips) -> None:
    found = slips(
        "battery aux in nowhere\n"
        "feed f from aux.pos to lamp.pos { along box 1 m }\n"
        "earth e from aux.neg to chassis\n"
        'concession no-sleeve on f { reason "x"; by "RM" }\n'
        "mode m { on ghost }\n"
        'readings 2026-11-18 by "RM" in m { amps f 2 A }'
    )
    assert [line for line, _ in found] == [1, 5]


def test_an_error_in_a_run_does_not_hide_another_in_it(slips: Slips) -> None:
    found = slips("feed f from crank.pis to lamp.pos {\n along bax 1 m\n sleeve braid in bux\n loom spine\n}")
    assert [line for line, _ in found] == [1, 2, 3, 4]


def test_a_syntax_error_does_not_make_names_and_clauses_missing(slips: Slips) -> None:
    found = slips(
        "battery aux on box\n"
        "feed f from aux.pos to lamp.pos\n"
        "hub h in box { way 1 blde 5 A }\n"
        "circuit c from h.1 to lamp\n"
        "place hole { opening grommit }\n"
        "feed g from crank.pos to lamp.pos { along bay 1 m, hole; fuse strop 60 A at 0.1 m; end fuse tight }\n"
    )
    assert [line for line, _ in found] == [1, 3, 5, 6]


def test_a_path_with_a_missing_place_is_not_called_too_short(slips: Slips) -> None:
    found = slips("feed f from crank.pos to lamp.pos { along bay 1 m, bux 2 m; fuse blade 5 A at 2.5 m }")
    assert len(found) == 1
    assert "there is no place named bux" in found[0][1]


def test_cores_are_counted(slips: Slips) -> None:
    found = slips(
        "multicore tail { cable 2 x 1.5 mm2; along box 1 m }\n"
        'feed a from ways.1 to lamp.pos { core tail "red" }\n'
        'feed b from ways.1 to lamp.pos { core tail "red" }\n'
        'feed c from ways.1 to lamp.pos { core tail "blue" }\n'
        'feed d from ways.1 to lamp.pos { core tail "green" }\n'
        'feed e from ways.1 to lamp.pos { cable 2 mm2; core tail "white" }\n'
    )
    assert [(line, message.split(" | ")[0]) for line, message in found] == [
        (3, "the red core of tail is used twice"),
        (5, "tail has 2 cores, and all are used already"),
        (6, "e is a core of tail, which says 'cable' already"),
        (6, "tail has 2 cores, and all are used already"),
    ]


def test_a_head_that_says_too_little_is_told_what_to_write() -> None:
    from loomwright.model.load import load

    loaded = load('fitout "x"\nplace a', "x.fitout")
    assert [(problem.span.line, problem.message) for problem in loaded.problems] == [
        (1, "this fitout has no 'stage'"),
        (1, "this fitout has no 'system'"),
    ]
    assert not loaded.fragment


def test_a_slip_on_a_line_does_not_hide_the_names_on_it(slips: Slips) -> None:
    found = slips(
        "battery aux in bax { chemistry lead }\n"
        "load tap in bux { draws 5 V }\n"
        "feed f from crank.pos to tapp.pos { cable 6 mm red; along bex 2 m }\n"
        "mode m { on tapp; engine idle }"
    )
    missing = ["there is no place named bax", "there is no place named bux", "there is no device named tapp", "there is no place named bex", "there is no load or inverter named tapp"]  # fmt: skip
    assert [
        message.split(":")[0].split(" | ")[0] for _, message in found if "there is no" in message
    ] == missing
    assert len(found) == len(missing) + 4


def test_a_name_in_a_head_that_could_not_be_read_is_not_missing(slips: Slips) -> None:
    found = slips(
        "battery aux on box { capacity 80 Ah }\n"
        "load tap in box load tip in box\n"
        "frumble pod { draws 3 A }\n"
        "place shed {\n    ambient 20 degC\n    load top in box\n}\n"
        "mode m { on tap, tip, top, pod }\n"
        "feed f from aux.pos to tap.pos { along shed 1 m }"
    )
    assert [line for line, _ in found] == [1, 2, 3, 6]


def test_a_terminal_is_missing_whatever_else_is_wrong_with_its_device(slips: Slips) -> None:
    found = slips(
        "battery aux in nowhere { chemistry lead }\n"
        "feed f from aux.pso to lamp.pos\n"
        "feed g from aux.pos to lamp.pos { end aux.neg crimped }"
    )
    assert [line for line, _ in found] == [1, 1, 2, 3]
    assert "aux has no terminal 'pso': it has pos, neg" in found[2][1]
    assert "g does not end at aux.neg" in found[3][1]


@pytest.mark.parametrize(
    "wrong", ["way 3 blde 5 A", "way 3 blade 50000 A", "terminals 3 4", "3", "negatives 4 x M4\n    terminals spare,\n    3aux"]
)  # fmt: skip
def test_a_terminal_is_not_called_missing_where_the_clause_that_gives_it_could_not_be_read(
    slips: Slips, wrong: str
) -> None:
    found = slips(f"hub h in box {{\n    {wrong}\n}}\ncircuit c from h.3 to lamp {{ return ways.neg }}")
    assert found
    assert not [message for _, message in found if "has no terminal" in message]


def test_a_terminal_is_not_called_missing_where_the_part_that_may_give_it_is(slips: Slips) -> None:
    found = slips("hub h in box is box-8\ncircuit c from h.3 to lamp")
    assert [line for line, _ in found] == [1]


def test_two_names_that_are_none_are_not_one_given_twice(slips: Slips) -> None:
    found = slips("load A-b in box\nload a_b in box\nload Lamp in box\nmode m { on a-b }")
    assert [(line, message.split(":")[0]) for line, message in found] == [
        (1, "'A-b' is no name"),
        (2, "'a_b' is no name"),
        (3, "'Lamp' is no name"),
    ]


def test_volts_that_go_together_are_no_slip(slips: Slips) -> None:
    """The charger starts where it stops; the truck's own 28 V feed a converter; one of two is unknown."""
    found = slips(
        "charger one in box { starts 13.2 V; stops 13.2 V }\n"
        "charger two in box { starts unknown; stops 12.7 V }\n"
        "supply truck in box { holds 28 V }\n"
        "alternator gen in bay { holds 14.2 V }\n"
        "mode m { on ghost }"
    )
    assert [line for line, _ in found] == [5]
