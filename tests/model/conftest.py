"""Specs for the tests of the model: the complete systems, and a small one to vary."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from loomwright.model.load import Loaded, load
from loomwright.model.things import Installation

SPECS = Path(__file__).parents[2] / "specs"

SMALL = """
place bay { ambient 40 degC }
place wall { opening grommet }
place box { ambient 30 degC }
structure chassis { metal steel; bonded crank.neg }
battery crank in bay { serves cranking; stud M8 }
hub ways in box { negatives 4 x M4; way 1 blade 10 A; way 2 blade 5 A }
load lamp in box { draws 2 A }
load pump in box { draws 5 A }
"""


@pytest.fixture
def built() -> Callable[..., Installation]:
    """Build a text that must be sound: SMALL and more, in a stage."""

    def make(more: str = "", stage: str = "planned", base: str = SMALL) -> Installation:
        loaded = load(f'fitout "test" {{ stage {stage}; system 12 V }}\n{base}\n{more}', "test.fitout")
        assert [problem.message for problem in loaded.problems] == []
        assert loaded.installation is not None
        return loaded.installation

    return make


@pytest.fixture
def slips() -> Callable[..., list[tuple[int, str]]]:
    """Line and message (with its hint) of each problem of SMALL and more; line 1 is the first line of `more`."""

    def make(more: str, stage: str = "planned", base: str = SMALL) -> list[tuple[int, str]]:
        head = f'fitout "test" {{ stage {stage}; system 12 V }}\n{base}\n'
        loaded = load(head + more, "test.fitout")
        assert loaded.installation is None
        first = head.count("\n")
        return [
            (problem.span.line - first, f"{problem.message} | {problem.hint}") for problem in loaded.problems
        ]

    return make


def _system(name: str) -> Loaded:
    path = SPECS / name
    return load(path.read_text(encoding="utf-8"), str(path))


@pytest.fixture(scope="session")
def planned() -> Installation:
    return _sound("orchard-bees/planned.fitout")


@pytest.fixture(scope="session")
def as_found() -> Installation:
    return _sound("orchard-bees/as-found.fitout")


@pytest.fixture(scope="session")
def marsh_lab() -> Installation:
    return _sound("marsh-lab/planned.fitout")


def _sound(name: str) -> Installation:
    loaded = _system(name)
    assert loaded.problems == ()
    assert loaded.installation is not None
    return loaded.installation
