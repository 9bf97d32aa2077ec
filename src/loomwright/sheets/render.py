"""The neutral document as one HTML file, as a typeset PDF, and as Markdown."""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from loomwright.record import Entity, values_of
from loomwright.sheets.document import (
    Block,
    Cell,
    Heading,
    Papers,
    Paragraph,
    Sheet,
    Steps,
    Swatch,
    Table,
    plain,
    turned,
)
from loomwright.sheets.dyes import dye

TEMPLATES = os.path.join(os.path.dirname(os.path.abspath(__file__)), "templates")
FONTLESS = re.compile(
    "[\u0700-\u08ff\u0980-\u109f\u1100-\u1cff\u2e80-\u2fff\u3040-\ud7ff\uf900-\ufaff\uff00-\uffef]+|[\U0001f000-\U0010ffff]"
)
"""What no font of the typesetter has: words in the scripts of South and East Asia among others, and pictographs."""
LACKING = "Letters that stand as [U+…] are missing from the fonts of this paper: it gives their numbers in Unicode, and the page shows them."
NARROW = 20
"""Letters: a column that holds more than these wraps, however narrow it was meant to be."""
LAW = (
    "Local codes and licensed practice come first. Mains wiring is shown as a boundary only: licensed electrician only."
    " The figures are worked out from what the spec says; measured results decide."
)


class NoTypesetter(Exception):
    """The PDF needs the extra `pdf`."""


def html(papers: Papers) -> str:
    """One self-contained page: no request leaves it, and it can be read without its script."""
    from markupsafe import Markup

    environment = _environment(autoescape=True)
    environment.filters["css"] = lambda value: Markup(css_string(value or ""))
    environment.filters["svg"] = Markup
    environment.filters["dye"] = dye
    page: str = environment.get_template("page.html.jinja").render(
        papers=papers,
        style=Markup(_template_text("page.css")),
        script=Markup(_template_text("page.js")),
        filters=_filters(papers),
        **_constants(papers),
    )
    return page


def markdown(papers: Papers) -> str:
    environment = _environment(autoescape=False)
    environment.filters["md"] = escape_markdown
    text = environment.get_template("page.md.jinja").render(papers=papers, **_constants(papers))
    return re.sub(r"\n{3,}", "\n\n", text).rstrip() + "\n"


def pdf(papers: Papers) -> bytes:
    """A tagged PDF with bookmarks; the same bytes for the same papers. Raises NoTypesetter without the extra `pdf`."""
    try:
        import typst
    except ImportError:
        raise NoTypesetter("PDF needs typst: python3 -m pip install 'loomwright[pdf]'") from None
    made: bytes = typst.compile(
        _template_text("papers.typ").encode(),
        sys_inputs={"papers": _for_typesetter(papers)},
        ignore_system_fonts=True,
    )
    return made


def revision_line(papers: Papers) -> str:
    """Which text these papers were made from."""
    revision = papers.revision
    tree = "" if revision.clean else ", with changes that are not committed"
    if revision.clean and not revision.rest_clean:
        tree = " (other files of the tree have changes that are not committed)"
    commit = f"commit {revision.commit}{tree}" if revision.commit else "not under version control"
    drawn = f"drawn {revision.drawn}; " if revision.drawn else ""
    return f"{drawn}spec {revision.spec}; {commit}; text fingerprint {revision.fingerprint}"


def mark_of(spec: str) -> str:
    """By what papers are known as those of a spec again, whatever their format: no letters but those that all formats leave alone."""
    return f"papers-of-{hashlib.sha256(spec.encode()).hexdigest()[:16]}"


def foot_line(papers: Papers) -> str:
    """What stands at the foot of every page: which text it was made from, and what comes before it."""
    revision = papers.revision
    commit = f"commit {revision.commit}{'' if revision.clean else ' and changes'}" if revision.commit else ""
    named = filter(None, (revision.spec, f"text {revision.fingerprint}", commit, revision.drawn))
    return f"{'; '.join(named)}. Local codes and licensed practice come first."


def css_string(text: str) -> str:
    """A CSS string literal that can end neither itself nor the style element: all but letters and digits is escaped."""
    return (
        '"'
        + "".join(c if c.isascii() and (c.isalnum() or c in " .,;:-") else f"\\{ord(c):x} " for c in text)
        + '"'
    )


def escape_markdown(text: str) -> str:
    """Text as Markdown shows it, on one line."""
    flat = " ".join(text.split())
    return re.sub(r"([\\`*_{}\[\]<>#|~$])", r"\\\1", flat)


def _environment(autoescape: bool) -> Any:
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(TEMPLATES), autoescape=autoescape, undefined=jinja2.StrictUndefined
    )
    environment.filters["kind"] = lambda value: type(value).__name__
    environment.filters["said"] = said
    return environment


def said(value: Cell) -> str:
    """A cell as plain text."""
    if isinstance(value, (str, tuple)):
        return plain(value)
    return str(getattr(value, "label", None) or getattr(value, "colour", None) or getattr(value, "hint", ""))


def _constants(papers: Papers) -> dict[str, str]:
    line = revision_line(papers)
    return {
        "law": LAW,
        "revision": line,
        "foot": foot_line(papers),
        "mark": mark_of(papers.revision.spec),
    }


def _filters(papers: Papers) -> list[tuple[str, str, list[str]]]:
    """The choices of each filter: places and people that rows and steps name."""
    found: dict[str, dict[str, None]] = {"place": {}, "person": {}}
    for block in (block for sheet in papers.sheets for block in sheet.blocks):
        parts = block.rows if isinstance(block, Table) else block.steps if isinstance(block, Steps) else ()
        for part in parts:
            for name, choices in found.items():
                value = getattr(part, name)
                choices |= dict.fromkeys(value.split(" ") if name == "place" else [value])
    titles = {"place": "Place", "person": "Person"}
    return [(name, titles[name], list(filter(None, choices))) for name, choices in found.items()]


