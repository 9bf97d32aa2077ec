"""The commissioning record: which tests apply, what they should show, and that figures agree with the facts."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from syrupy.assertion import SnapshotAssertion
from tests.sheets.job import ALL, PLANNED, SPECS, job_at, made, markdown_of

from loomwright.quantity import show
from loomwright.sheets.catalogue import sheet_of
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
    assert [row["id"] for row in rows if row["id"].startswith("E")] == [f"E{n}" for n in range(1, 7)]
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
    assert line.predicted == f"{show(drop, 'V')} at {show(amps, 'A')} (driving)"
    assert drop == pytest.approx(amps * job.ledger.get(run, "warm-resistance", driving))


def test_panels_show_the_volts_of_their_label_in_series() -> None:
    """Two panels of 22.4 V in series: 44.8 V; 9.1 A through both."""
    lines = [(reading.of, reading.predicted) for reading in of(MARSH, "T30").rows]
    assert lines == [
        ("roof-panels open volts", "44.8 V at 25 °C"),
        ("roof-panels short current", "9.1 A in full sun"),
    ]


def test_a_crimp_is_pulled_as_hard_as_its_size_asks() -> None:
    """ABYC E-11 (from memory): 8 AWG 200 N; 8 B&S has 7.7 mm², less than 8 AWG, and is held to the row of 10 AWG, 178 N."""
    lines = {reading.of: reading.predicted for reading in of(PLANNED, "T10").rows}
    assert lines["sample crimp on 8 B&S"] == "holds 178 N"
    assert lines["sample crimp on 2 B&S"] == "holds 311 N"


def test_there_is_no_record_of_what_came_in() -> None:
    assert sheet_of("commissioning", job_at(SPECS / "orchard-bees" / "as-found.fitout")) is None
