"""What every test may use, and the one way in which a test may be skipped."""

from __future__ import annotations

import gc
import os
import shutil
import signal
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from loomwright import garbage

CHECKOUT = Path(__file__).parent.parent


def pytest_runtest_setup(item: pytest.Item) -> None:
    """A test that needs a program of the system is skipped where it is missing, and fails in CI."""
    for mark in item.iter_markers("program"):
        name = mark.args[0]
        if shutil.which(name) is None:
            reason = f"the program {name} is not on this machine"
            if os.environ.get("CI"):
                pytest.fail(reason)
            pytest.skip(reason)


def pytest_collection() -> None:
    """Thousands of tests are no garbage, and looking through them took a fifth of the suite's time."""
    gc.disable()


def pytest_collection_finish() -> None:
    gc.collect()
    gc.freeze()
    gc.enable()
    garbage.seldom()  # as the command does


@pytest.fixture(scope="session")
def hears_ctrl_c() -> Callable[[], object]:
    """What a program started by a test does first to hear Ctrl-C, even where the tests themselves run in the background."""
    return partial(signal.signal, signal.SIGINT, signal.SIG_DFL)


@pytest.fixture(scope="session")
def checkout() -> Path:
    """The top of the checkout."""
    return CHECKOUT


@pytest.fixture(scope="session")
def specs(checkout: Path) -> Path:
    return checkout / "specs"


@pytest.fixture
def in_checkout(checkout: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Run at the top of the checkout, so that paths print as a user there sees them."""
    monkeypatch.chdir(checkout)
    return checkout
