"""What goes wrong inside the server is told and logged; the conversation goes on, and nothing but the protocol is on the pipe."""

from __future__ import annotations

import sys
from pathlib import Path

from .client import Client
from .conftest import SPEC

SEIZED = """
import os
import loomwright.editor.desk as desk
real = desk.check
def check(text, *rest):
    print("this must not reach the editor")
    os.system("echo nor this")
    if "seize" in text: raise RuntimeError("seized")
    return real(text, *rest)
desk.check = check
from loomwright.editor.server import serve
serve()
"""


def test_a_fault_while_checking_is_told_and_logged_and_the_server_lives(folder: Path) -> None:
    client = Client(folder, sys.executable, "-c", SEIZED)
    client.start()
    path = folder / "van.fitout"
    (fault,) = client.open(path, SPEC + "# seize\n")
    assert "fault of the program (RuntimeError)" in fault["message"]
    assert "unfused-feed" in {one.get("code") for one in client.change(path, SPEC, 2)}
    assert client.at("textDocument/hover", path, SPEC, "feed m|ain") is not None
    assert client.stop() == 0
    assert "RuntimeError: seized" in "".join(client.log)
    assert "this must not reach the editor" in "".join(client.log)
    assert "nor this" in "".join(client.log)


def test_questions_about_what_is_not_there_are_answered(folder: Path) -> None:
    client = Client(folder)
    client.start()
    nowhere = {"uri": (folder / "none.fitout").as_uri()}
    place = {"line": 400, "character": 7}
    assert client.ask("textDocument/hover", textDocument=nowhere, position=place) is None
    assert client.ask("textDocument/completion", textDocument=nowhere, position=place)["items"] == []
    assert client.ask("textDocument/documentSymbol", textDocument=nowhere) in ([], None)
    assert client.ask("textDocument/semanticTokens/full", textDocument=nowhere)["data"] == []
    untitled = {"uri": "untitled:Untitled-1", "languageId": "fitout", "version": 1, "text": "fitout {"}
    client.tell("textDocument/didOpen", textDocument=untitled)
    assert client.ask("textDocument/hover", textDocument=untitled, position={"line": 0, "character": 1})
    assert client.stop() == 0
    assert client.log == []


def test_a_server_can_count_columns_as_the_editor_wishes(folder: Path) -> None:
    client = Client(folder)
    found = client.start(general={"positionEncodings": ["utf-8"]})
    assert found["capabilities"]["positionEncoding"] == "utf-8"
    path = folder / "van.fitout"
    text = SPEC.replace("cable 16 mm² red", "kable 16 mm² red")
    (error,) = client.open(path, text)
    line = text.split("\n")[error["range"]["start"]["line"]]
    assert line.encode()[error["range"]["start"]["character"] :].startswith(b"kable")
    assert client.stop() == 0


def test_a_word_being_typed_is_checked_once(folder: Path) -> None:
    client = Client(folder)
    client.start()
    path = folder / "van.fitout"
    client.open(path)
    for version in range(2, 30):
        document = {"uri": path.as_uri(), "version": version}
        changes = [{"text": SPEC + "#" * version}]
        client.tell("textDocument/didChange", textDocument=document, contentChanges=changes)
    seen = 0
    while client.diagnostics[path.as_uri()]["version"] != 29:
        seen += client.receive().get("method") == "textDocument/publishDiagnostics"
    assert seen < 10
    assert client.stop() == 0
