"""Fixes as text edits: the value or clause of the spec that mends a finding.

A rule says what to write (`fix set f.fuse.rating to 20 A`, `fix add f "clips 0.3 m"`); where it goes is worked out here from the
places that the things keep. A fix that can't be reckoned, or whose place can't be found, is no edit at all. A new size of
cable brings the lugs that go with it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from typing import Any

from loomwright.facts.end import barrel_of
from loomwright.facts.registry import Ledger
from loomwright.facts.types import is_thing
from loomwright.model.things import Cable, End, Fuse, Joint, Lug, Run, Splice, Stretch, Thing
from loomwright.record import replace
from loomwright.rulebook.evaluate import compiled
from loomwright.rulebook.finding import Edit
from loomwright.rulebook.tree import Fix
from loomwright.rulebook.values import Environment, unknown
from loomwright.rulebook.wording import printed
from loomwright.source import Span
from loomwright.stock import lugs, making
from loomwright.stock.conductors import bare, conductor, labelled
from loomwright.syntax.tree import Measure, Size

Maker = Callable[[Environment], tuple[Edit, ...]]

# Facts that are called otherwise than the field of the model that holds them.
FIELDS: dict[type, dict[str, str]] = {
    Run: {"size": "cable"},
    Fuse: {"distance": "at"},
    End: {"lug-stud": "lug_thread", "thread": "lug_thread", "size": "lug_size", "first-clip": "clip"},
}
OFFERED = frozenset(("fuse", "cable", "conductor", "way"))
"""Clauses whose change is offered and never made unasked: fuses and conductors."""

SEVERAL = frozenset(("fuse", "end", "way", "note", "joint"))
"""Clauses that may stand more than once in a block."""

OF_ALL_ENDS = frozenset(("made", "cover", "held"))
"""What is put right at all ends that one `ends` speaks of. A lug is not: each end has a stud of its own."""


def maker(fix: Fix) -> Maker:
    """The fix as a function of the environment; it gives nothing where a value is unknown or a place not found."""
    target = fix.target.parts[0] if fix.action == "set" else fix.target
    owner, text = compiled(target), _text(fix)
    keyword = str(fix.target.parts[1]) if fix.action == "set" else ""

    def make(env: Environment) -> tuple[Edit, ...]:
        thing, new = owner(env), text(env)
        if new is None or not is_thing(thing):
            return ()
        if isinstance(thing, Run) and isinstance(thing.cable, Cable) and keyword in ("cable", "size"):
            return _resized(thing.cable, new, env[0])
        edit = _set(thing, keyword, new) if fix.action == "set" else _add(thing, new)
        return (edit,) if edit else ()

    return make


def together(edits: Iterable[Edit]) -> tuple[Edit, ...]:
    """Edits in the order of their places, those at one and the same place made one."""
    at: dict[tuple[str, int, int], Edit] = {}
    for edit in edits:
        key = edit.span.order()
        first = at.get(key)
        at[key] = (
            replace(edit, text=_both(first.text, edit.text), offered=first.offered or edit.offered)
            if first
            else edit
        )
    return tuple(at[key] for key in sorted(at))


def _both(first: str, second: str) -> str:
    """Two clauses added at one place: inside one pair of braces where each brings its own."""
    if first.endswith(" }") and second.startswith(" { "):
        return f"{first.removesuffix(' }')}; {second.removeprefix(' { ')}"
    return first + second


def _text(fix: Fix) -> Callable[[Environment], str | None]:
    """What is to be written; None where a value in it is unknown or absent."""
    pieces = [part if isinstance(part, str) else (compiled(part), part.type) for part in fix.value]

    def text(env: Environment) -> str | None:
        said = []
        for piece in pieces:
            if isinstance(piece, str):
                said.append(piece)
                continue
            value = piece[0](env)
            if value is None or unknown(value):
                return None
            said.append(_in_spec(value, piece[1]))
        return "".join(said)

    return text


def _in_spec(value: Any, type_: str) -> str:
    """A value as a spec writes it: no space inside a number."""
    return re.sub(r"(?<=\d) (?=\d{3}\b)", "", printed(value, type_))


def _set(owner: Any, name: str, new: str) -> Edit | None:
    owner = owner.end if isinstance(owner, Lug) else owner
    field = FIELDS.get(type(owner), {}).get(name, name).replace("-", "_")
    value = getattr(owner, field, None)
    offered = isinstance(owner, Fuse) or field in OFFERED
    if isinstance(value, (Measure, Size)):
        return Edit(value.span, new, offered)
    if isinstance(owner, End):
        return _set_word_of_end(owner, field, value, new)
    if isinstance(owner, Splice) and isinstance(value, str) and value in owner.clauses:
        return Edit(owner.clauses[value], new, offered)  # of a splice the word itself is the clause
    if isinstance(owner, Thing):
        return _add(owner, f"{name} {new}")
    found = _word(owner.span, value) if isinstance(value, str) else None
    return Edit(found, new, offered) if found else None


def _resized(cable: Cable, new: str, ledger: Ledger) -> tuple[Edit, ...]:
    """Another size, with the lugs of all runs that take theirs from the same place: those that named the old one, and those
    that the new one does not fit. Nothing where an end has a blade terminal, and none is made for so much copper."""
    size = labelled(new)
    if size is None:
        return ()
    place, installation = cable.size.span, ledger.installation
    runs = [run for run in installation.runs if isinstance(run.cable, Cable) and run.cable.size.span == place]
    edits = [Edit(place, new, True)]
    for end in (end for run in runs for end in installation.ends_of[run]):
        barrel = [each.run for each in barrel_of(end, ledger)]
        if any(run not in runs and ledger.entry(run, "area").missing for run in barrel):
            continue
        copper = sum(size.area_mm2 if run in runs else ledger.get(run, "area") * 1e6 for run in barrel)
        if end.fitting == "blade-terminal" and not making.blade_terminal_range().holds(copper):
            return ()
        lug = end.lug_size
        if not isinstance(lug, Size):
            continue
        named = bare(lug.text) == bare(cable.size.text)
        mark = lugs.to_fit(size, copper)
        if mark and (named or not lugs.takes(conductor(lug.kind, lug.number), copper)):
            edits += _marked(end, lug, mark.label)
    return tuple({edit.span.order(): edit for edit in edits}.values())


def _marked(end: End, lug: Size, label: str) -> list[Edit]:
    """The end's lug marked anew: where it is written if that is in the run's own block, else in a clause of the run's own."""
    if _is_inside(lug.span, end.run):
        return [Edit(lug.span, label, True)]
    edit = _set_word_of_end(end, "lug", None, f"lug {label} {end.lug_thread}")
    return [edit] if edit else []


