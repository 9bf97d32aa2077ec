"""The commands as their users call them: exit statuses, formats, bad input."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from loomwright.cli import COMMANDS, commands

SOUND = 'fitout "Van" { stage planned; system 12 V }\n'
AS_FOUND = "specs/orchard-bees/as-found.fitout"
PLANNED = "specs/orchard-bees/planned.fitout"


def run(*words: str, text: str | bytes | None = None) -> Result:
    return CliRunner().invoke(commands, [*words], input=text)


def process(*words: str, cwd: Path, text: bytes = b"") -> subprocess.CompletedProcess[bytes]:
    """The installed program, as a shell starts it."""
    return subprocess.run(
        [sys.executable, "-m", "loomwright.cli", *words], cwd=cwd, input=text, capture_output=True, timeout=60
    )


def test_a_sound_spec_ends_with_nought(tmp_path: Path) -> None:
    (tmp_path / "van.fitout").write_text(SOUND)
    done = run("check", str(tmp_path / "van.fitout"))
    assert done.exit_code == 0
    assert done.stdout.startswith("nothing found\n")


def test_a_fragment_alone_is_not_called_sound(tmp_path: Path) -> None:
    (tmp_path / "parts.fitout").write_text("")
    done = run("check", str(tmp_path / "parts.fitout"))
    assert done.stdout.startswith("nothing checked")


@pytest.mark.usefixtures("in_checkout")
def test_findings_at_the_threshold_end_with_one() -> None:
    assert run("check", AS_FOUND).exit_code == 1
    assert run("check", PLANNED).exit_code == 0


def test_a_spec_with_errors_ends_with_two_and_lists_them(tmp_path: Path) -> None:
    spec = tmp_path / "van.fitout"
    spec.write_text('fitout "Van" { stage planed }\nfeed a frm b.pos to c.pos { }\n')
    done = run("check", "--format", "gnu", str(spec))
    assert done.exit_code == 2
    lines = done.stdout.splitlines()
    places = ("1:22", "2:8", "2:12", "2:21")  # two slips, two devices that are missing
    assert [line.split(": error: ")[0] for line in lines] == [f"{spec}:{place}" for place in places]


def test_a_spec_comes_from_standard_input_too() -> None:
    done = run("check", "-", text=SOUND)
    assert done.exit_code == 0, done.output
    assert "1 file" in done.output


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("check", "nowhere.fitout"), "there is no file or folder nowhere.fitout"),
        (("check", "empty"), "the folder empty holds no .fitout file"),
        (("check", "rubbish.fitout"), "rubbish.fitout"),
        (("explain", "unfused-fed"), "did you mean 'unfused-feed'?"),
        (("explain", "unfused-feed", "nowhere.fitout", "main"), "nowhere.fitout"),
    ],
)
def test_what_cannot_be_read_ends_with_two_and_one_sentence(
    tmp_path: Path, words: tuple[str, ...], told: str
) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "rubbish.fitout").write_bytes(b"\xff\xfe\x00rubbish")
    done = process(*words, cwd=tmp_path)
    assert done.returncode == 2
    assert told in (done.stdout + done.stderr).decode()
    assert b"Traceback" not in done.stderr


def test_an_unknown_rule_is_a_usage_error() -> None:
    done = run("check", "--only", "unfused-fed", "-")
    assert done.exit_code == 2
    assert "did you mean 'unfused-feed'?" in done.output


@pytest.mark.usefixtures("in_checkout")
def test_only_and_skip_choose_rules() -> None:
    only = json.loads(run("check", "--format", "json", "--only", "unfused-feed", AS_FOUND).stdout)
    assert {finding["rule"] for finding in only["findings"]} == {"unfused-feed"}
    rest = json.loads(run("check", "--format", "json", "--skip", "unfused-feed", AS_FOUND).stdout)
    assert "unfused-feed" not in {finding["rule"] for finding in rest["findings"]}
    assert rest["findings"]


@pytest.mark.usefixtures("in_checkout")
def test_a_folder_means_every_spec_below_it() -> None:
    found = json.loads(run("check", "--format", "json", "specs").stdout)
    assert [file["path"] for file in found["files"]] == sorted(
        str(path) for path in Path("specs").rglob("*.fitout")
    )


def test_the_same_input_gives_the_same_bytes_whatever_the_hash_seed(checkout: Path) -> None:
    outputs = set()
    for seed in ("0", "1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "LOOMWRIGHT_CACHE": "off"}
        outputs.add(
            subprocess.run(
                [sys.executable, "-m", "loomwright.cli", "check", "--today", "2026-11-25", "specs"],
                cwd=checkout,
                env=environment,
                capture_output=True,
                timeout=60,
            ).stdout
        )
    assert len(outputs) == 1


@pytest.mark.usefixtures("in_checkout")
def test_the_library_call_prints_nothing_and_finds_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    import loomwright

    report = loomwright.check(Path(AS_FOUND).read_text(), AS_FOUND)
    assert capsys.readouterr().out == ""
    shown = json.loads(run("check", "--format", "json", AS_FOUND).stdout)
    assert [finding.message for finding in report.findings] == [one["message"] for one in shown["findings"]]


def test_a_fault_of_the_program_leaves_one_line_and_a_report(tmp_path: Path) -> None:
    script = (
        "import loomwright.cli as cli, loomwright.report.files as files\n"
        "def broken(*_): raise RuntimeError('seized')\n"
        "files.specs_of = broken\n"
        "cli.main()\n"
    )
    (tmp_path / "van.fitout").write_text(SOUND)
    done = subprocess.run(
        [sys.executable, "-c", script, "check", "van.fitout"],
        cwd=tmp_path,
        env={**os.environ, "TMPDIR": str(tmp_path)},
        capture_output=True,
        timeout=60,
    )
    assert done.returncode == 3
    line = done.stderr.decode().strip()
    assert "\n" not in line
    assert "a fault of the program (RuntimeError)" in line
    (kept,) = tmp_path.glob("loomwright-fault-*.txt")
    assert "seized" in kept.read_text()


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="this system has no device that is always full")
@pytest.mark.parametrize(
    "words", [("check", AS_FOUND), ("check", "--format", "json", AS_FOUND), ("rules",), ("--version",)]
)
def test_a_full_disk_behind_the_output_is_one_plain_sentence(checkout: Path, words: tuple[str, ...]) -> None:
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "loomwright.cli", *words], cwd=checkout, stdout=full, stderr=subprocess.PIPE, timeout=60
        )  # fmt: skip
    assert done.stderr == b"loomwright: the output can't be written: no space left on device\n"
    assert done.returncode == 2


@pytest.mark.skipif(os.name != "posix", reason="by a shell of POSIX")
def test_an_output_that_the_shell_has_closed_changes_nothing_else(checkout: Path) -> None:
    command = f'exec "{sys.executable}" -m loomwright.cli check {AS_FOUND} >&-'
    done = subprocess.run(["sh", "-c", command], cwd=checkout, stderr=subprocess.PIPE, timeout=60)
    assert done.returncode == 1
    assert re.fullmatch(rb"took \d+\.\d\d s\n", done.stderr)


@pytest.mark.parametrize("command", COMMANDS)
def test_each_help_gives_two_real_examples(command: str) -> None:
    shown = run(command, "--help").output
    assert shown.count("\n    loomwright ") >= 2


@pytest.mark.usefixtures("in_checkout")
def test_the_time_taken_goes_to_standard_error_and_not_into_the_findings() -> None:
    done = run("check", "--format", "gnu", AS_FOUND)
    assert re.fullmatch(r"took \d+\.\d\d s\n", done.stderr)
    assert "took" not in done.stdout


@pytest.mark.usefixtures("in_checkout")
def test_what_only_a_licensed_electrician_may_do_is_never_skipped() -> None:
    done = run("check", "--skip", "licensed-work", AS_FOUND)
    assert done.exit_code == 2
    assert "'licensed-work' can't be skipped: it names what only a licensed electrician may do" in done.output
