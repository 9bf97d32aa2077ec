"""A comparison as JSON, version 1: the form that other programs may rely on."""

from __future__ import annotations

import json
from math import inf
from typing import Any

from loomwright.record import values_of
from loomwright.review.changes import Changed, Item
from loomwright.review.compare import Comparison, Found
from loomwright.review.items import Amount, Value, say
from loomwright.review.measures import COPPER_KG_M3
from loomwright.review.rework import rework


def as_json(comparison: Comparison) -> str:
    return json.dumps(as_data(comparison), ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def as_data(comparison: Comparison) -> dict[str, Any]:
    """The comparison as plain data; see docs/review.md for each field."""
    plan, found = rework(comparison.changes), comparison.findings
    old, new = comparison.copper
    return {
        "version": 1,
        "old": values_of(comparison.old),
        "new": values_of(comparison.new),
        "same": comparison.is_empty,
        "removed": [_item(item) for item in comparison.changes.removed],
        "added": [_item(item) for item in comparison.changes.added],
        "changed": [_changed(each) for each in comparison.changes.changed],
        "rework": {
            "remove": [_name(each) for each in plan.remove],
            "replace": [_name(each.new) for each in plan.replace],
            "alter": [_name(each.new) for each in plan.alter],
            "new": [_name(each) for each in plan.new],
            "keep": [{"kind": kind, "name": name} for kind, name in plan.keep],
        },
        "figures": [
            {
                **values_of(each),
                "mode": each.mode or None,
                "old_mode": each.old_mode or None,
                "kind": each.kind.removesuffix("s"),
                "old": _finite(each.old),
                "new": _finite(each.new),
                "no_end": [side for side in ("old", "new") if getattr(each, side) == inf],
            }
            for each in comparison.figures
        ],
        "findings": {
            "gone": [_found(each) for each in found.gone],
            "new": [_found(each) for each in found.new],
            "still": [{**_found(each.new), "was": each.old.standing} for each in found.still],
        },
        "copper": {
            "kg_per_m3": COPPER_KG_M3,
            "old_kg": round(old.kg, 6),
            "new_kg": round(new.kg, 6),
            "old_unknown": list(old.unknown),
            "new_unknown": list(new.unknown),
        },
        "cuts": [{"cable": each.cable, "old_m": each.old, "new_m": each.new} for each in comparison.cuts],
        "cost": dict(
            zip(("old", "new"), (each and values_of(each) for each in comparison.cost), strict=True)
        ),
    }


def _name(item: Item) -> dict[str, str]:
    return {"kind": item.kind, "name": item.name}


def _item(item: Item) -> dict[str, Any]:
    return {**_name(item), "fields": {label: _value(value) for label, value in item.fields.items()}}


def _changed(changed: Changed) -> dict[str, Any]:
    changes = [
        {"field": each.field, "old": _value(each.old), "new": _value(each.new)} for each in changed.changes
    ]
    return {**_name(changed.new), "old_name": changed.old.name, "changes": changes}


def _value(value: Value | None) -> dict[str, Any] | None:
    """`text` as printed; where it is one quantity also its number in SI and its dimension."""
    if value is None:
        return None
    if len(value) == 1 and isinstance(value[0], Amount):
        return {"text": say(value), "value": value[0].si, "dimension": value[0].dimension}
    return {"text": say(value)}


def _found(found: Found) -> dict[str, Any]:
    return {
        "rule": found.rule,
        "things": list(found.things),
        "severity": found.severity,
        "rule_severity": found.rule_severity,
        "conceded": found.conceded or None,
        "message": found.message,
    }


def _finite(value: float | None) -> float | None:
    return None if value == inf else value
