"""The way into the rule book: by chapter, by what an inspector sees, by class of severity, by source document."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from loomwright.manual.chapters import chapters_of
from loomwright.manual.data import sights, titles
from loomwright.manual.markdown import ManualError, code, link, page, table
from loomwright.report.explain import otherwise
from loomwright.rulebook.build import PRACTICE
from loomwright.rulebook.finding import SEVERITIES
from loomwright.rulebook.load import Rulebook

INTRODUCTION = """\
What `loomwright check` judges, each rule with its reason, its remedy and its source. A limit that a rule names is a figure
of the limits file that the spec picks: see [limits](../limits.md). What the classes mean, and which of them are our own
judgement: see [severities](../severities.md). Rules of a workshop's own: see [the rule language](../rule-language.md).

No rule replaces the code in force where the vehicle is registered, nor a licensed electrician where mains begins."""

SEEN = """\
What is found with eyes, hands and a lamp, and the rule that the finding will have once it is written into an as-found spec.
Where several rules stand, the spec decides which of them fail."""

BY_SOURCE = """\
A rule stands under every document that it cites. "(from memory)" beside a source says that the document was quoted and not
read: look it up before its clause is held against anybody."""


def page_of_rules(book: Rulebook) -> str:
    places = {rule.name: chapter.page for chapter in chapters_of(book) for rule in chapter.rules}

    def named(names: Iterable[str]) -> str:
        return ", ".join(link(code(name), _place(name, places), name) for name in names)

    chapters = (
        (link(each.title, each.page), each.introduction.partition("\n\n")[0], str(len(each.rules)))
        for each in chapters_of(book)
    )
    seen = ((sight.seen, sight.look, named(sight.rules)) for sight in sights())
    return page(
        "The rule book",
        INTRODUCTION,
        "## Chapters",
        table(("chapter", "about", "rules"), chapters),
        "## What an inspector sees",
        SEEN,
        table(("seen", "looked at or measured", "rule"), seen),
        "## By class of severity",
        table(("class", "rules"), ((name, named(_of_class(book, name))) for name in SEVERITIES)),
        table(("may also be", "rules"), ((name, named(_may_also_be(book, name))) for name in SEVERITIES)),
        "## By source document",
        BY_SOURCE,
        table(("document", "rules"), ((title, named(names)) for title, names in _by_document(book).items())),
    )


def _place(rule: str, places: Mapping[str, str]) -> str:
    if rule not in places:
        raise ManualError(f"there is no rule '{rule}', which manual/data/sights.toml names")
    return places[rule]


def _of_class(book: Rulebook, severity: str) -> Iterator[str]:
    return (rule.name for rule in book if rule.severity == severity)


def _may_also_be(book: Rulebook, severity: str) -> Iterator[str]:
    return (rule.name for rule in book if severity in dict(otherwise(rule)))


def _by_document(book: Rulebook) -> Mapping[str, list[str]]:
    """Rules by the document that they cite, in the order of its title; common practice comes last."""
    found: dict[str, list[str]] = {}
    for rule in book:
        for title in dict.fromkeys(map(document_of, rule.sources)):
            found.setdefault(title, []).append(rule.name)
    order = sorted(found, key=lambda title: (title == PRACTICE, title.casefold()))
    return {title: found[title] for title in order}


def document_of(source: str) -> str:
    """The document that a source line belongs to: the longest known beginning of it. Raises ManualError for none."""
    known = titles()
    begins = [begin for begin in known if source.startswith(begin)]
    if not begins:
        raise ManualError(
            f"no document is known that '{source}' belongs to: name it in manual/data/documents.toml"
        )
    begin = max(begins, key=len)
    return f"{begin}: {known[begin]}" if known[begin] else begin
