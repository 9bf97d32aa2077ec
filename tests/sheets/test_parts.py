"""Quantities counted by hand, and the price list: what is merged, what is refused, what is never invented."""

from __future__ import annotations

import csv as csv_format
import io
from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.sheets.job import ALL, PLANNED, job_at, job_in, made, tables, words

from loomwright.cli import commands
from loomwright.record import replace
from loomwright.sheets.job import Job
from loomwright.sheets.lists import prices_in
from loomwright.sheets.parts import csv, priced
from loomwright.sheets.quantities import parts_of

TO_BUILD = [path for path in ALL if path.stem != "as-found"]
LISTED = """\ufeffcode;description;unit;price
IS-150;Isolator 150 A, surface;each;38,50
;lug 8 B&S x M8;each;4,20
;8 B&S, red, 105 degC;m;9
;8 B&S, red, 105 °C;m;9,10
;strip fuse 60 A;box;12
"""


def quantity(job: Job, description: str) -> float:
    return {part.description: part.quantity for part in parts_of(job)}[description]


def with_prices(job: Job, tmp_path: Path, text: str) -> Job:
    path = tmp_path / "prices.csv"
    path.write_text(text, encoding="utf-8")
    return replace(job, house=replace(job.house, prices=str(path)))


@pytest.mark.parametrize(
    ("description", "count"),
    [
        ("lug 8 B&S × M8", 3),  # main at crank.pos, dcdc-return at common, charge at house.pos
        ("lug 8 B&S × M5", 4),  # both sides of the two strip fuses in 8 B&S
        ("lug 2 B&S × M8", 2),
        ("blade fuse 15 A", 2),  # ways 1 and 3
        ("strip fuse 60 A", 1),
        ("holder for a strip fuse, stud M5", 3),
        (
            "blade terminal 6.3 mm, yellow",
            3,
        ),  # the 4 mm² twin, but for its return on the hub: a lug on a stud
        ("label for a run's end", 36),  # 18 runs that are not the maker's
        ("label for a fuse", 7),
        ("grommet 25 mm", 1),  # one hole in the firewall for main and main-return together
        ("split-tube 7 mm", 9.2),  # 5.1 of main, 0.3, 0.6, and 1.6 twice
        ("lined clip 10 mm", 41),  # one each 0.25 m begun: 3 + 13 + 4 + 2 of main; 2; 3; (5 + 2) twice
    ],
)
def test_the_planned_example_takes_so_many(description: str, count: float) -> None:
    assert quantity(job_at(PLANNED), description) == pytest.approx(count)


def test_what_the_vehicle_has_is_listed_apart() -> None:
    sheet = made("parts", job_at(PLANNED))
    theirs = {words(row)[0] for row in tables(sheet, "Of the vehicle")[0].rows}
    assert theirs == {"crank", "gen"}
    assert not any(
        "alternator" in part.description or "35 mm²" in part.description for part in parts_of(job_at(PLANNED))
    )


@pytest.mark.parametrize("path", TO_BUILD, ids=lambda path: path.parent.name)
def test_no_part_is_listed_twice_and_none_without_a_quantity(path: Path) -> None:
    parts = parts_of(job_at(path))
    assert len({(part.code, part.description, part.unit, part.group) for part in parts}) == len(parts)
    assert all(part.quantity > 0 and part.uses for part in parts)


def test_without_a_price_list_there_is_no_price_at_all() -> None:
    job = job_at(PLANNED)
    rows = list(csv_format.DictReader(io.StringIO(csv(job))))
    assert rows
    assert {row["price"] for row in rows} == {""}
    assert not tables(made("parts", job), "Total")


def test_prices_go_by_code_or_by_description_and_only_in_the_same_unit(tmp_path: Path) -> None:
    job = with_prices(job_at(PLANNED), tmp_path, LISTED)
    lines = {line.part.description: line for line in priced(job, prices_in(job.house.prices))}
    lug, cable, fuse = lines["lug 8 B&S × M8"], lines["8 B&S, red, 105 °C"], lines["strip fuse 60 A"]
    assert lug.total == Decimal("12.60")
    assert cable.total == Decimal("62.79")  # 6.90 m at 9.10
    assert fuse.price is None
    assert "'box'" in fuse.trouble
    total = words(tables(made("parts", job), "Total")[0].rows[0])
    assert total == ("Total of the 2 parts that have a price", "75.39")


def test_a_stock_code_in_the_spec_finds_its_price(tmp_path: Path) -> None:
    text = 'fitout "T" { stage planned; system 12 V }\nplace box { }\nisolator main in box { rated 150 A; order "is-150"; count 2 }'
    job = with_prices(job_in(text), tmp_path, LISTED)
    (line,) = priced(job, prices_in(job.house.prices))
    assert (line.part.code, line.total) == ("is-150", Decimal("77.00"))


