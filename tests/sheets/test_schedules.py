"""What every schedule must hold of every spec, and what each reads like for the planned example."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from syrupy.assertion import SnapshotAssertion
from tests.sheets.job import ALL, PLANNED, SPECS, job_at, made, markdown_of, runs_named, tables, words

from loomwright.model import things as t
from loomwright.sheets.catalogue import sheet_of
from loomwright.sheets.terms import fuse_title

NAMES = (
    "run-schedule",
    "cut-list",
    "terminations",
    "fuse-chart",
    "labels",
    "parts",
    "figures",
    "protection-curves",
    "energy",
)
TO_BUILD = ("cut-list", "labels", "parts")


@pytest.mark.parametrize("name", [*NAMES, "diagram", "routing"])
def test_the_sheet_of_the_planned_example_reads_so(name: str, snapshot: SnapshotAssertion) -> None:
    assert markdown_of(made(name, job_at(PLANNED))) == snapshot


@pytest.mark.parametrize("path", ALL, ids=lambda path: f"{path.parent.name}-{path.stem}")
@pytest.mark.parametrize("name", ["run-schedule", "diagram"])
def test_every_run_is_in_the_schedule_and_under_the_diagram(name: str, path: Path) -> None:
    job = job_at(path)
    assert runs_named(made(name, job)) == {run.name for run in job.installation.runs}


@pytest.mark.parametrize("path", ALL, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_every_end_that_is_not_the_makers_has_a_line_in_the_termination_schedule(path: Path) -> None:
    job = job_at(path)
    rows = [row for table in tables(made("terminations", job), "Ends") for row in table.rows]
    ends = [end for run in job.installation.runs if not run.maker for end in job.installation.ends_of[run]]
    assert [row.run for row in rows] == [end.run.name for end in ends]
    for row, end in zip(rows, ends, strict=True):
        if not isinstance(end.point, t.Fuse):
            assert words(row)[1] == end.point.name


def fuses(installation: t.Installation) -> list[t.Fuse]:
    in_runs = [
        fuse for run in installation.runs if isinstance(f := installation.fuses_of[run], tuple) for fuse in f
    ]
    return in_runs + [fuse for fuse in installation.fuse_of_way.values() if isinstance(fuse, t.Fuse)]


@pytest.mark.parametrize("path", ALL, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_every_fuse_and_every_way_is_on_the_chart(path: Path) -> None:
    job = job_at(path)
    rows = [words(row) for table in tables(made("fuse-chart", job)) for row in table.rows]
    charted = sorted(f"{row[2]} {row[1]} A" for row in rows if row[1] != "–")
    assert charted == sorted(fuse_title(fuse) for fuse in fuses(job.installation))
    assert len(rows) == len(charted) + sum(f is None for f in job.installation.fuse_of_way.values())


@pytest.mark.parametrize(
    "path", [p for p in ALL if p.stem != "as-found"], ids=lambda path: f"{path.parent.name}-{path.stem}"
)
def test_each_end_of_each_run_and_each_fuse_has_one_label(path: Path) -> None:
    job = job_at(path)
    sheet = made("labels", job)
    own = [run for run in job.installation.runs if not run.maker]
    sheaths = {run.multicore for run in own if run.multicore}
    assert len(tables(sheet, "Run ends")[0].rows) == 2 * (len(own) + len(sheaths))
    theirs = [fuse for fuse in fuses(job.installation) if not (fuse.run and fuse.run.maker)]
    assert len(tables(sheet, "Fuses")[0].rows) == len(theirs)


@pytest.mark.parametrize(
    "path", [p for p in ALL if p.stem != "as-found"], ids=lambda path: f"{path.parent.name}-{path.stem}"
)
def test_what_a_cable_is_marked_with_is_on_the_labels_sheet(path: Path) -> None:
    job = job_at(path)
    printed = {words(row)[0] for row in tables(made("labels", job), "Run ends")[0].rows}
    lines = markdown_of(made("work-order", job)).splitlines()
    marked = [re.findall("“(.*?)”", line) for line in lines if "Mark both ends" in line]
    assert marked
    assert {word for line in marked for word in line} == printed


def test_a_fuse_that_feeds_no_load_says_what_it_joins_and_a_sensor_s_milliamperes_are_not_nothing() -> None:
    sheet = made("fuse-chart", job_at(SPECS / "marsh-lab" / "planned.fitout"))
    rows = {words(row)[0]: words(row) for table in tables(sheet) for row in table.rows}
    assert "TANK PROBE: tank-probe" in rows["4"]
    assert rows["4"][-3:] == ("0.004", "0.004", "towing")
    assert "gen-link: gen to crank" in rows["gen-link"]
    assert "HOUSE CHARGE: dcdc to house" in rows["charge"]


@pytest.mark.parametrize("path", ALL, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_every_fuse_that_feeds_something_has_its_curve(path: Path) -> None:
    job = job_at(path)
    rows = [words(row) for table in tables(made("protection-curves", job)) for row in table.rows]
    feeding = {
        fuse.name for fuse in fuses(job.installation) if not fuse.way or job.ledger.get(fuse.way, "runs")
    }
    assert {row[1] for row in rows} == feeding


@pytest.mark.parametrize("name", TO_BUILD)
def test_nothing_is_to_be_built_from_what_came_in(name: str) -> None:
    assert sheet_of(name, job_at(PLANNED.with_name("as-found.fitout"))) is None


@pytest.mark.parametrize("path", ALL, ids=lambda path: f"{path.parent.name}-{path.stem}")
@pytest.mark.parametrize("name", NAMES)
def test_rows_are_as_long_as_the_head(name: str, path: Path) -> None:
    sheet = sheet_of(name, job_at(path))
    for table in tables(sheet) if sheet else []:
        assert all(len(row.cells) == len(table.columns) for row in table.rows)


def test_a_time_that_is_not_known_is_not_without_end(tmp_path: Path) -> None:
    """With the toolbox's warmth left out nobody can tell how long its cables bear a fault, nor when its fuses open."""
    path = tmp_path / "warm.fitout"
    text = PLANNED.read_text(encoding="utf-8")
    path.write_text(
        text.replace("place toolbox       { ambient 40 degC }", "place toolbox"), encoding="utf-8"
    )
    (table,) = tables(made("figures", job_at(path)), "A dead short at each end of a run, greatest and least")
    rows = {words(row)[0]: words(row)[4:] for row in table.rows}
    assert rows["hub-feed"] == ("?", "strip 80 A", "?")
    assert rows["iso-hub"] == ("?", "strip 80 A of hub-feed", "?")
    assert rows["gen-link"][0] == "4"


def test_every_run_that_lies_in_a_place_stands_in_its_row_on_the_routing_plan() -> None:
    """Those of a multicore too: its cores are runs with names of their own."""
    job = job_at(SPECS / "marsh-lab" / "planned.fitout")
    (places,) = tables(made("routing", job), "Places and what passes them")
    told = {row.place: set(words(row)[3].split(", ")) for row in places.rows}
    for run, stretches in job.installation.stretches_of.items():
        for stretch in () if isinstance(stretches, t.Unknown) else stretches:
            assert run.name in told[stretch.place.name], (run.name, stretch.place.name)
    assert "level-van" in told["dash"] & told["sill"] & told["tow-bar"]
    assert "level-trailer" in told["drawbar"]
