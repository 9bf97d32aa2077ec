"""A slip stays where it is: what comes after it is read, and it is told once, in the words of the trade."""

from __future__ import annotations

import pytest

from loomwright.syntax.parse import MOST_PROBLEMS

from .saying import head, read, said, sound, told


def messages(text: str) -> list[str]:
    return [problem.message for problem in read(text).problems]


def in_block(kind: str, text: str) -> str:
    """The one message about a clause."""
    (message,) = messages(f"{head(kind)} {{ {text} }}")
    return message


@pytest.mark.parametrize(
    ("kind", "text", "message"),
    [
        ("feed", "fuze strip 60 A at 1 m", "'fuze' is no clause of a feed: did you mean 'fuse'?"),
        (
            "earth",
            "claerance 1 m to wheel",
            "'claerance' is no clause of an earth: did you mean 'clearance'?",
        ),
        ("feed", "capacity 120 Ah", "'capacity' belongs to a battery, not to a feed"),
        ("feed", "return box.neg", "'return' belongs to a circuit, not to a feed"),
        ("battery", "fuse none", "'fuse' belongs to a run, not to a battery"),
        ("load", "serves house", "'serves' belongs to a battery, not to a load"),
        ("place", "xyzzy 5", "'xyzzy' is no clause of a place"),
        ("place", "5 degC", "'5' begins nothing: a clause of a place begins with a word"),
        ("place", "hazards hea", "'hea' is no hazard: did you mean 'heat'?"),
        ("place", "hazards zzz", "'zzz' is no hazard"),
        ("place", "opening hole", "'hole' is no kind of opening"),
        ("battery", "chemistry lifepo", "'lifepo' is no chemistry: did you mean 'lifepo4'?"),
        ("feed", "fuse stripp 60 A at 1 m", "'stripp' is no kind of fuse: did you mean 'strip'?"),
        ("feed", "cable 8 B&S rde", "'rde' is no colour: did you mean 'red'?"),
        ("feed", "cable 8 B&S red/blu", "'blu' is no colour of a cable: did you mean 'blue'?"),
        ("feed", "cable 8 B&S red black", "'black' stands beside 'red'"),
        ("feed", "ends crimped soldered", "'soldered' stands beside 'crimped'"),
        ("feed", "ends crimpt", "'crimpt' is no way to make an end: did you mean 'crimped'?"),
        ("feed", "sleeve spirl", "'spirl' is no kind of sleeve: did you mean 'spiral'?"),
        ("feed", "fuse strip 60 A 0.15 m", "'0.15' can't stand here: 'at' is wanted"),
        ("feed", "fuse strip 60 A", "'fuse' breaks off here: 'at' is wanted"),
        ("feed", "fuse", "'fuse' breaks off here: a kind of fuse or 'auto' is wanted"),
        ("feed", "fuse strip 60 at 1 m", "'60' has no unit"),
        ("feed", "clips 0.25", "'0.25' has no unit"),
        ("feed", "along toolbox 0,5 m", "'0,5' is no number: did you mean '0.5'?"),
        ("feed", "along toolbox -1 m", "'-1 m' can't be right for 'along'"),
        ("feed", "along toolbox 500 km", "'500 km' can't be right for 'along'"),
        ("feed", "along 2nd-box 1 m", "'2' can't stand here: a name is wanted"),
        ("feed", "along Toolbox 1 m", "'Toolbox' is no name: did you mean 'toolbox'?"),
        ("feed", "along tool.box 1 m", "'tool.box' is a terminal; the name of a thing is wanted here"),
        ("feed", "along none, toolbox 1 m", "'none' can't be a name"),
        ("feed", "end Crank.pos tight", "'Crank.pos' is no name: did you mean 'crank.pos'?"),
        ("feed", "end a.pos lug 8 B&S", "'end' breaks off here: a thread such as M8 is wanted"),
        ("feed", "maker yes", "'maker' ends before 'yes'"),
        ("feed", "label MAIN", "'MAIN' can't stand here: a text in double quotes is wanted"),
        ("feed", 'label "MAIN', "the text 'MAIN' has no closing quote"),
        ("feed", 'label "MA\x07IN"', "the text 'MA�IN' holds a character that can't be printed"),
        ("feed", "fuse strip 15 V at 1 m", "'15 V' is a voltage; a current is wanted here"),
        ("feed", "fuse strip 15 a at 1 m", "'a' is no unit here: did you mean 'A'?"),
        ("feed", "fuse strip 15 xx at 1 m", "'xx' is no unit; a current is wanted here"),
        ("feed", "fuse strip 2/0 A at 1 m", "'2/0' is no number"),
        ("feed", "cable 6 mm", "'6 mm' may be an area or the outside of the insulation"),
        ("feed", "cable 6 mm red", "'6 mm' may be an area or the outside of the insulation"),
        ("feed", "end a.pos lug 6 mm M8", "'6 mm' may be an area or the outside of the insulation"),
        ("feed", "cable 6 inch auto", "auto cable is named by millimetres"),
        ("feed", "cable 2.5 AWG", "'2.5 AWG' is no gauge"),
        ("feed", "cable 5/0 AWG", "'5/0 AWG' is no gauge"),
        ("feed", "cable 0 mm2", "no cable is 0 mm2"),
        ("feed", "cable 0.01 mm2", "no cable is 0.01 mm2"),
        ("feed", "cable 0.5 mm auto", "no cable is 0.5 mm"),
        ("feed", "cable 6 red", "'6' has no unit"),
        ("feed", "cable twin 6 tinned red", "'6' has no unit"),
        ("feed", "end a.pos lug 6 tight", "'6' has no unit"),
        ("feed", "end a.pos lug 6 mm2 Mx", "'Mx' is no thread"),
        ("battery", "stud Mx", "'Mx' is no thread"),
        ("busbar", "studs 6 x M", "'M' is no thread"),
        ("load", "stud Pos M6", "'Pos' is no name: did you mean 'pos'?"),
        ("feed", "cable 16 V", "'16 V' is a voltage; an area is wanted here"),
        ("battery", "capacity NaN Ah", "'NaN' can't stand here: a number with its unit is wanted"),
        ("battery", "capacity inf Ah", "'inf' can't stand here: a number with its unit is wanted"),
        ("battery", "capacity 1e999 Ah", "'1e999' is too large a number for anything real"),
        ("battery", "capacity -5 Ah", "'-5 Ah' can't be right for 'capacity'"),
        ("battery", "discharge 1e9 A max", "'1e9 A' can't be right for 'discharge'"),
        ("battery", "internal 7 ohm", "'7 ohm' can't be right for 'internal'"),
        ("battery", "internal 7 uohm", "'7 uohm' can't be right for 'internal'"),
        ("battery", "capacity 75 C", "'75 C' can't be right for 'capacity'"),
        ("battery", "capacity 0.000001 Ah", "'0.000001 Ah' can't be right for 'capacity'"),
        ("battery", "cranking 680 mA", "'680 mA' can't be right for 'cranking'"),
        ("alternator", "holds 142 V", "'142 V' can't be right for 'holds'"),
        ("charger", "output 30 A at 144 V", "'144 V' can't be right for 'output'"),
        ("charger", "output 30 kA at 14.4 V", "'30 kA' can't be right for 'output'"),
        ("charger", "efficiency 0.92 %", "'0.92 %' can't be right for 'efficiency'"),
        ("solar", "short 9.1 kA", "'9.1 kA' can't be right for 'short'"),
        ("switch", "resistance 5 ohm", "'5 ohm' can't be right for 'resistance'"),
        ("relay", "coil 150 A", "'150 A' can't be right for 'coil'"),
        ("inverter", "rated 2000 kW", "'2000 kW' can't be right for 'rated'"),
        ("inverter", "output 2300 V", "'2300 V' can't be right for 'output'"),
        ("load", "draws 3200 A", "'3200 A' can't be right for 'draws'"),
        ("load", "surge 9 A for 3 h", "'3 h' can't be right for 'surge'"),
        ("load", "standby 200 A", "'200 A' can't be right for 'standby'"),
        ("battery", "discharge 100 A", "'discharge' breaks off here: 'max' is wanted"),
        ("battery", "bought 2026-02-30", "'2026-02-30' is no day of the calendar"),
        ("battery", "sealed none", "'sealed' ends before 'none'"),
        ("battery", "sealed; vented", "'vented' and 'sealed' exclude one another"),
        ("place", "inside; outside", "'outside' and 'inside' exclude one another"),
        ("place", "ambient 60 degC to 10 degC", "60 °C is warmer than 10 °C"),
        ("fitout", "system 48 V", "a system of 48 V is not known here"),
        ("fitout", "stage finished", "'finished' is no stage"),
        ("hub", "way 1.5 blade 15 A", "'1.5' can't be right in 'way'"),
        ("hub", "way 2 blade 15 A; way 2 none", "'way … 2' stands here a second time"),
        ("load", "count 0", "'0' can't be right in 'count'"),
        ("load", "stud M8; stud M6", "'stud' stands here a second time"),
        ("load", "stud pos M8; stud pos M6", "'stud … pos' stands here a second time"),
        ("load", "draws 5 N*m", "'5 N*m' is a torque; a power, a current or a resistance is wanted here"),
        ("mode", "engine idle", "'idle' is no state of the engine"),
        ("mode", "sun ful", "'ful' is no word for the sun: did you mean 'full'?"),
        ("day", "driving 30 h", "'30 h' can't be right for a mode's time"),
        ("day", "driving", "'driving' breaks off here: a number with its unit is wanted"),
        ("site", "latitude 133 deg", "'133 deg' can't be right for 'latitude'"),
        ("site", "month nov", "'nov' is no month"),
    ],
)
def test_a_slip_in_a_clause_is_told_once(kind: str, text: str, message: str) -> None:
    assert in_block(kind, text) == message


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("batery house in toolbox", "'batery' is no statement: did you mean 'battery'?"),
        ("battery house un toolbox", "'un' can't stand here: 'in' is wanted"),
        ("battery house", "'battery' breaks off here: 'in' is wanted"),
        ("battery in in in", ""),
        ("battery none in toolbox", "'none' can't be a name"),
        ("battery house in toolbox is", "'battery' breaks off here: a name is wanted"),
        ("part motor x", "'motor' is no kind of device"),
        ("part solr x", "'solr' is no kind of device: did you mean 'solar'?"),
        ("feed main from crank.pos", "'feed' breaks off here: 'to' is wanted"),
        ("capacity 120 Ah", "'capacity' is no statement"),
        ("zzz", "'zzz' is no statement"),
        ('"zzz"', "'\"zzz\"' begins nothing: a statement begins with a word"),
        ("}", "this '}' closes nothing"),
        ("{ a { b } }", "nothing stands before this '{' that takes clauses"),
        ('include "a.fitout" { note "x" }', "an include has no clauses"),
        ('readings 2026-02-30 by "RM" in night', "'2026-02-30' is no day of the calendar"),
        ("place x {", "the braces of place 'x' are never closed"),
        ("place x { inside { a; b } outside }", "a clause takes no braces"),
    ],
)
def test_a_slip_outside_a_clause_is_told_once(text: str, message: str) -> None:
    assert messages(text) == ([message] if message else [])


