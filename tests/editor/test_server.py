"""A real client speaks to a real server over pipes, with `mm²`, `°C`, `Ω` and emoji on the lines it asks about."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from .client import SRC, Client, ServerError, applied, at_range, position
from .conftest import SHARED, SPEC


@pytest.fixture
def van(folder: Path, client: Client) -> Iterator[Path]:
    """The spec, open."""
    path = folder / "van.fitout"
    client.open(path)
    yield path
    close(client, path)


def close(client: Client, *paths: Path) -> None:
    for path in paths:
        client.tell("textDocument/didClose", **document(path))


def document(path: Path) -> dict[str, Any]:
    return {"textDocument": {"uri": path.as_uri()}}


def whole(text: str) -> dict[str, Any]:
    return {"start": position(text, 0), "end": position(text, len(text))}


def messages(diagnostics: list[dict[str, Any]]) -> list[str]:
    return [one["message"].split("\n")[0] for one in diagnostics]


# ---------------------------------------------------------------- findings


def findings_of_check(folder: Path, *paths: str) -> dict[str, Any]:
    """What the command says, as JSON."""
    done = subprocess.run(
        [sys.executable, "-m", "loomwright.cli", "check", "--format", "json", *paths],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": SRC},
        capture_output=True,
        timeout=60,
    )
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def as_check_says(path: Path, diagnostics: list[dict[str, Any]]) -> list[tuple[Any, ...]]:
    """Diagnostics in the terms of `check`'s JSON: columns in code points, from 1."""
    lines = path.read_text(encoding="utf-8").split("\n")
    found = []
    for one in diagnostics:
        places = []
        for side in ("start", "end"):
            place = one["range"][side]
            units = lines[place["line"]].encode("utf-16-le")[: 2 * place["character"]]
            places += [place["line"] + 1, len(units.decode("utf-16-le")) + 1]
        severity, _, rest = one["message"].split("\n")[0].partition(": ")
        message = rest.rpartition(" [")[0] if one.get("code") else one["message"].split("\n")[0]
        found.append((one.get("code"), severity if one.get("code") else "error", message, *places))
    return found


def of_check(found: dict[str, Any], path: str) -> list[tuple[Any, ...]]:
    rows = []
    for one in found["findings"]:
        if one["file"] == path:
            severity = f"conceded {one['rule_severity']}" if one["conceded"] else one["severity"]
            place = (one["line"], one["column"], one["end_line"], one["end_column"])
            rows.append((one["rule"], severity, one["message"], *place))
    return rows


@pytest.mark.parametrize("name", ["orchard-bees/as-found", "orchard-bees/planned", "marsh-lab/planned"])
def test_an_editor_is_told_the_findings_of_check(client: Client, specs: Path, name: str) -> None:
    path = specs / f"{name}.fitout"
    diagnostics = client.open(path)
    assert as_check_says(path, diagnostics) == of_check(
        findings_of_check(specs, f"{name}.fitout"), f"{name}.fitout"
    )
    close(client, path)


def test_findings_and_concessions_stand_at_their_utf_16_columns(folder: Path, client: Client) -> None:
    path = folder / "van.fitout"
    diagnostics = client.open(path)
    assert sorted(as_check_says(path, diagnostics)) == sorted(
        of_check(findings_of_check(folder, "van.fitout"), "van.fitout")
    )
    assert {one["severity"] for one in diagnostics if one["message"].startswith("dangerous")} == {1}
    assert any(one["severity"] == 4 and one["code"] == "no-sleeve" for one in diagnostics)
    close(client, path)


def test_errors_stand_at_their_place_and_a_clean_text_clears_them(van: Path, client: Client) -> None:
    broken = SPEC.replace("cable 16 mm² red", "kable 16 mm² red")
    (error,) = client.change(van, broken, 2)
    assert at_range(broken, error["range"]) == "kable"
    assert "did you mean 'cable'" in error["message"]
    assert error["severity"] == 1
    assert client.diagnostics[van.as_uri()]["version"] == 2
    assert "unfused-feed" in {one["code"] for one in client.change(van, SPEC, 3)}
    nothing = "place box { ambient 40 °C }\n"
    assert client.change(van, nothing, 4) == []


