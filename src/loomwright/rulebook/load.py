"""The rule book: rule files read, checked and kept."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache, lru_cache

from loomwright import resources
from loomwright.cache import kept
from loomwright.facts.limits import Limit, load_limits
from loomwright.facts.registry import signature
from loomwright.record import Record
from loomwright.rulebook import concessions  # noqa: F401  registers the facts of concessions
from loomwright.rulebook.tree import Rule
from loomwright.source import Problem, Source

RuleText = tuple[str, str, bool]
"""A text of rules: its path as printed, what it says, whether it is the built-in book's."""


class Rulebook(Record):
    """All sound rules in the order of their files, and what is wrong with the others."""

    rules: tuple[Rule, ...]
    problems: tuple[Problem, ...]

    def __iter__(self) -> Iterator[Rule]:
        return iter(self.rules)

    def rule(self, name: str) -> Rule | None:
        return next((rule for rule in self.rules if rule.name == name), None)


def load_rules(paths: Sequence[str] | None = None, limits: Mapping[str, Limit] | None = None) -> Rulebook:
    """The built-in book, and after it the rules of the files in `paths` (a workshop's own).

    Every problem of every file is in the result; a rule with a problem is not. Raises OSError for a file that can't be read.
    """
    import loomwright.facts.all  # noqa: F401  rules are checked against every fact

    sources = [*_built_in(), *(_read(path) for path in paths or ())]
    return rulebook_of(sources, limits)


def rulebook_of(sources: Iterable[RuleText], limits: Mapping[str, Limit] | None = None) -> Rulebook:
    """The rule book of some texts."""
    texts = tuple(sources)
    types = {name: limit.dimension for name, limit in (load_limits() if limits is None else limits).items()}
    return _made_of(texts, tuple(sorted(types.items())), signature())


@lru_cache(maxsize=8)
def _made_of(texts: tuple[RuleText, ...], types: tuple[tuple[str, str], ...], facts: str) -> Rulebook:
    """The book of all that it is made from, kept for all specs that the process checks."""
    key = "\0".join((facts, repr(list(types)), *(str(part) for text in texts for part in text)))
    return Rulebook(*kept("rules", key, lambda: _checked(texts, dict(types))))


@cache
def _built_in() -> tuple[RuleText, ...]:
    folder = resources.folder("rules")
    names = sorted(name for name in os.listdir(folder) if name.endswith(".rules"))
    return tuple((f"rules/{name}", _text(os.path.join(folder, name)), True) for name in names)


def _read(path: str) -> RuleText:
    return path, _text(path), False


def _text(path: str) -> str:
    with open(path, encoding="utf-8", errors="replace") as file:
        return file.read()


def _checked(
    texts: tuple[RuleText, ...], types: Mapping[str, str]
) -> tuple[tuple[Rule, ...], tuple[Problem, ...]]:
    from loomwright.rulebook.build import build_rules

    rules: dict[str, Rule] = {}
    problems: list[Problem] = []
    for path, text, own in texts:
        found, wrong = build_rules(Source(path, text), types, "" if own else path)
        problems += wrong
        for rule in found:
            if rule.name in rules:
                problems.append(_twice(rule, rules[rule.name]))
            rules.setdefault(rule.name, rule)
    return tuple(rules.values()), tuple(sorted(problems, key=Problem.order))


def _twice(rule: Rule, first: Rule) -> Problem:
    where = f"{first.span.source.path}:{first.span.line}"
    return Problem(
        rule.span, f"there is a rule {rule.name} already", f"the first stands at {where}: choose another name"
    )
