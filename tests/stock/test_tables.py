"""Every table says where it comes from; the reader cites and interpolates."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.stock import tables
from loomwright.stock.cited import BASES, CUSTOM, MEMORY, READ, Cited, CitedRange, weakest

FILES = sorted(Path(tables.DATA).glob("*.toml"))
NOT_GROUPED = {"rows", "values"}


def leaves(name: str, value: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """The tables that hold figures: a table of nothing but tables only groups them."""
    inner = {key: part for key, part in value.items() if isinstance(part, dict) and key not in NOT_GROUPED}
    if "source" in value or len(inner) != len(value):
        yield name, value
        return
    for key, part in inner.items():
        yield from leaves(f"{name}.{key}" if name else key, part)


def all_leaves() -> list[Any]:
    found = []
    for file in FILES:
        parsed = tomllib.loads(file.read_text(encoding="utf-8"))
        found += [pytest.param(table, id=f"{file.stem}.{name}") for name, table in leaves("", parsed)]
    return found


@pytest.mark.parametrize("table", all_leaves())
def test_every_table_names_its_source_its_basis_and_its_unit(table: dict[str, Any]) -> None:
    assert table["source"]
    assert table["basis"] in BASES
    assert table["unit"]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_no_data_file_holds_a_web_address(file: Path) -> None:
    text = file.read_text(encoding="utf-8").lower()
    assert "http" not in text
    assert "www." not in text


def test_there_are_tables_to_walk() -> None:
    assert len(FILES) == 7
    assert len(all_leaves()) > 50


def test_a_figure_from_memory_says_so() -> None:
    assert Cited(1.0, "a table", MEMORY).mark == "from memory"
    assert Cited(1.0, "a table", CUSTOM).mark == "common practice, no source"
    assert Cited(1.0, "a table", READ).mark == ""
    assert CitedRange(1.0, 2.0, "a table", MEMORY).mark == "from memory"


def test_what_rests_on_several_figures_is_as_firm_as_the_weakest() -> None:
    assert weakest(READ, MEMORY) == MEMORY
    assert weakest(CUSTOM, MEMORY, READ) == CUSTOM
    assert tables.cite(2, {"source": "A", "basis": MEMORY}, "row 1", READ) == Cited(2.0, "A, row 1", MEMORY)


POINTS = [(0.0, 1.0), (2.0, 5.0), (3.0, 4.0)]


def test_linear_meets_its_points_and_holds_its_ends() -> None:
    assert [tables.linear(POINTS, x) for x in (-1, 0, 1, 2, 2.5, 3, 9)] == [1, 1, 3, 5, 4.5, 4, 4]


@given(st.floats(-5, 5), st.floats(-5, 5))
def test_linear_never_leaves_the_range_of_its_points(x: float, other: float) -> None:
    assert 1.0 <= tables.linear(POINTS, x) <= 5.0
    if abs(x - other) < 1e-9:
        assert tables.linear(POINTS, x) == pytest.approx(tables.linear(POINTS, other), abs=1e-6)


def test_a_power_law_goes_through_both_points() -> None:
    assert tables.on_logs(1, 2, 4, 8, 1) == pytest.approx(2)
    assert tables.on_logs(1, 2, 4, 8, 4) == pytest.approx(8)
    assert tables.on_logs(1, 2, 4, 8, 2) == pytest.approx(4)