def test_what_has_no_price_is_named(tmp_path: Path) -> None:
    sheet = made("parts", with_prices(job_at(PLANNED), tmp_path, LISTED))
    notes = [str(getattr(block, "text", "")) for block in sheet.blocks]
    assert any("No price in the list" in note and "grommet 25 mm" in note for note in notes)
    assert any(note.startswith("strip fuse 60 A: the list's price is for 'box'") for note in notes)


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("code,description,unit,price\nA,thing,each,dear\n", 2, "'dear' is no price"),
        ("code,description,unit,price\nA,thing,each,-1\n", 2, "0 or more"),
        ("code,description,unit,price\nA,thing,each,NaN\n", 2, "no price"),
        ("code,description,unit,price\n,,each,1\n", 2, "neither a code nor a description"),
        ("code,description,unit,price\nA,x,each,1\n\na,y,each,2\n", 4, "stands on line 2 already"),
        ("code,description,unit,price\nA,x,each\n", 2, "3 columns"),
        ("code,unit,price\nA,each,1\n", 1, "no column description"),
        ("", 1, ""),
    ],
)
def test_a_bad_row_is_told_with_its_line_and_the_rest_is_used(
    tmp_path: Path, text: str, line: int, said: str
) -> None:
    path = tmp_path / "prices.csv"
    path.write_text(text, encoding="utf-8")
    prices = prices_in(str(path))
    if not text:
        assert not prices.by_code
        return
    (bad,) = prices.bad
    assert bad.line == line
    assert said in bad.message


def test_a_list_that_is_no_text_is_one_trouble(tmp_path: Path) -> None:
    path = tmp_path / "prices.csv"
    path.write_bytes(b"\xff\xfe\x00")
    assert len(prices_in(str(path)).bad) == 1


def test_what_stays_as_it_was_found_is_not_bought() -> None:
    """The rework list leaves incubator and syrup-pump as they are; the work-lights are others."""
    devices = [name for part in parts_of(job_at(PLANNED)) if part.group == "Devices" for name in part.uses]
    assert not {"incubator", "syrup-pump", "crank", "gen"} & set(devices)
    assert {"dcdc", "house", "ways", "work-lights"} <= set(devices)
    alone = replace(job_at(PLANNED), predecessor=None)
    assert "incubator" in [name for part in parts_of(alone) for name in part.uses]


@pytest.mark.parametrize(
    ("head", "currency"), [("price", ""), ("price AUD", "AUD"), ("Price (AUD)", "AUD"), ("price €", "€")]
)
def test_the_currency_in_the_head_of_the_price_column_stands_wherever_prices_do(
    tmp_path: Path, head: str, currency: str
) -> None:
    job = with_prices(job_at(PLANNED), tmp_path, f"code;description;unit;{head}\n;lug 8 B&S x M8;each;4,20\n")
    sheet = made("parts", job)
    (total,) = tables(sheet, "Total")
    assert total.columns[1].unit == currency
    assert words(total.rows[0]) == ("Total of the 1 part that has a price", "12.60")
    rows = list(csv_format.DictReader(io.StringIO(csv(job))))
    assert {row["currency"] for row in rows if row["price"]} == {currency}
    assert {row["currency"] for row in rows if not row["price"]} == {""}


def test_a_cell_that_a_spreadsheet_would_run_has_an_apostrophe_before_it() -> None:
    text = """fitout "T" { stage planned; system 12 V }
place box { }
isolator main in box { rated 150 A; order "=HYPERLINK(0)" }
isolator spare in box { rated 100 A; order "@SUM(1)" }"""
    codes = [row["code"] for row in csv_format.DictReader(io.StringIO(csv(job_in(text))))]
    assert codes == ["'=HYPERLINK(0)", "'@SUM(1)"]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (
            b"code,description,unit,price\nA1,x,each,1\nA1,y,each,2\n",
            "'A1' stands on line 2 already; it was left out",
        ),
        ("code,description,unit,price\nA1,Kabel für Böden,m,1\n".encode("cp1252"), "UTF-8"),
    ],
)
def test_what_is_wrong_with_a_list_is_told_on_standard_error(
    tmp_path: Path, content: bytes, said: str
) -> None:
    (tmp_path / "loomwright.toml").write_text('prices = "prices.csv"\n')
    (tmp_path / "prices.csv").write_bytes(content)
    spec = tmp_path / "van.fitout"
    spec.write_bytes(PLANNED.read_bytes())
    done = CliRunner().invoke(commands, ["sheets", str(spec), "-o", str(tmp_path / "out"), "--only", "parts"])
    assert done.exit_code == 0
    assert "prices.csv, line" in done.stderr
    assert said in done.stderr
