"""The laws of comparing: a comparison turned round, and the second spec made from the first by what is told."""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.record import replace
from loomwright.review.changes import Change, Changed, Changes
from loomwright.review.compare import Comparison, Cut, Findings, Still, moved_order, still_order
from loomwright.review.items import Data, Fields, Value, in_order, keyed, renamed


def apply(changes: Changes, data: Data) -> Data:
    """The second spec's data from the first's."""
    gone = {(item.kind, item.name) for item in changes.removed}
    kept: Data = {key: fields for key, fields in data.items() if key not in gone}
    rows = dict(renamed(kept, changes.names))
    for each in changes.changed:
        key = each.kind, each.name
        rows[key] = _changed(rows[key], {change.field: change.new for change in each.changes})
    rows |= {(item.kind, item.name): item.fields for item in changes.added}
    return keyed(rows.items())


def _changed(fields: Fields, new: Mapping[str, Value | None]) -> Fields:
    merged = {**fields, **new}
    return {label: value for label, value in merged.items() if value is not None}


def changes_mirrored(changes: Changes) -> Changes:
    """What one would say the other way round."""
    pairs = dict(changes.same)
    turned = {
        (each.kind, each.old.name): Changed(
            each.new, each.old, tuple(Change(c.field, c.new, c.old) for c in each.changes)
        )
        for each in changes.changed
    }
    return Changes(
        removed=changes.added,
        added=changes.removed,
        changed=tuple(turned[key] for key in in_order(turned)),
        same=tuple((pairs[key], key) for key in in_order(pairs)),
    )


def mirrored(comparison: Comparison) -> Comparison:
    """The comparison of the new spec with the old one."""
    one = comparison
    figures = (
        replace(
            each,
            mode=each.old_mode,
            name=each.old_name,
            old_mode=each.mode,
            old_name=each.name,
            old=each.new,
            new=each.old,
        )
        for each in one.figures
    )
    findings = Findings(
        gone=one.findings.new,
        new=one.findings.gone,
        still=tuple(sorted((Still(each.new, each.old) for each in one.findings.still), key=still_order)),
    )
    return Comparison(
        old=one.new,
        new=one.old,
        changes=changes_mirrored(one.changes),
        figures=tuple(sorted(figures, key=moved_order)),
        findings=findings,
        copper=(one.copper[1], one.copper[0]),
        cuts=tuple(Cut(each.cable, each.new, each.old) for each in one.cuts),
        cost=(one.cost[1], one.cost[0]),
    )
