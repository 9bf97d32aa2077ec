"""The rules that the specs of a report were held to, for outputs that name every rule and not only those that found something."""

from __future__ import annotations

import os
from collections.abc import Sequence

from loomwright.report.check import Report, Wishes
from loomwright.rulebook.house import House, house_of
from loomwright.rulebook.load import load_rules
from loomwright.rulebook.tree import Rule


def rules_by_file(report: Report, wishes: Wishes) -> dict[str, tuple[Rule, ...]]:
    """Path of each spec that was judged → the rules that it was judged by, in the order of the book."""
    loaded: dict[tuple[str, ...], Sequence[Rule]] = {}
    found: dict[str, tuple[Rule, ...]] = {}
    for file in report.files:
        if file.fragment:
            continue
        house = house_of(file.path) if os.path.exists(file.path) else House()
        if house.rules not in loaded:
            loaded[house.rules] = load_rules(house.rules).rules
        found[file.path] = tuple(rule for rule in loaded[house.rules] if wishes.wants(rule.name))
    return found
