"""The routing plan, read back from its SVG."""

from __future__ import annotations

import pytest

from loomwright.model.things import Installation, Unknown
from loomwright.rulebook.finding import Finding
from loomwright.sheets.drawings import Drawing, routing
from loomwright.sheets.drawings.courses import in_order
from loomwright.sheets.drawings.lettering import LEAST, SIZE
from loomwright.sheets.drawings.svg import LANDSCAPE, PORTRAIT

from .conftest import installation_of
from .paper import outside, overlapping, root_of, runs_of, struck, words_of


def found(system: Installation, *things: str) -> Finding:
    return Finding(
        rule="some-rule",
        severity="major",
        rule_severity="major",
        span=system.fitout.span,
        things=things,
        at=things[0],
        message=f"what is wrong with {' and '.join(things)}",
        why="",
        do="",
        sources=(),
    )


@pytest.fixture(scope="module")
def sheets(system: Installation) -> tuple[Drawing, ...]:
    """With findings at every third run, some of them in a place, and at every second place."""
    findings = []
    for run in system.runs[::3]:
        stretches = system.stretches_of[run]
        findings.append(found(system, run.name))
        if not isinstance(stretches, Unknown):
            findings.append(found(system, run.name, stretches[0].place.name))
    findings += [found(system, place.name) for place in system.places[::2]]
    return routing(system, findings)


def test_every_run_has_a_row(system: Installation, sheets: tuple[Drawing, ...]) -> None:
    rows = [name for sheet in sheets for name in runs_of(sheet)]
    assert set(rows) == {run.name for run in system.runs}


def test_words_stand_apart_and_inside_the_sheet(sheets: tuple[Drawing, ...]) -> None:
    assert [pair for sheet in sheets for pair in overlapping(sheet)] == []
    assert [word for sheet in sheets for word in outside(sheet)] == []
    assert [pair for sheet in sheets for pair in struck(sheet)] == []


def test_lettering_is_readable_on_a4(sheets: tuple[Drawing, ...]) -> None:
    for sheet in sheets:
        room = LANDSCAPE if sheet.landscape else PORTRAIT
        assert SIZE * min(room[0] / sheet.width, room[1] / sheet.height) >= LEAST - 0.01, sheet.name


def test_lengths_stand_in_their_places(system: Installation, sheets: tuple[Drawing, ...]) -> None:
    shown = {
        (word.run, part) for sheet in sheets for word in words_of(sheet) for part in word.text.split(" + ")
    }
    for run in system.runs:
        stretches = system.stretches_of[run]
        for stretch in () if isinstance(stretches, Unknown) else stretches:
            assert stretch.length is None or (run.name, stretch.length.text) in shown


SMALL = """
fitout "small" { stage planned; system 12 V }
place bay { ambient 40 degC }
place wall { opening bare }
place box { ambient 30 degC }
place loft { ambient 30 degC }
battery crank in bay { serves cranking; stud M8 }
load lamp in box { draws 2 A }
feed lead from lamp.pos to crank.pos { cable 4 mm2 black/red; along box 1 m, wall, bay 2 m; fuse blade 10 A at 0.1 m from crank.pos }
feed spur from crank.pos to lamp.pos { cable 4 mm2 red; along bay 1 m, loft 1 m }
"""


def test_a_finding_stands_with_its_number_at_its_run_and_place() -> None:
    system = installation_of(SMALL)
    (sheet,) = routing(system, [found(system, "lead"), found(system, "lead", "wall"), found(system, "box")])
    words = {word.text: word for word in words_of(sheet) if word.text in ("bare hole", "box")}
    numbers = [word for word in words_of(sheet) if word.text == "2"]
    assert any(
        word.left < words["bare hole"].right and word.right > words["bare hole"].left for word in numbers
    )
    text = " ".join(word.text for word in words_of(sheet))
    for said in ("what is wrong with lead", "what is wrong with lead and wall", "what is wrong with box"):
        assert f"major: {said}" in text


def test_a_run_from_right_to_left_has_its_fuse_at_the_end_it_is_near() -> None:
    (sheet,) = routing(installation_of(SMALL))
    (row,) = (each for each in root_of(sheet).iter() if each.attrib.get("data-run") == "lead")
    ends = sorted(float(each.attrib["cx"]) for each in row.iter() if each.attrib.get("r") == "1.9")
    (fuse,) = (
        each
        for each in row.iter()
        if each.tag.endswith("rect") and (each.attrib["width"], each.attrib["height"]) == ("14", "6")
    )
    assert abs(float(fuse.attrib["x"]) - ends[0]) < abs(float(fuse.attrib["x"]) - ends[1])


def test_a_place_that_a_run_is_not_in_is_passed_by_a_dotted_line() -> None:
    (sheet,) = routing(installation_of(SMALL))
    (row,) = (each for each in root_of(sheet).iter() if each.attrib.get("data-run") == "spur")
    assert [each for each in row.iter() if each.attrib.get("stroke-dasharray") == "1 2"]


def test_a_tracer_is_a_second_colour_with_a_dash() -> None:
    (sheet,) = routing(installation_of(SMALL))
    (row,) = (each for each in root_of(sheet).iter() if each.attrib.get("data-run") == "lead")
    strokes = [each.attrib.get("stroke") for each in row.iter() if each.tag.endswith("path")]
    assert "#1a1a1a" in strokes
    assert "#c21f1f" in strokes
    assert "4 mm² black/red" in [word.text for word in words_of(sheet)]


def test_a_key_says_what_lines_and_rings_mean_and_only_those_that_are_drawn() -> None:
    (sheet,) = routing(installation_of(SMALL))
    words = {word.text for word in words_of(sheet)}
    assert {"fuse", "bare edge", "colour: the insulation's"} <= words
    assert not {"gland", "grommet", "signal"} & words


def test_a_hole_written_after_what_it_joins_stands_between() -> None:
    """As a roof and then its gland are written: the run comes out of the gland at neither end of the vehicle."""
    swapped = installation_of(
        SMALL.replace("place loft", "place gland { opening gland }\nplace loft").replace(
            "along bay 1 m, loft 1 m", "along bay 1 m, gland, box 1 m"
        )
    )
    assert [place.name for place in swapped.places] == ["bay", "wall", "box", "gland", "loft"]
    assert [place.name for place in in_order(swapped)] == ["bay", "wall", "gland", "box", "loft"]
