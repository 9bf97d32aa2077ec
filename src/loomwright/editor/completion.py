"""What may be written at a place, also while the text there can't be read: asked of the parser's tables, not of a parse."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from loomwright.editor.desk import Desk
from loomwright.editor.marks import (
    CLAUSE_ROLES,
    HEAD_ROLES,
    WITHIN_CLAUSE,
    expected,
    lines_of,
    units_expected,
)
from loomwright.model.building.kinds import TERMINALS
from loomwright.quantity import DIMENSIONS, FACTORS
from loomwright.record import Record
from loomwright.source import Source
from loomwright.syntax.build import SEVERAL
from loomwright.syntax.forms import CLAUSES, DEVICES, RUNS, STATEMENTS, block
from loomwright.syntax.lexer import NUMBER, PUNCTUATION, STRING, WORD, Token
from loomwright.syntax.tree import Comment

CONTACTS = ("isolator", "switch", "relay")
KINDS: dict[str, tuple[str, ...]] = {
    "place": ("place",),
    "part": ("part",),
    "structure": ("structure",),
    "loom": ("loom",),
    "multicore": ("multicore",),
    "run": RUNS,
    "contact": CONTACTS,
    "device": DEVICES,
    "mode": ("mode",),
    "thing": (),
}
BARE = ("busbar", "splice", "earthpoint", "structure")
"""What a run may end on by its bare name."""

EXTRA = {"size": ("mm2", "B&S", "AWG", "mm auto"), "temperature": ("degC",)}


class Choice(Record):
    """One thing that may be written: `kind` is statement, clause, word, name, terminal, unit, size, rating, rule or path."""

    text: str
    kind: str
    detail: str = ""
    meaning: str = ""


class Spot(Record):
    """Where somebody is writing: the tokens before, and the word begun there, from `start`."""

    tokens: tuple[Token, ...]
    kind: str
    inside: bool
    begun: str
    start: int

    @property
    def rule(self) -> str:
        return block(self.kind) if self.inside and self.kind else "statement"


def choices(desk: Desk, path: str, offset: int) -> tuple[int, tuple[Choice, ...]]:
    """Where the word begun at a place starts, and what it may become."""
    sheet = desk.sheet(path)
    spot = spot_at(sheet.source.text, offset) if sheet else None
    if spot is None:
        return offset, ()
    found = dict.fromkeys(_choices(desk, path, spot))
    return spot.start, tuple(found)


def spot_at(text: str, offset: int) -> Spot | None:
    """The spot at an offset; None within a comment or a text in quotes."""
    source = Source("", text[:offset])
    comments: list[Comment] = []
    *_, last = lines_of(source, comments)
    if comments and "\n" not in text[comments[-1].span.start : offset]:
        return None
    tokens = list(last.tokens)
    begun, start = "", offset
    if tokens:
        shape, word, at = tokens[-1]
        if shape == STRING and at + len(word) >= offset and (len(word) < 2 or word[-1] != '"'):
            return None
        if shape in (WORD, NUMBER) and at + len(word) == offset:
            tokens.pop()
            begun, start = word, at
    kind = last.kind if last.inside else ""
    return Spot(tuple(tokens), kind, last.inside, begun, start)


def _choices(desk: Desk, path: str, spot: Spot) -> Iterator[Choice]:
    if not spot.tokens:
        yield from _first_words(desk, path, spot)
        return
    before = spot.tokens
    follows = expected(spot.rule, before) or {}
    first = before[0][1]
    for word in sorted(symbol for symbol in follows if not symbol.startswith("{")):
        yield Choice(word, "word", first)
    if "{NAME}" in follows or "{TERMINAL}" in follows:
        yield from _names(desk, path, spot, "{TERMINAL}" in follows)
    if "{NUMBER}" in follows:
        yield from _numbers(spot, follows["{NUMBER}"])
    if "{UNIT}" in follows:
        yield from _units(units_expected(spot.rule, before))


def _first_words(desk: Desk, path: str, spot: Spot) -> Iterator[Choice]:
    """What a head or clause may begin with."""
    if not spot.inside:
        for word, head in STATEMENTS.items():
            yield Choice(word, "statement", head.form, head.meaning)
    elif spot.kind == "day":
        yield from _of_kinds(desk, path, KINDS["mode"])
    for word, form in CLAUSES.get(spot.kind, {}).items():
        yield Choice(word, "clause", form.form, form.meaning)


# ---------------------------------------------------------------- names


def _names(desk: Desk, path: str, spot: Spot, with_terminals: bool) -> Iterator[Choice]:
    role = _role(spot)
    if role == "rule":
        yield from _rules()
    elif role == "limits":
        yield from (Choice(name, "word", "limits") for name in _limits())
    elif role == "label":
        return
    elif role == "point":
        yield from _points(desk, path, spot)
    elif role == "load":
        yield from _of_kinds(desk, path, ("load", *(kind for kind in DEVICES if kind != "load")))
    elif role:
        yield from _of_kinds(desk, path, KINDS[role])
        if with_terminals:
            yield from _points(desk, path, spot)


def _role(spot: Spot) -> str:
    """What kind of name is wanted after the tokens, "" where a new one is."""
    words = [text for kind, text, _ in spot.tokens if kind != PUNCTUATION]
    first, last = words[0], words[-1]
    if not spot.inside:
        if len(words) == 1:
            return "rule" if first == "concession" else ""
        if first == "circuit" and last == "to":
            return "load"
        if first == "readings" and last == "in":
            return "mode"
        return "structure" if last == "on" and first == "earthpoint" else HEAD_ROLES.get(last, "")
    within = WITHIN_CLAUSE.get(last, "") if len(words) > 1 else ""
    return within or CLAUSE_ROLES.get(first, "")


def _declared(desk: Desk, path: str) -> Iterator[tuple[str, str]]:
    """Name and statement of everything that the files in company declare."""
    for file in desk.company(path):
        sheet = desk.sheet(file)
        for mark in sheet.marks if sheet else ():
            if mark.role == "declares":
                yield mark.text, mark.statement


def _of_kinds(desk: Desk, path: str, kinds: Iterable[str]) -> Iterator[Choice]:
    wanted = tuple(kinds)
    found = [
        (name, kind) for name, kind in _declared(desk, path) if (kind in wanted if wanted else kind != "part")
    ]
    order = {kind: number for number, kind in enumerate(wanted)}
    for name, kind in sorted(
        found, key=lambda pair: (order.get(pair[1], 0) if wanted[:1] == ("load",) else 0, pair[0])
    ):
        yield Choice(name, "name", kind)


def _points(desk: Desk, path: str, spot: Spot) -> Iterator[Choice]:
    """Terminals, and what a run may end on by its bare name; of the device begun (`crank.`) its terminals."""
    begun = spot.begun.partition(".")[0] if "." in spot.begun else None
    labels = _labels(desk, path)
    for name, kind in sorted(set(_declared(desk, path))):
        if kind == "part" or begun not in (None, name):  # a part is a build, on no vehicle by itself
            continue
        if kind in BARE and begun is None:
            yield Choice(name, "name", kind)
        for label in (*filter(None, TERMINALS.get(kind, ())), *labels.get(name, ())):
            yield Choice(f"{name}.{label}", "terminal", kind)


def _labels(desk: Desk, path: str) -> dict[str, dict[str, None]]:
    """The terminals that devices have by their clauses or by what is wired to them already."""
    found: dict[str, dict[str, None]] = {}
    for file in desk.company(path):
        sheet = desk.sheet(file)
        device = ""
        for mark, after in pairwise(sheet.marks) if sheet else ():
            if mark.role == "declares":
                device = mark.text
            elif mark.what == "clause" and mark.text == "way" and after.what == "number":
                found.setdefault(device, {})[after.text] = None
            elif mark.role == "label":
                found.setdefault(device, {})[mark.text] = None
            elif mark.what == "terminal" and mark.is_name:
                found.setdefault(mark.name, {})[mark.text.partition(".")[2]] = None
    return found


def _rules() -> Iterator[Choice]:
    from loomwright.rulebook.load import load_rules

    for rule in load_rules().rules:
        yield Choice(rule.name, "rule", rule.severity, rule.title)


def _limits() -> list[str]:
    import os

    from loomwright import resources

    names = os.listdir(os.path.join(resources.folder("rules"), "limits"))
    return sorted(os.path.splitext(name)[0] for name in names if name.endswith(".toml"))


# ---------------------------------------------------------------- numbers and units


def _numbers(spot: Spot, quantities: tuple[str, ...]) -> Iterator[Choice]:
    if "size" in quantities:
        yield from _sizes()
    if "current" in quantities:
        words = [text for _, text, _ in spot.tokens]
        yield from _ratings(words[-1])


def _sizes() -> Iterator[Choice]:
    from loomwright.stock.conductors import sizes

    for kind in ("bs", "awg", "area", "auto"):
        for size in sizes(kind):
            written = f"{size.label} auto" if kind == "auto" and "auto" not in size.label else size.label
            yield Choice(written.replace("mm²", "mm2"), "size", f"{size.area_mm2:.3g} mm² of copper")


def _ratings(kind: str) -> Iterator[Choice]:
    from loomwright.stock.fuses import kinds

    for fuse in kinds():
        if fuse.name == kind:
            yield from (Choice(f"{amps:g} A", "rating", fuse.title) for amps in fuse.ratings)


def _units(quantities: Iterable[str]) -> Iterator[Choice]:
    for quantity in quantities:
        for dimension in SEVERAL.get(quantity, (quantity.replace("_", "-"),)):
            noun = DIMENSIONS[dimension].noun if dimension in DIMENSIONS else "a conductor's size"
            for unit in (*EXTRA.get(dimension, ()), *FACTORS.get(dimension, ())):
                yield Choice(unit, "unit", noun)
