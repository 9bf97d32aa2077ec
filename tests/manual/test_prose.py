"""What is written by hand in the manual is true: its examples are sound, its fields are the program's."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from loomwright.facts.limits import load_limits
from loomwright.facts.registry import Ledger
from loomwright.model.load import load
from loomwright.report.check import Report, Wishes, check
from loomwright.report.figures import figures
from loomwright.report.json_form import as_data
from loomwright.report.text import gnu, text
from loomwright.rulebook.house import KEYS, house_in
from loomwright.rulebook.load import load_rules

DAY = datetime.date(2026, 11, 18)


def listings(path: Path) -> list[str]:
    return re.findall(r"^```\n(.*?)^```$", path.read_text(encoding="utf-8"), re.MULTILINE | re.DOTALL)


def words(path: Path) -> set[str]:
    return set(re.findall(r"(?<!`)`([^`\n]+)`(?!`)", path.read_text(encoding="utf-8")))


@pytest.fixture(scope="module")
def docs(checkout: Path) -> Path:
    return checkout / "docs"


@pytest.fixture
def as_found(in_checkout: Path, specs: Path) -> Report:
    path = specs / "orchard-bees" / "as-found.fitout"
    shown = path.relative_to(in_checkout).as_posix()
    return check(path.read_text(encoding="utf-8"), shown, Wishes(today=DAY))


def test_the_spec_that_opens_the_language_is_sound(docs: Path) -> None:
    spec = listings(docs / "language.md")[0]
    assert spec.lstrip().startswith("#")
    report = check(spec, "fridge.fitout", Wishes(today=DAY))
    assert report.errors == ()
    assert [one.message for one in report.findings if one.severity != "minor"] == []


def test_the_house_rule_and_its_file_are_sound(docs: Path, tmp_path: Path) -> None:
    toml, rule = listings(docs / "rule-language.md")[:2]
    (tmp_path / "house.rules").write_text(rule, encoding="utf-8")
    for stock in ("prices.csv", "reels.csv"):
        (tmp_path / stock).write_text("", encoding="utf-8")
    house = house_in(toml, str(tmp_path / "loomwright.toml"))
    assert house.problems == ()
    assert all(re.search(rf"^(\[{key}\]|{key} +=)", toml, re.MULTILINE) for key in KEYS)
    limits, wrong = house.limited(load_limits())
    book = house.judged(load_rules(house.rules, limits))
    assert (book.problems, wrong) == ((), ())
    assert book.rule("house-outside-tinned") is not None
    assert limits["support-interval"].text == "300 mm"


def test_the_finding_that_is_shown_is_one_of_the_spec_s(docs: Path, as_found: Report) -> None:
    (shown,) = listings(docs / "outputs.md")
    assert shown in text(as_found)


def test_the_labels_that_are_told_are_those_of_the_text(docs: Path, as_found: Report) -> None:
    printed = set(re.findall(r"^ {4}([a-z]{2,7}) +(?=\S)", text(as_found), re.MULTILINE))
    assert {"at", "why", "do", "source"} <= printed
    assert {"at", "why", "do", "source", "agreed", "rule"} <= words(docs / "outputs.md")


def test_what_must_be_looked_at_is_printed_as_it_is_told(as_found: Report) -> None:
    assert re.search(
        r"^[^:\n]+:\d+:\d+: unproven: look at .+ \[[a-z0-9, -]+\]$", text(as_found), re.MULTILINE
    )


def test_every_field_of_the_json_of_check_is_told(docs: Path, as_found: Report) -> None:
    told = words(docs / "outputs.md")
    assert fields(as_data(as_found)) - told == set()


def test_every_field_of_the_json_of_figures_is_told(docs: Path, specs: Path) -> None:
    loaded = load((specs / "orchard-bees" / "planned.fitout").read_text(encoding="utf-8"), None)
    assert loaded.installation is not None
    data = figures(Ledger(loaded.installation, load_limits(), DAY))
    told = words(docs / "outputs.md")
    mode = next(iter(data["modes"].values()))
    assert set(data) | set(mode) <= told
    for part in ("runs", "loads", "sources"):
        assert fields(next(iter(mode[part].values()))) <= told
    fault = next(fault for fault in data["faults"].values() if fault["fuses"])
    assert fields(fault) <= told


def fields(data: Any) -> set[str]:
    """Every key of plain data, however deep."""
    return set(_keys(data))


def _keys(data: Any) -> Iterator[str]:
    if isinstance(data, dict):
        for key, value in data.items():
            yield key
            yield from _keys(value)
    elif isinstance(data, list):
        for value in data:
            yield from _keys(value)


def test_the_gnu_form_is_as_it_is_told(as_found: Report) -> None:
    lines = gnu(as_found).rstrip("\n").split("\n")
    form = re.compile(r"[^:]+:\d+:\d+: (dangerous|major|minor|unproven): .+ \[[a-z0-9-]+\]")
    assert all(form.fullmatch(line) for line in lines)
