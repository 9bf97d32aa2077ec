"""The limits side by side: every limits file of the rule book in a column of its own."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from loomwright import resources
from loomwright.facts.limits import Limit, limits_names, load_limits
from loomwright.manual.markdown import code, page, table

INTRODUCTION = """\
The figures that rules call `limit.NAME`. A spec picks a file with `limits NAME` in its `fitout`; a workshop sets figures of its own
in `loomwright.toml`; one that could not be, such as an efficiency above 100 % or a distance below 0, is an error. `general` holds the tightest figure of the codes for a road vehicle; `habitation` is for vehicles that people
sleep in and is nowhere looser; `boats` gives the figures of boat law, for comparison and for small craft. "(from memory)" marks a
figure that is quoted and was not read. A figure that no code gives says "common practice, no source"."""

HEADING = re.compile(r"# -{8,} (.+)")
FIRST = "general"


def page_of_limits() -> str:
    names = sorted(limits_names(), key=lambda name: (name != FIRST, name != "habitation", name))
    files = {name: load_limits(name) for name in names}
    text = resources.text("rules", "limits", f"{FIRST}.toml")
    parts = []
    for heading, sections in _sections(text).items():
        rows = (_row(limit, note, files) for limit, note in sections.items())
        parts += [f"## {heading[:1].upper()}{heading[1:]}", table(("limit", "what it limits", *names), rows)]
    return page("Limits", INTRODUCTION, *parts)


def _sections(text: str) -> dict[str, dict[str, str]]:
    """The names of limits under the headings of the file, each with the comment that stands before it."""
    sections: dict[str, dict[str, str]] = {}
    heading, comment = "", []
    for line in text.split("\n"):
        found = HEADING.fullmatch(line)
        if found:
            heading = found[1]
        elif line.startswith("#"):
            comment.append(line[1:].strip())
        elif line.startswith("["):
            sections.setdefault(heading, {})[line.strip("[]")] = " ".join(comment)
        if not line.startswith("#") or found:
            comment = []
    return sections


def _row(name: str, note: str, files: Mapping[str, Mapping[str, Limit]]) -> tuple[str, ...]:
    general = files[FIRST][name]
    says = f"{general.says} {note}" if note else general.says
    return f'<a id="{name}"></a>{code(name)}', says, *_figures(name, files)


def _figures(name: str, files: Mapping[str, Mapping[str, Limit]]) -> Iterator[str]:
    general = files[FIRST][name]
    for file, limits in files.items():
        limit = limits[name]
        same = file != FIRST and (limit.text, limit.printed_source) == (general.text, general.printed_source)
        yield "the same" if same else f"{limit.text}: {limit.printed_source}"
