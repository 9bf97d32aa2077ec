"""A workshop's own rules: `loomwright.toml`, found upward from the spec.

    rules  = ["house.rules"]          # further rule files, beside this one
    prices = "prices.csv"             # the price list of the parts list and of sizing
    reels  = "reels.csv"              # the cable in stock, for the cut list

    [severities]
    no-isolator = "major"

    [limits]                          # a figure of the workshop's own; the source line names this file
    support-interval = "300 mm"

Every key is known or an error; nothing is silently passed over.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping
from typing import Any

from loomwright.facts.limits import Limit, LimitsError, limit_of
from loomwright.model.files import FileTrouble, project_folder, read_file
from loomwright.record import Record, replace
from loomwright.rulebook.finding import SEVERITIES
from loomwright.rulebook.load import Rulebook
from loomwright.source import Problem, Source, Span
from loomwright.syntax.hints import listed, nearest, quoted

NAME = "loomwright.toml"
KEYS = ("rules", "prices", "reels", "severities", "limits")


class Changes(Record):
    """What a workshop's file changes of the book: limits and classes, by name."""

    path: str
    limits: tuple[str, ...]
    severities: tuple[str, ...]


class House(Record):
    """What `loomwright.toml` says. Paths are as they can be opened; `problems` are what could not be taken from it."""

    rules: tuple[str, ...] = ()
    prices: str | None = None
    reels: str | None = None
    severities: Mapping[str, str] | None = None
    limits: Mapping[str, str] | None = None
    source: Source | None = None
    problems: tuple[Problem, ...] = ()

    @property
    def changes(self) -> Changes | None:
        """What it changes of the book; None where that is nothing."""
        limits, severities = tuple(self.limits or ()), tuple(self.severities or ())
        changed = self.source is not None and bool(limits or severities)
        return Changes(self.source.path, limits, severities) if changed and self.source else None

    def limited(self, limits: Mapping[str, Limit]) -> tuple[Mapping[str, Limit], tuple[Problem, ...]]:
        """The limits with the workshop's own figures in place."""
        if not self.limits or self.source is None:
            return limits, ()
        own, problems = dict(limits), []
        for name, text in self.limits.items():
            span = _place(self.source, name)
            if name not in limits:
                problems.append(_unknown(span, f"there is no limit {quoted(name)}", name, limits))
                continue
            try:
                own[name] = limit_of(name, text, limits[name], self.source.path)
            except LimitsError as error:
                problems.append(Problem(span, str(error)))
        return own, tuple(problems)

    def judged(self, book: Rulebook) -> Rulebook:
        """The rule book with the workshop's classes of severity; problems of the two together."""
        if not self.severities or self.source is None:
            return Rulebook(book.rules, (*self.problems, *book.problems))
        known = [rule.name for rule in book.rules]
        problems = [
            _unknown(_place(self.source, name), f"there is no rule {quoted(name)}", name, known)
            for name in self.severities
            if name not in known
        ]
        rules = tuple(
            replace(rule, severity=self.severities[rule.name], severities=())
            if rule.name in self.severities
            else rule
            for rule in book.rules
        )
        return Rulebook(rules, (*self.problems, *problems, *book.problems))


def house_of(spec: str) -> House:
    """The house rules that hold for a spec at this path; none where no `loomwright.toml` lies upward of it."""
    path = os.path.join(project_folder(spec), NAME)
    if not os.path.isfile(path):
        return House()
    shown = os.path.relpath(path)
    try:
        return house_in(read_file(path), path if shown.startswith("..") else shown)
    except FileTrouble as trouble:
        source = Source(path, "")
        return House(source=source, problems=(Problem(source.span(0, 0), str(trouble)),))


def house_in(text: str, path: str) -> House:
    """The house rules that a text states."""
    import tomllib

    source = Source(path, text)
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        return House(source=source, problems=(_toml_problem(source, str(error)),))
    problems: list[Problem] = []
    for key in table:
        if key not in KEYS:
            problems.append(_unknown(_place(source, key), f"{NAME} has no key {quoted(key)}", key, KEYS))
    folder = os.path.dirname(path)
    rules = _texts(table, "rules", source, problems)
    prices, reels = (_texts(table, key, source, problems) for key in ("prices", "reels"))
    severities = _table(table, "severities", source, problems)
    for rule, severity in list(severities.items()):
        if severity not in SEVERITIES:
            hint = f"write {listed(SEVERITIES)}"
            problems.append(
                Problem(_place(source, rule), f"{quoted(severity)} is no class of severity", hint)
            )
            del severities[rule]
    return House(
        rules=_found(rules, folder, source, "rules", problems),
        prices=next(iter(_found(prices, folder, source, "prices", problems)), None),
        reels=next(iter(_found(reels, folder, source, "reels", problems)), None),
        severities=severities,
        limits=_table(table, "limits", source, problems),
        source=source,
        problems=tuple(problems),
    )


def _texts(table: Mapping[str, Any], key: str, source: Source, problems: list[Problem]) -> tuple[str, ...]:
    value = table.get(key, [])
    texts = value if key == "rules" or value == [] else [value]
    if not isinstance(texts, list) or not all(isinstance(text, str) for text in texts):
        wanted = (
            'a list of file names, such as ["house.rules"]' if key == "rules" else "one file name in quotes"
        )
        problems.append(Problem(_place(source, key), f"`{key}` must be {wanted}"))
        return ()
    return tuple(texts)


def _table(table: Mapping[str, Any], key: str, source: Source, problems: list[Problem]) -> dict[str, str]:
    value = table.get(key, {})
    if not isinstance(value, dict):
        problems.append(Problem(_place(source, key), f"`{key}` must be a table: write it as [{key}]"))
        return {}
    for name, text in value.items():
        if not isinstance(text, str):
            problems.append(
                Problem(_place(source, name), f"the value of {quoted(name)} must be a text in quotes")
            )
    return {name: text for name, text in value.items() if isinstance(text, str)}


def _found(
    names: Iterable[str], folder: str, source: Source, key: str, problems: list[Problem]
) -> tuple[str, ...]:
    paths = []
    for name in names:
        path = os.path.join(folder, name)
        if os.path.isfile(path):
            paths.append(path)
        else:
            problems.append(
                Problem(_place(source, key), f"there is no file {quoted(name)} beside {source.path}")
            )
    return tuple(paths)


def _unknown(span: Span, message: str, name: str, known: Iterable[str]) -> Problem:
    names = list(known)
    near = nearest(name, names)
    return Problem(
        span, message, f"did you mean '{near}'?" if near else f"known are {listed(sorted(names), 'and')}"
    )


def _place(source: Source, key: str) -> Span:
    """Where a key stands in the text; the reader of TOML does not tell."""
    found = re.search(rf"^[ \t]*\[?[ \t]*([\"']?){re.escape(key)}\1", source.text, re.MULTILINE)
    if found is None:
        return source.span(0, 0)
    start = found.end() - len(key) - len(found.group(1))
    return source.span(start, start + len(key))


def _toml_problem(source: Source, message: str) -> Problem:
    found = re.search(r"\(at line (\d+), column (\d+)\)", message)
    start = len(source.text)
    if found is not None:
        line, column = int(found.group(1)), int(found.group(2))
        start = min(source.starts[min(line, len(source.starts)) - 1] + column - 1, start)
    words = message.partition(" (at ")[0]
    return Problem(source.span(start, start), f"{words[:1].lower()}{words[1:]}", "this file is TOML")