def test_a_clause_says_how_it_reads() -> None:
    (problem,) = read(f"{head('feed')} {{ fuse strip 60 A }}").problems
    assert problem.hint == (
        "'fuse' reads: fuse KIND RATING at DISTANCE [from TERMINAL] [in PLACE]; "
        "for example: fuse strip 60 A at 0.15 m from crank.pos in engine-bay"
    )


def test_a_bare_millimetre_size_is_explained() -> None:
    (problem,) = read(f"{head('feed')} {{ cable 6 mm }}").problems
    assert problem.hint == (
        "write an area (6 mm2), a gauge (8 B&S), or 6 mm auto for auto cable, "
        "whose millimetres are the outside of the insulation"
    )


def test_what_may_stand_more_than_once_may() -> None:
    sound(
        f"""{head("circuit")} {{
        fuse strip 60 A at 0.1 m; fuse strip 60 A at 2 m; fuse none
        end a.pos tight; end b.pos loose; note "a"; note "b"; joint at 1 m; joint at 2 m
        sleeve braid; sleeve none in firewall; clips 0.2 m; clips none in firewall; clips 0.1 m in toolbox
        slack 1 m in firewall; slack 1 m in toolbox }}
        hub h in toolbox {{ way 1 none; way 2 none; stud M8; stud in M6 }}
        {head("readings")} {{ volts a.pos to b.pos 1 V; volts a.pos to b.pos 2 V; amps x 1 A; amps y 1 A }}"""
    )