def test_an_unsaved_include_is_read_and_its_errors_are_told_in_it(folder: Path, client: Client) -> None:
    van, shared = folder / "van.fitout", folder / "shared.fitout"
    client.open(van)
    assert client.open(shared) == []
    (error,) = client.change(shared, SHARED.replace("ambient 40 °C", "ambient 40 Ω"), 2)
    assert at_range(SHARED.replace("40 °C", "40 Ω"), error["range"]) == "40 Ω"
    assert client.change(shared, SHARED, 3) == []
    renamed = SHARED.replace("place box", "place bag")
    client.change(shared, renamed, 4)
    client.ask("textDocument/documentSymbol", **document(shared))
    assert any(
        "no place named box" in one["message"] for one in client.diagnostics[van.as_uri()]["diagnostics"]
    )
    close(client, shared)
    assert "unfused-feed" in {one["code"] for one in client.told_of(van)}
    close(client, van)


def test_a_slip_in_one_file_silences_no_other(folder: Path, client: Client) -> None:
    other = folder / "other.fitout"
    client.open(folder / "van.fitout")
    client.open(other, "fitout { }", 1)
    assert client.diagnostics[other.as_uri()]["diagnostics"]
    assert len(client.diagnostics[(folder / "van.fitout").as_uri()]["diagnostics"]) > 3
    close(client, other, folder / "van.fitout")


def test_a_closed_file_has_no_findings_left(van: Path, client: Client) -> None:
    close(client, van)
    assert client.told_of(van) == []


# ---------------------------------------------------------------- questions


def test_hovering_a_run_tells_its_figures(van: Path, client: Client) -> None:
    told = client.at("textDocument/hover", van, SPEC, "feed m|ain")
    assert at_range(SPEC, told["range"]) == "main"
    text = told["contents"]["value"]
    for words in ("16 mm²", "carries", "| night |", "3 A", "margin"):
        assert words in text
    behind_emoji = client.at("textDocument/hover", van, SPEC, "red 9|0 °C")
    assert "90 °C" in behind_emoji["contents"]["value"]
    assert at_range(SPEC, behind_emoji["range"]) == "90"


@pytest.mark.parametrize(
    ("marked", "words"),
    [
        ("in b|ox { note", "passed by main, back"),
        ("cable 16| mm² red", "16 mm² of copper"),
        ("conc|ession no", "`concession RULE on NAME { … }`"),
        ("no-sl|eeve on", "One layer of insulation"),
        ("; cap|acity", "What it holds when full."),
        ("from hou|se.pos to lamp", "| night | 12"),
        ("m|ode night", "A way the vehicle is used."),
    ],
)
def test_hovering_tells_of_every_kind_of_word(van: Path, client: Client, marked: str, words: str) -> None:
    assert words in client.at("textDocument/hover", van, SPEC, marked)["contents"]["value"]


def test_a_name_leads_to_its_declaration_in_another_file(van: Path, client: Client) -> None:
    (found,) = client.at("textDocument/definition", van, SPEC, "along b|ox 2 m; end")
    assert found["uri"] == (van.parent / "shared.fitout").as_uri()
    assert at_range(SHARED, found["range"]) == "box"
    (lamp,) = client.at("textDocument/definition", van, SPEC, "to la|mp.pos")
    assert at_range(SPEC, lamp["range"]) == "lamp"
    assert client.at("textDocument/definition", van, SPEC, "black 9|0") == []


def test_every_use_of_a_name_is_found(van: Path, client: Client) -> None:
    found = client.at(
        "textDocument/references", van, SPEC, "load la|mp", context={"includeDeclaration": True}
    )
    assert [at_range(SPEC, one["range"]) for one in found] == ["lamp"] * 4
    used = client.at(
        "textDocument/references", van, SPEC, "load la|mp", context={"includeDeclaration": False}
    )
    assert len(used) == 3
    places = client.at(
        "textDocument/references", van, SPEC, "battery house in b|ox", context={"includeDeclaration": True}
    )
    assert {one["uri"] for one in places} == {van.as_uri(), (van.parent / "shared.fitout").as_uri()}
    assert len(places) == 5


