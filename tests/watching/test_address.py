"""The page is for the one who has its address, on this machine, and nothing but the page."""

from __future__ import annotations

import http.client
import socket
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from loomwright.report.check import Wishes
from loomwright.sheets import render
from loomwright.sheets.job import job_of
from loomwright.sheets.papers import papers
from loomwright.watching.address import Address, reloading


@pytest.fixture
def address() -> Iterator[Address]:
    address = Address()
    address.show("<html><body><p>Ω 16 mm²</p></body></html>")
    yield address
    address.close()


def ask(address: Address, path: str, method: str = "GET", host: str | None = None) -> tuple[int, str]:
    connection = http.client.HTTPConnection("127.0.0.1", address.port, timeout=10)
    connection.request(method, path, headers={"Host": host} if host else {})
    answer = connection.getresponse()
    text = answer.read().decode()
    connection.close()
    return answer.status, text


def test_who_has_the_address_gets_the_page(address: Address) -> None:
    status, page = ask(address, f"/{address.token}/")
    assert status == 200
    assert "16 mm²" in page
    assert page.endswith("</body></html>")


@pytest.mark.parametrize(
    "path",
    ["/", "/favicon.ico", "/x/", "/TOKEN", "/TOKEN/x", "/TOKEN/../", "/TOKEN//etc/passwd", "/TOKEN/%2e%2e/", "/TOKEN/?x"],
)  # fmt: skip
def test_nothing_else_is_there(address: Address, path: str) -> None:
    status, text = ask(address, path.replace("TOKEN", address.token))
    assert status == 404
    assert address.token not in text
    assert "mm²" not in text


def test_another_page_that_calls_this_machine_by_its_own_name_gets_nothing(address: Address) -> None:
    assert ask(address, f"/{address.token}/", host=f"workshop.example:{address.port}")[0] == 404


def test_a_head_is_answered_as_the_page_is_but_without_it(address: Address) -> None:
    """RFC 9110 clause 9.3.2."""
    assert ask(address, f"/{address.token}/", "HEAD") == (200, "")
    assert ask(address, "/x/", "HEAD")[0] == 404


def test_nothing_can_be_written(address: Address) -> None:
    for method in ("POST", "PUT", "DELETE"):
        assert ask(address, f"/{address.token}/", method)[0] == 501


def test_only_this_machine_can_ask(address: Address) -> None:
    assert address.server.server_address[0] == "127.0.0.1"
    other = next(
        (a[4][0] for a in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)), "127.0.0.1"
    )
    if not str(other).startswith("127."):
        with pytest.raises(OSError, match="refused"):
            socket.create_connection((str(other), address.port), timeout=2)


def test_every_start_has_an_address_of_its_own() -> None:
    one, other = Address(), Address()
    assert one.token != other.token
    assert one.port != other.port
    assert len(one.token) >= 24
    one.close()
    other.close()


def test_a_new_page_is_told_to_who_waits(address: Address) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", address.port, timeout=10)
    connection.request("GET", f"/{address.token}/changes")
    stream = connection.getresponse()
    assert stream.headers["Content-Type"] == "text/event-stream"
    assert stream.readline() == b"data: 1\n"
    threading.Timer(0.1, address.show, ["<html><body>new</body></html>"]).start()
    lines = [stream.readline() for _ in range(3)]
    assert b"data: 2\n" in lines
    connection.close()


def test_the_printed_page_has_no_leave_to_ask_anybody_and_the_watched_one_only_its_server(
    specs: Path,
) -> None:
    spec = str(specs / "orchard-bees" / "planned.fitout")
    job = job_of(Path(spec).read_text(encoding="utf-8"), spec, Wishes().today)
    page = render.html(papers(job, ("owner-card",)))
    assert "EventSource" not in page
    assert "connect-src" not in page
    assert "connect-src 'self'" in reloading(page)
    assert reloading(page).count("EventSource") == 1
