"""What is known of names while an installation is being built, and what was found wrong on the way.

A name is *declared* when some statement bears it, and *built* when that statement made sense. A reference to a name that is
declared but was not built is dropped in silence: its own statement has been reported already.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from loomwright.model.things import (
    Device,
    Earthpoint,
    Fuse,
    Hub,
    Point,
    Structure,
    Terminal,
    Thing,
    Unknown,
    Way,
)
from loomwright.source import Problem, Source, Span
from loomwright.syntax.forms import CLAUSES, DEVICES
from loomwright.syntax.hints import article, nearest
from loomwright.syntax.tree import Statement, Word

T = TypeVar("T", bound=Thing)
GUESSES = 50_000
WORD = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")

RUN_KINDS = ("feed", "earth", "signal", "circuit")
POINT_KINDS = (*DEVICES, "earthpoint", "structure")
GIVE_TERMINALS = ("terminals", "way", "studs", "poles")
BARE_KINDS = ("busbar", "splice")  # a run may end on these by their bare name


class Troubles:
    """The syntax errors of the files: what stands near them may be missing only because it could not be read.

    `unread` are the names in heads that could not be read: each may be declared there.
    """

    def __init__(self, problems: Iterable[Problem] = (), unread: Iterable[Word] = ()) -> None:
        self.names = frozenset(word.text for word in unread)
        self.headless = False  # whether the `fitout` may be what could not be read
        self._starts: dict[Source, list[int]] = {}
        lines: set[tuple[Source, int]] = set()
        for problem in problems:
            self._starts.setdefault(problem.span.source, []).append(problem.span.start)
            lines.add((problem.span.source, problem.span.line))
        for starts in self._starts.values():
            starts.sort()
        for source, line in lines:
            self.headless |= "fitout" in WORD.findall(source.line_text(line)[:2000])

    def within(self, span: Span) -> bool:
        """Whether a syntax error lies in a statement, so that a clause of it may be missing."""
        starts = self._starts.get(span.source, [])
        at = bisect_left(starts, span.start)
        return at < len(starts) and starts[at] <= span.end

    def clauses(self, span: Span) -> Iterator[str]:
        """The first words of the lines of a statement that hold syntax errors: keywords, where they could be read."""
        starts = self._starts.get(span.source, [])
        text = span.source.text
        for start in starts[bisect_left(starts, span.start) : bisect_right(starts, span.end)]:
            begins = max(text.rfind(sign, span.start, start) for sign in "\n;{") + 1
            words = text[max(begins, span.start) : max(start, begins) + 100].split(maxsplit=1)
            yield words[0] if words else ""


@dataclass(slots=True)
class Register:
    """`fragment` says that names may be declared elsewhere; `troubles` are what the syntax had to say already."""

    stage: str
    stage_span: Span | None = None
    fragment: bool = False
    troubles: Troubles = field(default_factory=Troubles)
    problems: list[Problem] = field(default_factory=list)
    declared: dict[str, Statement] = field(default_factory=dict)
    built: dict[str, Thing] = field(default_factory=dict)
    terminals: dict[str, Terminal] = field(default_factory=dict)
    ways: dict[Hub, dict[Way, Fuse | Unknown | None]] = field(default_factory=dict)

    system: float | None = None  # volts, where they are written
    by_kinds: dict[tuple[str, ...], list[str]] = field(default_factory=dict)  # declared names, once all are
    patience: int = GUESSES  # comparisons of names that are left for hints

    def did_you_mean(self, word: str, known: Iterable[str]) -> str:
        """`: did you mean 'pump'?`, to be put at the end of a message, or nothing. A text full of slips gets fewer of them."""
        if self.patience <= 0:
            return ""
        names = known if isinstance(known, list) else list(known)
        if len(names) > self.patience:
            self.patience = 0
            return ""
        self.patience -= len(names)
        near = nearest(word, names)
        return f": did you mean '{near}'?" if near else ""

    def report(self, span: Span, message: str, hint: str = "") -> None:
        self.problems.append(Problem(span, message, hint))

    @property
    def as_found(self) -> bool:
        return self.stage == "as-found"

    def unwritten(self, says: str, span: Span) -> Unknown:
        """What an inspection looks at on all cables together: one thing for the whole spec, at its `stage`."""
        return Unknown(f"{says}, where the spec does not say", self.stage_span or span)


def listed(words: Iterable[str], most: int = 12) -> str:
    """`in, out, neg`; a long list is cut short."""
    found = list(words)
    return ", ".join(found[:most]) + (", …" if len(found) > most else "")


def where(span: Span) -> str:
    return f"{span.source.path}:{span.line}"


def declare(register: Register, statements: Sequence[Statement]) -> None:
    """Enter every name; a name that is given twice is reported at its second place.

    A name that was guessed in place of what is none is told already, and taken only where nothing else bears it.
    """
    guessed: list[Statement] = []
    for statement in statements:
        if statement.name is None:
            continue
        name = statement.name.text
        if statement.name.span.text != name:
            guessed.append(statement)
            continue
        first = register.declared.setdefault(name, statement)
        if first is not statement and first.name is not None:
            register.report(
                statement.name.span,
                f"the name {name} is given twice: {article(first.kind.text)} has it already",
                f"first given at {where(first.name.span)}; every name of a file and its includes is one thing's",
            )
    for statement in guessed:
        if statement.name is not None:
            register.declared.setdefault(statement.name.text, statement)


def enter(register: Register, statement: Statement, thing: Thing) -> None:
    """Keep what was built under its name; of two with one name the first."""
    if register.declared.get(thing.name) is statement:
        register.built[thing.name] = thing


def declaration(register: Register, word: Word, kinds: Sequence[str], wanted: str) -> Statement | None:
    """The statement that a word names, if it is of one of these kinds; else None, and the slip is reported."""
    statement = register.declared.get(word.text)
    if statement is None:
        _report_missing(register, word, kinds, wanted)
        return None
    if statement.kind.text not in kinds:
        register.report(
            word.span,
            f"{word.text} is {article(statement.kind.text)}, and {article(wanted)} is wanted here"
            + register.did_you_mean(word.text, _names(register, kinds)),
        )
        return None
    return statement


def _report_missing(register: Register, word: Word, kinds: Sequence[str], wanted: str) -> None:
    if not may_be_elsewhere(register, word):
        near = register.did_you_mean(word.text, _names(register, kinds))
        register.report(word.span, f"there is no {wanted} named {word.text}{near}")


def may_be_elsewhere(register: Register, word: Word) -> bool:
    """Whether a name that is not declared may yet be: in another file, or in what could not be read."""
    return register.fragment or word.text in register.troubles.names


def _names(register: Register, kinds: Sequence[str]) -> list[str]:
    key = tuple(kinds)
    if key not in register.by_kinds:
        register.by_kinds[key] = [name for name, each in register.declared.items() if each.kind.text in kinds]
    return register.by_kinds[key]


def find(register: Register, word: Word, made: type[T], kinds: Sequence[str], wanted: str = "") -> T | None:
    """The built thing that a word names. None when it is missing or of another kind (reported), or failed itself."""
    if declaration(register, word, kinds, wanted or kinds[0]) is None:
        return None
    thing = register.built.get(word.text)
    return thing if isinstance(thing, made) else None


def terminal(register: Register, word: Word) -> Terminal | None:
    """The terminal that a word names (`crank.pos`, or the bare name of a busbar or splice), or None and a report."""
    name, dot, label = word.text.partition(".")
    device = Word(name, word.span)
    if not dot and (bare := register.declared.get(name)) and bare.kind.text not in BARE_KINDS:
        _report_bare(register, word, bare)
        return None
    found = find(register, device, Device, DEVICES, "device")
    if found is None:
        return None
    if word.text not in register.terminals:
        _report_terminal(register, word, found, label)
        return None
    return register.terminals[word.text]


def _report_terminal(register: Register, word: Word, device: Device, label: str) -> None:
    names = [name for name in (device.name, device.part) if name]
    if any(name not in register.declared or _terminals_lost(register, name, device) for name in names):
        return  # the clause that gives it this terminal may be the one that could not be read
    known = [each for each in device.terminal_names if each]
    has = f"it has {listed(known)}" if known else "it has none"
    register.report(
        word.span, f"{device.name} has no terminal '{label}': {has}{register.did_you_mean(label, known)}"
    )


def _terminals_lost(register: Register, name: str, device: Device) -> bool:
    """Whether a clause that could not be read, of a device or its part, may give terminals."""
    broken = register.troubles.clauses(register.declared[name].span)
    return any(word in GIVE_TERMINALS or word not in CLAUSES[device.kind] for word in broken)


def _report_bare(register: Register, word: Word, statement: Statement) -> None:
    kind = statement.kind.text
    device = register.built.get(word.text)
    if kind not in DEVICES:
        register.report(word.span, f"{word.text} is {article(kind)}, and a terminal is wanted here")
    elif isinstance(device, Device):
        choices = listed([f"{word.text}.{label}" for label in device.terminal_names], 4)
        register.report(word.span, f"{word.text} is {article(kind)}: say which terminal", f"it has {choices}")


def point(register: Register, word: Word) -> Point | None:
    """The terminal, earthpoint or structure that a word names, or None and a report."""
    statement = register.declared.get(word.text)
    if statement and statement.kind.text in ("earthpoint", "structure"):
        thing = register.built.get(word.text)
        return thing if isinstance(thing, (Earthpoint, Structure)) else None
    if statement is None and "." not in word.text:
        _report_missing(register, word, POINT_KINDS, "device, earthpoint or structure")
        return None
    return terminal(register, word)
