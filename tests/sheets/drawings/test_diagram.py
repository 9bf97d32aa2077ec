"""The system diagram of the complete specs and of a system with sixty loads, read back from its SVG."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from loomwright.model.things import Fuse, Installation
from loomwright.sheets.drawings import Drawing, diagram
from loomwright.sheets.drawings.lettering import LEAST, SIZE
from loomwright.sheets.drawings.svg import COPPER, LANDSCAPE, PORTRAIT

from .conftest import SPECS, installation_of, sixty_loads
from .paper import outside, overlapping, root_of, runs_of, struck, words_of


@pytest.fixture(scope="module")
def sheets(system: Installation) -> tuple[Drawing, ...]:
    return diagram(system)


def test_every_run_is_drawn_exactly_once(system: Installation, sheets: tuple[Drawing, ...]) -> None:
    drawn = [name for sheet in sheets for name in runs_of(sheet)]
    assert sorted(drawn) == sorted({run.name for run in system.runs})


def test_no_words_lie_on_one_another(sheets: tuple[Drawing, ...]) -> None:
    assert [found for sheet in sheets for found in overlapping(sheet)] == []


def test_no_run_is_drawn_through_words(sheets: tuple[Drawing, ...]) -> None:
    assert [found for sheet in sheets for found in struck(sheet)] == []


def test_nothing_sticks_out_of_the_sheet(sheets: tuple[Drawing, ...]) -> None:
    assert [found for sheet in sheets for found in outside(sheet)] == []


def test_lettering_is_readable_on_a4(sheets: tuple[Drawing, ...]) -> None:
    for sheet in sheets:
        room = LANDSCAPE if sheet.landscape else PORTRAIT
        scale = min(room[0] / sheet.width, room[1] / sheet.height)
        assert SIZE * scale >= LEAST - 0.01, sheet.name


def test_every_device_is_on_a_sheet(system: Installation, sheets: tuple[Drawing, ...]) -> None:
    titles = {each.text for sheet in sheets for each in root_of(sheet).iter() if each.tag.endswith("}title")}
    assert {device.name for device in system.devices} <= titles


def test_every_run_tells_its_size_and_fuses(system: Installation, sheets: tuple[Drawing, ...]) -> None:
    told = {
        word.run: " ".join(each.text for each in words_of(sheet) if each.run == word.run)
        for sheet in sheets
        for word in words_of(sheet)
    }
    for run in system.runs:
        fuses = system.fuses_of[run]
        for fuse in fuses if isinstance(fuses, tuple) else ():
            assert fuse.rating.text in told[run.name]


def test_every_way_of_a_hub_is_shown_with_its_rating(
    system: Installation, sheets: tuple[Drawing, ...]
) -> None:
    shown = [word.text for sheet in sheets for word in words_of(sheet)]
    fuses = [fuse for fuse in system.fuse_of_way.values() if isinstance(fuse, Fuse)]
    for fuse in fuses:
        assert shown.count(f"{fuse.rating.text} {fuse.kind}") >= sum(
            (each.rating.text, each.kind) == (fuse.rating.text, fuse.kind) for each in fuses
        )


def test_coordinates_have_at_most_one_decimal(sheets: tuple[Drawing, ...]) -> None:
    for sheet in sheets:
        for value in re.findall(r' (?:x|y|width|height|cx|cy|d)="([^"]*)"', sheet.svg):
            assert not re.search(r"\d\.\d\d", value), value


def test_what_plain_renderers_do_not_know_is_not_used(sheets: tuple[Drawing, ...]) -> None:
    for sheet in sheets:
        for word in ("paint-order", "filter", "foreignObject", "var(", "@font-face", "<style", "href"):
            assert word not in sheet.svg


def test_a_drawing_says_what_it_is_and_its_ids_are_its_own(sheets: tuple[Drawing, ...]) -> None:
    ids = [each.attrib["id"] for sheet in sheets for each in root_of(sheet).iter() if "id" in each.attrib]
    assert len(ids) == len(set(ids))
    for sheet in sheets:
        root = root_of(sheet)
        assert root.attrib["role"] == "img"
        assert root.attrib["aria-labelledby"].split() == [f"{sheet.name}-title", f"{sheet.name}-desc"]
        assert set(root.attrib["aria-labelledby"].split()) <= set(ids)
        assert sheet.title in (root[0].text or "")


def test_sixty_loads_take_a_first_sheet_and_one_for_each_hub(sixty: Installation) -> None:
    names = [sheet.name for sheet in diagram(sixty) if "supply" in sheet.name]
    assert names == [f"diagram-supply-{number}" for number in range(1, 7)]


def test_a_hub_too_tall_for_a_page_goes_on_over_two() -> None:
    system = installation_of(sixty_loads(44, 44))
    sheets = diagram(system)
    assert sorted(name for sheet in sheets for name in runs_of(sheet)) == sorted(
        {run.name for run in system.runs}
    )
    assert not [found for sheet in sheets for found in overlapping(sheet)]
    ways = [word.text for sheet in sheets for word in words_of(sheet) if word.text.isdigit()]
    assert sorted(map(int, ways)) == list(range(1, 45))


def test_comments_and_blank_lines_change_no_byte() -> None:
    text = SPECS[-1].read_text(encoding="utf-8")
    other = "# another comment\n\n" + text.replace("\n\n", "\n\n\n# more\n")
    one, two = (diagram(installation_of(each, str(SPECS[-1]))) for each in (text, other))
    assert one == two


@pytest.mark.parametrize("path", SPECS, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_the_bytes_do_not_hang_on_the_hash_seed(path: Path) -> None:
    code = (
        "import sys, hashlib\n"
        "from loomwright.model.load import load\n"
        "from loomwright.sheets.drawings import diagram\n"
        "made = diagram(load(open(sys.argv[1], encoding='utf-8').read(), sys.argv[1]).installation)\n"
        "print(hashlib.sha256(''.join(each.svg for each in made).encode()).hexdigest())\n"
    )
    prints = {
        subprocess.run(
            [sys.executable, "-c", code, str(path)],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(sys.path)},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2", "77")
    }
    assert len(prints) == 1


HOSTILE = '<script>alert("1")</script> & \' ]]> \u0627\u0644\u0639\u0631\u0628\u064a\u0629 \U0001f41d'


def test_hostile_words_stay_words() -> None:
    text = (
        sixty_loads(2, 2)
        .replace("feed riser from main.out to plus {", 'feed riser from main.out to plus { label "HOSTILE"; ')
        .replace("HOSTILE", HOSTILE.replace('"', ""))
    )
    made = diagram(installation_of(text))
    titles = [
        each.text or "" for sheet in made for each in root_of(sheet).iter() if each.tag.endswith("}title")
    ]
    assert any(HOSTILE.replace('"', "") in title for title in titles)
    assert not [each for sheet in made for each in root_of(sheet).iter() if each.tag.endswith("script")]


def test_a_run_from_a_device_to_itself_is_drawn_too() -> None:
    text = sixty_loads(2, 2) + "\nfeed loop from ways-1.1 to ways-1.2 { cable 2.5 mm2 red; along box 1 m }\n"
    assert [name for sheet in diagram(installation_of(text)) for name in runs_of(sheet)].count("loop") == 1


def test_a_breaker_is_drawn_with_a_contact_and_a_fuse_with_its_wire() -> None:
    text = sixty_loads(2, 2).replace("fuse strip 200 A", "fuse breaker 200 A")
    drawn = {
        each.attrib["data-run"]: each
        for sheet in diagram(installation_of(text))
        for each in root_of(sheet).iter()
        if "data-run" in each.attrib
    }
    copper = {
        run: [
            path.attrib["d"]
            for path in drawn[run].iter()
            if path.attrib.get("stroke") == COPPER and "d" in path.attrib
        ]
        for run in ("trunk", "feed-1")
    }
    assert all("l5.5 -2.4" in path for path in copper["trunk"])
    assert all(re.fullmatch(r"M\S+ \S+L\S+ \S+", path) for path in copper["feed-1"])
    assert copper["trunk"]
    assert copper["feed-1"]


def test_what_a_circuit_comes_back_to_is_said_on_both_sides() -> None:
    text = sixty_loads(2, 2).replace(
        "circuit circuit-2 from", "earthpoint stud on chassis in box { stud M6 }\ncircuit circuit-2 from"
    )
    text = text.replace("to thing-2 {", "to thing-2 { return stud;")
    supply, back = diagram(installation_of(text))
    assert "return stud" in " ".join(word.text for word in words_of(supply) if word.run == "circuit-2")
    assert "and from circuit-2" in " ".join(word.text for word in words_of(back))


def test_a_join_in_mid_run_is_told() -> None:
    text = sixty_loads(2, 2).replace(
        "fuse strip 200 A at 0.1 m }", "fuse strip 200 A at 0.1 m; joint at 0.5 m crimped sealed }"
    )
    (supply, _) = diagram(installation_of(text))
    assert "joint at 0.5 m" in " ".join(word.text for word in words_of(supply) if word.run == "trunk")


def test_a_run_tells_the_label_that_its_ends_wear(system: Installation, sheets: tuple[Drawing, ...]) -> None:
    """design: every run with size, fuse and label; a label that is no more than the name stands there already."""
    for run in system.runs:
        if run.label and run.circuit is None:
            told = " ".join(each.text for sheet in sheets for each in words_of(sheet) if each.run == run.name)
            assert run.label in told, run.name


def test_metal_that_is_bonded_to_a_battery_is_drawn_though_no_run_ends_on_it() -> None:
    planned = next(path for path in SPECS if path.parts[-2:] == ("orchard-bees", "planned.fitout"))
    sheets = diagram(installation_of(planned.read_text(encoding="utf-8"), str(planned)))
    returns = next(sheet for sheet in sheets if sheet.name.startswith("diagram-returns"))
    titles = {each.text for each in root_of(returns).iter() if each.tag.endswith("}title")}
    assert {"chassis", "joined by metal"} <= titles
