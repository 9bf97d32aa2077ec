"""Lengths of pieces worked out by hand, and the reels that they come from."""

from __future__ import annotations

import csv as csv_format
import io
from pathlib import Path

import pytest
from tests.sheets.job import ALL, job_at, job_in, made, tables, words

from loomwright.record import replace
from loomwright.sheets.cut_list import csv, lots
from loomwright.sheets.job import Job

TO_BUILD = [path for path in ALL if path.stem != "as-found"]
SPEC = """
fitout "Test" { stage planned; system 12 V }
place box { ambient 20 degC }
place bay { ambient 40 degC }
battery house in box { chemistry agm; capacity 100 Ah; stud M8 }
load lamp in box { draws 5 A }
feed main from house.pos to lamp.pos {
    cable 16 mm2 red 105 degC
    along box 2 m, bay 1 m
    fuse strip 50 A at 0.5 m
    slack 200 mm in bay
    end house.pos lug 16 mm2 M8 crimped sealed tight
}
earth back from lamp.neg to house.neg { cable 16 mm2 black 105 degC; along bay 1 m, box 2 m }
MORE
"""


def with_reels(job: Job, tmp_path: Path, text: str) -> Job:
    path = tmp_path / "reels.csv"
    path.write_text(text, encoding="utf-8")
    return replace(job, house=replace(job.house, reels=str(path)))


def test_a_single_is_cut_at_its_fuse_and_each_piece_gets_two_ends() -> None:
    """Route × 1.05 + 2 × 0.10 m, with the loop where it lies, to the next 50 mm."""
    red, black = lots(job_in(SPEC.replace("MORE", "")))
    assert [(piece.part, piece.cut_mm) for piece in red.pieces] == [
        ("house.pos to fuse", 750),  # 0.525 + 0.200 = 0.725
        ("fuse to lamp.pos", 3050),  # 2.625 + 0.200 + 0.200 = 3.025
    ]
    assert [piece.cut_mm for piece in black.pieces] == [3350]  # 3.150 + 0.200


def test_a_twin_is_one_piece_for_both_legs() -> None:
    more = "circuit light from house.pos to lamp { cable twin 4 mm2; along box 1 m; return house.neg }"
    job = job_in(SPEC.replace("MORE", more))
    twin = lots(job)[-1]
    assert twin.cable == "twin 4 mm²"
    assert [piece.cord.name for piece in twin.pieces] == ["light"]


def test_a_circuit_of_two_singles_is_two_pieces() -> None:
    more = "circuit light from house.pos to lamp { cable 4 mm2; along box 1 m; return house.neg }"
    single = lots(job_in(SPEC.replace("MORE", more)))[-1]
    assert [piece.cord.name for piece in single.pieces] == ["light +", "light −"]


@pytest.mark.parametrize("path", TO_BUILD, ids=lambda path: path.parent.name)
def test_each_piece_is_cut_once_from_one_reel_and_the_sums_agree(path: Path) -> None:
    rows = list(csv_format.DictReader(io.StringIO(csv(job_at(path)))))
    for lot in lots(job_at(path)):
        assert sorted(index for cut in lot.nesting.cuts for index in cut.pieces) == list(
            range(len(lot.pieces))
        )
        for cut in lot.nesting.cuts:
            assert sum(lot.pieces[index].cut_mm for index in cut.pieces) + cut.left == cut.length
    assert len(rows) == sum(len(lot.pieces) for lot in lots(job_at(path)))
    assert sum(float(row["cut_m"]) for row in rows) == pytest.approx(
        sum(lot.cut_m for lot in lots(job_at(path)))
    )


def test_an_offcut_on_the_shelf_is_cut_before_a_reel(tmp_path: Path) -> None:
    job = with_reels(
        job_in(SPEC.replace("MORE", "")),
        tmp_path,
        "cable,colour,metres,count\n16 mm2,red,3.1,1\n16 mm²,,4,\n",
    )
    red, black = lots(job)
    assert sorted(cut.length for cut in red.nesting.cuts) == [4000]
    assert sorted(cut.length for cut in black.nesting.cuts) == [4000]
    assert red.stocked


def test_lines_of_the_reel_list_that_mean_nothing_are_told_with_their_number(tmp_path: Path) -> None:
    text = "cable,colour,metres,count\n16 mm2,red,long,1\n16 mm2,red,-3,1\n16 mm2,red,10,two\n16 mm2,red\n"
    sheet = made("cut-list", with_reels(job_in(SPEC.replace("MORE", "")), tmp_path, text))
    told = [str(getattr(block, "text", "")) for block in sheet.blocks]
    assert [line for line in range(2, 6) if any(f"line {line}:" in text for text in told)] == [2, 3, 4, 5]


def test_a_run_whose_path_is_not_known_is_not_cut() -> None:
    job = job_in(SPEC.replace("MORE", "feed loose from house.pos to lamp.pos { cable 4 mm2 red }"))
    rows = tables(made("cut-list", job), "Not to be cut yet")[0].rows
    assert [words(row) for row in rows] == [("loose", "4 mm²", "its path is not known")]


def test_a_piece_longer_than_any_reel_is_bought_by_the_metre() -> None:
    long = SPEC.replace("bay 1 m, box 2 m", "bay 35 m").replace("MORE", "")
    black = lots(job_in(long))[1]
    assert [cut.left for cut in black.nesting.cuts] == [0]


def test_the_project_file_names_the_list_of_reels(tmp_path: Path) -> None:
    (tmp_path / "loomwright.toml").write_text('reels = "reels.csv"\n', encoding="utf-8")
    (tmp_path / "reels.csv").write_text("cable;colour;metres;count\n16 mm2;;4,5;\n", encoding="utf-8")
    spec = tmp_path / "van.fitout"
    spec.write_text(SPEC.replace("MORE", ""), encoding="utf-8")
    red, black = lots(job_at(spec))
    assert [cut.length for cut in (*red.nesting.cuts, *black.nesting.cuts)] == [4500, 4500]
