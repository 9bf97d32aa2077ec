"""The few forms of Markdown that the manual is written in."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

MADE = "<!-- Made by `python -m loomwright.manual docs`. Edit what it is made from, not this page. -->"
_REGION = re.compile(r"(<!-- begin ([a-z-]+) -->\n).*?(<!-- end \2 -->)", re.DOTALL)
_MARK = re.compile(r"<!-- (begin|end) ([a-z-]+) -->")


class ManualError(ValueError):
    """The manual can't be made; the message says what is missing and where it belongs."""


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table; cells may hold Markdown, and their bars and line ends are made harmless."""
    lines = [heads, ["---"] * len(heads), *([cell(each) for each in row] for row in rows)]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines) + "\n"


def cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")


def code(text: str) -> str:
    """A word of a spec or a rule within a sentence."""
    return f"`{text}`"


def listing(text: str) -> str:
    """Lines of a spec or a rule, as they stand."""
    return f"```\n{text.rstrip()}\n```\n"


def link(text: str, page: str, part: str = "") -> str:
    return f"[{text}]({page}{'#' + anchor(part) if part else ''})"


def anchor(heading: str) -> str:
    """The name under which a heading can be linked to: small letters, digits, hyphens and spaces as hyphens."""
    kept = re.sub(r"[^\w\- ]", "", heading.lower())
    return kept.replace(" ", "-")


def page(title: str, *parts: str) -> str:
    """A page that is made as a whole: parts are parted by an empty line."""
    return "\n\n".join([f"# {title}", MADE, *(part.strip("\n") for part in parts if part.strip())]) + "\n"


def filled(text: str, regions: Mapping[str, str]) -> str:
    """A page written by hand with what is made for it between its marks. Raises ManualError for a mark too few or many."""
    found = [name for _, name, _ in _REGION.findall(text)]
    marks = [name for _, name in _MARK.findall(text)]
    if sorted(found) != sorted(regions) or sorted(marks) != sorted(found * 2):
        raise ManualError(
            f"its marks are for {', '.join(sorted(set(marks))) or 'nothing'},"
            f" and there is {', '.join(sorted(regions)) or 'nothing'} to put there"
        )
    return _REGION.sub(lambda mark: f"{mark[1]}\n{regions[mark[2]].strip()}\n\n{mark[3]}", text)
