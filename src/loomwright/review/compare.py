"""Two specs compared: things, figures, findings, copper, cable to cut and cost."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from loomwright.record import Record
from loomwright.review import changes as ch
from loomwright.review.items import Names
from loomwright.review.measures import (
    STEPS,
    Copper,
    Cord,
    Figure,
    Step,
    copper_of,
    cords_of,
    figures_of,
    has_moved,
)
from loomwright.review.reading import data_of
from loomwright.review.sides import Side
from loomwright.rulebook.finding import Finding


class Head(Record):
    """One of the specs: what the user called it, its title and stage."""

    label: str
    title: str
    stage: str


class Moved(Record):
    """A figure of a thing that both specs have; `mode` (empty for faults) and `name` are the new ones. None where it can't be known."""

    mode: str
    kind: str
    name: str
    old_mode: str
    old_name: str
    figure: str
    unit: str
    old: float | None
    new: float | None


class Found(Record):
    """A finding as it is told: without its place."""

    rule: str
    things: tuple[str, ...]
    severity: str
    rule_severity: str
    message: str
    do: str
    conceded: str

    @property
    def standing(self) -> str:
        """Its class, and whether it is conceded."""
        return f"conceded {self.rule_severity}" if self.conceded else self.severity


class Still(Record):
    """A finding of both specs."""

    old: Found
    new: Found

    @property
    def changed(self) -> bool:
        return self.old.standing != self.new.standing


class Findings(Record):
    gone: tuple[Found, ...] = ()
    new: tuple[Found, ...] = ()
    still: tuple[Still, ...] = ()


class Cut(Record):
    """A kind of cable and the metres of it that are cut; None where a length can't be known."""

    cable: str
    old: float | None
    new: float | None


class Cost(Record):
    """What the parts cost by the price list, in its currency, and how many have no price in it."""

    amount: str
    unpriced: int


Costs = tuple[
    Cost | None, Cost | None
]  # of the old and of the new spec; None where there is nothing to be bought or no list


class Comparison(Record):
    """All that is not the same in two specs, and what is counted of both."""

    old: Head
    new: Head
    changes: ch.Changes
    figures: tuple[Moved, ...]
    findings: Findings
    copper: tuple[Copper, Copper]
    cuts: tuple[Cut, ...]
    cost: Costs = (None, None)

    @property
    def is_empty(self) -> bool:
        """Whether both say the same and come to the same. Findings of today may still be listed as still there."""
        moved = (
            self.figures
            or self.cuts
            or self.findings.gone
            or self.findings.new
            or self.cost[0] != self.cost[1]
        )
        became = any(each.changed for each in self.findings.still)
        return not (self.changes or moved or became)


def compare(
    old: Side, new: Side, steps: Mapping[str, Step] = STEPS, cost: Costs = (None, None)
) -> Comparison:
    """What changed from the old spec to the new one. `steps` are the differences from which a figure counts as moved; `cost` is
    what the caller reckons that the parts cost."""
    changes = ch.changes_of(data_of(old.ledger.installation), data_of(new.ledger.installation))
    return Comparison(
        old=_head(old),
        new=_head(new),
        changes=changes,
        figures=_moved(figures_of(old.ledger), figures_of(new.ledger), changes.names, steps),
        findings=_findings(old.report.findings, new.report.findings, changes.names),
        copper=(copper_of(old.ledger), copper_of(new.ledger)),
        cuts=_cuts(cords_of(old.ledger), cords_of(new.ledger)),
        cost=cost,
    )


def _head(side: Side) -> Head:
    fitout = side.ledger.installation.fitout
    return Head(side.label, fitout.name, fitout.stage)


# ---------------------------------------------------------------- figures


