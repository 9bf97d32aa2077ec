"""The typeset papers as pdftotext and pdfinfo read them: nothing missing, nothing cut off, tagged, the same each time."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
from tests.sheets import sample
from tests.sheets.drawings.conftest import sixty_loads
from tests.sheets.job import PLANNED, SPECS, job_at, job_in

from loomwright.model.things import Fuse
from loomwright.sheets import render
from loomwright.sheets.catalogue import NAMES
from loomwright.sheets.document import (
    Caution,
    Cell,
    Facts,
    Figure,
    Heading,
    Note,
    Papers,
    Paragraph,
    Signature,
    Steps,
    Swatch,
    Table,
    plain,
)
from loomwright.sheets.papers import papers
from loomwright.sheets.printing import files_of

pytestmark = [pytest.mark.program("pdftotext"), pytest.mark.program("pdfinfo")]
pytest.importorskip("typst", reason="the extra pdf is not installed")

AS_FOUND = PLANNED.with_name("as-found.fitout")
SHOWN = pytest.mark.parametrize(
    "spec",
    [PLANNED, AS_FOUND, SPECS / "marsh-lab" / "planned.fitout"],
    ids=lambda path: f"{path.parent.name}-{path.stem}",
)
MARGIN = 15 * 72 / 25.4
"""Points of paper at the sides that stay white."""


@cache
def bound(spec: Path) -> Papers:
    return papers(job_at(spec))


@pytest.fixture(scope="session")
def printed() -> dict[Path, Path]:
    return {}


@pytest.fixture
def made(printed: dict[Path, Path], tmp_path_factory: pytest.TempPathFactory, spec: Path) -> Path:
    """The file of a spec's papers, typeset once."""
    if spec not in printed:
        file = tmp_path_factory.mktemp("pdf") / f"{spec.stem}.pdf"
        file.write_bytes(render.pdf(bound(spec)))
        printed[spec] = file
    return printed[spec]


def told(*command: str | Path) -> str:
    return subprocess.run([str(word) for word in command], capture_output=True, check=True).stdout.decode(
        errors="replace"
    )


def letters(text: str) -> str:
    """Text without spaces and without what a typesetter does at the end of a line."""
    return re.sub(r"[\s\u00ad\u200b-]+", "", text.replace("’", "'").replace("‘", "'"))


def pages_of(file: Path) -> list[str]:
    return told("pdftotext", "-raw", file, "-").split("\f")[:-1]


def texts_of(papers_: Papers) -> Iterator[str]:
    """Every text of the neutral document but those in drawings, cell by cell."""
    for sheet in papers_.sheets:
        yield sheet.title
        for block in sheet.blocks:
            if isinstance(block, Heading):
                yield block.text
            elif isinstance(block, Paragraph):
                yield plain(block.words)
            elif isinstance(block, Note):
                yield plain(block.text)
            elif isinstance(block, Caution):
                yield block.text
            elif isinstance(block, Facts):
                for label, value in block.pairs:
                    yield from (label, of_cell(value))
            elif isinstance(block, Figure):
                yield block.caption
            elif isinstance(block, Signature):
                yield from block.lines
            elif isinstance(block, Steps):
                for step in block.steps:
                    yield from (one.text for one in step.cautions)
                    yield plain(step.words)
                    yield from map(plain, step.details)
            elif isinstance(block, Table):
                yield block.caption
                yield from (column.title for column in block.columns if block.rows)
                yield from (of_cell(cell) for row in block.rows for cell in row.cells)


def of_cell(cell: Cell) -> str:
    return cell.colour if isinstance(cell, Swatch) else render.said(cell)


# ---------------------------------------------------------------- what is on the paper


@SHOWN
def test_every_text_of_the_papers_is_in_the_pdf(made: Path, spec: Path) -> None:
    """A text that runs over a page's end is met in two parts."""
    got = letters(" ".join(pages_of(made)))
    missing = [text for text in texts_of(bound(spec)) if text.strip() and letters(text) not in got]
    assert [text for text in missing if not _in_parts(text, got)] == []


