"""The commissioning record: which tests apply, what they should show, and that figures agree with the facts."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from syrupy.assertion import SnapshotAssertion
from tests.sheets.job import ALL, PLANNED, SPECS, job_at, made, markdown_of

from loomwright.quantity import show
from loomwright.sheets.catalogue import sheet_of
from loomwright.sheets.owner_card import fuses_of
from loomwright.sheets.readings import PER, Trial, sections, trials
from loomwright.sheets.words import data

MARSH = SPECS / "marsh-lab" / "planned.fitout"
each_spec = pytest.mark.parametrize("path", ALL, ids=lambda path: f"{path.parent.name}-{path.stem}")


def of(path: Path, number: str) -> Trial:
    return next(test for test in trials(job_at(path)) if test.id == number)


def numbers(path: Path) -> set[str]:
    return {test.id for test in trials(job_at(path))}


def test_the_record_of_the_planned_example_reads_so(snapshot: SnapshotAssertion) -> None:
    assert markdown_of(made("commissioning", job_at(PLANNED))) == snapshot


def test_every_test_has_a_method_a_limit_and_a_source_that_is_no_address() -> None:
    rows = data("commissioning")["test"]
    assert [row["id"] for row in rows if row["id"].startswith("T")] == [
        *(f"T{n}" for n in range(1, 16)),
        *(f"T{n}" for n in range(16, 39)),
    ]
    assert [row["id"] for row in rows if row["id"].startswith("E")] == [f"E{n}" for n in range(1, 8)]
    for row in rows:
        assert row["method"]
        assert row["limit"]
        assert row["source"]
        assert row["section"] in sections()
        assert row["per"] in PER
        assert not re.search(r"https?:|www\.", row["source"])


def test_a_test_is_made_only_where_there_is_something_to_make_it_on() -> None:
    assert not {"T4", "T22", "T31"} & numbers(PLANNED)  # no plugs, no inverter, no mains
    assert {"T4", "T22", "T31"} <= numbers(MARSH)
    assert "T30" in numbers(PLANNED)


@each_spec
def test_no_test_asks_the_same_twice(path: Path) -> None:
    for test in trials(job_at(path)):
        lines = [reading.of for reading in test.rows]
        assert len(lines) == len(set(lines)), test.id


def test_a_continuity_is_the_resistance_of_the_run_and_bears_a_tenth_more() -> None:
    job = job_at(PLANNED)
    run = next(run for run in job.installation.runs if run.name == "main")
    ohm = job.ledger.get(run, "resistance")
    line = next(reading for reading in of(PLANNED, "T3").rows if reading.of == "main")
    assert line.predicted == show(ohm, "ohm")
    assert line.limit == f"≤ {show(1.1 * ohm, 'ohm')}"


def test_a_drop_is_that_of_the_mode_with_the_greatest_current() -> None:
    """33.6 A through main while driving: the charger gives 30 A at 14.4 V, 92 % of what it takes."""
    job = job_at(PLANNED)
    run = next(run for run in job.installation.runs if run.name == "main")
    driving = next(mode for mode in job.installation.modes if mode.name == "driving")
    line = next(reading for reading in of(PLANNED, "T16").rows if reading.of == "main")
    amps, drop = (job.ledger.get(run, fact, driving) for fact in ("current", "drop"))
    assert line.predicted == f"{show(float(f'{drop:.3g}'), 'V')} at {show(amps, 'A')} (driving)"
    assert line.predicted == "0.522 V at 33.6 A (driving)"
    assert drop == pytest.approx(amps * job.ledger.get(run, "warm-resistance", driving))


def test_panels_show_the_volts_of_their_label_in_series() -> None:
    """Two panels of 22.4 V in series: 44.8 V; 9.1 A through both."""
    lines = [(reading.of, reading.predicted) for reading in of(MARSH, "T30").rows]
    assert lines[:3] == [
        ("roof-panels polarity, plug open", "+ to +, − to −"),
        ("roof-panels open volts, plug open", "44.8 V at 25 °C, -0.3 %/K"),
        ("roof-panels short current, plug open", "9.1 A in full sun"),
    ]
    charge = re.fullmatch(r"(\S+) A into the controller in mode sampling", lines[3][1])
    assert charge
    # Its 15 A at 13.33 V, over 92 % and the 39.84 V that the panels stand at
    assert float(charge[1]) == pytest.approx(15 * 13.33 / 0.92 / 39.84, rel=0.01)


def test_a_fault_that_clears_is_the_least_one_at_the_far_end_of_the_feed_that_its_fuse_clears_worst() -> None:
    """As the rules judge it: the lamps' way at the far end of their cable, not behind the fuse."""
    job = job_at(PLANNED)
    run = next(run for run in job.installation.runs if run.name == "lights" and run.role == "feed")
    least = job.ledger.get(run, "least-end-fault")
    line = next(reading for reading in of(PLANNED, "T24").rows if reading.of.startswith("way 2 "))
    assert line.of == "way 2 of ways, at the far end of lights +"
    assert line.predicted == show(float(f"{least:.3g}"), "A")
    assert least < 100 < job.ledger.get(next(f for f in fuses_of(job) if f.name == "ways.2"), "least-fault")


