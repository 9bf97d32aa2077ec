"""An installation as plain data: each thing by kind and name, its fields in trade words, values that know what they mean.

Two installations are compared in this form. It holds all that the spec says and nothing of where or in what order the spec says
it: `150mm` and `0.15 m` are one value, and what stands in `practice` is in every run. A value is a row of words, quantities and
names; because names are marked as such, a thing can be given another name in all places at once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping

from loomwright.quantity import show
from loomwright.record import Record, replace
from loomwright.syntax.forms import DEVICES, RUNS


class Amount(Record):
    """A quantity: `si` to twelve digits; the writer's own text says nothing about whether two are the same."""

    si: float
    dimension: str
    text: str

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Amount) and (self.si, self.dimension) == (other.si, other.dimension)

    def __hash__(self) -> int:
        return hash((self.si, self.dimension))


class Named(Record):
    """A thing by kind and name; `rest` is what follows it, such as `.pos` of a terminal."""

    kind: str
    name: str
    rest: str = ""


Atom = str | Amount | Named
Value = tuple[Atom, ...]
Fields = Mapping[str, Value]
Key = tuple[str, str]  # kind and name
Data = dict[Key, Fields]
Names = Mapping[Key, str]  # what gets another name, and which

NONE: Value = ("none",)
NOT_KNOWN: Value = ("not known",)

ON_PAPER = ("fitout", "place", "structure", "mode", "day", "site", "concession", "readings")
KINDS = ("fitout", "place", "structure", *DEVICES, "earthpoint", "loom", "multicore", *RUNS, *ON_PAPER[3:])
NAMED_BY_FIELDS: Mapping[str, tuple[str, ...]] = {
    "concession": ("rule", "on"),
    "readings": ("taken", "in mode"),
}
"""What has no name of its own is named by some of its fields."""


def amount(si: float, dimension: str, text: str = "") -> Amount:
    return Amount(float(f"{si:.12g}") + 0.0, dimension, text or show(si, dimension))


def say(value: Value | None) -> str:
    """A value in print; a field that is not there reads `none`."""
    if value is None:
        return "none"
    return "".join(_said(atom) for atom in _spaced(value))


def _spaced(value: Value) -> Iterator[Atom]:
    """The atoms with a space between, but none before a comma or semicolon."""
    for number, atom in enumerate(value):
        if number and not (isinstance(atom, str) and atom[:1] in ",;"):
            yield " "
        yield atom


def _said(atom: Atom) -> str:
    if isinstance(atom, str):
        return atom
    return atom.text if isinstance(atom, Amount) else f"{atom.name}{atom.rest}"


def listed(values: Iterable[Value], mark: str = ",") -> Value:
    """Values in a row with a mark between; `none` where there is none."""
    row: list[Atom] = []
    for value in values:
        row += (mark, *value) if row else value
    return tuple(row) or NONE


def in_order(keys: Iterable[Key]) -> list[Key]:
    """By kind as a spec has them, then by name."""
    return sorted(keys, key=lambda key: (KINDS.index(key[0]), key[1]))


def keyed(rows: Iterable[tuple[Key, Fields]]) -> Data:
    """Rows by their keys. What has no name of its own gets one from its fields; a second alike one is numbered."""
    data: Data = {}
    for (kind, name), fields in rows:
        parts = NAMED_BY_FIELDS.get(kind)
        name = " on ".join(say(fields.get(part)) for part in parts) if parts else name
        key, number = (kind, name), 1
        while key in data:
            number += 1
            key = (kind, f"{name} ({number})")
        data[key] = fields
    return data


def renamed(data: Data, names: Names) -> Data:
    """The same things with other names, wherever they are named."""
    if not names:
        return data
    rows = (((kind, names.get((kind, name), name)), fields) for (kind, name), fields in data.items())
    return keyed(
        (key, {label: with_names(value, names) for label, value in fields.items()}) for key, fields in rows
    )


def with_names(value: Value, names: Names) -> Value:
    return mapped(value, lambda atom: replace(atom, name=names.get((atom.kind, atom.name), atom.name)))


def mapped(value: Value, change: Callable[[Named], Named]) -> Value:
    """The value with its names changed."""
    return tuple(change(atom) if isinstance(atom, Named) else atom for atom in value)


def same(a: Fields, b: Fields) -> bool:
    return dict(a) == dict(b)