def _in_parts(text: str, got: str) -> bool:
    """Whether a text is there word by word: lines of two cells side by side are read one after the other."""
    return all(letters(word) in got for word in text.split())


@SHOWN
def test_every_run_and_every_fuse_is_in_the_run_schedule(made: Path, spec: Path) -> None:
    pages = pages_of(made)
    outline = [sheet.title for sheet in bound(spec).sheets]
    start = next(n for n, text in enumerate(pages) if "Run schedule" in text.splitlines()[1:4])
    following = outline[outline.index("Run schedule") + 1]
    end = next(n for n, text in enumerate(pages) if n > start and following in text.splitlines()[1:4])
    schedule = letters(" ".join(pages[start:end]))
    installation = job_at(spec).installation
    runs = [run.name for run in installation.runs]
    fuses = [fuse for of in installation.fuses_of.values() if isinstance(of, tuple) for fuse in of]
    fuses += [fuse for fuse in installation.fuse_of_way.values() if isinstance(fuse, Fuse)]
    assert runs
    assert fuses
    assert [name for name in runs if letters(name) not in schedule] == []
    assert [fuse.name for fuse in fuses if letters(f"{fuse.kind} {fuse.rating.text}") not in schedule] == []


@SHOWN
def test_nothing_stands_in_the_margins(made: Path) -> None:
    root = ElementTree.fromstring(told("pdftotext", "-bbox", made, "-"))
    space = "{http://www.w3.org/1999/xhtml}"
    pages = list(root.iter(f"{space}page"))
    assert pages
    for number, page in enumerate(pages, 1):
        wide, high = float(page.attrib["width"]), float(page.attrib["height"])
        for word in page.iter(f"{space}word"):
            left, top, right, bottom = (float(word.attrib[name]) for name in ("xMin", "yMin", "xMax", "yMax"))
            where = (number, word.text)
            assert left >= MARGIN - 1, where
            assert right <= wide - MARGIN + 1, where
            assert top > 20, where
            assert bottom < high - 20, where


@SHOWN
def test_no_word_is_printed_over_the_next(made: Path) -> None:
    root = ElementTree.fromstring(told("pdftotext", "-bbox", made, "-"))
    space = "{http://www.w3.org/1999/xhtml}"
    for number, page in enumerate(root.iter(f"{space}page"), 1):
        lines: dict[str, list[tuple[float, float, str]]] = {}
        for word in page.iter(f"{space}word"):
            box = word.attrib
            of = lines.setdefault(box["yMin"], [])
            of.append((float(box["xMin"]), float(box["xMax"]), word.text or ""))
        for words in map(sorted, lines.values()):
            over = [(one[2], other[2]) for one, other in pairwise(words) if other[0] < one[1] - 0.5]
            assert over == [], number


@SHOWN
def test_each_sheet_starts_a_page_and_each_page_is_numbered(made: Path, spec: Path) -> None:
    pages = pages_of(made)
    starts = []
    for sheet in bound(spec).sheets:
        lines = slice(1, 8) if sheet.name == "cover" else slice(1, 4)  # the job's name stands over the first
        begin = [
            n for n, text in enumerate(pages) if sheet.title in text.splitlines()[lines] and "For " in text
        ]
        assert begin or sheet.short, sheet.name
        starts += begin
    assert len(set(starts)) >= sum(not sheet.short for sheet in bound(spec).sheets)
    for number, text in enumerate(pages, 1):
        assert bound(spec).title in text.splitlines()[0]
        assert f"page {number} of {len(pages)}" in text
        assert letters(render.foot_line(bound(spec))) in letters(text)


@SHOWN
def test_no_page_but_a_sheets_last_is_nearly_empty(made: Path, spec: Path) -> None:
    root = ElementTree.fromstring(told("pdftotext", "-bbox", made, "-"))
    space = "{http://www.w3.org/1999/xhtml}"
    titles = {sheet.title for sheet in bound(spec).sheets}
    starts = [bool(titles & set(text.splitlines()[1:4])) for text in pages_of(made)] + [True]
    for number, page in enumerate(root.iter(f"{space}page"), 1):
        high = float(page.attrib["height"])
        bottoms = [float(word.attrib["yMax"]) for word in page.iter(f"{space}word")]
        used = max(bottom for bottom in bottoms if bottom < high - 50) / high
        assert used > 0.4 or starts[number], number


