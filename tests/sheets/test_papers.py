"""The papers as a set: what they are made from, which sheets there are, what user text becomes."""

from __future__ import annotations

import datetime
import hashlib
import subprocess
from html.parser import HTMLParser
from pathlib import Path

import pytest
from tests.sheets.job import ALL, PLANNED, TODAY, job_at

from loomwright.sheets import render
from loomwright.sheets.catalogue import NAMES, SHEETS, sheet_of
from loomwright.sheets.document import Sheet, Steps, Table, Tick
from loomwright.sheets.job import NoPapers, job_of
from loomwright.sheets.papers import papers
from loomwright.sheets.revision import fingerprint, revision_of

DOCUMENTED = [
    "cover",
    "inspection",
    "diagram",
    "routing",
    "rework",
    "work-order",
    "run-schedule",
    "cut-list",
    "terminations",
    "fuse-chart",
    "labels",
    "parts",
    "figures",
    "protection-curves",
    "energy",
    "commissioning",
    "compliance",
    "owner-card",
]
NASTY = "<script>alert('1')</script> & #let $x$ \\\\n `tick` *star* [a](b) | שלום 🔧"
SMALL = """
fitout "{title}" {{ stage planned; job "7"; customer "{title}"; vehicle "{title}"; system 12 V; note "{title}" }}
place bay {{ ambient 40 degC }}
structure chassis {{ metal steel; bonded crank.neg }}
battery crank in bay {{ chemistry lead-acid; capacity 75 Ah; internal 7 mohm; stud M8 }}
load lamp in bay {{ draws 5 A; note "{title}" }}
feed lamp-feed from crank.pos to lamp.pos {{
    cable 6 mm2 red; along bay 2.0 m; fuse blade 10 A at 0.1 m; sleeve none; clips 0.2 m; label "{title}"
    end crank.pos lug 6 mm2 M8 crimped sealed tight
    end lamp.pos  blade-terminal crimped sealed tight
}}
earth lamp-back from lamp.neg to crank.neg {{
    cable 6 mm2 black; along bay 2.0 m; sleeve none; clips 0.2 m
    end lamp.neg  blade-terminal crimped sealed tight
    end crank.neg lug 6 mm2 M8 crimped sealed tight
}}
"""


def small(title: str = "Van") -> str:
    return SMALL.format(title=title.replace('"', '\\"'))


def ticks(sheet: Sheet) -> list[str]:
    """The keys of all boxes of a sheet."""
    found: list[str] = []
    for block in sheet.blocks:
        if isinstance(block, Steps):
            found += [step.key for step in block.steps]
        elif isinstance(block, Table):
            found += [cell.key for row in block.rows for cell in row.cells if isinstance(cell, Tick)]
    return found


# ---------------------------------------------------------------- the set


def test_the_sheets_are_those_of_the_manual_in_its_order() -> None:
    assert list(NAMES) == DOCUMENTED
    assert len(dict(SHEETS)) == len(SHEETS)


