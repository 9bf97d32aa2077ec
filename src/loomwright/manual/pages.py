"""All pages of the manual: which are made as a whole, and which have tables put into what is written by hand."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping

from loomwright.manual import chapters, classes, facts, index, language, limits, rule_language
from loomwright.manual.markdown import ManualError, filled
from loomwright.rulebook.load import Rulebook, load_rules

UNREADABLE = (OSError, ManualError)

WITH_TABLES: Mapping[str, Callable[[Rulebook], Mapping[str, str]]] = {
    "language.md": language.regions,
    "rule-language.md": rule_language.regions,
    "severities.md": classes.regions,
}
"""Pages written by hand, and the tables that are made for each."""


def whole_pages(book: Rulebook) -> Iterator[tuple[str, str]]:
    """Pages that are made as a whole: path within the manual, text."""
    yield "facts.md", facts.page_of_facts()
    yield "limits.md", limits.page_of_limits()
    yield "rules/README.md", index.page_of_rules(book)
    for chapter in chapters.chapters_of(book):
        yield f"rules/{chapter.page}", chapters.page_of(chapter)


def pages(folder: str) -> dict[str, str]:
    """Every page that is made, by its path in the manual's folder. Raises OSError, and ManualError for what can't be made."""
    book = load_rules()
    for problem in book.problems:
        raise ManualError(f"{problem.span.source.path}:{problem.span.line}: {problem.message}")
    made = dict(whole_pages(book))
    for path, regions in WITH_TABLES.items():
        try:
            made[path] = filled(_read(folder, path), regions(book))
        except ManualError as error:
            raise ManualError(f"{path}: {error}") from None
    return made


def stale(folder: str) -> dict[str, str | None]:
    """The pages that are not as they would be made now, with their new text; None for one that has no rules any more."""
    made: dict[str, str | None] = dict(pages(folder))
    for name in sorted(os.listdir(os.path.join(folder, "rules"))) if _has(folder, "rules") else ():
        made.setdefault(f"rules/{name}", None)
    return {path: text for path, text in sorted(made.items()) if text is None or _old(folder, path) != text}


def write(folder: str, changed: Mapping[str, str | None]) -> None:
    """Put pages in place; a page that is None is taken away."""
    for path, text in changed.items():
        target = os.path.join(folder, path)
        if text is None:
            os.remove(target)
            continue
        os.makedirs(os.path.dirname(target), exist_ok=True)
        with open(target, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)


def _has(folder: str, name: str) -> bool:
    return os.path.isdir(os.path.join(folder, name))


def _read(folder: str, path: str) -> str:
    with open(os.path.join(folder, path), encoding="utf-8", newline="") as file:
        return file.read()


def _old(folder: str, path: str) -> str | None:
    try:
        return _read(folder, path)
    except FileNotFoundError:
        return None