@pytest.mark.parametrize(
    "clause",
    [
        "cable unknown",
        "along a 1 m",
        "sleeve braid",
        "clips 1 m",
        "ends tight",
        "loom a",
        'label "a"',
        "maker",
    ],
)
def test_any_other_repeat_is_told_at_the_second_place(clause: str) -> None:
    (problem,) = read(f'{head("feed")} {{\n{clause}\nnote "a"\n{clause}\n}}').problems
    assert problem.message == f"'{clause.split()[0]}' stands here a second time"
    assert problem.hint == "it stands first on line 2"
    assert problem.span.line == 4


def test_a_forgotten_closing_brace_costs_nothing_but_its_message() -> None:
    parsed = read(
        "place a {\n    inside\n\nplace b { outside }\nfeed c from a.pos to b.pos {\n    maker\n}\n"
    )
    assert told(parsed) == ["4:1: place 'a' is not closed before this"]
    assert parsed.problems[0].hint == "put '}' after its last clause; it begins on line 1"
    assert [len(statement.clauses) for statement in parsed.document.statements] == [1, 1, 1]
    assert parsed.document.statements[0].span.text == "place a {\n    inside"


def test_a_forgotten_opening_brace_costs_nothing_but_its_message() -> None:
    parsed = read("feed c from a.pos to b.pos\n    cable 8 B&S\n    maker\n}\nplace b { outside }")
    assert told(parsed) == ["1:27: the '{' of feed 'c' is missing"]
    assert [len(statement.clauses) for statement in parsed.document.statements] == [2, 1]


