"""`energy`: the days of a spec in print, as data and as a chart."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from loomwright.report.files import facts_of
from loomwright.sheets.energy_course import FORMS, DayCourse, NoCourse, courses_of


@pytest.fixture(scope="module")
def orchard(specs: Path) -> tuple[DayCourse, ...]:
    return courses_of(facts_of(str(specs / "orchard-bees" / "planned.fitout")), 3)


def test_the_text_tells_the_lowest_state_the_days_it_lasts_and_where_it_goes(
    orchard: tuple[DayCourse, ...],
) -> None:
    told = FORMS["text"]("spec", orchard)
    for words in (
        "lowest state",
        "without sun",
        "with nothing coming",
        "refills",
        "dcdc solar",
        "incubator",
        "Wh",
        "20 % is to be left",
    ):
        assert words in told


def test_the_same_figures_stand_in_the_json_and_add_up(orchard: tuple[DayCourse, ...]) -> None:
    data = json.loads(FORMS["json"]("spec", orchard))
    day = data["days"][0]
    assert data["version"] == 1
    come, gone = (sum(each["ah"] for each in day[kind].values()) for kind in ("sources", "loads"))
    stored = (day["end"] - 1.0) * day["capacity_ah"]
    assert come - gone - day["lost_ah"] - stored == pytest.approx(0.0, abs=0.01)
    # by hand: 12 V; the incubator's 45 W at 35 % all day long, three days
    assert day["loads"]["incubator"]["wh"] == pytest.approx(45 * 0.35 * 72, rel=1e-4)
    assert day["lowest"]["state"] == pytest.approx(min(state for _, state in day["course"]), abs=1e-6)


def test_the_csv_has_a_line_a_step_with_its_mode(orchard: tuple[DayCourse, ...]) -> None:
    rows = list(csv.DictReader(FORMS["csv"]("spec", orchard).splitlines()))
    assert len(rows) == 3 * 24 * 12 + 1
    assert [row["mode"] for row in rows[:: 12 * 5]][:4] == ["driving", "working", "night", "night"]


def test_the_chart_is_a_drawing(orchard: tuple[DayCourse, ...]) -> None:
    assert ElementTree.fromstring(FORMS["svg"]("spec", orchard)).tag.endswith("svg")


@pytest.fixture(scope="module")
def planned(specs: Path) -> str:
    return (specs / "orchard-bees" / "planned.fitout").read_text(encoding="utf-8")


def _told(text: str, folder: Path, form: str = "text") -> str:
    spec = folder / "x.fitout"
    spec.write_text(text, encoding="utf-8")
    return FORMS[form]("spec", courses_of(facts_of(str(spec)), 1))


def test_every_day_has_its_own_panel_of_the_drawing(planned: str, tmp_path: Path) -> None:
    drawn = _told(planned + "day rest { night 24 h }\n", tmp_path, "svg")
    root = ElementTree.fromstring(drawn)
    panels = [each for each in root if each.tag.endswith("svg")]
    names = [title.text for panel in panels for title in panel if title.tag.endswith("title")]
    assert names == ["State of charge, harvest", "State of charge, rest"]
    tops = [(float(each.attrib["y"]), float(each.attrib["height"])) for each in panels]
    assert tops[0][0] + tops[0][1] < tops[1][0]
    assert sum(tops[1]) <= float(root.attrib["viewBox"].split()[3]) + 0.1
    whole = [each.get("id") for each in root.iter() if each.get("id")]
    assert len(whole) == len(set(whole))


def test_without_a_site_it_says_that_the_sun_is_full_all_the_while(planned: str, tmp_path: Path) -> None:
    assert "usual day of the month at the site" in _told(planned, tmp_path)
    bare = planned[: planned.index("site {")] + planned[planned.index("}", planned.index("site {")) + 1 :]
    told = _told(bare, tmp_path)
    assert "No site is written: full sun" in told
    assert "usual day" not in told
    assert json.loads(_told(bare, tmp_path, "json"))["days"][0]["sun"] == "modes"


def test_a_day_written_short_is_said_to_be(planned: str, tmp_path: Path) -> None:
    short = planned.replace("night   14 h", "night   0 h")
    assert short != planned
    assert "harvest is written with 10 h only" in _told(short, tmp_path)
    assert "say what the other 14 h are" in _told(short, tmp_path)
    assert json.loads(_told(short, tmp_path, "json"))["days"][0]["hours"] == 10
    assert "is written with" not in _told(planned, tmp_path)


def test_it_says_at_which_voltage_watt_hours_are_reckoned(planned: str, tmp_path: Path) -> None:
    assert "Wh are Ah at the nominal 12 V." in _told(planned, tmp_path)


WARM = """fitout "Warm" { stage planned; system 12 V }
place box { ambient 50 degC; usually 15 degC to 35 degC }
battery house in box { serves house; chemistry lifepo4; capacity 100 Ah; reserve 20 % }
load fridge in box { draws 60 W; duty 30 % at 20 degC, 60 % at 40 degC }
circuit cold from house.pos to fridge { cable 4 mm2; along box 1 m; return house.neg }
mode all-day { on fridge }
day work { all-day 24 h }
"""


def test_it_tells_how_a_load_follows_the_warmth(tmp_path: Path) -> None:
    spec = tmp_path / "warm.fitout"
    spec.write_text(WARM)
    found = courses_of(facts_of(str(spec)), 1)
    line = (
        "fridge draws 30 % to 52 % of the time, 39 % on average, with box 15 °C at 03:00 and 35 °C at 15:00"
    )
    assert line in FORMS["text"]("spec", found)
    (day,) = json.loads(FORMS["json"]("spec", found))["days"]
    # by hand: 60 W × 24 h × the day's mean share 0.39135 (tests/analysis/test_ambient.py)
    assert day["loads"]["fridge"]["wh"] == pytest.approx(60 * 24 * 0.39135, rel=1e-3)
    assert day["follow_warmth"]["fridge"]["duty"]["mean"] == pytest.approx(0.39135, rel=1e-3)
    spec.write_text(WARM.replace("; usually 15 degC to 35 degC", ""))
    without = FORMS["text"]("spec", courses_of(facts_of(str(spec)), 1))
    assert "fridge draws 75 % of the time, its most: no usual day is written for box" in without


def test_a_spec_without_a_day_says_what_to_write(tmp_path: Path) -> None:
    spec = tmp_path / "x.fitout"
    spec.write_text('fitout "X" { stage planned; system 12 V }\n')
    with pytest.raises(NoCourse, match="day NAME"):
        courses_of(facts_of(str(spec)), 1)
