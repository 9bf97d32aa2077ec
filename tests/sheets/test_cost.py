"""What a change costs: the parts lists of both specs by one price list."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.sheets.test_papers import small

from loomwright.cli import commands


def cost(folder: Path, old: str, new: str) -> list[str]:
    """The line of a comparison that tells the cost, if it has one."""
    (folder / "old.fitout").write_text(old)
    (folder / "new.fitout").write_text(new)
    done = CliRunner().invoke(commands, ["compare", str(folder / "old.fitout"), str(folder / "new.fitout")])
    assert done.exit_code == 0, done.output
    return [line for line in done.stdout.splitlines() if line.startswith("cost ")]


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A workshop whose list prices the red cable of the small van, by the description that its own parts list prints."""
    (tmp_path / "loomwright.toml").write_text('prices = "prices.csv"\n')
    (tmp_path / "prices.csv").write_text("code,description,unit,price\n")
    (tmp_path / "van.fitout").write_text(small())
    CliRunner().invoke(
        commands, ["sheets", str(tmp_path / "van.fitout"), "-o", str(tmp_path), "--format", "csv"]
    )
    with (tmp_path / "van-parts.csv").open(encoding="utf-8", newline="") as file:
        cables = [row["description"] for row in csv.DictReader(file) if row["group"] == "Cable"]
    (red,) = (description for description in cables if "red" in description)
    with (tmp_path / "prices.csv").open("a", encoding="utf-8", newline="") as file:
        csv.writer(file).writerow(("", red, "m", "2.00"))
    return tmp_path


def test_a_longer_cable_costs_its_price_by_the_metre_as_cut(shop: Path) -> None:
    (line,) = cost(shop, small(), small().replace("red; along bay 2.0 m", "red; along bay 4.0 m"))
    old, new = (float(part.split()[0]) for part in line.removeprefix("cost").split("→"))
    assert new - old == pytest.approx(2.1 * 2.00)  # 2 m of route and 5 % of slack


def test_what_came_in_costs_nothing(shop: Path) -> None:
    (line,) = cost(shop, small().replace("stage planned", "stage as-found"), small())
    assert line.removeprefix("cost").split("→")[0].strip() == "none"


def test_without_a_price_list_no_cost_is_told(tmp_path: Path) -> None:
    assert cost(tmp_path, small(), small().replace("red; along bay 2.0 m", "red; along bay 4.0 m")) == []
