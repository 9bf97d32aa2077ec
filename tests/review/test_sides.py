"""Specs from files and from git: the right text at the right revision, and one sentence where there is none."""

from __future__ import annotations

import json
import os
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from loomwright.cli import commands
from loomwright.report.files import Unreadable

pytestmark = pytest.mark.program("git")

SHARED = "place box {{ ambient {warm} degC }}\n"
VAN = """fitout "Van" { stage planned; system 12 V }
include "parts/places.fitout"
battery house in box { chemistry agm; capacity 100 Ah; internal 7 mohm; stud M8; serves house }
"""


def git(folder: Path, *words: str) -> None:
    environment = {**os.environ, "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_SYSTEM": os.devnull}
    who = ("-c", "user.name=Test", "-c", "user.email=test@invalid", "-c", "commit.gpgsign=false")
    subprocess.run(["git", *who, *words], cwd=folder, env=environment, check=True, capture_output=True)


@pytest.fixture
def repository(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A repository with two commits: the included place gets warmer, the battery larger."""
    specs = tmp_path / "our specs"
    (specs / "parts").mkdir(parents=True)
    git(tmp_path, "init", "-q")
    for warm, capacity in ((30, 100), (50, 120)):
        (specs / "parts" / "places.fitout").write_text(SHARED.format(warm=warm))
        (specs / "van.fitout").write_text(VAN.replace("100 Ah", f"{capacity} Ah"))
        git(tmp_path, "add", ".")
        git(tmp_path, "commit", "-q", "-m", f"{capacity} Ah")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def compare(*words: str) -> Result:
    return CliRunner().invoke(commands, ["compare", "--format", "json", *words])


def changes(done: Result) -> list[tuple[str, str, str]]:
    assert done.exit_code == 0, done.output
    return [
        (each["name"], change["old"]["text"], change["new"]["text"])
        for each in json.loads(done.stdout)["changed"]
        for change in each["changes"]
    ]


BOTH = [("box", "30 °C", "50 °C"), ("house", "100 Ah", "120 Ah")]


@pytest.mark.usefixtures("repository")
def test_a_spec_and_its_includes_come_from_the_same_revision() -> None:
    assert changes(compare("HEAD~1:our specs/van.fitout", "our specs/van.fitout")) == BOTH
    assert changes(compare("--git", "HEAD~1", "our specs/van.fitout")) == BOTH
    assert changes(compare("HEAD~1:our specs/van.fitout", "HEAD:our specs/van.fitout")) == BOTH


def test_a_path_from_here_begins_with_a_dot(repository: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(repository / "our specs")
    assert changes(compare("HEAD~1:./van.fitout", "van.fitout")) == BOTH
    assert changes(compare("--git", "HEAD~1", "van.fitout")) == BOTH


def test_what_is_staged_is_a_side_too(repository: Path) -> None:
    spec = repository / "our specs" / "van.fitout"
    spec.write_text(spec.read_text().replace("120 Ah", "140 Ah"))
    git(repository, "add", ".")
    spec.write_text(spec.read_text().replace("140 Ah", "160 Ah"))
    assert changes(compare("HEAD:our specs/van.fitout", ":our specs/van.fitout")) == [
        ("house", "120 Ah", "140 Ah")
    ]


def test_an_include_that_the_revision_lacks_is_not_taken_from_the_disk(repository: Path) -> None:
    specs = repository / "our specs"
    (specs / "more.fitout").write_text("place loft { ambient 40 degC }\n")
    (specs / "van.fitout").write_text(VAN + 'include "more.fitout"\n')
    git(repository, "add", "our specs/van.fitout")
    git(repository, "commit", "-q", "-m", "forgot a file")
    done = compare("HEAD:our specs/van.fitout", "our specs/van.fitout")
    assert done.exit_code == 2
    assert "there is no file our specs/more.fitout in revision 'HEAD'" in done.stdout


def test_a_spec_that_is_gone_from_the_disk_is_still_in_its_revision(repository: Path) -> None:
    (repository / "new.fitout").write_text(
        VAN.replace("parts/", "our specs/parts/").replace("100 Ah", "140 Ah")
    )
    (repository / "our specs" / "van.fitout").unlink()
    assert changes(compare("HEAD:our specs/van.fitout", "new.fitout")) == [("house", "120 Ah", "140 Ah")]


@pytest.mark.usefixtures("repository")
@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("nowhere.fitout", "our specs/van.fitout"), "there is no spec nowhere.fitout"),
        (("our specs", "our specs/van.fitout"), "our specs is no file"),
        (("HEAD~9:our specs/van.fitout", "our specs/van.fitout"), "there is no revision 'HEAD~9'"),
        (("HEAD:van.fitout", "our specs/van.fitout"), "there is no file van.fitout in revision 'HEAD'"),
        (("HEAD:our specs", "our specs/van.fitout"), "there is no file our specs in revision 'HEAD'"),
        (("HEAD:../van.fitout", "our specs/van.fitout"), "it lies outside the repository"),
        (("--git", "--output=x", "our specs/van.fitout"), "'--output=x' is no revision"),
    ],
)
def test_what_is_not_there_is_told_in_one_sentence(words: tuple[str, ...], said: str) -> None:
    done = compare(*words)
    assert isinstance(done.exception, Unreadable)
    assert said in str(done.exception)


def test_outside_a_repository_git_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path.parent))
    (tmp_path / "van.fitout").write_text('fitout "Van" { stage planned; system 12 V }\n')
    done = compare("--git", "HEAD", "van.fitout")
    assert isinstance(done.exception, Unreadable)
    assert str(done.exception).startswith("git: not a git repository")


def test_a_spec_with_errors_lists_them_and_ends_with_two(tmp_path: Path) -> None:
    (tmp_path / "a.fitout").write_text('fitout "Van" { stage planed }\n')
    done = compare(str(tmp_path / "a.fitout"), str(tmp_path / "a.fitout"))
    assert done.exit_code == 2
    assert "did you mean 'planned'" in done.stdout


def test_one_spec_alone_needs_a_revision() -> None:
    done = compare("a.fitout")
    assert done.exit_code == 2
    assert "--git REV" in done.output