FOOT_MM = 19.0
"""The page's own foot stands in what is under this."""


@pytest.mark.parametrize("name", ["diagram", "routing"])
def test_a_tall_drawing_stands_whole_on_a_page_upright_beside_wide_ones(tmp_path: Path, name: str) -> None:
    """A hub of eighteen ways is taller than a page across; its circuits once ran off it, over the foot."""
    bound_ = papers(job_in(sixty_loads(18, 18)), [name])
    file = tmp_path / "tall.pdf"
    file.write_bytes(render.pdf(bound_))
    figures = [block for block in bound_.sheets[0].blocks if isinstance(block, Figure)]
    root = ElementTree.fromstring(told("pdftotext", "-bbox", file, "-"))
    space = "{http://www.w3.org/1999/xhtml}"
    seen: set[str] = set()
    shapes = set()
    for page in root.iter(f"{space}page"):
        wide, high = float(page.attrib["width"]), float(page.attrib["height"])
        shapes.add(wide > high)
        words = [word for word in page.iter(f"{space}word") if float(word.attrib["xMax"]) <= wide]
        feet = [word.text for word in words if float(word.attrib["yMax"]) > high - FOOT_MM * 72 / 25.4]
        assert letters("".join(map(str, feet))).startswith(letters(render.foot_line(bound_)) + "page"), feet
        assert len(feet) == len(render.foot_line(bound_).split()) + 4, feet
        seen |= {letters(word.text or "") for word in words}
    assert shapes == {True, False} or name == "routing"
    texts = [
        each.text or ""
        for figure in figures
        for each in ElementTree.fromstring(figure.svg).iter("{http://www.w3.org/2000/svg}text")
    ]
    assert len(texts) > 50
    assert [text for text in texts if not {letters(word) for word in text.split()} <= seen] == []


@SHOWN
def test_no_heading_nor_caution_is_left_alone_at_the_end_of_a_page(made: Path, spec: Path) -> None:
    """The last words over the foot are no heading, no caption of a table that begins overleaf, and no caution before a step."""
    foot = render.foot_line(bound(spec)).split()[0]
    alone = set()
    for sheet in bound(spec).sheets:
        alone |= {block.text for block in sheet.blocks if isinstance(block, Heading)}
        alone |= {block.caption for block in sheet.blocks if isinstance(block, Table)}
    for number, text in enumerate(pages_of(made), 1):
        lines = text.splitlines()
        last = next(n for n in range(len(lines) - 1, -1, -1) if lines[n].startswith(foot)) - 1
        assert lines[last] not in alone, number
    cautions = [one for sheet in bound(spec).sheets for block in sheet.blocks if isinstance(block, Steps)
                for step in block.steps for one in step.cautions]  # fmt: skip
    ends = [letters(" ".join(text.splitlines()[-8:-1])) for text in pages_of(made)]
    for one in cautions:
        said = letters(f"{one.text} ({one.source})" if one.source else one.text)
        assert not any(end.split(letters(foot))[0].endswith(said) for end in ends), one.number


# ---------------------------------------------------------------- what a reader's program is told


@SHOWN
def test_it_is_tagged_has_a_title_and_a_language(made: Path, spec: Path) -> None:
    told_ = told("pdfinfo", made)
    assert re.search(r"^Tagged:\s+yes$", told_, re.MULTILINE)
    assert re.search(rf"^Title:\s+{re.escape(bound(spec).title)}$", told_, re.MULTILINE)
    assert not re.search(r"^(CreationDate|ModDate):", told_, re.MULTILINE)
    assert re.search(rb"/Lang\s*\(en", made.read_bytes())


@SHOWN
def test_tables_figures_and_headings_are_tagged_as_such(made: Path) -> None:
    structure = told("pdfinfo", "-struct", made)
    for tag in ("Table", "TH", "TD", "Figure", "H1", "H2"):
        assert re.search(rf"^\s*{tag}\b", structure, re.MULTILINE), tag


