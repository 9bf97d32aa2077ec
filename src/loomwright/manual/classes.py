"""The table of what is dangerous, and whose word that is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from loomwright.manual.chapters import chapters_of
from loomwright.manual.data import Judgement, judgements
from loomwright.manual.markdown import ManualError, code, link, table
from loomwright.report.explain import otherwise
from loomwright.rulebook.load import Rulebook

DANGEROUS = "dangerous"
OURS = "our own judgement"


def regions(book: Rulebook) -> Mapping[str, str]:
    return {"dangerous": table(("rule", "dangerous", "by", "because"), _rows(book))}


def _rows(book: Rulebook) -> Iterator[tuple[str, str, str, str]]:
    for chapter in chapters_of(book):
        for rule in chapter.rules:
            when = can_be_dangerous(rule.severity, otherwise(rule))
            if when:
                judged = _judgement(rule.name)
                by = f"Directive 2014/45/EU Annex I {judged.item}" if judged.item else OURS
                yield link(code(rule.name), f"rules/{chapter.page}", rule.name), when, by, judged.why


def _judgement(rule: str) -> Judgement:
    known = judgements()
    if rule not in known:
        raise ManualError(f"nothing says why {rule} is dangerous: write it in manual/data/classes.toml")
    return known[rule]


def can_be_dangerous(severity: str, others: list[tuple[str, str]]) -> str:
    """When a rule is dangerous: `always`, its conditions, or nothing."""
    if severity == DANGEROUS:
        return "always"
    return " or ".join(f"when {code(condition)}" for name, condition in others if name == DANGEROUS)
