"""The second process: the findings are the same with it, and nothing is lost where it fails, and nothing is left of it."""

from __future__ import annotations

import os
import signal
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from loomwright.editor import mate as room
from loomwright.editor.desk import Desk
from loomwright.editor.mate import Mate, Question
from loomwright.editor.session import cores
from loomwright.report.check import Report, Wishes, check
from loomwright.rulebook.finding import Finding

from .client import PATIENCE, Client
from .conftest import BODY, SHARED, SPEC

on_two_cores = pytest.mark.skipif(
    not sys.platform.startswith("linux") or cores() < 2,
    reason="/proc tells of processes, and one core has no mate",
)
posix = pytest.mark.skipif(os.name == "nt", reason="signals and /proc are not there")


@pytest.fixture(scope="module")
def mate() -> Iterator[Mate]:
    """One that is warm, for all tests that leave it as it is."""
    mate = Mate()
    warm(mate)
    yield mate
    mate.leave()


@pytest.fixture
def unlucky() -> Iterator[Mate]:
    """One that something happens to."""
    mate = Mate()
    warm(mate)
    yield mate
    mate.leave()


def warm(mate: Mate) -> None:
    """Ask the first question and wait until the mate has practised with it."""
    assert mate.ask(Question(BODY, "van.fitout", Wishes(), {})) is None
    assert mate._line is not None
    assert mate._line.poll(PATIENCE)


def plain(report: Report) -> list[tuple[object, ...]]:
    """Findings without the texts that their places are in: those of the mate are its own copies."""
    return [_plain(finding) for finding in report.findings]


def _plain(finding: Finding) -> tuple[object, ...]:
    edits = [(edit.span.order(), edit.text, edit.offered) for edit in finding.edits]
    missing = [(one.what, one.span.order()) for one in finding.missing]
    words = finding.message, finding.why, finding.do, finding.at, finding.sources
    return *finding.order(), *words, tuple(finding.facts), finding.conceded, edits, missing


@pytest.mark.parametrize(
    "name", ["orchard-bees/as-found", "orchard-bees/planned", "orchard-bees/installed", "marsh-lab/planned"]
)
def test_the_findings_are_those_of_one_process(
    mate: Mate, specs: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = specs / f"{name}.fitout"
    text = path.read_text(encoding="utf-8")
    answers, answer = [], mate.answer
    monkeypatch.setattr(mate, "answer", lambda: answers.append(answer()) or answers[-1])
    desk = Desk(mate=mate)
    desk.put(str(path), text)
    report = desk.report(str(path))
    (theirs,) = answers
    assert theirs is not None
    assert {finding.rule for finding in theirs} <= room.share()
    alone = check(text, str(path))
    assert plain(report) == plain(alone)
    assert report.files == alone.files


def test_its_rules_are_some_of_each_kind_of_work() -> None:
    assert {"cable-overloaded", "discharge-current-high", "lug-stud-mismatch"} <= room.share()
    assert not {"unfused-feed", "concession-idle", "licensed-work"} & room.share()


@pytest.mark.parametrize(("on", "conceded"), [("main", True), ("lamp", False)])
def test_what_it_finds_can_be_conceded(mate: Mate, folder: Path, on: str, conceded: bool) -> None:
    """`no-sleeve` is a rule of the mate's; whether its concession is idle is judged by the server, of all findings."""
    spec = str(folder / "van.fitout")
    desk = Desk(mate=mate)
    desk.put(spec, SPEC.replace("no-sleeve on main", f"no-sleeve on {on}"))
    report = desk.report(spec)
    assert not mate._owes
    assert any(finding.rule == "no-sleeve" and finding.conceded for finding in report.findings) is conceded
    assert any(finding.rule == "concession-idle" for finding in report.findings) is not conceded


def test_it_reads_included_files_as_they_stand_in_the_editor(mate: Mate, folder: Path) -> None:
    spec, shared = (str(folder / name) for name in ("van.fitout", "shared.fitout"))
    desk = Desk(mate=mate)
    desk.put(spec, SPEC)
    desk.put(shared, SHARED.replace("40 °C", "85 °C"))
    report = desk.report(spec)
    assert not mate._owes
    alone = check(SPEC, spec, read=desk.buffers.get)  # type: ignore[arg-type]  # None is the disk's text
    assert plain(report) == plain(alone) != plain(check(SPEC, spec))


def test_a_mate_that_ends_is_done_without(
    unlucky: Mate, folder: Path, caplog: pytest.LogCaptureFixture
) -> None:
    spec = str(folder / "van.fitout")
    asked = unlucky.ask(Question(SPEC, spec, Wishes(), {}))
    assert asked is not None
    assert unlucky._process is not None
    unlucky._process.kill()
    unlucky._process.join()
    report = check(SPEC, spec, aside=asked)
    assert plain(report) == plain(check(SPEC, spec))
    assert unlucky.ask(Question(SPEC, spec, Wishes(), {})) is None
    assert caplog.messages in ([], ["the second process has ended: this one goes on alone"])


@posix
def test_a_mate_that_does_not_answer_is_done_without(
    unlucky: Mate, folder: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(room, "PATIENCE", 0.2)
    spec = str(folder / "van.fitout")
    assert unlucky._process is not None
    assert unlucky._process.pid is not None
    os.kill(unlucky._process.pid, signal.SIGSTOP)
    asked = unlucky.ask(Question(SPEC, spec, Wishes(), {}))
    assert asked is not None
    report = check(SPEC, spec, aside=asked)
    assert plain(report) == plain(check(SPEC, spec))
    assert caplog.messages == ["the second process does not answer: this one goes on alone"]


def test_a_mate_that_is_only_coming_is_not_asked() -> None:
    mate = Mate()
    question = Question(BODY, "van.fitout", Wishes(), {})
    assert mate.ask(question) is None
    assert mate.ask(question) is None
    mate.leave()


def test_a_mate_judges_all_of_its_rules_or_none(mate: Mate) -> None:
    for wishes in (
        Wishes(only=frozenset({"no-sleeve"})),
        Wishes(skip=frozenset({"no-sleeve"})),
        Wishes(judging=False),
    ):
        assert mate.ask(Question(BODY, "van.fitout", wishes, {})) is None


def children(process: int) -> list[int]:
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            state, parent = (folder / "stat").read_text().rpartition(")")[2].split()[:2]
        except OSError:
            continue
        if int(parent) == process and state != "Z":
            found.append(int(folder.name))
    return found


def is_running(process: int) -> bool:
    try:
        return (Path("/proc") / str(process) / "stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


@on_two_cores
def test_on_one_core_there_is_no_mate(folder: Path) -> None:
    """It would only take the server's time."""
    start = "import os; os.sched_setaffinity(0, {min(os.sched_getaffinity(0))}); from loomwright.editor.server import serve; serve()"
    client = Client(folder, sys.executable, "-c", start)
    client.start()
    client.open(folder / "van.fitout")
    assert children(client.process.pid) == []
    assert client.stop() == 0


@on_two_cores
@pytest.mark.parametrize("how", ["goodbye", "killed"])
def test_no_process_is_left_behind(folder: Path, how: str) -> None:
    client = Client(folder)
    client.start()
    client.open(folder / "van.fitout")
    left = children(client.process.pid)
    assert left
    if how == "goodbye":
        assert client.stop() == 0
    else:
        with client.process:
            client.process.kill()
    until = time.monotonic() + PATIENCE
    while any(map(is_running, left)) and time.monotonic() < until:
        time.sleep(0.05)
    assert not any(map(is_running, left))