def test_a_name_is_changed_in_all_files_and_the_findings_stay(van: Path, client: Client) -> None:
    prepared = client.at("textDocument/prepareRename", van, SPEC, "along b|ox 2 m; end")
    assert prepared["placeholder"] == "box"
    edit = client.at("textDocument/rename", van, SPEC, "along b|ox 2 m; end", newName="locker")
    shared = van.parent / "shared.fitout"
    assert set(edit["changes"]) == {van.as_uri(), shared.as_uri()}
    after = applied(SPEC, edit["changes"][van.as_uri()])
    assert after == SPEC.replace(" box", " locker")
    assert applied(SHARED, edit["changes"][shared.as_uri()]) == SHARED.replace("place box", "place locker")
    before = client.diagnostics[van.as_uri()]["diagnostics"]
    shared.write_text(SHARED.replace("place box", "place locker"), encoding="utf-8")
    assert [one["code"] for one in client.change(van, after, 2)] == [one["code"] for one in before]


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("house", "taken"),
        ("box", "taken"),
        ("Lamp", "no name"),
        ("none", "no name"),
        ("a.b", "no name"),
        ("", "no name"),
    ],
)
def test_a_name_that_is_taken_or_none_is_refused(van: Path, client: Client, name: str, why: str) -> None:
    with pytest.raises(ServerError, match=why):
        client.at("textDocument/rename", van, SPEC, "load la|mp", newName=name)


def test_nothing_is_renamed_while_a_place_could_be_missed(van: Path, client: Client) -> None:
    client.change(van, SPEC.replace("on lamp }", "on on lamp }"), 2)
    with pytest.raises(ServerError, match="mend what can't be read first"):
        client.at("textDocument/rename", van, SPEC, "load la|mp", newName="light")


def test_what_is_no_name_is_not_renamed(van: Path, client: Client) -> None:
    assert client.at("textDocument/prepareRename", van, SPEC, "engine o|ff") is None
    assert client.at("textDocument/prepareRename", van, SPEC, "from house.p|os to") is None


def test_the_outline_has_every_statement_with_its_name_inside(van: Path, client: Client) -> None:
    found = client.ask("textDocument/documentSymbol", **document(van))
    assert [one["name"] for one in found] == [
        "Café 🐝", "shared.fitout", "house", "lamp", "main", "back", "night", "main",
    ]  # fmt: skip
    for one in found:
        text = at_range(SPEC, one["range"])
        assert at_range(SPEC, one["selectionRange"]) in text
    main = found[4]
    assert main["detail"] == "feed from house.pos to lamp.pos"
    assert at_range(SPEC, main["range"]).endswith("M6 }")


def test_the_layout_of_tidy_is_offered(van: Path, client: Client) -> None:
    from loomwright.syntax.tidy import tidy

    edits = client.ask(
        "textDocument/formatting", **document(van), options={"tabSize": 4, "insertSpaces": True}
    )
    assert applied(SPEC, edits) == tidy(SPEC) != SPEC
    client.change(van, SPEC.replace("cable", "kable"), 2)
    assert (
        client.ask("textDocument/formatting", **document(van), options={"tabSize": 4, "insertSpaces": True})
        == []
    )


def test_solved_amps_and_drop_stand_behind_each_run(van: Path, client: Client) -> None:
    hints = client.ask("textDocument/inlayHint", **document(van), range=whole(SPEC))
    assert len(hints) == 2
    lines = SPEC.split("\n")
    first = hints[0]["position"]
    assert lines[first["line"]].startswith("feed main")
    assert lines[first["line"]][: first["character"]].endswith("to lamp.pos")
    assert hints[0]["label"].startswith("3 A, ")


def test_colours_follow_the_parser_in_utf_16(van: Path, client: Client) -> None:
    legend = [
        "keyword",
        "property",
        "enumMember",
        "variable",
        "namespace",
        "parameter",
        "number",
        "type",
        "string",
        "comment",
    ]
    data = client.ask("textDocument/semanticTokens/full", **document(van))["data"]
    line = column = 0
    found = set()
    for at in range(0, len(data), 5):
        lines, columns, length, kind, _ = data[at : at + 5]
        column = columns + (column if lines == 0 else 0)
        line += lines
        place = {
            "start": {"line": line, "character": column},
            "end": {"line": line, "character": column + length},
        }
        found.add((at_range(SPEC, place), legend[kind]))
    assert {
        ("feed", "keyword"), ("cable", "property"), ("mm²", "type"), ("°C", "type"), ("red", "enumMember"), ("main", "variable"),
        ("box", "namespace"), ("house", "variable"), ("pos", "parameter"), ('"🐝 Ω"', "string"), ("# 🐝 main", "comment"), ("16", "number"),
    } <= found  # fmt: skip


# ---------------------------------------------------------------- completion and changes


