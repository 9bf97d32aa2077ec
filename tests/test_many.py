"""Many specs at once: the same findings in the same order however they are shared out, and none from a cache that no longer holds."""

from __future__ import annotations

import datetime
import os
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest

from loomwright.report import many
from loomwright.report.check import Report, Wishes
from loomwright.report.json_form import as_json

DAY = datetime.date(2026, 11, 25)
WISHES = Wishes(today=DAY)
SHARED = "place box { ambient 40 degC }\n"
BATTERY = "chemistry agm; capacity 80 Ah; internal 6 mohm; stud M8; serves house; held-down; sealed"
SPEC = f"""fitout "Spec N" {{ stage planned; system 12 V }}
include "shared.fitout"
battery house in box {{ {BATTERY} }}
load lamp in box {{ draws 3 A }}
feed main from house.pos to lamp.pos {{ cable 4 mm2 red 90 degC; along box 2 m; end house.pos lug 4 mm2 M6 crimped sealed tight }}
earth back from lamp.neg to house.neg {{ cable 4 mm2 black 90 degC; along box 2 m }}
mode night {{ engine off; on lamp }}
"""
CONCESSION = 'concession unfused-feed on main {{ reason "bench set-up"; by "RM"; until {until} }}\n'


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Five specs that share an include, and a cache of their own."""
    monkeypatch.setenv("LOOMWRIGHT_CACHE", str(tmp_path / "cache"))
    specs = tmp_path / "specs"
    specs.mkdir()
    (specs / "loomwright.toml").write_text("")
    (specs / "shared.fitout").write_text(SHARED)
    for number in range(5):
        (specs / f"van-{number}.fitout").write_text(SPEC.replace("Spec N", f"Spec {number}"))
    return specs


def run(folder: Path, wishes: Wishes = WISHES, jobs: int = 1, keep: bool = True) -> Report:
    return many.check_many(sorted(map(str, folder.glob("van-*.fitout"))), wishes, jobs, keep)


def reckoned(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The specs that are checked from now on, in place of taken from the cache."""
    seen: list[str] = []
    real = many.check

    def counting(text: str, path: str, *rest: object) -> Report:
        seen.append(Path(path).name)
        return real(text, path, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(many, "check", counting)
    return seen


def test_two_processes_give_the_same_bytes_as_one(folder: Path) -> None:
    one = as_json(run(folder, keep=False))
    assert as_json(run(folder, jobs=2, keep=False)) == one
    assert as_json(run(folder, jobs=2)) == one
    assert as_json(run(folder)) == one
    assert one.count('"rule": "unfused-feed"') == 5


@pytest.mark.parametrize("jobs", [1, 2])
def test_a_file_that_cannot_be_read_is_an_error_of_its_own_and_the_others_are_checked(
    folder: Path, jobs: int
) -> None:
    whole = run(folder)
    for name, content in (("van-0", b"\xff\xfe\x00"), ("van-3", b"x" * 8_000_001)):
        (folder / f"{name}.fitout").write_bytes(content)
    report = run(folder, jobs=jobs)
    assert [(Path(one.span.source.path).name, one.message) for one in report.errors] == [
        ("van-0.fitout", "this spec can't be read: it is not UTF-8 text (byte 1)"),
        ("van-3.fitout", "this spec can't be read: it is larger than 8 MB, too much for a spec"),
    ]
    assert [Path(file.path).name for file in report.files] == [f"van-{number}.fitout" for number in (1, 2, 4)]
    assert {one.message for one in report.findings} == {one.message for one in whole.findings}


@pytest.mark.parametrize("form", ["text", "gnu", "json", "sarif", "junit"])
def test_a_folder_with_a_file_that_cannot_be_read_ends_with_two_and_every_finding(
    folder: Path, form: str
) -> None:
    (folder / "van-0.fitout").write_bytes(b"\xff\xfe\x00")
    done = subprocess.run(
        [sys.executable, "-m", "loomwright.cli", "check", "--format", form, str(folder)],
        capture_output=True, encoding="utf-8", timeout=60,
    )  # fmt: skip
    assert done.returncode == 2
    assert re.fullmatch(r"took \d+\.\d\d s\n", done.stderr)
    assert "not UTF-8 text" in done.stdout
    assert done.stdout.count("unfused-feed") >= 4


def test_a_second_run_checks_nothing_again(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = as_json(run(folder))
    seen = reckoned(monkeypatch)
    assert as_json(run(folder)) == first
    assert seen == []


def test_only_the_spec_that_changed_is_checked_again(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = as_json(run(folder))
    changed = folder / "van-3.fitout"
    changed.write_text(changed.read_text().replace("M6", "M8"))
    seen = reckoned(monkeypatch)
    again = as_json(run(folder))
    assert seen == ["van-3.fitout"]
    assert again == as_json(run(folder, keep=False)) != first


@pytest.mark.parametrize(
    ("file", "content"),
    [
        ("shared.fitout", "place box { ambient 50 degC }\n"),
        ("loomwright.toml", '[severities]\nunfused-feed = "minor"\n'),
        ("loomwright.toml", '[limits]\nfuse-distance = "100 mm"\n'),
    ],
)
def test_a_changed_include_or_house_file_has_every_spec_checked_again(
    folder: Path, monkeypatch: pytest.MonkeyPatch, file: str, content: str
) -> None:
    run(folder)
    (folder / file).write_text(content)
    seen = reckoned(monkeypatch)
    assert as_json(run(folder)) == as_json(run(folder, keep=False))
    assert seen[:5] == [f"van-{number}.fitout" for number in range(5)]


def test_a_changed_rule_file_has_every_spec_checked_again(folder: Path) -> None:
    rule = """rule short-lead minor "Too short" { for load l when l.critical need l.critical at l say "{l}" why "w" do "d" source practice }"""
    (folder / "loomwright.toml").write_text('rules = ["house.rules"]\n')
    (folder / "house.rules").write_text(rule.replace(" when", "\nwhen").replace(" need", "\nneed"))
    before = run(folder)
    (folder / "house.rules").write_text("rule")
    assert as_json(run(folder)) == as_json(run(folder, keep=False)) != as_json(before)


def test_an_include_that_goes_is_missed_at_once(folder: Path) -> None:
    assert not run(folder).errors
    (folder / "shared.fitout").unlink()
    gone = [problem for problem in run(folder).errors if "there is no such file" in problem.message]
    assert len(gone) == 5


def test_another_program_takes_nothing_from_the_cache(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    run(folder)
    monkeypatch.setattr(many.basis, "program", lambda: "another")
    seen = reckoned(monkeypatch)
    run(folder)
    assert len(seen) == 5


def test_a_concession_with_an_end_is_looked_at_anew_every_day(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    conceding = folder / "van-2.fitout"
    conceding.write_text(conceding.read_text() + CONCESSION.format(until="2026-11-25"))
    assert run(folder).counts["conceded"] == 1
    seen = reckoned(monkeypatch)
    tomorrow = run(folder, Wishes(today=DAY + datetime.timedelta(days=1)))
    assert seen == ["van-2.fitout"]
    assert tomorrow.counts["conceded"] == 0
    assert [one.rule for one in tomorrow.findings].count("concession-expired") == 1


def test_what_was_asked_for_is_not_mixed_up(folder: Path) -> None:
    everything, some = run(folder), run(folder, Wishes(only=frozenset(["lug-stud-mismatch"]), today=DAY))
    assert {finding.rule for finding in some.findings} == {"lug-stud-mismatch"}
    assert as_json(run(folder)) == as_json(everything)


def test_a_spec_with_errors_is_never_kept(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (folder / "van-0.fitout").write_text("fitout")
    run(folder)
    seen = reckoned(monkeypatch)
    assert run(folder).errors
    assert seen == ["van-0.fitout"]


def test_a_damaged_cache_is_the_same_as_none(folder: Path) -> None:
    first = as_json(run(folder))
    for file in (folder.parent / "cache").glob("findings-*"):
        file.write_bytes(b"\x80not a report")
    assert as_json(run(folder)) == first


def test_a_spec_has_one_place_in_the_cache_however_often_it_changes(folder: Path) -> None:
    for volts in range(10, 14):
        (folder / "van-0.fitout").write_text(SPEC.replace("draws 3 A", f"draws {volts} A"))
        run(folder)
    assert len(list((folder.parent / "cache").glob("findings-*"))) == 5


def test_the_same_call_goes_to_another_backend_of_joblib(folder: Path) -> None:
    import joblib

    with joblib.parallel_config(backend="threading"):
        assert as_json(run(folder, jobs=2, keep=False)) == as_json(run(folder, keep=False))


def test_progress_is_told_of_every_spec(folder: Path) -> None:
    told: list[tuple[int, int]] = []
    paths = sorted(map(str, folder.glob("van-*.fitout")))
    many.check_many(paths, WISHES, progress=lambda done, of: told.append((done, of)))
    assert told == [(number, 5) for number in range(1, 6)]


def test_an_unchanged_second_run_takes_a_tenth(folder: Path, specs: Path) -> None:
    planned = (specs / "orchard-bees" / "planned.fitout").read_text(encoding="utf-8")
    for number in range(8):
        (folder / f"van-{number}.fitout").write_text(planned.replace("Orchard", f"Orchard {number}"))
    start = time.perf_counter()
    run(folder)
    between = time.perf_counter()
    run(folder)
    assert time.perf_counter() - between < 0.1 * (between - start)


def command(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "loomwright.cli", "check", *words],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[1] / "src")},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=60,
    )


def test_the_command_gives_the_same_for_any_number_of_jobs(folder: Path) -> None:
    whole = command(folder, "--no-cache", "--format", "gnu", ".")
    assert whole.returncode == 1
    took = re.compile(r"took \d+\.\d\d s\n")
    assert took.fullmatch(whole.stderr)  # progress is for a terminal only
    assert not list((folder.parent / "cache").glob("findings-*"))
    again = command(folder, "--jobs", "2", "--format", "gnu", ".")
    assert (again.stdout, again.returncode) == (whole.stdout, 1)
    assert took.fullmatch(again.stderr)
    files = [match[1] for match in re.finditer(r"^\S*(van-\d)", whole.stdout, re.MULTILINE)]
    assert files == sorted(files)
