"""A browser that shows the page loads it again by itself when the spec is saved."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from typing import Any

import pytest

from loomwright.watching.address import Address
from loomwright.watching.watch import Watch

from .seat import Seat

pytestmark = pytest.mark.program("chromium")


@pytest.fixture
def page() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        yield browser.new_page()
        browser.close()


def test_the_page_in_the_browser_follows_the_spec(seat: Seat, page: Any) -> None:
    address = Address()
    watch = Watch(str(seat.spec), seat.told.append, address.show, only=("run-schedule",))
    try:
        page.goto(address.url)
        assert "being made" in page.content()
        watch.look()
        page.wait_for_selector("table")
        page.wait_for_selector("text=lamp.pos")
        seat.spec.write_text(seat.spec.read_text().replace("main from", "lead from"))
        assert sum(watch.look() for _ in range(3)) == 1
        page.wait_for_selector("text=lead", timeout=10_000)
        seat.spec.write_text(seat.spec.read_text().replace("cable 4", "kable 4"))
        assert sum(watch.look() for _ in range(3)) == 1
        page.wait_for_selector("text=no clause of a feed", timeout=10_000)
        assert not page.query_selector("table")
    finally:
        address.close()
