"""The manual is as the program would make it now, whole, and leads nowhere outside the project."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from loomwright.facts.limits import load_limits
from loomwright.facts.registry import FACTS
from loomwright.manual import pages
from loomwright.manual.__main__ import main
from loomwright.manual.markdown import ManualError, anchor, filled, table
from loomwright.rulebook.load import load_rules

BOOK = load_rules()
LINK = re.compile(r"\[[^\]]*\]\(([^)#\s]*)(?:#([^)\s]+))?\)")
ELSEWHERE = re.compile(r"://|www\.|(?<![\w.])/(?:home|tmp|usr|opt|root|var|mnt)/")


@pytest.fixture(scope="module")
def docs(checkout: Path) -> Path:
    return checkout / "docs"


def manual(docs: Path) -> Iterator[Path]:
    return (path for path in sorted(docs.rglob("*.md")))


def anchors(text: str) -> set[str]:
    headings = {anchor(heading) for heading in re.findall(r"^#+ (.+)$", text, re.MULTILINE)}
    return headings | set(re.findall(r'<a id="([^"]+)">', text))


def test_no_page_is_stale(docs: Path) -> None:
    stale = sorted(pages.stale(str(docs)))
    assert stale == [], "run: python -m loomwright.manual docs"


def test_every_link_leads_to_a_place_inside_the_project(docs: Path, checkout: Path) -> None:
    broken = []
    for path in manual(docs):
        text = path.read_text(encoding="utf-8")
        for target, part in LINK.findall(text):
            to = (path.parent / target).resolve() if target else path
            inside = to.is_relative_to(checkout) and to.is_file()
            if not inside or (part and part not in anchors(to.read_text(encoding="utf-8"))):
                broken.append(f"{path.name}: {target}#{part}")
    assert broken == []


def test_no_page_names_an_address_or_a_folder_of_somebody_s_machine(docs: Path) -> None:
    found = [
        f"{path.name}: {line}"
        for path in manual(docs)
        for line in path.read_text(encoding="utf-8").split("\n")
        if ELSEWHERE.search(line)
    ]
    assert found == []


def test_every_rule_fact_and_limit_has_its_place(docs: Path) -> None:
    rules = {
        part for path in (docs / "rules").glob("*.md") for part in anchors(path.read_text(encoding="utf-8"))
    }
    assert {rule.name for rule in BOOK} <= rules
    facts = (docs / "facts.md").read_text(encoding="utf-8")
    assert [name for _, name in FACTS if f"`{name}`" not in facts and f"`{name}(" not in facts] == []
    assert set(load_limits()) <= anchors((docs / "limits.md").read_text(encoding="utf-8"))


def test_every_page_is_reached_from_the_first(docs: Path) -> None:
    reached: set[Path] = set()
    waiting = [docs / "README.md"]
    while waiting:
        path = waiting.pop()
        if path not in reached and path.suffix == ".md":
            reached.add(path)
            text = path.read_text(encoding="utf-8")
            waiting += [(path.parent / target).resolve() for target, _ in LINK.findall(text) if target]
    assert sorted(set(manual(docs)) - reached) == []


def copy_of(docs: Path, folder: Path) -> Path:
    for path in manual(docs):
        to = folder / path.relative_to(docs)
        to.parent.mkdir(exist_ok=True)
        to.write_bytes(path.read_bytes())
    return folder


def test_the_command_writes_what_has_changed_and_nothing_else(
    docs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    copy = copy_of(docs, tmp_path)
    (copy / "limits.md").write_text("old", encoding="utf-8")
    (copy / "rules" / "gone.md").write_text("a chapter that is no more", encoding="utf-8")
    untouched = (copy / "facts.md").stat().st_mtime_ns
    assert main(["--check", str(copy)]) == 1
    assert (copy / "limits.md").read_text(encoding="utf-8") == "old"
    assert main([str(copy)]) == 0
    said = capsys.readouterr().out.split("\n")
    assert said[:2] == [f"{copy}/limits.md is stale", f"{copy}/rules/gone.md is stale"]
    assert said[2:4] == [f"{copy}/limits.md", f"{copy}/rules/gone.md"]
    assert (copy / "limits.md").read_bytes() == (docs / "limits.md").read_bytes()
    assert not (copy / "rules" / "gone.md").exists()
    assert (copy / "facts.md").stat().st_mtime_ns == untouched
    assert main(["--check", str(copy)]) == 0


def test_the_command_says_what_it_can_t_do(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 2
    assert main([str(tmp_path)]) == 2
    assert "can't be made" in capsys.readouterr().err


def test_a_table_is_put_between_its_marks_and_nothing_else_is_touched() -> None:
    text = "before\n<!-- begin units -->\nold\n<!-- end units -->\nafter\n"
    made = filled(text, {"units": "new\n"})
    assert made == "before\n<!-- begin units -->\n\nnew\n\n<!-- end units -->\nafter\n"
    assert filled(made, {"units": "new\n"}) == made
    for wrong in ({}, {"words": "new"}, {"units": "new", "words": "new"}):
        with pytest.raises(ManualError):
            filled(text, wrong)
    with pytest.raises(ManualError):
        filled(text.replace("<!-- end units -->", ""), {"units": "new"})


def test_a_bar_or_a_line_end_does_not_break_a_table() -> None:
    assert table(("form",), [("`on|off`\nor so",)]) == "| form |\n| --- |\n| `on\\|off` or so |\n"
