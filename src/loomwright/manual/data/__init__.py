"""What the manual knows beside the rules: what an inspector sees, the documents that are cited, why a class is what it is."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Mapping
from functools import cache
from typing import Any

from loomwright.record import Record

FOLDER = os.path.dirname(__file__)


class Sight(Record):
    """`seen` on the vehicle, what to `look` at or measure, and the rules that it falls under."""

    seen: str
    look: str
    rules: tuple[str, ...]


class Judgement(Record):
    """Why a rule is, or can be, dangerous: the Directive's item (empty: none names it), and whose word the class is."""

    rule: str
    item: str
    why: str


@cache
def sights() -> tuple[Sight, ...]:
    rows: list[dict[str, Any]] = _table("sights.toml")["sight"]
    return tuple(Sight(row["seen"], row["look"], tuple(row["rules"])) for row in rows)


@cache
def titles() -> Mapping[str, str]:
    """What each document is, by the words that its citations begin with."""
    return dict(_table("documents.toml")["documents"])


@cache
def judgements() -> Mapping[str, Judgement]:
    rows: dict[str, dict[str, str]] = _table("classes.toml")
    return {rule: Judgement(rule, row["item"], row["why"]) for rule, row in rows.items()}


def _table(name: str) -> dict[str, Any]:
    with open(os.path.join(FOLDER, name), "rb") as file:
        return tomllib.load(file)