def test_a_comma_at_a_line_end_is_found_out() -> None:
    parsed = read("mode a {\n    on lamp, pump,\n    engine off\n    mains on\n}")
    assert told(parsed) == ["2:18: this comma carries 'on' on into the next line"]
    assert said(parsed.document.statements[0].clauses[0].parts) == "items=[name=lamp; name=pump]"
    assert [clause.keyword.text for clause in parsed.document.statements[0].clauses] == [
        "on",
        "engine",
        "mains",
    ]


def test_a_text_without_its_closing_quote_does_not_swallow_the_brace() -> None:
    parsed = read('place a { note "x }\nplace b { note "y" }')
    assert told(parsed) == ["1:16: the text 'x' has no closing quote"]
    assert [said(statement.name) for statement in parsed.document.statements] == ["a", "b"]


def test_clauses_of_a_broken_head_are_still_checked() -> None:
    parsed = read("battery house at toolbox {\n    capacity 0 Ah\n    chemistri agm\n}\n")
    assert told(parsed) == [
        "1:15: 'at' can't stand here: 'in' is wanted",
        "2:14: '0 Ah' can't be right for 'capacity'",
        "3:5: 'chemistri' is no clause of a battery: did you mean 'chemistry'?",
    ]
    assert parsed.document.statements == ()
    assert [word.text for word in parsed.document.unread] == ["house"]


def test_the_block_of_an_unknown_statement_is_passed_over() -> None:
    parsed = read("frobnicate x {\n    a { b }\n    c d e\n}\nplace b")
    assert told(parsed) == ["1:1: 'frobnicate' is no statement"]
    assert len(parsed.document.statements) == 1


def test_a_passed_over_block_without_its_brace_ends_at_the_next_head() -> None:
    parsed = read("frobnicate x {\n    a\nplace b { zzz }")
    assert told(parsed) == ["1:1: 'frobnicate' is no statement", "3:11: 'zzz' is no clause of a place"]


def test_a_mended_word_is_read_as_the_word_that_was_meant() -> None:
    parsed = read("load lamp in toolbox { draws 5 W; crtical }\nbusbr common in toolbox")
    assert parsed.count == 2
    lamp, common = parsed.document.statements
    assert [clause.keyword.text for clause in lamp.clauses] == ["draws", "critical"]
    assert common.kind.text == "busbar"


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("load a in b {\n draws { A\n critical\n}\n", "2:2: a clause takes no braces"),
        (
            "load a in b { {\n draws 5 A\n critical\n}\n",
            "1:15: nothing stands before this '{' that takes clauses",
        ),
        ("load a in b draws 5 A; critical }\n", "1:13: a '{' is missing before 'draws'"),
        ("load a in b { draws 3. A extra; critical }\n", "1:21: '3.' is no number"),
        (
            "load a in b { draws 3 V extra; critical }\n",
            "1:21: '3 V' is a voltage; a power, a current or a resistance is wanted here",
        ),
        ('load a in b { critical; note "x {\n draws 5 A }\n', "1:30: the text 'x' has no closing quote"),
        ("charge from a.pos to b.pos {\n cable 8 B&S\n}\n", "1:1: 'charge' is no statement"),
    ],
)
def test_one_slip_stays_one_message(text: str, problem: str) -> None:
    parsed = read(text + "place sound { inside }")
    assert told(parsed) == [problem]
    assert said(parsed.document.statements[-1].name) == "sound"
    if "critical" in text:
        assert "critical" in [clause.keyword.text for clause in parsed.document.statements[0].clauses]


def test_problems_beyond_the_most_are_counted() -> None:
    parsed = read("zzz\n" * (MOST_PROBLEMS + 55))
    assert parsed.count == MOST_PROBLEMS + 55
    assert len(parsed.problems) == MOST_PROBLEMS + 1
    assert parsed.problems[-1].message == "and 55 more problems in this file"
