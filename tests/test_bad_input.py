"""No text ends the whole of `check` in a fault of the program, and none takes more than time in proportion."""

from __future__ import annotations

import random
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

import loomwright
from loomwright.report import text as printing
from loomwright.report.check import Report, check
from loomwright.report.json_form import as_json
from loomwright.source import Source
from loomwright.syntax.parse import parse
from loomwright.syntax.tree import Clause, Text

from .timing import seconds

ROOT = Path(__file__).parents[1]
PLANNED = ROOT / "specs" / "orchard-bees" / "planned.fitout"
AS_FOUND = PLANNED.with_name("as-found.fitout")


def checked(text: str) -> Report:
    """The report of a text beside the specs, in every form in which it could be shown."""
    report = check(text, str(PLANNED.with_name("bad.fitout")))
    for shown in (printing.text(report, False), printing.gnu(report), as_json(report)):
        shown.encode("utf-8")  # whatever stood in the text, what is printed is sound
    return report


@pytest.mark.parametrize("path", [PLANNED, AS_FOUND], ids=lambda path: path.stem)
def test_a_spec_that_stops_anywhere_is_read(path: Path) -> None:
    data = path.read_bytes()
    for stop in range(0, len(data), 37):
        checked(data[:stop].decode("utf-8", "ignore"))


@pytest.mark.parametrize("path", [PLANNED, AS_FOUND], ids=lambda path: path.stem)
def test_a_spec_with_its_lines_shuffled_is_read(path: Path) -> None:
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    for seed in range(8):
        random.Random(seed).shuffle(lines)
        assert checked("".join(lines)).errors


def test_a_spec_without_any_one_of_its_lines_is_judged_or_refused() -> None:
    lines = AS_FOUND.read_text(encoding="utf-8").splitlines(keepends=True)
    for gone in range(0, len(lines), 5):
        checked("".join(lines[:gone] + lines[gone + 1 :]))


def test_a_spec_with_any_of_its_terminals_swapped_is_judged_or_refused() -> None:
    """Short circuits, batteries the wrong way round, loops and runs to nowhere."""
    text = AS_FOUND.read_text(encoding="utf-8")
    names = ("crank.pos", "crank.neg", "house.pos", "house.neg", "dcdc.in", "dcdc.out", "gen.pos", "box.in")
    places = [(at, name) for name in names for at in _all(text, name)]
    chance = random.Random(1)
    for at, name in chance.sample(places, 16):
        checked(text[:at] + chance.choice(names) + text[at + len(name) :])


@pytest.mark.parametrize("word", ["unknown", "none", ""])
def test_a_spec_with_any_clause_unknown_none_or_broken_off_is_judged_or_refused(word: str) -> None:
    """One clause of each kind in each kind of statement; of a way with its number."""
    reports = [checked(text) for text in _without_clauses(word)]
    assert len(reports) > 70
    assert any(not report.errors for report in reports) == bool(word)


def _without_clauses(word: str) -> Iterator[str]:
    seen = set()
    for path in (PLANNED, AS_FOUND):
        text = path.read_text(encoding="utf-8")
        for statement in parse(Source("spec", text)).document.statements:
            for clause in statement.clauses:
                keyword = clause.keyword.text
                named = keyword if keyword != "way" else f"way {text[clause.span.start :].split()[1]}"
                if (statement.kind.text, keyword) not in seen and _says_more_than_words(clause):
                    seen.add((statement.kind.text, keyword))
                    yield f"{text[: clause.span.start]}{named} {word}{text[clause.span.end :]}"


def _says_more_than_words(clause: Clause) -> bool:
    """A word alone has nothing to replace, and a text between quotes is only printed."""
    return any(not isinstance(part, Text) for part in clause.parts.values())


def _all(text: str, word: str) -> list[int]:
    return [at for at in range(len(text)) if text.startswith(word, at)]


HEAD = 'fitout "x" { stage planned; system 12 V }\nplace bay { ambient 20 degC }\n'
BATTERY = "battery house in bay { serves house; chemistry agm; capacity 90 Ah }\n"

BAD: dict[str, Callable[[int], str]] = {
    "binary": lambda size: random.Random(1).randbytes(size).decode("latin-1"),
    "one name": lambda size: f"{HEAD}battery {'a-' * (size // 2)}a in bay\n",
    "names": lambda size: HEAD + "".join(f"load l-{n} in bay {{ draws 1 A }}\n" for n in range(size // 30)),
    "names that are missing": lambda size: HEAD + BATTERY + "".join(f"feed f-{n} from house.pos to l-{n}.pos\n" for n in range(size // 33)),
    "names that are given twice": lambda size: HEAD + "load lamp in bay { draws 1 A }\n" * (size // 30),
    "blocks in blocks": lambda size: HEAD + "place x {" * (size // 9),
    "one path": lambda size: f"{HEAD}{BATTERY}load lamp in bay\nfeed f from house.pos to lamp.pos {{ along {'bay 1 m, ' * (size // 10)}bay 1 m }}\n",
    "fuses": lambda size: HEAD + BATTERY + "load lamp in bay { draws 1 A }\nfeed f from house.pos to lamp.pos { cable 6 mm2; along bay 900 m" + "; fuse blade 5 A at 1 m" * (size // 24) + " }\n",
    "slips": lambda size: HEAD + "plaice bay { hazzards heet }\n" * (size // 29),
    "a chain": lambda size: HEAD + BATTERY + "".join(f"busbar b{n} in bay {{ studs 2 x M8 }}\nfeed f{n} from {f'b{n - 1}' if n else 'house.pos'} to b{n} {{ cable 6 mm2; along bay 1 m }}\n" for n in range(size // 90)),
}  # fmt: skip


@pytest.mark.parametrize("kind", BAD)
def test_bad_input_takes_time_in_proportion(kind: str) -> None:
    few, many = BAD[kind](3_000), BAD[kind](30_000)
    small, large = min(seconds(lambda: checked(few)) for _ in range(2)), seconds(lambda: checked(many))
    assert large < 30 * small + 0.3


def test_ten_megabytes_are_refused_or_read_in_seconds(tmp_path: Path) -> None:
    """By the program itself: it says what is wrong, and no traceback."""
    path = tmp_path / "large.fitout"
    for content in (
        b"place x { hazards heat }\n" * 420_000,
        random.Random(1).randbytes(10_500_000),
        b"{" * 10_500_000,
    ):
        path.write_bytes(content)
        done = subprocess.run(
            [sys.executable, "-m", "loomwright.cli", "check", str(path)],
            capture_output=True, text=True, timeout=60, env={"PYTHONPATH": str(Path(loomwright.__file__).parents[1])},
        )  # fmt: skip
        assert done.returncode == 2, done.stderr[-500:]
        assert "Traceback" not in done.stderr
        assert "fault of the program" not in done.stderr
