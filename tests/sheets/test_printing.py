"""The command `sheets`: which files it writes, and that it writes them whole or not at all."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.sheets.job import PLANNED
from tests.sheets.test_papers import small

from loomwright import whole
from loomwright.cli import commands
from loomwright.report.files import Unreadable
from loomwright.sheets.printing import NotWritten, write_whole


@dataclass(frozen=True)
class Done:
    returncode: int
    stdout: str
    stderr: str


def sheets(*words: str | Path, text: str = "") -> Done:
    """What the command does in this process: its exit status and what it prints."""
    result = CliRunner().invoke(commands, ["sheets", *map(str, words)], input=text)
    if isinstance(result.exception, Unreadable):  # `main` prints it
        return Done(2, result.stdout, f"loomwright: {result.exception}\n")
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return Done(result.exit_code, result.stdout, result.stderr)


@pytest.fixture
def van(tmp_path: Path) -> Path:
    path = tmp_path / "van.fitout"
    path.write_text(small())
    return path


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_without_a_format_it_is_one_page(van: Path, tmp_path: Path) -> None:
    done = sheets(van, "-o", tmp_path / "papers" / "new")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == f"{tmp_path / 'papers' / 'new' / 'van.html'}\n"
    assert names(tmp_path / "papers" / "new") == ["van.html"]


def test_all_formats_at_once_have_the_names_of_the_manual(van: Path, tmp_path: Path) -> None:
    pytest.importorskip("typst")
    words = [word for form in ("html", "pdf", "markdown", "csv") for word in ("--format", form)]
    done = sheets(van, "-o", tmp_path / "out", *words)
    assert done.returncode == 0, done.stderr
    assert names(tmp_path / "out") == ["van-cuts.csv", "van-parts.csv", "van.html", "van.md", "van.pdf"]
    assert (tmp_path / "out" / "van.pdf").read_bytes().startswith(b"%PDF-")


def test_a_second_printing_has_the_same_bytes(tmp_path: Path) -> None:
    words = ["--format", "html", "--format", "markdown", "--format", "csv"]
    printed = []
    for seed in ("1", "2"):
        done = subprocess.run(
            [
                sys.executable,
                "-m",
                "loomwright.cli",
                "sheets",
                str(PLANNED),
                "-o",
                str(tmp_path / seed),
                *words,
            ],
            env={**os.environ, "PYTHONHASHSEED": seed, "TZ": f"UTC+{seed}"},
            capture_output=True,
            timeout=120,
        )
        assert done.returncode == 0, done.stderr
        printed.append({path.name: path.read_bytes() for path in (tmp_path / seed).iterdir()})
    assert printed[0] == printed[1]


def test_a_spec_comes_from_standard_input_too(tmp_path: Path) -> None:
    done = sheets("-", "-o", tmp_path, "--format", "markdown", "--only", "cover", text=small())
    assert done.returncode == 0, done.stderr
    assert names(tmp_path) == ["spec.md"]


def test_findings_do_not_keep_papers_back_but_the_cover_tells_them(tmp_path: Path) -> None:
    done = sheets(
        PLANNED.parent / "as-found.fitout", "-o", tmp_path, "--format", "markdown", "--only", "cover"
    )
    assert done.returncode == 0
    assert "of the classes dangerous and major are open" in (tmp_path / "as-found.md").read_text()


def test_errors_are_listed_and_nothing_is_written(tmp_path: Path) -> None:
    spec = tmp_path / "van.fitout"
    spec.write_text('fitout "Van" { stage planed }\nfeed a frm b.pos to c.pos { }\n')
    done = sheets(spec, "-o", tmp_path / "out")
    assert done.returncode == 2
    assert done.stdout.count(": error: ") == 4  # two slips, two devices that are missing
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--only", "covr"], "there is no sheet 'covr': did you mean 'cover'?"),
        (["--only", "cover", "--format", "csv"], "only parts and cut-list are lists that CSV can hold"),
        (["--only", "rework"], "has nothing to say on rework: no file was written"),
        (["--from", "nowhere.fitout"], "nowhere.fitout can't be read: there is no such file"),
    ],
)
def test_a_wish_that_cannot_be_met_is_told_in_one_sentence(
    van: Path, tmp_path: Path, words: list[str], said: str
) -> None:
    done = sheets(van, "-o", tmp_path / "out", *words)
    assert done.returncode == 2
    assert said in done.stderr
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "out").exists()


def test_the_program_ends_with_two_and_one_line(van: Path, tmp_path: Path) -> None:
    command = [sys.executable, "-m", "loomwright.cli", "sheets", str(van), "-o", str(van)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60)
    assert done.returncode == 2
    assert done.stderr.startswith("loomwright: nothing was written to ")
    assert done.stderr.count("\n") == 1
    assert names(tmp_path) == ["van.fitout"]


def test_a_folder_that_is_a_file_is_told(van: Path, tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a letter")
    for folder in ("out", "out/deeper"):
        done = sheets(van, "-o", tmp_path / folder)
        assert done.returncode == 2
        assert done.stderr.count("\n") == 1
        assert "is a file" in done.stderr
    assert (tmp_path / "out").read_text() == "a letter"


def test_a_folder_that_may_not_be_written_to_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("builtins.open", refuse)
    with pytest.raises(NotWritten, match="writing there is not permitted"):
        write_whole(str(tmp_path), {"van.html": b"page"})
    assert names(tmp_path) == []


def test_a_full_disk_leaves_the_earlier_papers_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "van.html").write_bytes(b"the earlier page")
    synced: list[int] = []

    def full(handle: int) -> None:
        synced.append(handle)
        if len(synced) > 1:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(whole.os, "fsync", full)
    with pytest.raises(NotWritten, match="no space left on device"):
        write_whole(str(tmp_path), {"van.html": b"page", "van.md": b"text"})
    assert names(tmp_path) == ["van.html"]
    assert (tmp_path / "van.html").read_bytes() == b"the earlier page"


def test_papers_never_take_the_place_of_the_spec_or_of_a_folder(tmp_path: Path) -> None:
    spec = tmp_path / "van.md"
    spec.write_text(small())
    done = sheets(spec, "-o", tmp_path, "--format", "markdown")
    assert done.returncode == 2
    assert "is the spec itself" in done.stderr
    assert spec.read_text() == small()
    (tmp_path / "van.html").mkdir()
    with pytest.raises(NotWritten, match="is a folder"):
        write_whole(str(tmp_path), {"van.html": b"page"})


ALL_FORMATS = [word for form in ("html", "markdown", "csv") for word in ("--format", form)]


def two_jobs(folder: Path) -> tuple[Path, Path]:
    """Two specs of one project that have the same file name."""
    (folder / "loomwright.toml").write_text("")
    specs = (folder / "one" / "van.fitout", folder / "two" / "van.fitout")
    for spec in specs:
        spec.parent.mkdir()
        spec.write_text(small())
    return specs


@pytest.mark.parametrize("form", ["html", "pdf", "markdown", "csv"])
def test_papers_of_another_spec_are_not_written_over(tmp_path: Path, form: str) -> None:
    if form == "pdf":
        pytest.importorskip("typst")
    one, two = two_jobs(tmp_path)
    out = tmp_path / "out"
    assert sheets(one, "-o", out, "--format", form).returncode == 0
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    done = sheets(two, "-o", out, "--format", form)
    assert done.returncode == 2
    assert "is there already, and is no printing of two/van.fitout" in done.stderr
    assert done.stderr.count("\n") == 1
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before
    one.write_text(small() + "# changed\n")
    assert sheets(one, "-o", out, "--format", form).returncode == 0


@pytest.mark.parametrize("ending", [".html", ".md", "-parts.csv"])
def test_a_file_of_the_users_own_is_not_written_over(van: Path, tmp_path: Path, ending: str) -> None:
    own = tmp_path / "out" / f"van{ending}"
    own.parent.mkdir()
    own.write_text("my own words, on van.fitout\n")
    done = sheets(van, "-o", own.parent, *ALL_FORMATS)
    assert done.returncode == 2
    assert f"{own} is there already" in done.stderr
    assert names(own.parent) == [own.name]
    assert own.read_text() == "my own words, on van.fitout\n"


def test_a_link_out_of_the_folder_is_not_followed(van: Path, tmp_path: Path) -> None:
    out, elsewhere = tmp_path / "out", tmp_path / "elsewhere.html"
    out.mkdir()
    (out / "van.html").symlink_to(elsewhere)
    for _ in range(2):
        done = sheets(van, "-o", out)
        assert done.returncode == 2
        assert "is a link to a file outside" in done.stderr
        elsewhere.write_text("a page")
    assert elsewhere.read_text() == "a page"
    (tmp_path / "papers").symlink_to(tmp_path / "real")
    (tmp_path / "real").mkdir()
    assert sheets(van, "-o", tmp_path / "papers").returncode == 0  # the folder may be a link