@pytest.mark.parametrize("path", ALL, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_each_sheet_has_the_name_that_it_is_asked_for_by(path: Path) -> None:
    for name in NAMES:
        sheet = sheet_of(name, job_at(path))
        assert sheet is None or (sheet.name == name and sheet.title and sheet.blocks)


@pytest.mark.parametrize("path", ALL, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_every_box_of_a_set_of_papers_has_a_key_of_its_own(path: Path) -> None:
    keys = [key for sheet in papers(job_at(path)).sheets for key in ticks(sheet)]
    assert len(keys) == len(set(keys)), sorted({key for key in keys if keys.count(key) > 1})


def test_only_leaves_the_sheets_that_were_asked_for() -> None:
    assert [sheet.name for sheet in papers(job_at(PLANNED), ["work-order", "cover"]).sheets] == [
        "cover",
        "work-order",
    ]


# ---------------------------------------------------------------- what they are made from


def test_the_fingerprint_is_the_sha_256_of_the_text_and_of_that_which_it_replaces() -> None:
    found = PLANNED.with_name("as-found.fitout")
    assert revision_of(job_at(found)).fingerprint == hashlib.sha256(found.read_bytes()).hexdigest()[:12]
    both = PLANNED.read_bytes() + b"\0" + found.read_bytes()
    assert revision_of(job_at(PLANNED)).fingerprint == hashlib.sha256(both).hexdigest()[:12]


@pytest.mark.program("git")
def test_changes_of_the_spec_that_is_replaced_and_of_the_rest_of_the_tree_are_told(tmp_path: Path) -> None:
    spec, old, letter = tmp_path / "van.fitout", tmp_path / "old.fitout", tmp_path / "letter.txt"
    for file in (spec, old):
        file.write_text(small())
    letter.write_text("a letter")
    git(tmp_path, "init", "-q")
    git(tmp_path, "add", ".")
    git(tmp_path, "commit", "-q", "-m", "First")

    def told() -> str:
        return render.revision_line(papers(job_of(spec.read_text(), str(spec), TODAY, str(old)), ["cover"]))

    assert "changes" not in told()
    letter.write_text("another letter")
    assert "(other files of the tree have changes that are not committed)" in told()
    old.write_text(small() + "# seen again\n")
    assert ", with changes that are not committed" in told()


def test_a_changed_include_changes_the_fingerprint(tmp_path: Path) -> None:
    spec, fragment = tmp_path / "van.fitout", tmp_path / "lamp.fitout"
    whole = small()
    at = whole.index("load lamp")
    end = whole.index("\n", at)
    spec.write_text(f'{whole[:at]}include "lamp.fitout"\n{whole[end:]}')
    prints = []
    for draw in ("5 A", "6 A"):
        fragment.write_text(f"load lamp in bay {{ draws {draw} }}\n")
        job = job_of(spec.read_text(), str(spec), TODAY)
        assert len(job.texts) == 2
        prints.append(revision_of(job).fingerprint)
    assert prints[0] != prints[1]
    assert fingerprint(("a", "b")) != fingerprint(("ab",))


def test_the_date_is_the_drawers_and_never_the_clocks() -> None:
    text = PLANNED.read_text()
    days = [datetime.date(2026, 11, 20), datetime.date(2031, 1, 1)]
    pages = [render.html(papers(job_of(text, str(PLANNED), day))) for day in days]
    assert pages[0] == pages[1]
    assert "drawn 2026-11-18 by RM" in pages[0]


def test_papers_do_not_depend_on_where_the_program_was_started(monkeypatch: pytest.MonkeyPatch) -> None:
    pages = []
    for folder in (PLANNED.parent, PLANNED.parent.parent.parent):
        monkeypatch.chdir(folder)
        path = PLANNED.relative_to(folder)
        pages.append(render.markdown(papers(job_of(path.read_text(), str(path), TODAY), ["cover", "rework"])))
    assert pages[0] == pages[1]


def git(folder: Path, *words: str) -> None:
    names = [
        "-c",
        "user.name=Workshop",
        "-c",
        "user.email=workshop@example.invalid",
        "-c",
        "commit.gpgsign=false",
    ]
    subprocess.run(["git", *names, *words], cwd=folder, check=True, capture_output=True)


@pytest.mark.program("git")
def test_the_commit_and_whether_the_text_is_committed_are_told(tmp_path: Path) -> None:
    spec = tmp_path / "van.fitout"
    spec.write_text(small())

    def told() -> tuple[bool, bool]:
        revision = revision_of(job_of(spec.read_text(), str(spec), TODAY))
        return revision.commit is not None, revision.clean

    assert told() == (False, False)
    git(tmp_path, "init", "-q")
    assert told() == (False, False)  # no commit yet
    git(tmp_path, "add", "van.fitout")
    git(tmp_path, "commit", "-q", "-m", "First")
    assert told() == (True, True)
    (tmp_path / "van.html").write_text("an earlier printing")
    assert told() == (True, True)  # what was printed is no change of the text
    spec.write_text(small() + "# a note\n")
    assert told() == (True, False)


def test_papers_can_be_made_without_git(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    spec = tmp_path / "van.fitout"
    spec.write_text(small())
    monkeypatch.setenv("PATH", "")
    assert revision_of(job_of(small(), str(spec), TODAY)).commit is None


def test_a_spec_with_errors_has_no_papers() -> None:
    with pytest.raises(NoPapers) as none:
        job_of('fitout "Van" { stage planed }', None, TODAY)
    assert none.value.problems


# ---------------------------------------------------------------- user text


class Page(HTMLParser):
    """The text of a page, and the tags that are in it."""

    def __init__(self) -> None:
        super().__init__()
        self.text: list[str] = []
        self.scripts = 0

    def handle_starttag(self, tag: str, _attrs: list[tuple[str, str | None]]) -> None:
        self.scripts += tag == "script"

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def test_user_text_is_text_in_the_page() -> None:
    page = Page()
    page.feed(render.html(papers(job_of(small(NASTY), None, TODAY))))
    assert page.scripts == 1  # the page's own
    assert sum(NASTY in text for text in page.text) >= 3  # title, customer, note


def test_user_text_is_text_in_markdown() -> None:
    text = render.markdown(papers(job_of(small(NASTY), None, TODAY), ["cover", "work-order"]))
    assert "<script>" not in text.replace("\\<", "")
    assert "[a](b)" not in text
    assert "שלום 🔧" in text


@pytest.mark.program("pdftotext")
def test_user_text_is_text_in_the_pdf(tmp_path: Path) -> None:
    pytest.importorskip("typst")
    made = tmp_path / "van.pdf"
    made.write_bytes(render.pdf(papers(job_of(small(NASTY), None, TODAY), ["cover", "work-order"])))
    text = subprocess.run(
        ["pdftotext", "-layout", str(made), "-"], capture_output=True, check=True
    ).stdout.decode()
    flat = " ".join(text.split())
    assert NASTY[: NASTY.index("ש")].strip() in flat.replace("’", "'").replace("‘", "'")
    assert "שלום" in flat
    assert "wrench]" in flat  # no font of the typesetter has the picture
    assert "page 1 of" in flat
