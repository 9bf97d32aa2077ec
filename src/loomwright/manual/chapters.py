"""One page a chapter of the rule book: a chapter is a rule file, and its introduction the comment at its head."""

from __future__ import annotations

import os
import re
import textwrap
from collections.abc import Iterator

from loomwright.facts.limits import load_limits
from loomwright.manual.examples import Example, example_of
from loomwright.manual.markdown import code, link, listing, page, table
from loomwright.record import Record
from loomwright.report.explain import limits_in, otherwise
from loomwright.rulebook.finding import Finding
from loomwright.rulebook.load import Rulebook
from loomwright.rulebook.tree import Rule
from loomwright.source import Source

ORDER = (
    "protection", "cable", "earth", "routing", "terminations", "batteries", "charging", "solar", "inverter", "switching",
    "energy", "paper", "readings", "concessions",
)  # fmt: skip
"""Chapters as a person reads them; one that is not among these comes after."""

CHECKS = ("for", "let", "when", "need", "dangerous", "major", "minor")
CLAUSE = re.compile(r"[a-z]+")


class Chapter(Record):
    name: str
    title: str
    introduction: str
    rules: tuple[Rule, ...]

    @property
    def page(self) -> str:
        return f"{self.name}.md"


def chapters_of(book: Rulebook) -> list[Chapter]:
    """The chapters of the book in their order."""
    by_source: dict[Source, list[Rule]] = {}
    for rule in book:
        by_source.setdefault(rule.span.source, []).append(rule)
    made = [_chapter(source, rules) for source, rules in by_source.items()]
    return sorted(made, key=_place)


def _place(chapter: Chapter) -> tuple[int, str]:
    return ORDER.index(chapter.name) if chapter.name in ORDER else len(ORDER), chapter.name


def _chapter(source: Source, rules: list[Rule]) -> Chapter:
    name = os.path.basename(source.path).removesuffix(".rules")
    paragraphs = _head(source.text)
    title, colon, rest = (paragraphs[0] if paragraphs else name).partition(":")
    first = rest.strip() if colon else ""
    words = [first[:1].upper() + first[1:], *paragraphs[1:]]
    return Chapter(name, title.strip(" ."), "\n\n".join(filter(None, words)), tuple(rules))


def _head(text: str) -> list[str]:
    """The paragraphs of the comment that a file begins with."""
    lines = []
    for line in text.split("\n"):
        if not line.startswith("#"):
            break
        lines.append(line[1:].strip())
    return [" ".join(part.split()) for part in "\n".join(lines).split("\n\n") if part.strip()]


def page_of(chapter: Chapter) -> str:
    rows = ((link(code(rule.name), "", rule.name), rule.severity, rule.title) for rule in chapter.rules)
    contents = table(("rule", "class", "what is wrong"), rows)
    about = (
        "Each rule is shown with what it says of its failing example, its check as the rule file has it, and the"
        f" statements in which its two examples differ. How to read a check: {link('the rule language', '../rule-language.md')}."
    )
    return page(chapter.title, chapter.introduction, contents, about, *map(_rule, chapter.rules))


def _rule(rule: Rule) -> str:
    example = example_of(rule.name)
    where = f"../../rules/examples/{rule.name}"
    parts = [
        f"## {rule.name}",
        f"{rule.title}: **{rule.severity}**{_otherwise(rule)}.",
        table(("label", "in the failing example"), _told(rule, example.findings)),
        listing(check_of(rule)),
        f"Fails ({link('whole', f'{where}/fails.fitout')}){_scene(example)}",
        listing(example.fails),
        f"Holds ({link('whole', f'{where}/holds.fitout')}){'' if example.holds else ': without that.'}",
        listing(example.holds) if example.holds else "",
    ]
    return "\n\n".join(part.strip("\n") for part in parts if part)


def _scene(example: Example) -> str:
    return f": {example.scene[:1].lower()}{example.scene[1:]}" if example.scene else ""


def _otherwise(rule: Rule) -> str:
    return "".join(f"; {severity} when {code(condition)}" for severity, condition in otherwise(rule))


def _told(rule: Rule, findings: tuple[Finding, ...]) -> Iterator[tuple[str, str]]:
    """The labels of the text report, with the words of the first finding; then what the rule leans on."""
    finding = findings[0]
    yield "says", finding.message
    yield "why", finding.why
    yield "do", finding.do
    for edit in finding.edits:
        yield "mends", code(" ".join(edit.text.split()))
    for source in rule.sources:
        yield "source", source
    general = load_limits()
    for name in limits_in(rule):
        yield "limit", f"{link(name, '../limits.md', name)} {general[name].text}"


def _text(rule: Rule) -> str:
    """The rule as its file has it, from its name to its closing brace."""
    text = rule.span.source.text
    return text[rule.span.start : text.index("\n}", rule.span.start)]


def check_of(rule: Rule) -> str:
    """The clauses of a rule that decide, with their comments, as the file has them."""
    kept, keeping = [], False
    for line in _text(rule).split("\n")[1:]:
        word = CLAUSE.match(line.strip())
        starts = word is not None and len(line) - len(line.lstrip()) <= 4
        keeping = word is not None and word[0] in CHECKS if starts else keeping
        if keeping and line.strip():
            kept.append(line)
    return textwrap.dedent("\n".join(kept))
