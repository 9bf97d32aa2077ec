"""The rules that the specs of a report were held to, for outputs that name every rule and not only those that found something."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping

from loomwright.facts.limits import Limit, load_limits
from loomwright.report.check import Report, Wishes
from loomwright.rulebook.house import House, house_of
from loomwright.rulebook.load import Rulebook, load_rules
from loomwright.rulebook.tree import Rule


def book_for(path: str | None) -> tuple[Rulebook, Mapping[str, Limit]]:
    """The rules and the general limits as the workshop of a spec has them; without a path the program's own.

    A folder stands for the specs in it. The book's problems are those of the workshop's file and limits too.
    """
    if path is not None and os.path.isdir(path):
        path = os.path.join(path, "any.fitout")
    house = House() if path is None else house_of(path)
    limits, wrong = house.limited(load_limits())
    book = house.judged(load_rules(house.rules, limits))
    return Rulebook(book.rules, (*book.problems, *wrong)), limits


def rules_by_file(report: Report, wishes: Wishes) -> dict[str, tuple[Rule, ...]]:
    """Path of each spec that was judged → the rules that it was judged by, in the order of the book."""
    loaded: dict[str | None, Rulebook] = {}
    found: dict[str, tuple[Rule, ...]] = {}
    for file in report.files:
        if file.fragment:
            continue
        folder = os.path.dirname(file.path) or os.curdir if os.path.exists(file.path) else None
        if folder not in loaded:
            loaded[folder], _ = book_for(folder)
        found[file.path] = tuple(rule for rule in loaded[folder] if wishes.wants(rule.name))
    return found


def rules_known(paths: Iterable[str]) -> dict[str, None]:
    """The names of all rules that some specs, or the specs in some folders, are held to, in the order of their books."""
    return {rule.name: None for path in (None, *paths) for rule in book_for(path)[0]}