def test_every_torque_is_asked_for_once_battery_posts_and_fuses_when_they_are_joined() -> None:
    early, late = ([reading.of for reading in of(PLANNED, number).rows] for number in ("T12", "E7"))
    assert "common, 4 lugs" in early
    assert "crank.pos, 1 lug" in late
    assert all(line.startswith(("crank.", "house.", "fuse ")) for line in late)
    assert not any(line.startswith(("crank.", "house.", "fuse ")) for line in early)


def test_every_load_has_a_row_of_volts_with_a_limit_of_its_own() -> None:
    rows = {reading.of: reading.limit for reading in of(PLANNED, "T19").rows}
    assert rows["work-lights in mode night"] == "≥ 10.2 V"  # 85 % of 12 V
    assert rows["incubator in mode driving"] == "≥ 11.1 V"  # its cut-out of 10.8 V and 0.3 V


def test_no_line_is_judged_by_nothing() -> None:
    """A limit of its own, or that of the test: never none of both, nor a share of nothing."""
    for test in trials(job_at(PLANNED)):
        assert test.limit
        assert not any("0 A to 0 A" in reading.limit for reading in test.rows)
    assert of(PLANNED, "T33").rows[0].limit == "≤ 50 mA, else find what draws"
    charged = of(PLANNED, "T25").rows[0]
    assert charged.limit == "rises; 14.3 V to 14.5 V at the end of charge"
    assert charged.predicted.endswith(" at 60 % of charge")


def test_the_readings_of_an_installed_spec_stand_in_its_record() -> None:
    path = PLANNED.with_name("installed.fitout")
    found = {(test.id, row.of): row.found for test in trials(job_at(path)) for row in test.rows}
    assert found["E3", "the fuse of hub-feed, 0.1 m from house.pos"] == "11 A (RM, 2026-11-27)"
    assert found["T16", "main"] == "1.034 V (RM, 2026-11-27); beyond its limit"
    assert found["T17", "main-return"] == "282 mV (RM, 2026-11-27)"
    assert not any(row.found for test in trials(job_at(PLANNED)) for row in test.rows)


def test_a_crimp_is_pulled_as_hard_as_its_size_asks() -> None:
    """ABYC E-11 (from memory): 8 AWG 200 N; 8 B&S has 7.7 mm², less than 8 AWG, and is held to the row of 10 AWG, 178 N."""
    lines = {reading.of: reading.predicted for reading in of(PLANNED, "T10").rows}
    assert lines["sample crimp on 8 B&S"] == "holds 178 N"
    assert lines["sample crimp on 2 B&S"] == "holds 311 N"


def test_there_is_no_record_of_what_came_in() -> None:
    assert sheet_of("commissioning", job_at(SPECS / "orchard-bees" / "as-found.fitout")) is None
