"""How a run is terminated: the words of `practice`, `ends` and `end` added up for each of its ends."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from loomwright.model.building.clauses import Written, as_size, as_word, plain, word_of
from loomwright.model.building.register import Register, listed, where
from loomwright.model.things import End, Fuse, Point, Run, Terminal, Unknown
from loomwright.record import Record
from loomwright.source import Span
from loomwright.syntax.tree import Clause, Word

# Words of one kind replace one another: a lug a ferrule, crimped soldered, taped bare, loose tight.
FITTING = ("fitting", "lug", "stud")
KINDS: tuple[tuple[str, ...], ...] = (
    FITTING,
    *((kind,) for kind in ("made", "cover", "held", "with", "clip", "entry")),
)
LAID = {
    "clip": "how far from their ends the cables are held first",
    "entry": "from where the cables come into what stands in the wet",
}
"""Of an end what is looked at on all of them together, where nobody has said it of one."""


@dataclass(slots=True)
class Terms:
    """What has been said of one end so far, later words over earlier ones; `span` is the last clause that spoke."""

    parts: dict[str, Any] = field(default_factory=dict)
    span: Span | None = None
    unseen: bool = False

    def say(self, clause: Clause) -> None:
        self.span = clause.span
        missing = word_of(clause)
        self.unseen = missing == "unknown" or self.unseen
        if missing:
            self.parts = {"fitting": "none"} if missing == "none" else {}
            return
        for kind in KINDS:
            if any(part in clause.parts for part in kind):
                for part in kind:
                    self.parts.pop(part, None)
                    if part in clause.parts:
                        self.parts[part] = clause.parts[part]


def terminate(register: Register, run: Run, side: str, point: Point | Fuse, clauses: Iterable[Clause]) -> End:
    """An end from all clauses that speak of it, the most general first."""
    terms = Terms()
    for clause in clauses:
        terms.say(clause)
    span = terms.span or run.span
    spot = f"{run.name} at {'its fuse' if isinstance(point, Fuse) else point.name}"

    def part(name: str, says: str) -> Any:
        found = terms.parts.get(name)
        return Unknown(says.format(spot), span) if found is None else plain(found)

    def laid(name: str) -> Any:
        if name in terms.parts:
            return plain(terms.parts[name])
        if terms.unseen:
            return Unknown(f"{spot}: its first clip and its way in", span)
        return register.unwritten(LAID[name], span) if register.as_found else None

    lug_size, lug_thread = _lug(terms.parts, spot, span)
    return End(
        run,
        side,
        point,
        fitting=_fitting(terms.parts) or Unknown(f"the fitting of {spot}", span),
        lug_size=lug_size,
        lug_thread=lug_thread,
        made=part("made", "how {} is made"),
        cover=part("cover", "how {} is covered"),
        held=part("held", "whether {} is tight"),
        clip=laid("clip"),
        entry=laid("entry"),
        shares_with=plain(terms.parts.get("with")),
        span=span,
    )


def _fitting(parts: Mapping[str, Any]) -> str | None:
    return plain(parts.get("fitting")) or ("lug" if "lug" in parts else None)


def _lug(parts: Mapping[str, Any], spot: str, span: Span) -> tuple[Any, Any]:
    """Barrel size and hole; both None where there is no lug, as at a twisted end."""
    fitting = _fitting(parts)
    if fitting is None and plain(parts.get("made")) != "twisted":
        return Unknown(f"the lug of {spot}", span), Unknown(f"the hole of the lug of {spot}", span)
    if fitting != "lug":
        return None, None
    size = as_size(parts.get("lug")) or Unknown(f"the barrel of the lug of {spot}", span)
    hole = plain(parts.get("stud")) or Unknown(f"the hole of the lug of {spot}", span)
    return size, hole


# ---------------------------------------------------------------- which clauses speak of which end


class EndClauses(Record):
    """All `ends` and `end` clauses of a run: `general` for every end, `at` by the word that names one."""

    general: tuple[Clause, ...]
    fuse: tuple[Clause, ...]
    at: Mapping[str, tuple[Clause, ...]]

    def of(self, point: Point) -> Iterator[Clause]:
        yield from self.general
        yield from self.at.get(point.name, ())
        if isinstance(point, Terminal) and point.label:
            yield from self.at.get(point.device.name, ())  # a circuit may name its load


def end_clauses(
    register: Register, layers: Sequence[Written], points: Sequence[Point], has_fuse: bool
) -> EndClauses:
    """Sort the clauses of a run (its own layer first, more general ones after) by the end that they speak of.

    Reports an `end` on a point that the run does not reach, and a second `end` on the same.
    """
    own = layers[0]
    names = {point.name for point in points}
    loads = {point.device.name for point in points if isinstance(point, Terminal)}
    at: dict[str, tuple[Clause, ...]] = {}
    for clause in own.all("end"):
        if "at" not in clause.parts:
            register.report(
                clause.span,
                "this 'end' does not say which end",
                "write: end TERMINAL unknown, or: ends unknown",
            )
            continue
        word = as_word(clause.parts["at"])
        if word.text in at:
            first = where(at[word.text][0].span)
            register.report(
                word.span, f"the end of {own.name} at {word.text} is given twice", f"first at {first}"
            )
        elif word.text in names or (own.kind == "circuit" and word.text in loads) or word.text == "fuse":
            at[word.text] = (clause,)
        else:
            _report_stray(register, own, word, names)
    _check_fuse_end(register, own, at, names, has_fuse)
    general = tuple(clause for layer in reversed(layers) for clause in layer.all("ends"))
    fuse = tuple(
        clause
        for layer in reversed(layers)
        for clause in (*layer.all("ends"), *layer.all("end"))
        if clause.keyword.text == "ends" or plain(clause.parts.get("at")) == "fuse"
    )
    return EndClauses(general, fuse, at)


def _report_stray(register: Register, own: Written, word: Word, names: set[str]) -> None:
    device = word.text.partition(".")[0]
    if device in register.declared or not register.fragment:
        register.report(
            word.span, f"{own.name} does not end at {word.text}", f"it ends at {listed(sorted(names))}"
        )


def _check_fuse_end(
    register: Register, own: Written, at: Mapping[str, tuple[Clause, ...]], names: set[str], has_fuse: bool
) -> None:
    if "fuse" in at and "fuse" not in names and not has_fuse and not register.troubles.within(own.whole):
        register.report(
            at["fuse"][0].span, f"{own.name} has no fuse to end at", "write the fuse, or leave this end out"
        )
