"""A comparison in words: sections of entries, from which text, Markdown and the page are laid out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import inf

from loomwright.quantity import decimal, pretty
from loomwright.record import Record
from loomwright.review.changes import Changed, Item
from loomwright.review.compare import Comparison, Cost, Found, Moved
from loomwright.review.items import say
from loomwright.review.measures import STEPS_SAID, Copper
from loomwright.review.rework import PIECES, Rework, rework
from loomwright.syntax.forms import RUNS

UNKNOWN = "not known"
KIND_WORDS = {"earthpoint": "earth point", "fitout": "head of the file"}
FIGURES = ("chemistry", "capacity", "rated", "peak", "input", "output", "draws")  # what a device is called by
CAUTION = (
    "Local codes and licensed practice come first. Mains wiring is a boundary: licensed electrician only."
    " Isolate and prove dead before anything is undone."
)


class Line(Record):
    """One thing that is not as it was."""

    label: str
    old: str
    new: str


class Entry(Record):
    """A thing, in a few words; then what changed on it, or more words."""

    head: str
    words: str = ""
    lines: tuple[Line, ...] = ()


class Section(Record):
    """`shown` is for sections that a reviewer must not miss: they are never folded."""

    title: str
    entries: tuple[Entry, ...]
    remark: str = ""
    shown: bool = False


class Story(Record):
    """`brief` says in pairs of label and words what all comes to."""

    old: str
    new: str
    brief: tuple[tuple[str, str], ...]
    sections: tuple[Section, ...]


def story(comparison: Comparison) -> Story:
    """The comparison as a foreman would tell it."""
    plan = rework(comparison.changes)
    sections = (
        *_findings_first(comparison),
        *_work(plan, comparison),
        *_numbers(comparison),
        *_findings_last(comparison),
    )
    return Story(
        old=f"{comparison.old.title} ({comparison.old.label})",
        new=f"{comparison.new.title} ({comparison.new.label})",
        brief=tuple(_brief(comparison, plan)),
        sections=tuple(section for section in sections if section.entries),
    )


# ---------------------------------------------------------------- in short


def _brief(comparison: Comparison, plan: Rework) -> Iterator[tuple[str, str]]:
    if comparison.is_empty:
        yield "changes", "none"
    pieces = (
        (plan.remove, "out"),
        (plan.replace, "replaced"),
        (plan.alter, "altered"),
        (plan.new, "new"),
        (plan.keep, "stay"),
    )
    if comparison.changes:
        yield "pieces", ", ".join(f"{len(rows)} {word}" for rows, word in pieces)
    found = comparison.findings
    parts = ((found.new, "new"), (found.gone, "gone"), ([each.new for each in found.still], "still there"))
    yield "findings", "; ".join(f"{len(rows)} {word}{_classes(rows)}" for rows, word in parts)
    yield "copper", _copper(*comparison.copper)
    if any(comparison.cost):
        yield "cost", " → ".join(map(_cost, comparison.cost))


def _cost(cost: Cost | None) -> str:
    if cost is None:
        return "none"
    return f"{cost.amount}{f' and {cost.unpriced} parts without a price' if cost.unpriced else ''}"


def _classes(found: Iterable[Found]) -> str:
    counts: dict[str, int] = {}
    for each in found:
        counts[each.standing] = counts.get(each.standing, 0) + 1
    return f" ({', '.join(f'{count} {name}' for name, count in counts.items())})" if counts else ""


def _copper(old: Copper, new: Copper) -> str:
    change = new.kg - old.kg
    unknown = (
        f"; not known: {', '.join(dict.fromkeys((*old.unknown, *new.unknown)))}"
        if old.unknown or new.unknown
        else ""
    )
    signed = f"{'+' if change > 0 else '−'}{decimal(abs(change), 3)} kg"
    moved = f" → {decimal(new.kg, 3)} kg ({signed})" if abs(change) > 1e-9 else ""
    return f"{decimal(old.kg, 3)} kg{moved}{unknown}"


# ---------------------------------------------------------------- work


def _work(plan: Rework, comparison: Comparison) -> Iterator[Section]:
    yield Section("Take out", tuple(map(_item, plan.remove)))
    yield Section(
        "Replace", tuple(_changed(each, whole=True) for each in plan.replace), "Same name, another piece."
    )
    yield Section("Alter", tuple(map(_changed, plan.alter)))
    yield Section("Fit", tuple(map(_item, plan.new)))
    changes = comparison.changes
    yield Section(
        "Other names",
        tuple(
            Entry(_kind(each.kind), "", (Line("name", each.old.name, each.name),))
            for each in changes.changed
            if each.renamed
        ),
        "The same things.",
    )
    rest = [
        each
        for each in changes.changed
        if each.kind not in PIECES and each.changes and each not in plan.alter
    ]
    yield Section(
        "On paper",
        tuple(map(_changed, sorted((*plan.paper, *rest), key=_paper_order))),
        "Nothing is to be done on the vehicle for it alone.",
    )
    yield Section(
        "No longer in the spec", tuple(_item(each) for each in changes.removed if each.kind not in PIECES)
    )
    yield Section("New in the spec", tuple(_item(each) for each in changes.added if each.kind not in PIECES))


def _paper_order(changed: Changed) -> tuple[bool, str, str]:
    return changed.kind in PIECES, changed.kind, changed.name


def _kind(kind: str) -> str:
    return KIND_WORDS.get(kind, kind)


def _item(item: Item) -> Entry:
    return Entry(f"{_kind(item.kind)} {item.name}".rstrip(), summary(item))


def _changed(changed: Changed, whole: bool = False) -> Entry:
    told = ((change.field, say(change.old), say(change.new)) for change in changed.changes)
    lines = tuple(Line(*words) for words in told if words[1:] != (UNKNOWN, "none"))
    return Entry(
        f"{_kind(changed.kind)} {changed.name}".rstrip(), summary(changed.new) if whole else "", lines
    )


def summary(item: Item) -> str:
    """A thing in a few words: a run by its cable, ends and path, a device by its figures and place."""
    told = {label: say(value) for label, value in item.fields.items()}
    if item.kind in RUNS:
        return f"{told['cable']}, {told['from']} to {told['to']}, {told['along']}"
    if item.kind == "earthpoint":
        return f"{told['thread']} on {told['structure']} in {told['in']}"
    words = [told[label] for label in FIGURES if told.get(label, UNKNOWN) != UNKNOWN]
    if "in" in told:
        return ", ".join([*words, f"in {told['in']}"])
    return "; ".join(f"{label} {text}" for label, text in told.items() if text not in (UNKNOWN, "none"))


# ---------------------------------------------------------------- findings


def _findings_first(comparison: Comparison) -> Iterator[Section]:
    found = comparison.findings
    yield Section("New findings", tuple(_finding(each, with_remedy=True) for each in found.new), shown=True)
    became = [each for each in found.still if each.changed]
    yield Section(
        "Findings of another class",
        tuple(
            Entry(_rule(each.new), each.new.message, (Line("class", each.old.standing, each.new.standing),))
            for each in became
        ),
        shown=True,
    )


def _findings_last(comparison: Comparison) -> Iterator[Section]:
    found = comparison.findings
    yield Section("Findings gone", tuple(map(_finding, found.gone)))
    yield Section("Findings still there", tuple(_finding(each.new) for each in found.still))


def _finding(found: Found, with_remedy: bool = False) -> Entry:
    agreed = f". Conceded: {found.conceded}" if found.conceded else ""
    remedy = f". {found.do}" if with_remedy and found.do and not found.conceded else ""
    return Entry(f"{found.standing}: {_rule(found)}", f"{found.message}{agreed}{remedy}")


def _rule(found: Found) -> str:
    return f"{found.rule} on {', '.join(found.things)}"


# ---------------------------------------------------------------- numbers


def _numbers(comparison: Comparison) -> Iterator[Section]:
    modes = dict.fromkeys(each.mode for each in comparison.figures if each.mode)
    for mode in modes:
        yield Section(f"Figures in mode {mode}", tuple(_moved(comparison.figures, mode)), STEPS_SAID)
    yield Section("Faults", tuple(_moved(comparison.figures, "")), STEPS_SAID)
    cuts = tuple(
        Entry(each.cable, "", (Line("to cut", _metres(each.old), _metres(each.new)),))
        for each in comparison.cuts
    )
    yield Section("Cable to cut", cuts, "Lengths as cut, without waste.")


def _moved(figures: Iterable[Moved], mode: str) -> Iterator[Entry]:
    rows: dict[tuple[str, str], list[Line]] = {}
    for each in figures:
        if each.mode == mode:
            line = Line(each.figure, number(each.old, each.unit), number(each.new, each.unit))
            rows.setdefault((each.kind, each.name), []).append(line)
    for (kind, name), lines in rows.items():
        yield Entry(f"{kind.removesuffix('s')} {name}" if kind != "faults" else name, "", tuple(lines))


def number(value: float | None, unit: str) -> str:
    """A figure in print, a volt with four digits and any other with three."""
    if value is None:
        return UNKNOWN
    if value == inf:
        return "no end"
    return f"{decimal(value, 4 if unit == 'V' else 3)} {pretty(unit)}"


def _metres(value: float | None) -> str:
    return UNKNOWN if value is None else f"{decimal(value)} m"
