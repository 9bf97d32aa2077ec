"""What becomes of every piece on the vehicle: it comes out, is replaced, altered, stays as it is, or is new."""

from __future__ import annotations

from loomwright.record import Record
from loomwright.review.changes import Change, Changed, Changes, Item
from loomwright.review.items import NONE, NOT_KNOWN, Key
from loomwright.syntax.forms import DEVICES, RUNS

PIECES = (*DEVICES, "earthpoint", *RUNS)
# What makes a piece this one and no other: of a cable its cut and where it lies, of an earth point its stud.
IDENTITY = {
    **dict.fromkeys(RUNS, ("from", "to", "return", "cable", "along")),
    "earthpoint": ("structure", "in", "thread"),
}
# Of a device it is all that is said of it but for this: where it sits and how it is used or set.
ALTERABLE = ("in", "held down", "spaced", "live")
# What is done to the vehicle itself.
OF_PLACES = ("opening", "vents", "mount", "bonded")
ON_PAPER = (
    "note",
    "order",
    "maker",
    "duty",
    "reserve",
    "serves",
    "critical",
    "taken from",
    "bought",
    "label",
    "loom",
)


class Rework(Record):
    """`remove` are pieces of the old spec only, `new` of the new one only. What is in both is replaced by another piece under its
    name, altered, or kept. `paper` holds changes of kept pieces that nothing on the vehicle follows from: a figure that is known
    by now, a note, the maker's own wiring told more exactly."""

    remove: tuple[Item, ...]
    replace: tuple[Changed, ...]
    alter: tuple[Changed, ...]
    new: tuple[Item, ...]
    keep: tuple[Key, ...]
    paper: tuple[Changed, ...]


def rework(changes: Changes) -> Rework:
    """The strip-out and rework list that leads from the old spec to the new one."""
    pieces = [each for each in changes.changed if each.kind in PIECES or _is_work_on_place(each)]
    what = {(each.kind, each.name): _becomes(each) for each in pieces}
    by = {
        word: tuple(each for each in pieces if what[each.kind, each.name] == word)
        for word in ("replace", "alter", "paper")
    }
    stays = [new for _, new in changes.same if new[0] in PIECES]
    return Rework(
        remove=tuple(item for item in changes.removed if item.kind in PIECES),
        new=tuple(item for item in changes.added if item.kind in PIECES),
        keep=(*stays, *((each.kind, each.name) for each in by["paper"])),
        **by,
    )


def _is_work_on_place(changed: Changed) -> bool:
    """Whether a hole gets its grommet or a structure its bond."""
    real = (each for each in changed.changes if NOT_KNOWN not in (each.old, each.new))
    return changed.kind in ("place", "structure") and any(each.field in OF_PLACES for each in real)


def _becomes(changed: Changed) -> str:
    if changed.kind not in PIECES:
        return "alter"
    if "maker" in changed.old.fields and "maker" in changed.new.fields:
        return "paper"
    real = [change for change in changed.changes if not _on_paper(changed.kind, change)]
    if any(_is_identity(changed.kind, change.field) for change in real):
        return "replace"
    return "alter" if real else "paper"


def _on_paper(kind: str, change: Change) -> bool:
    """Whether nothing has to be done for it; what a device is does not change by somebody's finding it out."""
    learnt = NOT_KNOWN in (change.old, change.new)
    nothing = (change.old or NONE) in (NONE, NOT_KNOWN) and (change.new or NONE) in (NONE, NOT_KNOWN)
    found_out = learnt and (kind in DEVICES or _is_identity(kind, change.field))
    return change.field in ON_PAPER or nothing or found_out


def _is_identity(kind: str, field: str) -> bool:
    if kind in IDENTITY:
        return field in IDENTITY[kind]
    return field not in ALTERABLE and not field.startswith("way ")
