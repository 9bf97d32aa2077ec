"""The program on a bad day: strange files, strange machines, a hand on Ctrl-C. It says a sentence and leaves nothing behind."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import loomwright
from loomwright.model import load as loading
from loomwright.report.check import check
from loomwright.report.json_form import as_json
from loomwright.report.text import gnu, text
from loomwright.rulebook.load import rulebook_of
from loomwright.syntax.forms import CLAUSES, STATEMENTS

ROOT = Path(__file__).parents[1]
SPECS = [path.read_text(encoding="utf-8") for path in sorted((ROOT / "specs").rglob("*.fitout"))]
EXAMPLES = [
    path.read_text(encoding="utf-8") for path in sorted((ROOT / "rules/examples").rglob("fails.fitout"))
]
RULES = [path.read_text(encoding="utf-8") for path in sorted((ROOT / "rules").glob("*.rules"))]
SPEC = 'fitout "Café Ω 🐝" {\n    stage planned\n    system 12 V\n}\nplace box { ambient 40 °C }\nload lamp in box { draws 3 A }\n'


def run(
    folder: Path, *words: str, encoding: str = "utf-8", **environment: str
) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "loomwright.cli", *words],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src"), **environment},
        capture_output=True,
        encoding=encoding,
        errors="strict",
        timeout=60,
    )


def sentence(done: subprocess.CompletedProcess[str]) -> str:
    """The one line that a run ended with."""
    assert done.returncode == 2, done.stdout + done.stderr
    assert "Traceback" not in done.stderr
    return done.stderr.strip().split("\n")[-1]


# ---------------------------------------------------------------- any text


def checked(spec: str) -> None:
    """Check it, print it every way, and know every place."""
    report = check(spec)
    as_json(report)
    text(report)
    for line in gnu(report).splitlines():
        assert line.isprintable()
    for problem in report.errors:
        assert problem.message.strip()
        assert 0 <= problem.span.start <= problem.span.end <= len(problem.span.source.text)
    assert not (report.errors and report.findings)


def cut(data: st.DataObject, texts: list[str], pieces: list[str]) -> str:
    """A real text with some pieces taken out, doubled or put in."""
    spec = data.draw(st.sampled_from(texts))
    for _ in range(data.draw(st.integers(1, 4))):
        start = data.draw(st.integers(0, len(spec)))
        end = data.draw(st.integers(start, min(len(spec), start + 60)))
        piece = data.draw(st.sampled_from(["", "", spec[start:end] * 2, *pieces]))
        spec = spec[:start] + piece + spec[end:]
    return spec


PIECES = [*STATEMENTS, *CLAUSES["feed"], *CLAUSES["battery"], "{", "}", "none", "unknown", "auto", "0 A", "1e308 m", "-1 V", "0.0001 mm2",
          "4/0 AWG", "99999 W", "🐝", "\x00", "\u202e", '"', "count 9999", "100 %", "loop.pos", "house.pos"]  # fmt: skip


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_no_spec_however_mangled_is_too_much_for_the_whole_of_check(data: st.DataObject) -> None:
    checked(cut(data, SPECS + EXAMPLES, PIECES))


NUMBER = st.sampled_from(["0", "1", "3", "0.001", "1000", "9999", "1e6", "1e-9", "12", "24", "-40"])


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_no_figures_however_wild_are_too_much_for_the_whole_of_check(data: st.DataObject) -> None:
    """The texts stay well-formed, so that facts and physics meet the figures."""
    import re

    spec = data.draw(st.sampled_from(EXAMPLES))
    numbers = [found.span() for found in re.finditer(r"(?<= )\d+(?:\.\d+)?(?= [A-Za-z%])", spec)]
    for start, end in reversed(
        data.draw(st.lists(st.sampled_from(numbers), max_size=3, unique=True).map(sorted))
    ):
        spec = spec[:start] + data.draw(NUMBER) + spec[end:]
    checked(spec)


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_no_rule_file_however_mangled_is_too_much(data: st.DataObject) -> None:
    whole = data.draw(st.sampled_from(RULES))
    start = data.draw(st.integers(0, len(whole)))
    part = whole[start : start + 3000]
    mangled = cut(
        data,
        [part],
        ["rule", "need", "{f}", "not", "any x of", "limit.", "(", ")", " of ", "\x00", '"', "is"],
    )
    book = rulebook_of([("x.rules", mangled, False)])
    for problem in book.problems:
        assert problem.message.strip()


@pytest.mark.parametrize(
    ("seed", "message"),
    [
        (
            "feed main from a.pos to b.pos {,\nalong box 1 m\n}",
            "',' begins nothing: a clause of a feed begins with a word",
        ),
        ("feed main from a.pos to b.pos { cable 12 B&S }", "there is no conductor of '12 B&S'"),
    ],
)
def test_what_was_once_too_much_is_told(seed: str, message: str) -> None:
    """Texts that the fuzzer found, cut down."""
    assert message in [one.message for one in check(f"{SPEC}{seed}\n").errors]


# ---------------------------------------------------------------- limits


def test_a_spec_of_more_statements_than_a_vehicle_can_have_is_refused_at_once() -> None:
    many = SPEC + "".join(f"place p{number}\n" for number in range(loading.MOST_STATEMENTS))
    start = time.process_time()
    (problem,) = check(many).errors
    assert time.process_time() - start < 5
    assert problem.message.startswith("a spec and its includes may have 20000 statements at most")


def test_so_many_statements_are_counted_before_any_is_read() -> None:
    """The largest text that is taken at all, whole and sound: to read it takes a minute."""
    load = 'load lamp-{} in box {{\n    draws 1 A\n    duty 20 %\n    note "one of very many"\n}}\n'
    many = SPEC + "".join(load.format(number) for number in range(90_000))
    assert 7_000_000 < len(many) < loading.LARGEST
    start = time.process_time()
    (problem,) = check(many).errors
    assert time.process_time() - start < 2
    assert problem.message.startswith("a spec and its includes may have 20000 statements at most")
    assert (
        problem.span.text == f"load lamp-{loading.MOST_STATEMENTS - 2}"
    )  # a place and a load stand before the first


def test_a_spec_of_more_files_than_anybody_has_is_refused(tmp_path: Path) -> None:
    for number in range(loading.MOST_FILES + 5):
        (tmp_path / f"f{number}.fitout").write_text(f"place p{number}\n")
    root = tmp_path / "root.fitout"
    root.write_text(
        SPEC + "".join(f'include "f{n}.fitout"\n' for n in range(loading.MOST_FILES + 5)), encoding="utf-8"
    )
    report = check(root.read_text(encoding="utf-8"), str(root))
    assert {one.message.partition(": ")[2] for one in report.errors} == {"a spec may have 200 files at most"}


def test_braces_in_braces_are_no_depth_at_all() -> None:
    start = time.process_time()
    assert check("fitout " + "{ " * 100_000 + "}" * 100_000).errors
    assert time.process_time() - start < 10


# ---------------------------------------------------------------- files


def test_a_pipe_a_device_and_a_link_to_nowhere_are_refused_in_a_sentence(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.fitout")
    (tmp_path / "nowhere.fitout").symlink_to(tmp_path / "gone")
    (tmp_path / "round.fitout").symlink_to(tmp_path / "round.fitout")
    assert "neither a file nor a folder" in sentence(run(tmp_path, "check", "pipe.fitout"))
    assert "neither a file nor a folder" in sentence(run(tmp_path, "check", "/dev/zero"))
    assert "there is no file or folder" in sentence(run(tmp_path, "check", "nowhere.fitout"))
    assert "there is no file or folder" in sentence(run(tmp_path, "check", "round.fitout"))


def test_a_pipe_among_the_specs_of_a_folder_is_told_and_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.fitout")
    (tmp_path / "van.fitout").write_text(SPEC, encoding="utf-8")
    done = run(tmp_path, "check", ".")
    assert done.returncode == 2
    assert "pipe.fitout:1:1: error: this spec can't be read: it is no plain file" in done.stdout
    assert "van.fitout" in done.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["check", "van.fitout", "--write-baseline", "taken"], "taken can't be read: it is a folder"),
        (
            ["check", "van.fitout", "--write-baseline", "van.fitout/known.json"],
            "can't be written: not a directory",
        ),
        (["sheets", "van.fitout", "-o", "van.fitout", "--only", "cover"], "it is a file"),
    ],
)
def test_a_place_that_cannot_be_written_to_ends_with_two_and_leaves_nothing(
    tmp_path: Path, words: list[str], said: str
) -> None:
    (tmp_path / "taken").mkdir()
    (tmp_path / "van.fitout").write_text(SPEC, encoding="utf-8")
    before = sorted(tmp_path.rglob("*"))
    assert said in sentence(run(tmp_path, *words))
    assert sorted(tmp_path.rglob("*")) == before
    assert (tmp_path / "van.fitout").read_text(encoding="utf-8") == SPEC


def test_ctrl_c_while_papers_are_written_leaves_none_of_them(
    tmp_path: Path, hears_ctrl_c: Callable[[], object]
) -> None:
    (tmp_path / "van.fitout").write_text(SPEC, encoding="utf-8")
    slow = (
        "import os, time, loomwright.cli as cli\n"
        "real = os.fsync\n"
        "def fsync(handle):\n    print('writing', flush=True); time.sleep(30)\n"
        "os.fsync = fsync\ncli.main()\n"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", slow, "sheets", "van.fitout", "-o", "out"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        preexec_fn=hears_ctrl_c,
    )
    assert process.stdout is not None
    watchdog = threading.Timer(60, process.kill)
    watchdog.start()
    assert process.stdout.readline().strip() == b"writing"
    process.send_signal(signal.SIGINT)
    _, errors = process.communicate(timeout=30)
    watchdog.cancel()
    assert process.returncode == 130
    assert b"Traceback" not in errors
    assert list((tmp_path / "out").iterdir()) == []


# ---------------------------------------------------------------- machines


def test_other_line_ends_and_a_byte_order_mark_change_no_finding_and_no_place(tmp_path: Path) -> None:
    spec = SPECS[1]
    (tmp_path / "unix.fitout").write_bytes(spec.encode())
    (tmp_path / "other.fitout").write_bytes(b"\xef\xbb\xbf" + spec.replace("\n", "\r\n").encode())
    one, other = (
        run(tmp_path, "check", "--format", "gnu", f"{name}.fitout").stdout.replace(
            f"{name}.fitout", "x.fitout"
        )
        for name in ("unix", "other")
    )
    assert one == other
    assert one.count("\n") > 20


@pytest.mark.parametrize("encoding", ["cp1252", "ascii"])
def test_a_terminal_of_another_code_page_gets_every_line(tmp_path: Path, encoding: str) -> None:
    (tmp_path / "van.fitout").write_text(SPECS[1], encoding="utf-8")
    words = ("check", "--format", "text", "van.fitout")
    whole = run(tmp_path, *words)
    plain = run(tmp_path, *words, encoding=encoding, PYTHONIOENCODING=encoding)
    assert plain.returncode == whole.returncode
    assert plain.stdout.count("\n") == whole.stdout.count("\n") > 20
    assert plain.stderr.count("\n") == whole.stderr.count("\n") == 1  # the time taken


def test_no_locale_and_no_clock_changes_a_byte(tmp_path: Path) -> None:
    (tmp_path / "van.fitout").write_text(SPECS[1], encoding="utf-8")
    words = ("figures", "--format", "text", "van.fitout")
    settings = [{"LC_ALL": name} for name in ("C", "de_DE.UTF-8")] + [{"TZ": "Pacific/Apia"}]
    outputs = {run(tmp_path, *words, PYTHONUTF8="1", **some).stdout for some in settings}
    assert len(outputs) == 1
    assert outputs.pop()


def test_text_comes_out_the_same_where_the_locale_has_no_utf_8(tmp_path: Path) -> None:
    (tmp_path / "van.fitout").write_text(SPEC, encoding="utf-8")
    done = run(tmp_path, "tidy", "--diff", "van.fitout", LC_ALL="C", PYTHONUTF8="0", PYTHONCOERCECLOCALE="0")
    assert done.returncode in (0, 1)
    assert "Traceback" not in done.stderr


def test_the_library_says_the_same_as_ever() -> None:
    assert loomwright.check(SPEC).files[0].title == "Café Ω 🐝"