def _data(papers: Papers) -> dict[str, Any]:
    """Papers as plain data for the typesetter; each block and cell says its kind."""
    data: dict[str, Any] = _plain_data(papers)
    constants = {name: in_letters(value) for name, value in _constants(papers).items()}
    return {**data, **constants, "job": f"Job {papers.job}" if papers.job else ""}


def _for_typesetter(papers: Papers) -> str:
    """The data as JSON, with a word on letters that stand as numbers where there are any."""
    data = _data(papers)
    text = json.dumps({**data, "lacking": ""}, ensure_ascii=False)
    return json.dumps({**data, "lacking": LACKING}, ensure_ascii=False) if "[U+" in text else text


def in_letters(text: str) -> str:
    """Text for the typesetter, whose fonts lack pictures and some scripts, so that nothing comes out as an empty box: a
    pictograph stands by its Unicode name, `[wrench]`, and a word by the numbers of its letters, `[U+6728 U+6750]`."""
    return text if text.isascii() else FONTLESS.sub(_spelled, text)


def _spelled(found: re.Match[str]) -> str:
    letters = found.group()
    if letters < "\U0001f000":
        return f"[{' '.join(f'U+{ord(letter):04X}' for letter in letters)}]"
    import unicodedata

    return f"[{unicodedata.name(letters, 'picture').lower()}]"


APART = ((Papers, "sheets"), (Sheet, "blocks"))
"""What is put together for the page, and not field by field."""


def _plain_data(value: Any) -> Any:
    if isinstance(value, str):
        return in_letters(value)
    if isinstance(value, Entity):
        kind = type(value)
        made = {
            name: _plain_data(part) for name, part in values_of(value).items() if (kind, name) not in APART
        }
        made["kind"] = kind.__name__
        if isinstance(value, Swatch):
            made["dye"] = dye(value.colour)
        elif isinstance(value, Papers):
            made["sheets"] = _joined([_plain_data(sheet) for sheet in value.sheets])
        elif isinstance(value, Sheet):
            made["short"] = value.short
            made["blocks"] = [
                {"across": across, "blocks": list(_kept_together(on))} for across, on in turned(value)
            ]
        elif isinstance(value, Table):
            made["shares"], made["heads"] = shares(value), heads(value)
        return made
    if isinstance(value, tuple):
        return [_plain_data(part) for part in value]
    if isinstance(value, Mapping):
        return {key: _plain_data(part) for key, part in value.items()}
    return value


def _joined(sheets: list[Any]) -> list[Any]:
    """The sheets; a short one stands at the end of an upright one before it, with its own title."""
    found: list[Any] = []
    for sheet in sheets:
        last = found[-1]["blocks"][-1] if found and found[-1]["blocks"] else None
        if sheet["short"] and last and not last["across"]:
            title = {"kind": "Title", "title": sheet["title"], "readers": sheet["readers"]}
            last["blocks"] += [title, *(block for part in sheet["blocks"] for block in part["blocks"])]
        else:
            found.append(sheet)
    return found


def _kept_together(blocks: Sequence[Block]) -> Iterator[Any]:
    """The blocks as data; a heading and the paragraphs under it as one that is not parted, nor from a table or steps after them.
    Under a large heading that is one paragraph."""
    at = 0
    while at < len(blocks):
        block, stop = blocks[at], at + 1
        most = 0 if not isinstance(block, Heading) else 1 if block.level < 3 else len(blocks)
        while stop < len(blocks) and stop - at <= most and isinstance(blocks[stop], Paragraph):
            stop += 1
        if stop - at > 1:
            followed = stop < len(blocks) and isinstance(blocks[stop], (Table, Steps))
            yield {"kind": "Together", "sticky": followed, "blocks": _plain_data(blocks[at:stop])}
        else:
            yield _plain_data(block)
        at = stop


def shares(table: Table) -> list[float]:
    """What each column takes of a table's width, by what is written in it; 0 for one that is as wide as its widest cell.

    A text of n letters is given 3 √n of them in a line, so that it wraps the more the longer it is, and a column as much as its
    longest text; no word is broken.
    """
    found = []
    for index, column in enumerate(table.columns):
        texts = [column.title, *(said(row.cells[index]) for row in table.rows)]
        longest = max(map(len, texts))
        word = max(len(word) for text in texts for word in text.split() or [""])
        share = max(word, min(longest, 3 * longest**0.5)) + 2
        fits = column.number or (column.narrow and longest <= NARROW)
        found.append(0.0 if fits else round(share, 1))
    return found


def heads(table: Table) -> list[float]:
    """In how many letters of width the head of a column of figures is set, so that in a table that fills its page a long title
    makes no wide column of short figures; 0 where it may be as wide as it likes."""
    titles = [f"{column.title} {column.unit}".strip() for column in table.columns]
    cells = [max((len(said(row.cells[n])) for row in table.rows), default=0) for n in range(len(titles))]
    least = [max(wide, *map(len, title.split())) + 1 for title, wide in zip(titles, cells, strict=True)]
    given = shares(table)
    if (
        sum(share or max(len(title), low) for share, title, low in zip(given, titles, least, strict=True))
        < 100
    ):
        return [0.0] * len(titles)
    return [
        0.0 if share or len(title) <= low + 2 else float(low)
        for share, title, low in zip(given, titles, least, strict=True)
    ]


def _template_text(name: str) -> str:
    with open(os.path.join(TEMPLATES, name), encoding="utf-8") as file:
        return file.read()
