"""Which things only have another name: what a name alone does not tell, what joins what does.

A run is the same run when it joins the same terminals. Any other thing is the same when all that is said of it is the same and
the same kinds of things rest on it. A thing that has its namesake in the other spec is never taken for another one, and where
two could be meant, neither is.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from loomwright.record import replace
from loomwright.review.items import (
    Data,
    Fields,
    Key,
    Named,
    Names,
    Value,
    in_order,
    mapped,
    renamed,
    same,
)
from loomwright.syntax.forms import RUNS

UNNAMED = ("fitout", "site", "concession", "readings")
ENDS = ("from", "to", "return")

Uses = Counter[tuple[str, str, str]]  # kind of the user, its field, the rest of the name (".pos")


def new_names(old: Data, new: Data) -> Names:
    """What of `old` has another name in `new`. It is the same the other way round: each new name has one old one."""
    found: dict[Key, str] = {}
    while True:
        before = renamed(old, found)
        kinds = {key[0] for key in before.keys() - new.keys()} - set(UNNAMED)
        pairs = [pair for kind in sorted(kinds) for pair in _pairs(kind, before, new)]
        if not pairs:
            return found
        found |= {(kind, was): name for kind, was, name in pairs}


def _pairs(kind: str, old: Data, new: Data) -> list[tuple[str, str, str]]:
    """Kind, old and new name of what can be no other thing of this kind."""
    gone = in_order(key for key in old.keys() - new.keys() if key[0] == kind)
    come = in_order(key for key in new.keys() - old.keys() if key[0] == kind)
    if not gone or not come:
        return []
    alike = _alike_runs if kind in RUNS else _alike_things
    matches = [(a, b, score) for a in gone for b in come if (score := alike(a, old, b, new))]
    return [(kind, a[1], b[1]) for a, b, score in matches if _is_clear(a, b, score, matches)]


def _is_clear(a: Key, b: Key, score: int, matches: Iterable[tuple[Key, Key, int]]) -> bool:
    """Whether nothing else fits either of the two as well."""
    rivals = ((x, y, other) for x, y, other in matches if (x == a) != (y == b))
    return all(other < score for _, _, other in rivals)


def _alike_runs(a: Key, old: Data, b: Key, new: Data) -> int:
    """2 for the same run in all it is, 1 for one that joins the same points, 0 for another."""
    before, after = old[a], new[b]
    if any(before.get(end) != after.get(end) for end in ENDS):
        return 0
    return 2 if same(before, after) else 1


def _alike_things(a: Key, old: Data, b: Key, new: Data) -> int:
    """How much of what rests on it is the same, and 1; 0 for another thing."""
    if not same(_nameless(old[a], a), _nameless(new[b], b)):
        return 0
    before, after = _uses(a, old), _uses(b, new)
    shared = (before & after).total()
    return 1 + shared if shared or not (before or after) else 0


def _nameless(fields: Fields, key: Key) -> Mapping[str, Value]:
    """Fields in which the thing's own name stands for itself."""
    return {label: mapped(value, lambda atom: _own(atom, key)) for label, value in fields.items()}


def _own(atom: Named, key: Key) -> Named:
    return replace(atom, name="") if (atom.kind, atom.name) == key else atom


def _uses(key: Key, data: Data) -> Uses:
    return Counter(
        (kind, label, atom.rest)
        for (kind, _), fields in data.items()
        for label, value in fields.items()
        for atom in value
        if isinstance(atom, Named) and (atom.kind, atom.name) == key
    )
