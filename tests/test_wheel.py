"""The wheel carries all that the program needs: built, put into a fresh environment, run from an empty folder."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import venv
from pathlib import Path

import pytest


@pytest.fixture(scope="module")
def installed(checkout: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The program `loomwright` of a fresh environment that holds the wheel; its libraries are this environment's."""
    folder = tmp_path_factory.mktemp("wheel")
    build = [
        sys.executable,
        "-m",
        "build",
        "--wheel",
        "--no-isolation",
        "--outdir",
        str(folder),
        str(checkout),
    ]
    subprocess.run(build, check=True, capture_output=True, timeout=120)
    (wheel,) = folder.glob("*.whl")
    home = folder / "environment"
    venv.create(home, with_pip=False)
    inside = Path(sysconfig.get_path("purelib", vars={"base": str(home), "platbase": str(home)}))
    install = [
        sys.executable,
        "-m",
        "pip",
        "install",
        "--quiet",
        "--no-deps",
        "--target",
        str(inside),
        str(wheel),
    ]
    subprocess.run(install, check=True, capture_output=True, timeout=120)
    (inside / "libraries.pth").write_text(sysconfig.get_path("purelib") + "\n")
    return home / ("Scripts" if os.name == "nt" else "bin") / "python"


def run(python: Path, folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    environment = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    return subprocess.run(
        [str(python), "-m", "loomwright.cli", *words],
        cwd=folder,
        env={**environment, "LOOMWRIGHT_CACHE": str(folder / "cache"), "PYTHONUTF8": "1"},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=60,
    )


def test_the_wheel_runs_the_job_from_an_empty_folder(installed: Path, specs: Path, tmp_path: Path) -> None:
    shutil.copy(specs / "orchard-bees" / "as-found.fitout", tmp_path / "found.fitout")
    done = run(installed, tmp_path, "check", "found.fitout")
    assert done.returncode == 1, done.stderr
    assert "main leaves crank.pos with no fuse [unfused-feed]" in done.stdout


def test_the_wheel_is_what_runs(installed: Path, tmp_path: Path) -> None:
    asked = [str(installed), "-c", "import loomwright; print(loomwright.__file__)"]
    where = subprocess.run(asked, cwd=tmp_path, check=True, capture_output=True, text=True).stdout
    assert "environment" in where


def test_the_wheel_explains_rules_with_their_examples(installed: Path, tmp_path: Path) -> None:
    done = run(installed, tmp_path, "explain", "unfused-feed")
    assert done.returncode == 0, done.stderr
    assert "Fails:" in done.stdout
    assert "Holds:" in done.stdout
