"""What is not the same in two specs, thing by thing; and the way back from that to the second of them."""

from __future__ import annotations

from loomwright.record import Record
from loomwright.review.items import NAMED_BY_FIELDS, Data, Fields, Key, Names, Value, in_order, renamed
from loomwright.review.naming import new_names

# The order in which the fields of a thing are told; any other comes after, by its name.
FIELDS = (
    "title", "stage", "in", "chemistry", "capacity", "rated", "draws", "from", "to", "return", "cable", "conductor", "along", "fuse", "joint",
    "sleeve", "clips", "slack", "clearance", "bend", "ends", "end at start", "end into fuse", "end out of fuse", "end at far side",
)  # fmt: skip


class Item(Record):
    """A thing that only one of the specs has."""

    kind: str
    name: str
    fields: Fields


class Change(Record):
    """One field of a thing in both; None where it says nothing of it."""

    field: str
    old: Value | None
    new: Value | None


class Changed(Record):
    """A thing of both specs that has another name, other fields, or both."""

    old: Item
    new: Item
    changes: tuple[Change, ...]

    @property
    def kind(self) -> str:
        return self.new.kind

    @property
    def name(self) -> str:
        return self.new.name

    @property
    def renamed(self) -> bool:
        """Whether it got a name of its own choosing: what is named by its fields follows them."""
        return self.old.name != self.new.name and self.kind not in NAMED_BY_FIELDS


class Changes(Record):
    """Ordered by kind and name. `names` gives the new names; `same` are the things that nothing changed, by old and new key."""

    removed: tuple[Item, ...] = ()
    added: tuple[Item, ...] = ()
    changed: tuple[Changed, ...] = ()
    same: tuple[tuple[Key, Key], ...] = ()

    @property
    def names(self) -> Names:
        return {(each.kind, each.old.name): each.name for each in self.changed if each.renamed}

    def __bool__(self) -> bool:
        return bool(self.removed or self.added or self.changed)


def changes_of(old: Data, new: Data) -> Changes:
    """What became of each thing of `old` in `new`."""
    names = new_names(old, new)
    before = renamed(old, names)
    own = dict(zip(before, old, strict=True))  # the rows keep their order
    changed, same = [], []
    for key in in_order(before.keys() & new.keys()):
        rows = _changes(before[key], new[key], old[own[key]])
        each = Changed(Item(*own[key], old[own[key]]), Item(*key, new[key]), rows)
        if rows or each.renamed:
            changed.append(each)
        else:
            same.append((own[key], key))
    return Changes(
        removed=tuple(Item(*own[key], old[own[key]]) for key in in_order(before.keys() - new.keys())),
        added=tuple(Item(*key, new[key]) for key in in_order(new.keys() - before.keys())),
        changed=tuple(changed),
        same=tuple(same),
    )


def _changes(before: Fields, after: Fields, words: Fields) -> tuple[Change, ...]:
    """`words` are the old fields with the names that they had."""
    labels = sorted(
        {*before, *after}, key=lambda label: (FIELDS.index(label) if label in FIELDS else len(FIELDS), label)
    )
    return tuple(
        Change(label, words.get(label), after.get(label))
        for label in labels
        if before.get(label) != after.get(label)
    )
