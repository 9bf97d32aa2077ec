"""A comparison as text for the terminal, and as Markdown for a merge request."""

from __future__ import annotations

import re
from collections.abc import Iterator

from loomwright.review.compare import Comparison
from loomwright.review.story import CAUTION, Entry, Section, Story, story

INDENT = "    "


def as_text(comparison: Comparison) -> str:
    """A foreman's list: one thing a line, what changes on it below."""
    told = story(comparison)
    lines = [f"from  {told.old}", f"to    {told.new}", ""]
    lines += (f"{label.ljust(10)}{words}" for label, words in told.brief)
    for section in told.sections:
        lines += ["", f"{section.title} ({len(section.entries)})"]
        lines += (line for entry in section.entries for line in _entry(entry))
        if section.remark:
            lines.append(f"{INDENT}({section.remark})")
    return "\n".join(lines) + "\n"


def _entry(entry: Entry) -> Iterator[str]:
    yield f"{INDENT}{entry.head}{': ' if entry.words else ''}{entry.words}"
    width = max((len(line.label) for line in entry.lines), default=0)
    for line in entry.lines:
        yield f"{INDENT * 2}{line.label.ljust(width)}  {line.old} → {line.new}"


# ---------------------------------------------------------------- Markdown


def as_markdown(comparison: Comparison) -> str:
    """For a merge request: in short, what must not be missed, and the rest folded."""
    told = story(comparison)
    lines = [f"**{escaped(told.old)}** → **{escaped(told.new)}**", "", *_brief_rows(told)]
    for section in told.sections:
        lines += ["", *(_open(section) if section.shown else _folded(section))]
    return "\n".join([*lines, "", f"_{CAUTION}_"]) + "\n"


def _brief_rows(told: Story) -> Iterator[str]:
    yield from ("| | |", "| --- | --- |")
    yield from (f"| {label} | {escaped(words)} |" for label, words in told.brief)


def _open(section: Section) -> Iterator[str]:
    yield f"#### {escaped(section.title)}"
    yield ""
    for entry in section.entries:
        changes = "; ".join(f"{escaped(x.label)} {escaped(x.old)} → {escaped(x.new)}" for x in entry.lines)
        yield f"- **{escaped(entry.head)}** {escaped(entry.words)}{f' ({changes})' if changes else ''}"


def _folded(section: Section) -> Iterator[str]:
    yield f"<details><summary>{escaped(section.title)} ({len(section.entries)})</summary>"
    yield ""
    if section.remark:
        yield from (escaped(section.remark), "")
    yield from _table(section)
    yield from ("", "</details>")


def _table(section: Section) -> Iterator[str]:
    if not any(entry.lines for entry in section.entries):
        yield from (
            f"- **{escaped(entry.head)}** {escaped(entry.words)}".rstrip() for entry in section.entries
        )
        return
    yield from ("| | | was | becomes |", "| --- | --- | --- | --- |")
    for entry in section.entries:
        for number, line in enumerate(entry.lines):
            head = "" if number else f"**{escaped(entry.head)}**"
            yield f"| {head} | {escaped(line.label)} | {escaped(line.old)} | {escaped(line.new)} |"


def escaped(text: str) -> str:
    """Text as Markdown shows it, on one line, with nothing in it that marks up or mentions anybody."""
    flat = " ".join(text.split())
    marked = re.sub(r"([\\`*_{}\[\]<>#|~$])", r"\\\1", flat)
    return marked.replace("@", "&#64;").replace("&", "&amp;").replace("&amp;#64;", "&#64;")