def _set_word_of_end(end: End, field: str, old: Any, new: str) -> Edit | None:
    """In the end's own clause where it has one; what `ends` says of all of them is set right for all of them.

    What `practice` says is left as it is: a clause of the run adds up with it.
    """
    alone = re.match(r"end\s", end.span.text) is not None
    if alone or (field in OF_ALL_ENDS and _is_inside(end.span, end.run)):
        found = _word(end.span, old) if isinstance(old, str) else None
        return Edit(found, new, False) if found else Edit(_after(end.span), f" {new}", False)
    if field in OF_ALL_ENDS and re.match(r"ends\s", end.span.text):
        return _add(end.run, f"ends {new}")
    return None if isinstance(end.point, Fuse) else _add(end.run, f"end {end.point.name} {new}")


def _is_inside(span: Span, owner: Thing) -> bool:
    """Whether a clause stands in the statement's own block."""
    block = _block(owner.span)
    return block is not None and span.source is owner.span.source and block[0] <= span.start < block[1]


def _word(within: Span, word: str) -> Span | None:
    """Where a word stands in a stretch of text."""
    found = re.search(rf"(?<![\w-]){re.escape(word)}(?![\w-])", within.text)
    return Span(within.source, within.start + found.start(), within.start + found.end()) if found else None


def _after(span: Span) -> Span:
    return Span(span.source, span.end, span.end)


def _add(thing: Any, clause: str) -> Edit | None:
    """A clause in the thing's own block: in place of one of the same word, or after the opening brace."""
    owner = (
        thing.run
        if isinstance(thing, (End, Stretch, Joint))
        else thing.run or thing.way
        if isinstance(thing, Fuse)
        else thing
    )
    if not isinstance(owner, Thing):
        return None
    keyword = clause.split(maxsplit=1)[0]
    offered = keyword in OFFERED
    block = _block(owner.span)
    old = owner.clauses.get(keyword)
    if old is not None and _replaces(clause, keyword, old, owner):
        return Edit(old, clause, offered)
    if block is None:
        return Edit(_after(owner.span), f" {{ {clause} }}", offered)
    return Edit(Span(owner.span.source, block[0], block[0]), _on_its_line(owner.span, block, clause), offered)


def _replaces(clause: str, keyword: str, old: Span, owner: Thing) -> bool:
    """Whether the new clause takes the place of an old one: not where both may stand, nor where the old one is inherited."""
    empty = old.text.split()[1:] in (["none"], ["unknown"])
    one_place = " in " in clause or (isinstance(owner, Run) and " in " in old.text)
    return _is_inside(old, owner) and (empty or keyword not in SEVERAL) and not one_place


TOKEN = re.compile(r'"[^"\n]*"?|#[^\n]*|[{}]|[^\s{}"#]+')


def _block(head: Span) -> tuple[int, int] | None:
    """From after the opening brace of a statement to its closing one, or None where it has no braces."""
    text, depth, start = head.source.text, 0, None
    for found in TOKEN.finditer(text, head.end):
        token = found.group()
        if start is None and token != "{" and token[0] != "#":
            return None
        if token == "{":
            depth, start = depth + 1, start or found.end()
        elif token == "}":
            depth -= 1
            if depth == 0 and start is not None:
                return start, found.start()
    return None


def _on_its_line(head: Span, block: tuple[int, int], clause: str) -> str:
    """The clause with the line break and indentation that the block's other clauses have."""
    text = head.source.text[block[0] : block[1]]
    broken = re.search(r"\n([ \t]*)\S", text)
    if broken is None:
        return f" {clause};" if text.strip() else f" {clause} "
    return f"\n{broken[1]}{clause}"
