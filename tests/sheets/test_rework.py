"""The strip-out and rework list: what comes out, stays, is altered, goes in."""

from __future__ import annotations

import datetime
from pathlib import Path

from syrupy.assertion import SnapshotAssertion
from tests.sheets.job import PLANNED, job_at, job_in, made, markdown_of
from tests.sheets.test_papers import small

from loomwright.sheets.catalogue import sheet_of
from loomwright.sheets.job import Job, job_of
from loomwright.sheets.rework import Rework, rework


def between(old: str, new: str) -> Rework:
    return rework(job_in(old).installation, job_in(new).installation)


def names(parts: tuple[object, ...]) -> list[str]:
    return [part.name for part in parts]  # type: ignore[attr-defined]


def beside(tmp_path: Path, old: str, old_name: str = "as-found.fitout") -> Job:
    spec = tmp_path / "new.fitout"
    spec.write_text(small())
    (tmp_path / old_name).write_text(old)
    return job_of(spec.read_text(), str(spec), datetime.date(2026, 1, 1))


def test_the_list_of_the_planned_example_reads_so(snapshot: SnapshotAssertion) -> None:
    assert markdown_of(made("rework", job_at(PLANNED))) == snapshot


def test_a_system_against_itself_stays_as_it_is() -> None:
    change = between(small(), small())
    assert not change.remove + change.new
    assert not change.alter
    assert names(change.keep) == ["crank", "lamp", "lamp-feed", "lamp-back"]


def test_every_part_of_both_systems_is_in_one_list() -> None:
    job = job_at(PLANNED)
    assert job.predecessor is not None
    old, new = job.predecessor.installation, job.installation
    change = rework(old, new)
    parts = len({*map(id, old.devices), *map(id, old.earthpoints)}) + len({run.name for run in old.runs})
    assert len(change.remove) + len(change.keep) + len(change.alter) == parts
    parts = len(new.devices) + len(new.earthpoints) + len({run.name for run in new.runs})
    assert len(change.new) + len(change.keep) + len(change.alter) == parts


def test_another_cable_under_the_same_name_is_another_cable() -> None:
    change = between(small(), small().replace("cable 6 mm2 red", "cable 10 mm2 red"))
    assert names(change.remove) == names(change.new) == ["lamp-feed"]


def test_a_cable_that_stays_and_gets_another_fuse_is_altered() -> None:
    change = between(small(), small().replace("fuse blade 10 A", "fuse blade 15 A"))
    assert [(one.new.name, one.changes) for one in change.alter] == [
        ("lamp-feed", ("fuse: blade 10 A at 100 mm in bay becomes blade 15 A at 100 mm in bay",))
    ]


def test_an_as_found_spec_beside_it_is_taken_only_if_it_is_of_the_same_job(tmp_path: Path) -> None:
    old = small().replace("stage planned", "stage as-found")
    assert beside(tmp_path, old).predecessor is not None
    other = beside(tmp_path, old.replace('job "7"', 'job "8"'))
    assert other.predecessor is None
    assert sheet_of("rework", other) is None


def test_one_that_cannot_be_read_is_told_and_not_passed_over(tmp_path: Path) -> None:
    job = beside(tmp_path, 'fitout "Old" { stage as-foun }')
    assert job.predecessor is None
    assert "as-found.fitout beside this spec has errors and was not used" in markdown_of(made("rework", job))


def test_one_that_is_named_is_taken_whatever_its_job(tmp_path: Path) -> None:
    old = tmp_path / "elsewhere.fitout"
    old.write_text(small().replace('job "7"', 'job "8"'))
    job = job_of(small(), None, datetime.date(2026, 1, 1), str(old))
    assert job.predecessor is not None
