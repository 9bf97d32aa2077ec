"""`watch` tells what a saved text says, never a half of it, and goes on through whatever is saved, moved or deleted."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable
from pathlib import Path

import pytest

from .seat import SHARED, Seat


def test_a_spec_is_told_at_once_and_not_again_while_nothing_changes(seat: Seat) -> None:
    assert "unfused-feed" in {finding.rule for finding in seat.report.findings}
    assert "<h1" in seat.pages[-1]
    assert seat.looks(5) == 0


def test_a_saved_spec_is_told(seat: Seat) -> None:
    seat.spec.write_text(seat.spec.read_text().replace("main from", "lead from"))
    assert seat.looks() == 1
    assert "lead" in {name for finding in seat.report.findings for name in finding.things}
    assert "lead" in seat.pages[-1]


def test_a_file_that_is_still_being_written_is_left_alone(seat: Seat) -> None:
    whole = seat.spec.read_text() + "# done\n"
    for part in range(1, 6):
        seat.spec.write_text(whole[: part * len(whole) // 5])
        assert not seat.watch.look()
    assert seat.looks() == 1
    assert not seat.report.errors


def test_a_file_saved_by_renaming_is_told(seat: Seat) -> None:
    beside = seat.spec.with_suffix(".new")
    beside.write_text(seat.spec.read_text().replace("3 A", "4 A"))
    old = seat.spec.stat()
    os.utime(
        beside, ns=(old.st_atime_ns, old.st_mtime_ns)
    )  # the same time and size: only the file is another
    beside.replace(seat.spec)
    assert seat.looks() == 1


def test_a_changed_include_is_told(seat: Seat) -> None:
    seat.shared.write_text("place box { ambient 70 degC }\n")
    assert seat.looks() == 1


def test_a_deleted_include_is_told_and_so_is_its_coming_back(seat: Seat) -> None:
    seat.shared.unlink()
    assert seat.looks() == 1
    assert "there is no such file" in seat.report.errors[0].message
    assert "no such file" in seat.pages[-1]
    seat.shared.write_text(SHARED)
    assert seat.looks() == 1
    assert not seat.report.errors
    assert seat.looks() == 0


def test_a_deleted_spec_is_waited_for(seat: Seat) -> None:
    text = seat.spec.read_text()
    seat.spec.unlink()
    assert seat.looks() == 1
    assert isinstance(seat.told[-1], str)
    assert "waiting" in seat.told[-1]
    seat.spec.write_text(text)
    assert seat.looks() == 1
    assert not seat.report.errors


def test_a_spec_that_cannot_be_read_shows_its_errors_and_no_old_papers(seat: Seat) -> None:
    assert "</table>" in seat.pages[-1]
    seat.spec.write_text(seat.spec.read_text().replace("cable 4", "kable <b>4"))
    assert seat.looks() == 1
    assert "no clause of a feed" in seat.pages[-1]
    assert "<b>" not in seat.pages[-1]
    assert "</table>" not in seat.pages[-1]


def test_house_rules_that_come_are_told(seat: Seat) -> None:
    (seat.spec.parent / "loomwright.toml").write_text('[severities]\nunfused-feed = "minor"\n')
    assert seat.looks() == 1
    assert {f.severity for f in seat.report.findings if f.rule == "unfused-feed"} == {"minor"}


def test_a_fault_of_the_program_ends_nothing(seat: Seat, monkeypatch: pytest.MonkeyPatch) -> None:
    from loomwright.watching import watch

    def broken(*_: object) -> None:
        raise RuntimeError("seized")

    real = watch.check
    monkeypatch.setattr(watch, "check", broken)
    seat.spec.write_text(seat.spec.read_text() + "#\n")
    assert seat.looks() == 1
    assert "seized" in str(seat.told[-1])
    monkeypatch.setattr(watch, "check", real)
    seat.spec.write_text(seat.spec.read_text() + "#\n")
    assert seat.looks() == 1
    assert seat.report.files


def test_a_fragment_says_what_to_watch_instead(tmp_path: Path) -> None:
    seat = Seat(tmp_path)
    seat.spec.write_text("place box { ambient 40 degC }\n")
    assert seat.looks() == 1
    assert "watch the spec that includes it" in seat.pages[-1]


def _until(said: Callable[[], bool], seconds: float = 20) -> None:
    end = time.monotonic() + seconds
    while not said():
        assert time.monotonic() < end, "nothing came"
        time.sleep(0.05)


def _page(address: str) -> str:
    with urllib.request.urlopen(address, timeout=20) as page:
        text: str = page.read().decode()
    return text


def test_the_command_shows_the_papers_tells_of_a_change_and_ends_by_ctrl_c(
    tmp_path: Path, hears_ctrl_c: Callable[[], object]
) -> None:
    seat = Seat(tmp_path)
    log, told = tmp_path / "log", tmp_path / "told"
    with log.open("w") as err, told.open("w") as out:
        process = subprocess.Popen(
            [sys.executable, "-m", "loomwright.cli", "watch", "--only", "inspection", "van.fitout"],
            cwd=tmp_path,
            env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2] / "src")},
            stdout=out,
            stderr=err,
            preexec_fn=hears_ctrl_c,
        )
    try:
        _until(lambda: "papers at " in log.read_text())
        address = log.read_text().split("papers at ")[1].split()[0]
        _until(lambda: "house.pos" in _page(address))
        assert "EventSource" in _page(address)
        seat.spec.write_text(seat.spec.read_text().replace("main from", "lead from"))
        _until(lambda: "lead leaves house.pos" in told.read_text())
    finally:
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=20) == 0
    assert "Traceback" not in log.read_text()
