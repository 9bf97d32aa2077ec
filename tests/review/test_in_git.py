"""The documented recipes, run as they stand in the manual in a real repository."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from loomwright.syntax.forms import CLAUSES

pytestmark = pytest.mark.program("git")

BAD = "feed bare-feed from house.pos to lamp.pos { cable 2.5 mm2 red; along box 2 m; fuse none }\n"
FIRST = """fitout "Van" { stage planned; system 12 V }

place box { ambient 30 degC }

battery house in box {
    chemistry lifepo4
    capacity  100 Ah
    internal  7 mohm
    serves    house
    sealed
    held-down
    stud      M8
}
"""
MORE = """
load lamp in box {
    draws 2 A
}
"""


@pytest.fixture
def repository(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty repository in which `loomwright` is on the path, and nothing of the user's own git settings counts."""
    program = tmp_path / "bin" / "loomwright"
    program.parent.mkdir()
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m loomwright.cli "$@"\n')
    program.chmod(0o755)
    monkeypatch.setenv("PATH", f"{program.parent}{os.pathsep}{os.environ['PATH']}")
    for name, value in (("GLOBAL", os.devnull), ("SYSTEM", os.devnull)):
        monkeypatch.setenv(f"GIT_CONFIG_{name}", value)
    for who in ("AUTHOR", "COMMITTER"):
        monkeypatch.setenv(f"GIT_{who}_NAME", "Test")
        monkeypatch.setenv(f"GIT_{who}_EMAIL", "test@invalid")
    top = tmp_path / "workshop"
    (top / "specs").mkdir(parents=True)
    sh(top, "git init -q")
    return top


def sh(folder: Path, script: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(["sh", "-c", script], cwd=folder, capture_output=True, text=True, encoding="utf-8")


def done(folder: Path, script: str) -> str:
    ran = sh(folder, script)
    assert ran.returncode == 0, ran.stderr
    return ran.stdout


def recipe(checkout: Path, holds: str) -> str:
    """The shell block of the manual that holds a text."""
    blocks = re.findall(r"```sh\n(.*?)```", (checkout / "docs" / "review.md").read_text("utf-8"), re.DOTALL)
    (found,) = (block for block in blocks if holds in block)
    return str(found)


def hook_of(checkout: Path) -> dict[str, str]:
    """The fields of the one hook: it is flat, so that a line a field is all there is to read."""
    text = (checkout / ".pre-commit-hooks.yaml").read_text("utf-8")
    return dict(re.findall(r"^[- ] (\w+): (.*)$", text, re.MULTILINE))


def try_commits(top: Path) -> tuple[subprocess.CompletedProcess[str], subprocess.CompletedProcess[str]]:
    """Commit a sound spec, then a bad one."""
    spec = top / "specs" / "van.fitout"
    spec.write_text(FIRST)
    good = sh(top, "git add . && git commit -q -m sound")
    spec.write_text(FIRST + MORE + BAD)
    return good, sh(top, "git add . && git commit -q -m bad")


def test_the_hooks_command_stops_a_bad_spec_and_lets_a_sound_one_pass(
    repository: Path, checkout: Path
) -> None:
    hook = hook_of(checkout)
    assert hook["pass_filenames"] == "false"
    script = repository / ".git" / "hooks" / "pre-commit"
    script.parent.mkdir(exist_ok=True)
    words = " ".join([hook["entry"], *re.findall(r'"(.*?)"', hook["args"])])
    script.write_text(f"#!/bin/sh\nexec {words}\n")
    script.chmod(0o755)
    good, bad = try_commits(repository)
    assert good.returncode == 0, good.stdout + good.stderr
    assert bad.returncode == 1
    assert re.search(
        r"^specs/van\.fitout:\d+:\d+: dangerous: .*\[unfused-feed\]$", bad.stdout + bad.stderr, re.MULTILINE
    )
    assert done(repository, "git log --format=%s").split() == ["sound"]


def test_the_hook_runs_for_specs_rules_and_settings(checkout: Path) -> None:
    files = re.compile(hook_of(checkout)["files"])
    assert all(map(files.search, ("specs/van.fitout", "house.rules", "loomwright.toml", "a/loomwright.toml")))
    assert not any(map(files.search, ("van.fitout.md", "rules.txt", "my-loomwright.toml")))


def test_the_hook_of_the_manual_does_the_same(repository: Path, checkout: Path) -> None:
    script = repository / ".git" / "hooks" / "pre-commit"
    script.parent.mkdir(exist_ok=True)
    script.write_text(recipe(checkout, "#!/bin/sh"))
    script.chmod(0o755)
    good, bad = try_commits(repository)
    assert (good.returncode, bad.returncode) == (0, 1)


def test_hunk_headers_name_the_statement(repository: Path, checkout: Path) -> None:
    spec = repository / "specs" / "van.fitout"
    spec.write_text(FIRST + MORE)
    done(repository, "git add . && git commit -q -m first")
    done(repository, recipe(checkout, "xfuncname"))
    spec.write_text((FIRST + MORE).replace("stud      M8", "stud      M10"))
    headers = re.findall(r"^@@ .* @@ (.*)$", done(repository, "git diff -U0"), re.MULTILINE)
    assert [header.strip() for header in headers] == ["battery house in box"]


def test_the_diff_driver_knows_every_statement_of_the_language(checkout: Path) -> None:
    known = re.search(r"xfuncname '\^\(\(([a-z|]+)\)", recipe(checkout, "xfuncname"))
    assert known
    assert known[1].split("|") == sorted(CLAUSES)


def test_a_word_diff_marks_whole_quantities(repository: Path, checkout: Path) -> None:
    spec = repository / "specs" / "van.fitout"
    spec.write_text(FIRST.replace("7 mohm", "6.5 mΩ"))
    done(repository, "git add . && git commit -q -m first")
    done(repository, recipe(checkout, "xfuncname"))
    spec.write_text(FIRST.replace("7 mohm", "7.25 mΩ"))
    assert "[-6.5-]{+7.25+} mΩ" in done(repository, "git diff --word-diff")


def test_the_pattern_of_the_manual_reads_every_line_of_the_gnu_form(checkout: Path) -> None:
    manual = (checkout / "docs" / "review.md").read_text("utf-8")
    (pattern,) = re.findall(r"^    (\^\(\[\^:\].*)$", manual, re.MULTILINE)
    command = [sys.executable, "-m", "loomwright.cli", "check", "--format", "gnu", "specs"]
    lines = subprocess.run(
        command, cwd=checkout, capture_output=True, text=True, encoding="utf-8"
    ).stdout.splitlines()
    assert len(lines) > 20
    assert all(re.fullmatch(pattern, line) for line in lines)


def test_a_merge_request_gets_its_comparison_from_git(repository: Path) -> None:
    spec = repository / "specs" / "van.fitout"
    spec.write_text(FIRST)
    done(repository, "git add . && git commit -q -m first")
    spec.write_text(FIRST.replace("100 Ah", "120 Ah"))
    told = done(
        repository, 'TARGET=HEAD; loomwright compare --git "$TARGET" --format markdown specs/van.fitout'
    )
    assert "| **battery house** | capacity | 100 Ah | 120 Ah |" in told
