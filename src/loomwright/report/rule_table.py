"""The rule book as a table: as text, JSON or Markdown."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from typing import Any

from loomwright.rulebook.tree import Rule


def as_text(rules: Sequence[Rule]) -> str:
    """One line a rule: name, class, title."""
    names = max((len(rule.name) for rule in rules), default=0)
    lines = [f"{rule.name.ljust(names)}  {rule.severity.ljust(9)}  {rule.title}" for rule in rules]
    return "\n".join([*lines, "", f"{len(rules)} rules; 'loomwright explain RULE' tells one in full"]) + "\n"


def as_markdown(rules: Sequence[Rule]) -> str:
    rows = (
        f"| `{rule.name}` | {rule.severity} | {_cell(rule.title)} | {_cell('; '.join(rule.sources))} |"
        for rule in rules
    )
    return (
        "\n".join(["| rule | class | what is wrong | sources |", "| --- | --- | --- | --- |", *rows]) + "\n"
    )


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def as_data(rule: Rule) -> dict[str, Any]:
    say, why, do = rule.texts
    return {
        "name": rule.name,
        "severity": rule.severity,
        "title": rule.title,
        "file": rule.span.source.path,
        "line": rule.span.line,
        "say": say,
        "why": why,
        "do": do,
        "sources": list(rule.sources),
    }


def as_json(rules: Sequence[Rule]) -> str:
    return (
        json.dumps({"version": 1, "rules": [as_data(rule) for rule in rules]}, ensure_ascii=False, indent=1)
        + "\n"
    )


FORMS: dict[str, Callable[[Sequence[Rule]], str]] = {
    "text": as_text,
    "json": as_json,
    "markdown": as_markdown,
}
