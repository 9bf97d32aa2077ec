"""The tables of the rule language, from its parser and the registry of facts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from loomwright.facts.registry import FACTS
from loomwright.facts.types import KIND_NAMES, WIDER
from loomwright.manual.markdown import code, link, listing, table
from loomwright.rulebook.load import Rulebook
from loomwright.rulebook.parse import FORMS
from loomwright.rulebook.subjects import can_be_asked, parents_of
from loomwright.rulebook.tree import Rule

SHOWN = "fuse-too-far"
"""The rule that the page shows whole: it has a clause of nearly every kind."""


def regions(book: Rulebook) -> Mapping[str, str]:
    shown = book.rule(SHOWN)
    assert shown is not None, SHOWN
    return {"clauses": _clauses(), "kinds": _kinds(), "example": listing(whole(shown))}


def whole(rule: Rule) -> str:
    """A rule as its file has it."""
    text = rule.span.source.text
    start = text.rindex("\n", 0, rule.span.start) + 1
    return text[start : text.index("\n}", start) + 2]


def _clauses() -> str:
    return table(("clause", "forms"), ((code(word), code(form)) for word, form in FORMS.items()))


def _kinds() -> str:
    counts = Counter(kind for kind, _ in FACTS)
    rows = (
        (
            link(code(kind), "facts.md", kind) if counts[kind] else code(kind),
            ", ".join(WIDER.get(kind, (kind,))[1:]),
            ", ".join(parents_of(kind)),
            str(counts[kind]),
        )
        for kind in sorted(KIND_NAMES)
        if can_be_asked(kind)
    )
    return table(("kind", "is also a", "may be `of` a", "facts of its own"), rows)