@SHOWN
def test_each_sheet_has_a_bookmark(made: Path, spec: Path) -> None:
    read = made.read_bytes()
    count = int(re.findall(rb"/Type\s*/Outlines.*?/Count\s+(-?\d+)", read, re.DOTALL)[0])
    assert abs(count) >= len(bound(spec).sheets)
    titles = {
        _pdf_text(title) for title in re.findall(rb"/Title\s*(\((?:\\.|[^\\)])*\)|<[0-9A-Fa-f]*>)", read)
    }
    assert {sheet.title for sheet in bound(spec).sheets} <= titles


def _pdf_text(token: bytes) -> str:
    """A string object of ISO 32000-1 clause 7.9.2: UTF-16 behind a mark, else Latin letters."""
    raw = (
        bytes.fromhex(token[1:-1].decode())
        if token.startswith(b"<")
        else re.sub(rb"\\(.)", rb"\1", token[1:-1])
    )
    return raw[2:].decode("utf-16-be") if raw.startswith(b"\xfe\xff") else raw.decode("latin-1")


@pytest.mark.parametrize("name", NAMES)
def test_each_sheet_can_be_had_alone_in_every_format(tmp_path: Path, name: str) -> None:
    files = files_of(job_at(PLANNED), ["html", "pdf", "markdown"], [name])
    assert sorted(files) == ["planned.html", "planned.md", "planned.pdf"]
    (sheet,) = (each for each in bound(PLANNED).sheets if each.name == name)
    (tmp_path / "planned.pdf").write_bytes(files["planned.pdf"])
    assert re.findall(rb'<section id="sheet-([a-z-]+)"', files["planned.html"]) == [name.encode()]
    assert re.findall(r"^## (.*)$", files["planned.md"].decode(), re.MULTILINE) == [sheet.title]
    assert sheet.title in pages_of(tmp_path / "planned.pdf")[0].splitlines()[1:4]


def test_another_process_with_another_hash_seed_makes_the_same_bytes(tmp_path: Path) -> None:
    files = []
    for seed in ("1", "2"):
        command = [
            sys.executable,
            "-m",
            "loomwright.cli",
            "sheets",
            PLANNED,
            "--format",
            "pdf",
            "--format",
            "html",
        ]
        command += ["-o", tmp_path / seed]
        subprocess.run(command, check=True, capture_output=True, env={**os.environ, "PYTHONHASHSEED": seed})
        files.append([(tmp_path / seed / name).read_bytes() for name in ("planned.html", "planned.pdf")])
    assert files[0] == files[1]


# ---------------------------------------------------------------- user text


def typeset(title: str, tmp_path: Path) -> str:
    """The text of a sample in which each kind of block holds a user's text."""
    file = tmp_path / "sample.pdf"
    file.write_bytes(render.pdf(sample.papers(title)))
    return " ".join(pages_of(file))


def test_user_text_is_text_in_every_kind_of_block(tmp_path: Path) -> None:
    """The part before the Hebrew word, which pdftotext puts in order of its own; no font has the wrench."""
    text = letters(typeset(sample.NASTY, tmp_path))
    start = letters(sample.NASTY[: sample.NASTY.index("|")]).replace('"', "")
    assert re.sub('["“”]', "", text).count(start) >= 8
    assert "[wrench]" in text
    assert "שלום" in text


@pytest.mark.parametrize(
    ("name", "spelled"),
    [
        ("木材店 Ωmega", "[U+6728 U+6750 U+5E97] Ωmega"),
        ("작업 van", "[U+C791 U+C5C5] van"),
        ("ยาน", "[U+0E22 U+0E32 U+0E19]"),
        ("Łódź Ђорђе ﬁ 16 mm²", "Łódź Ђорђе"),
    ],
)
def test_letters_that_no_font_has_stand_as_their_numbers_and_never_as_boxes(
    tmp_path: Path, name: str, spelled: str
) -> None:
    text = " ".join(typeset(name, tmp_path).split())
    assert spelled in text
    assert ("missing from the fonts" in text) == ("U+" in spelled)