def _moved(
    old: Iterable[Figure], new: Iterable[Figure], names: Names, steps: Mapping[str, Step]
) -> tuple[Moved, ...]:
    """Figures of what both specs have; a mode that only one has is told among the things."""
    plain = {was: name for (_, was), name in names.items()}
    before = {(plain.get(f.mode, f.mode), f.kind, with_new_name(f.name, plain), f.words): f for f in old}
    moved = []
    for figure in new:
        was = before.get((figure.mode, figure.kind, figure.name, figure.words))
        if was is not None and _differs(was, figure, steps):
            here, there = (figure.mode, figure.kind, figure.name), (was.mode, was.name)
            moved.append(Moved(*here, *there, figure.words, figure.unit, was.value, figure.value))
    return tuple(sorted(moved, key=moved_order))


def _differs(old: Figure, new: Figure, steps: Mapping[str, Step]) -> bool:
    if old.value is None or new.value is None:
        return old.value is not new.value
    return has_moved(old.value, new.value, new.unit, steps)


def moved_order(moved: Moved) -> tuple[str, int, str, str]:
    return (
        moved.mode,
        ("loads", "runs", "sources", "terminals", "faults").index(moved.kind),
        moved.name,
        moved.figure,
    )


def with_new_name(name: str, names: Mapping[str, str]) -> str:
    """`crank.pos` with the device's new name."""
    whole, dot, rest = name.partition(".")
    return f"{names.get(whole, whole)}{dot}{rest}"


# ---------------------------------------------------------------- findings


def _findings(old: Iterable[Finding], new: Iterable[Finding], names: Names) -> Findings:
    """By rule and names. Of several alike, those that say the same go together first, then the others in order."""
    plain = {was: name for (_, was), name in names.items()}
    groups: dict[tuple[str, tuple[str, ...]], tuple[list[Found], list[Found]]] = defaultdict(lambda: ([], []))
    for side, findings, given in ((0, old, plain), (1, new, {})):
        for finding in findings:
            things = tuple(with_new_name(thing, given) for thing in finding.things)
            groups[finding.rule, things][side].append(_found(finding))
    gone: list[Found] = []
    come: list[Found] = []
    still: list[Still] = []
    for before, after in groups.values():
        pairs, left, right = _paired(sorted(before, key=_order), sorted(after, key=_order))
        still, gone, come = [*still, *pairs], [*gone, *left], [*come, *right]
    return Findings(
        tuple(sorted(gone, key=_order)),
        tuple(sorted(come, key=_order)),
        tuple(sorted(still, key=still_order)),
    )


def _paired(old: list[Found], new: list[Found]) -> tuple[list[Still], list[Found], list[Found]]:
    pairs = []
    for each in list(old):
        if each in new:
            pairs.append(Still(each, each))
            old.remove(each)
            new.remove(each)
    count = min(len(old), len(new))
    pairs += [Still(*pair) for pair in zip(old[:count], new[:count], strict=True)]
    return pairs, old[count:], new[count:]


def _found(finding: Finding) -> Found:
    agreed = finding.conceded
    reason = (
        f"{agreed.reason} ({agreed.by}{f' until {agreed.until}' if agreed.until else ''})" if agreed else ""
    )
    return Found(
        finding.rule,
        finding.things,
        finding.severity,
        finding.rule_severity,
        finding.message,
        finding.do,
        reason,
    )


def _order(found: Found) -> tuple[int, str, tuple[str, ...], str, str]:
    worst = ("dangerous", "major", "minor", "unproven").index(found.severity)
    return worst + 4 * bool(found.conceded), found.rule, found.things, found.message, found.do


def still_order(still: Still) -> tuple[object, ...]:
    return _order(still.new), _order(still.old)


# ---------------------------------------------------------------- cable


def _cuts(old: Iterable[Cord], new: Iterable[Cord]) -> tuple[Cut, ...]:
    before, after = _metres(old), _metres(new)
    rows = (Cut(cable, before.get(cable, 0.0), after.get(cable, 0.0)) for cable in sorted({*before, *after}))
    return tuple(cut for cut in rows if cut.old != cut.new)


def _metres(cords: Iterable[Cord]) -> dict[str, float | None]:
    total: dict[str, float | None] = {}
    for cord in cords:
        so_far = total.get(cord.cable, 0.0)
        total[cord.cable] = None if so_far is None or cord.metres is None else round(so_far + cord.metres, 3)
    return total
