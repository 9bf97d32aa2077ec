"""The places of a spec where a size or a rating stands, and the spec's text with others in their stead."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping

from loomwright.model.things import Fuse, Installation, Run, Unknown
from loomwright.record import Record, replace
from loomwright.source import Source, Span
from loomwright.stock import conductors, lugs
from loomwright.stock.conductors import bare, labelled
from loomwright.syntax.parse import parse
from loomwright.syntax.tree import Clause, Measure, Number, Size, Statement, Word

RUNS = ("feed", "earth", "circuit", "practice")
AUTO = "auto"


class Slot(Record):
    """One size or rating of the text. `what` is cable or fuse, `owner` the statement's name, or the way of a hub.

    `written` is what stands there, None for `auto`; `kind` the trade's way of a written size, or a stated kind of fuse, None where
    that is open as well. `lugs` follow the size by name, `fitted` those that fit it under another name. `tail` is what a fuse of which nothing is written needs behind its rating.
    """

    key: str
    what: str
    owner: str
    start: int
    end: int
    written: str | None
    kind: str | None
    lugs: tuple[tuple[int, int], ...] = ()
    fitted: tuple[tuple[int, int], ...] = ()
    tail: str = ""
    in_place: bool = False  # whether kind and rating are both written here

    def words(self, chosen: str) -> str:
        """What is to stand here for a choice, which is a size's label or a fuse's `KIND RATING`."""
        if self.what == "fuse" and not self.in_place:
            return chosen.split(" ", 1)[1]
        return chosen + self.tail


class Layout(Record):
    """Where each slot went in a text that was written anew: the offset of its words, in order."""

    starts: tuple[int, ...]
    ends: tuple[int, ...]
    keys: tuple[str, ...]

    def at(self, span: Span) -> str | None:
        """The slot that a span of that text begins in."""
        index = bisect_right(self.starts, span.start) - 1
        return (
            self.keys[index]
            if index >= 0 and span.start < max(self.ends[index], self.starts[index] + 1)
            else None
        )


def slots_of(text: str, path: str) -> dict[str, Slot]:
    """All sizes and ratings of the runs and hubs of a text itself, by key, in order; what an include writes stays as it is.

    Signals and multicores are no matter of copper and are left out, unless they say `auto`.
    """
    statements = parse(Source(path, text)).document.statements
    found: list[Slot] = []
    practice = [each for each in statements if each.kind.text == "practice"]
    for statement in [*practice, *(each for each in statements if each.kind.text != "practice")]:
        owner = statement.name.text if statement.name else statement.kind.text
        for clause in statement.clauses:
            number = clause.parts.get("number")
            way = f"{owner}.{number.text}" if isinstance(number, Number) else owner
            slot = _slot(statement, way, clause)
            if slot is not None:
                found.append(replace(slot, key=f"{slot.what} {way} {sum(one.owner == way for one in found)}"))
    found.sort(key=lambda slot: slot.start)
    return {slot.key: _with_lugs(slot, statements) for slot in found}


def _slot(statement: Statement, owner: str, clause: Clause) -> Slot | None:
    kind, word = statement.kind.text, clause.keyword.text
    parts = clause.parts
    if word == "cable":
        size = parts.get("size")
        if isinstance(size, Size) and kind in RUNS:
            return Slot("", "cable", owner, size.span.start, size.span.end, size.text, size.kind)
        return _auto("cable", owner, size) if _is_auto(size) else None
    if word not in ("fuse", "way"):
        return None
    rating, protection = parts.get("rating"), parts.get("kind")
    stated = protection.text if isinstance(protection, Word) else None
    if isinstance(rating, Measure) and (kind != "signal" and stated):
        words = f"{stated} {rating.quantity.si:g} A"
        return Slot("", "fuse", owner, rating.span.start, rating.span.end, words, stated)
    if _is_auto(rating):
        slot = _auto("fuse", owner, rating)
        return replace(slot, kind=stated, in_place=stated is None) if slot else None
    value = parts.get("value")
    slot = _auto("fuse", owner, value) if word == "fuse" and _is_auto(value) else None
    return replace(slot, in_place=True, tail=" at 0.15 m") if slot else None


def _is_auto(part: object) -> bool:
    return isinstance(part, Word) and part.text == AUTO


def _auto(what: str, owner: str, part: object) -> Slot | None:
    assert isinstance(part, Word)
    return Slot("", what, owner, part.span.start, part.span.end, None, None)


def _with_lugs(slot: Slot, statements: tuple[Statement, ...]) -> Slot:
    """With the lugs that named the size as it was, all of them where it was still open; and those that only fitted it."""
    named, fitted = [], []
    for lug in _lugs(slot, statements):
        if isinstance(lug, Word) or slot.written is None or _same(lug, slot):
            named.append((lug.span.start, lug.span.end))
        elif _fits(lug, slot):
            fitted.append((lug.span.start, lug.span.end))
    return replace(slot, lugs=tuple(named), fitted=tuple(fitted))


def _lugs(slot: Slot, statements: tuple[Statement, ...]) -> Iterator[Size | Word]:
    """What the lugs on the cables of a slot are marked with: a size or `auto`."""
    if slot.what != "cable":
        return
    for statement in statements:
        name = statement.name.text if statement.name else statement.kind.text
        own = any(clause.keyword.text in ("cable", "core") for clause in statement.clauses)
        if name != slot.owner and not (slot.owner == "practice" and statement.kind.text in RUNS and not own):
            continue
        for clause in statement.clauses:
            lug = clause.parts.get("lug") if clause.keyword.text in ("end", "ends") else None
            if isinstance(lug, Size) or (isinstance(lug, Word) and _is_auto(lug)):
                yield lug


def _fits(lug: Size, slot: Slot) -> bool:
    size = labelled(slot.written or "")
    return size is not None and lugs.takes(conductors.conductor(lug.kind, lug.number), size.area_mm2)


def _lug_for(label: str) -> str | None:
    """What the lug for a size is marked with."""
    size = labelled(label)
    mark = lugs.to_fit(size, size.area_mm2) if size else None
    return mark.label if mark else None


def _same(lug: Size, slot: Slot) -> bool:
    return slot.kind == lug.kind and slot.written is not None and bare(lug.text) == bare(slot.written)


def rendered(text: str, slots: Mapping[str, Slot], choice: Mapping[str, str]) -> tuple[str, Layout]:
    """The text with each choice in its place (a size's label, a fuse's `KIND RATING`), and where every slot then stands.

    A slot that no choice is made for stays as it is written.
    """
    pieces: list[tuple[int, int, str, str | None]] = []
    for slot in slots.values():
        chosen = choice.get(slot.key)
        same = chosen is None or chosen == slot.written
        words = text[slot.start : slot.end] if same else _spelt(slot.words(chosen or ""), text)
        pieces.append((slot.start, slot.end, words, slot.key))
        for start, end in slot.lugs:
            if text[start:end] == AUTO or not same:
                named = chosen or slot.written
                pieces.append((start, end, _spelt(named, text) if named else AUTO, None))
        mark = None if same else _lug_for(chosen or "")
        pieces += [(start, end, _spelt(mark, text), None) for start, end in slot.fitted if mark]
    out: list[str] = []
    places: list[tuple[int, int, str]] = []
    done = length = 0
    for start, end, words, key in sorted(pieces, key=lambda piece: piece[:2]):
        out += [text[done:start], words]
        length += start - done
        if key is not None:
            places.append((length, length + len(words), key))
        length += len(words)
        done = end
    starts, ends, keys = zip(*places, strict=True) if places else ((), (), ())
    return "".join([*out, text[done:]]), Layout(starts, ends, keys)


def _spelt(words: str, text: str) -> str:
    """With the square that the file itself writes."""
    return words if "mm²" in text else words.replace("mm²", "mm2")


class Found(Record):
    """The runs and the fuses of an installation by the slot that they take their size or rating from."""

    runs: dict[str, list[Run]]
    fuses: dict[str, list[Fuse]]
    of_run: dict[Run, str]
    of_fuse: dict[Fuse, str]


def found_in(installation: Installation, path: str, layout: Layout) -> Found:
    """What each slot of the spec's own text gives its size to."""
    found = Found({}, {}, {}, {})
    for run in installation.runs:
        if not isinstance(run.cable, Unknown) and run.cable.size.span.source.path == path:
            key = layout.at(run.cable.size.span)
            if key is not None:
                found.runs.setdefault(key, []).append(run)
                found.of_run[run] = key
    fuses = [
        fuse for each in installation.fuses_of.values() if not isinstance(each, Unknown) for fuse in each
    ]
    fuses += [fuse for fuse in installation.fuse_of_way.values() if isinstance(fuse, Fuse)]
    for fuse in fuses:
        key = layout.at(fuse.rating.span) if fuse.rating.span.source.path == path else None
        if key is not None:
            found.fuses.setdefault(key, []).append(fuse)
            found.of_fuse[fuse] = key
    return found
