"""A client of the Language Server Protocol for tests: JSON-RPC over the pipes of a real server process."""

from __future__ import annotations

import json
import os
import queue
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

PATIENCE = 30  # seconds
SRC = str(Path(__file__).parents[2] / "src")


class ServerError(Exception):
    """What the server answered instead of a result."""


class Client:
    """One server and the conversation with it. Columns are UTF-16 units, as the protocol has them."""

    def __init__(self, folder: Path, *words: str) -> None:
        environment = {**os.environ, "PYTHONPATH": SRC}
        words = words or (sys.executable, "-m", "loomwright.cli", "editor")
        self.process = subprocess.Popen(
            words,
            cwd=folder,
            env=environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        self.number = 0
        self.incoming: queue.Queue[dict[str, Any]] = queue.Queue()
        self.log: list[str] = []
        self.diagnostics: dict[str, dict[str, Any]] = {}
        for target in (self._listen, self._keep_log):
            threading.Thread(target=target, daemon=True).start()

    def _listen(self) -> None:
        stream = self.process.stdout
        assert stream is not None
        while line := stream.readline():
            name, _, length = line.decode("ascii").partition(":")
            assert name.lower() in ("content-length", "content-type"), f"not the protocol: {line!r}"
            if name.lower() == "content-type":
                continue
            while stream.readline() != b"\r\n":
                pass
            self.incoming.put(json.loads(stream.read(int(length))))
        self.incoming.put({"closed": True})

    def _keep_log(self) -> None:
        assert self.process.stderr is not None
        for line in self.process.stderr:
            self.log.append(line.decode("utf-8", "replace"))

    def send(self, message: dict[str, Any]) -> None:
        content = json.dumps({"jsonrpc": "2.0", **message}).encode()
        assert self.process.stdin is not None
        self.process.stdin.write(b"Content-Length: %d\r\n\r\n" % len(content) + content)
        self.process.stdin.flush()

    def receive(self) -> dict[str, Any]:
        message = self.incoming.get(timeout=PATIENCE)
        if message.get("method") == "textDocument/publishDiagnostics":
            self.diagnostics[message["params"]["uri"]] = message["params"]
        return message

    def ask(self, method: str, **params: Any) -> Any:
        """The result of a request. Raises ServerError."""
        self.number += 1
        self.send({"id": self.number, "method": method, "params": params})
        while True:
            message = self.receive()
            assert "closed" not in message, "".join(self.log)
            if message.get("id") == self.number and "method" not in message:
                if "error" in message:
                    raise ServerError(message["error"]["message"])
                return message.get("result")

    def tell(self, method: str, **params: Any) -> None:
        self.send({"method": method, "params": params})

    def start(self, **capabilities: Any) -> dict[str, Any]:
        found: dict[str, Any] = self.ask(
            "initialize", processId=os.getpid(), rootUri=None, capabilities=capabilities
        )
        self.tell("initialized")
        return found

    def stop(self) -> int:
        self.ask("shutdown")
        self.tell("exit")
        status = self.process.wait(timeout=PATIENCE)
        for stream in (self.process.stdin, self.process.stdout, self.process.stderr):
            if stream is not None:
                stream.close()
        return status

    # ---- Documents

    def open(self, path: Path, text: str | None = None, version: int = 1) -> list[dict[str, Any]]:
        """Open a document; its diagnostics."""
        said = path.read_text(encoding="utf-8") if text is None else text
        document = {"uri": path.as_uri(), "languageId": "fitout", "version": version, "text": said}
        self.tell("textDocument/didOpen", textDocument=document)
        return self.told_of(path, version)

    def change(self, path: Path, text: str, version: int) -> list[dict[str, Any]]:
        """Type a whole new text; its diagnostics."""
        self.tell(
            "textDocument/didChange",
            textDocument={"uri": path.as_uri(), "version": version},
            contentChanges=[{"text": text}],
        )
        return self.told_of(path, version)

    def told_of(self, path: Path, version: int | None = None) -> list[dict[str, Any]]:
        """Wait for the diagnostics of a version of a document."""
        while True:
            message = self.receive()
            assert "closed" not in message, "".join(self.log)
            params = message.get("params", {})
            told = (
                message.get("method") == "textDocument/publishDiagnostics" and params["uri"] == path.as_uri()
            )
            if told and version in (None, params.get("version")):
                found: list[dict[str, Any]] = params["diagnostics"]
                return found

    def at(self, method: str, path: Path, text: str, marked: str, **more: Any) -> Any:
        """Ask about the place of `|` within `marked`, which stands once in the text."""
        offset = text.index(marked.replace("|", "")) + marked.index("|")
        return self.ask(method, textDocument={"uri": path.as_uri()}, position=position(text, offset), **more)


def position(text: str, offset: int) -> dict[str, int]:
    """An offset in code points as the protocol's line and UTF-16 column."""
    before = text[:offset]
    line = before[before.rfind("\n") + 1 :]
    return {"line": before.count("\n"), "character": len(line.encode("utf-16-le")) // 2}


def at_range(text: str, place: dict[str, Any]) -> str:
    """The text in a range of the protocol."""
    lines = text.split("\n")
    start, end = (offset(lines, place[side]) for side in ("start", "end"))
    return text[start:end]


def offset(lines: list[str], place: dict[str, int]) -> int:
    line = lines[place["line"]]
    column = len(line.encode("utf-16-le")[: 2 * place["character"]].decode("utf-16-le"))
    return sum(len(each) + 1 for each in lines[: place["line"]]) + column


def applied(text: str, edits: list[dict[str, Any]]) -> str:
    """A text after edits, which must not overlap."""
    lines = text.split("\n")
    placed = [
        (offset(lines, e["range"]["start"]), offset(lines, e["range"]["end"]), e["newText"]) for e in edits
    ]
    last = len(text)
    for start, end, new in sorted(placed, reverse=True):
        assert start <= end <= last, "edits overlap"
        text, last = text[:start] + new + text[end:], start
    return text