def completed(client: Client, path: Path, marked: str, version: int) -> tuple[dict[str, Any], str]:
    """The choices at `|` of a new text, and the text."""
    text = marked.replace("|", "")
    client.change(path, text, version)
    place = position(text, marked.index("|"))
    return client.ask("textDocument/completion", **document(path), position=place), text


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("fe|", "feed"),
        ('load x in box { note "🐝 Ω"; dra|', "draws"),
        ('feed x { note "🐝"; al|', "along"),
        ("feed x from house.|", "house.neg"),
        ("feed x from house.pos to la|", "lamp.pos"),
        ('feed x from house.pos to lamp.pos { label "🐝 °C"; along b|', "box"),
        ("place y { hazards heat, |", "vibration"),
        ("feed x from house.pos to lamp.pos { cable |", "8 B&S"),
        ("feed x from house.pos to lamp.pos { cable 16 |", "mm2"),
        ("feed x from house.pos to lamp.pos { fuse strip |", "60 A"),
        ("feed x from house.pos to lamp.pos { fuse |", "blade"),
        ("feed x from house.pos to lamp.pos { conductor solid |", "copper-clad"),
        ("feed x from house.pos to lamp.pos { ends crimped |", "looped"),
        ("feed x from house.pos to lamp.pos { ben|", "bend"),
        ("load x in box { draws 3 |", "W"),
        ("load x in box { duty 30 % |", "at"),
        ("load x in box { duty 30 % at 20 |", "degC"),
        ("place y { usu|", "usually"),
        ("concession unfused-f|", "unfused-feed"),
        ("concession unfused-feed on |", "main"),
        ("circuit x from house.pos to |", "lamp"),
        ("day d { |", "night"),
        ('fitout "🐝" { limits |', "general"),
        ("readings 2026-11-20 by \"RM\" in |", "night"),
        ("mode m { on |", "lamp"),
        ("battery b in box { chemistry |", "lifepo4"),
    ],
)  # fmt: skip
def test_what_may_stand_there_is_offered_while_the_text_cannot_be_read(
    van: Path, client: Client, line: str, wanted: str
) -> None:
    found, text = completed(client, van, f"{SPEC}load broken in\n{line}", 2)
    (choice,) = [one for one in found["items"] if one["label"] == wanted]
    after = applied(text, [choice["textEdit"]])
    assert after.endswith(wanted)
    assert after.startswith(text[: len(SPEC)])


def test_no_choice_is_offered_in_a_comment_or_a_text(van: Path, client: Client) -> None:
    assert completed(client, van, f"{SPEC}# fe|", 2)[0]["items"] == []
    assert completed(client, van, f'{SPEC}place x {{ note "fe|', 3)[0]["items"] == []


def test_only_what_fits_is_offered(van: Path, client: Client) -> None:
    found, _ = completed(client, van, f"{SPEC}feed x from house.pos to lamp.pos {{ along |", 2)
    assert {one["label"] for one in found["items"]} == {"box"}
    found, _ = completed(client, van, f"{SPEC}load x in box {{ draws 3 |", 3)
    assert "mm2" not in {one["label"] for one in found["items"]}


def test_fixes_are_offered_and_what_touches_copper_is_never_preferred(client: Client, specs: Path) -> None:
    path = specs / "orchard-bees" / "as-found.fitout"
    text = path.read_text(encoding="utf-8")
    client.open(path)
    found = client.ask(
        "textDocument/codeAction", **document(path), range=whole(text), context={"diagnostics": []}
    )
    fuse = next(one for one in found if "[fuse-above-cable]" in one["title"])
    assert fuse["isPreferred"] is False
    after = applied(text, fuse["edit"]["changes"][path.as_uri()])
    gone = {one["message"].split("\n")[0] for one in fuse["diagnostics"]}
    assert gone & set(messages(client.diagnostics[path.as_uri()]["diagnostics"]))
    assert not gone & set(messages(client.change(path, after, 2)))
    clip = next(one for one in found if "[unsupported-cable]" in one["title"])
    assert clip["isPreferred"] is True
    close(client, path)


def test_a_concession_takes_effect_only_when_somebody_has_written_why(van: Path, client: Client) -> None:
    found = client.ask(
        "textDocument/codeAction", **document(van), range=whole(SPEC), context={"diagnostics": []}
    )
    action = next(one for one in found if one["title"].startswith("Concede unfused-feed on main"))
    after = applied(SPEC, action["edit"]["changes"][van.as_uri()])
    errors = client.change(van, after, 2)
    assert errors
    assert {one.get("code") for one in errors} == {None}
    written = after.replace("    reason\n", '    reason "bench"\n').replace("    by\n", '    by "RM"\n')
    written = written.replace("    until\n", "    until 2099-01-01\n")
    assert any(
        one["code"] == "unfused-feed" and one["message"].startswith("conceded dangerous")
        for one in client.change(van, written, 3)
    )
