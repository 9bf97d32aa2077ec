"""One page on an address of this machine only, which the browser loads again when it changes.

The server listens on 127.0.0.1, answers nobody who does not know the token in the address, and reads no file: what it shows is
handed to it.
"""

from __future__ import annotations

import hmac
import secrets
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

HOST = "127.0.0.1"
CHANGES = "changes"
ALIVE_S = 10.0
"""After so many seconds without a change a line is sent, to find out who has gone."""

POLICY = "content=\"default-src 'none';"
FIRST = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>Papers</title></head>
<body><p>The papers are being made.</p></body></html>
"""
RELOADING = """<script>
(() => { let shown = null;
  new EventSource("changes").onmessage = (event) => {
    if (shown === null) shown = event.data; else if (shown !== event.data) location.reload(); }; })();
</script>
"""


def reloading(page: str) -> str:
    """A page with the script that loads it again, and leave for it to ask this server. Printed papers have neither."""
    page = page.replace(POLICY, f"{POLICY} connect-src 'self';", 1)
    before, body, after = page.rpartition("</body>")
    return before + RELOADING + body + after if body else page + RELOADING


class Address:
    """The page and who waits for it to change. `url` is for the user's browser alone."""

    def __init__(self) -> None:
        self.token = secrets.token_urlsafe(18)
        self.page = reloading(FIRST).encode()
        self.number = 0
        self.open = True
        self.news = threading.Condition()
        self.server = ThreadingHTTPServer((HOST, 0), _handler(self))
        self.server.daemon_threads = True
        self.port = int(self.server.server_address[1])
        threading.Thread(target=self.server.serve_forever, args=(0.1,), daemon=True).start()

    @property
    def url(self) -> str:
        return f"http://{HOST}:{self.port}/{self.token}/"

    def show(self, page: str) -> None:
        with self.news:
            self.page = reloading(page).encode()
            self.number += 1
            self.news.notify_all()

    def wait(self, told: int) -> None:
        """Until the page has another number than the one told, or a while has gone by."""
        with self.news:
            self.news.wait_for(lambda: not self.open or told != self.number, ALIVE_S)

    def close(self) -> None:
        with self.news:
            self.open = False
            self.news.notify_all()
        self.server.shutdown()
        self.server.server_close()

    def allows(self, host: str, path: str) -> str | None:
        """What is asked for behind the token, or None for who does not know it or comes by another name of this machine."""
        if host not in (f"{HOST}:{self.port}", f"localhost:{self.port}"):
            return None
        _, token, rest = (*path.split("/", 2), "", "")[:3]
        known = hmac.compare_digest(token.encode("utf-8", "replace"), self.token.encode())
        return rest if known and rest in ("", CHANGES) and path.count("/") == 2 else None


def _handler(address: Address) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        server_version, sys_version = "loomwright", ""

        def do_GET(self) -> None:
            wanted = address.allows(self.headers.get("Host", ""), self.path)
            if wanted is None:
                self.send_error(404)
            elif wanted == CHANGES:
                self._tell_changes()
            else:
                self._head("text/html; charset=utf-8", len(address.page))
                self.wfile.write(address.page)

        def do_HEAD(self) -> None:
            wanted = address.allows(self.headers.get("Host", ""), self.path)
            if wanted is None:
                self.send_error(404)
            elif wanted == CHANGES:
                self._head("text/event-stream")
            else:
                self._head("text/html; charset=utf-8", len(address.page))

        def _head(self, kind: str, length: int | None = None) -> None:
            self.send_response(200)
            self.send_header("Content-Type", kind)
            if length is not None:
                self.send_header("Content-Length", str(length))
            for name, value in (
                ("Cache-Control", "no-store"),
                ("X-Content-Type-Options", "nosniff"),
                ("Referrer-Policy", "no-referrer"),
                ("Cross-Origin-Resource-Policy", "same-origin"),
                ("X-Frame-Options", "DENY"),
            ):
                self.send_header(name, value)
            self.end_headers()

        def _tell_changes(self) -> None:
            """The page's number now, and again whenever it has another (server-sent events)."""
            self._head("text/event-stream")
            told = None
            try:
                while address.open:
                    line = f"data: {address.number}\n\n" if told != address.number else ": still here\n\n"
                    told = address.number
                    self.wfile.write(line.encode())
                    self.wfile.flush()
                    address.wait(told)
            except OSError:
                return  # the browser has gone

        def log_message(self, format: str, *args: object) -> None:
            """Nothing: the terminal is for findings."""

    return Handler
