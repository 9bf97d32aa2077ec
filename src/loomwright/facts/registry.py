"""Facts: what can be known of an installation, each computed once and remembered with what it was computed from.

A fact is a function of a thing (and perhaps of further arguments) registered by `fact`. It asks for other facts through the
`Ledger` it is given, so the ledger knows every fact's inputs without the function saying so. A value that the spec does not
give raises `Missing` out of the function; the fact is then unknown for the same reasons, and so is all that rests on it.
"""

from __future__ import annotations

import datetime
from collections import deque
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from functools import cache
from typing import Any

from loomwright.facts.types import kinds_of
from loomwright.model.things import Installation, Unknown
from loomwright.record import Record
from loomwright.source import Span
from loomwright.syntax.tree import Measure


class Missing(Exception):
    """A value is not known; `reasons` lists what to look at or measure, each with its place."""

    def __init__(self, *reasons: Unknown) -> None:
        super().__init__(", ".join(reason.what for reason in reasons))
        self.reasons = reasons


class Definition(Record):
    """One fact: `says` is a sentence for the manual, `takes` the types of the arguments after the thing."""

    kind: str
    name: str
    type: str
    says: str
    source: str
    takes: tuple[str, ...]
    compute: Callable[..., Any]


class Note(Record):
    """A step of a derivation that is no fact: a table's row, a clause of the spec, an assumption."""

    text: str
    source: str = ""
    span: Span | None = None


FACTS: dict[tuple[str, str], Definition] = {}


def fact(
    kind: str, name: str, type: str, says: str, *, source: str = "definition", takes: tuple[str, ...] = ()
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Register a function (thing, ledger, *arguments) as the fact `name` of things of `kind`."""

    def register(compute: Callable[..., Any]) -> Callable[..., Any]:
        if (kind, name) in FACTS:
            raise ValueError(f"the fact {kind}.{name} is registered twice")
        FACTS[kind, name] = Definition(kind, name, type, says, source, takes, compute)
        look_again()
        return compute

    return register


@cache
def find(kinds: tuple[str, ...], name: str) -> Definition | None:
    """The definition of a fact for a thing of these kinds (own kind first), or None."""
    for kind in kinds:
        found = FACTS.get((kind, name))
        if found:
            return found
    return None


@cache
def signature() -> str:
    """What a rule may ask: every fact's kind, name, types of value and arguments."""
    return repr(sorted((kind, name, one.type, one.takes) for (kind, name), one in FACTS.items()))


def look_again() -> None:
    """To be called when `FACTS` has changed."""
    find.cache_clear()
    signature.cache_clear()


Key = tuple[Any, ...]
"""The thing by its identity, the fact's name, and its arguments where it has any."""


class Entry:
    """A computed fact: its value (or Unknown reasons) and what it rested on, in order."""

    __slots__ = ("arguments", "definition", "inputs", "missing", "pending", "thing", "value")

    def __init__(self, definition: Definition, thing: Any, arguments: tuple[Any, ...]) -> None:
        self.definition = definition
        self.thing = thing
        self.arguments = arguments
        self.value: Any = None
        self.missing: tuple[Unknown, ...] = ()
        self.inputs: list[Entry | Note] = []
        self.pending = True


Steps = list[Entry | Note] | deque[Entry | Note]
NOWHERE: Steps = deque(maxlen=0)
"""Where the steps of what is asked by no fact are put: it keeps nothing."""


def notes_under(inputs: Iterable[Entry | Note]) -> Iterator[Note]:
    """Every step beneath some inputs, those of each fact once."""
    waiting, met = list(inputs), set()
    while waiting:
        one = waiting.pop()
        if isinstance(one, Note):
            yield one
        elif id(one) not in met:
            met.add(id(one))
            waiting += one.inputs


class Ledger:
    """All facts of one installation, computed as they are asked for and kept."""

    def __init__(
        self, installation: Installation, limits: Mapping[str, Any], today: datetime.date | None = None
    ) -> None:
        self.installation = installation
        self.limits = limits
        self.today = today
        self.kept: dict[
            Any, Any
        ] = {}  # room for a fact module's own indexes, made once (a graph, a solved network)
        self._entries: dict[Key, Entry] = {}
        self._inputs: Steps = NOWHERE

    def get(self, thing: Any, name: str, *arguments: Any) -> Any:
        """The value of a fact. Raises Missing when it is unknown, KeyError when there is no such fact."""
        entry = self.entry(thing, name, *arguments)
        if entry.missing:
            raise Missing(*entry.missing)
        return entry.value

    def entry(self, thing: Any, name: str, *arguments: Any) -> Entry:
        """The fact with all that it rested on; computed if it was not yet."""
        key: Key = (id(thing), name, arguments) if arguments else (id(thing), name)
        entry = self._entries.get(key)
        if entry is None:
            entry = self._computed(key, thing, name, arguments)
        elif entry.pending:
            raise RuntimeError(f"the fact {entry.definition.kind}.{name} rests on itself")
        self._inputs.append(entry)
        return entry

    def asked(self, thing: Any, name: str) -> list[tuple[Any, ...]]:
        """The arguments that a fact of a thing has been asked for with so far, in that order."""
        every = self._entries.values()
        return [one.arguments for one in every if one.thing is thing and one.definition.name == name]

    def reading(self, asking: Callable[[], Any]) -> tuple[Any, tuple[Entry | Note, ...]]:
        """What a question answers, and the facts that it read to answer it, each once and in order."""
        before, self._inputs = self._inputs, []
        try:
            answer = asking()
        finally:
            read, self._inputs = self._inputs, before
        return answer, tuple({id(one): one for one in read}.values())

    def _computed(self, key: Key, thing: Any, name: str, arguments: tuple[Any, ...]) -> Entry:
        definition = find(kinds_of(thing), name)
        if definition is None:
            raise KeyError(f"{kinds_of(thing)[0]} has no fact '{name}'")
        entry = self._entries[key] = Entry(definition, thing, arguments)
        before, self._inputs = self._inputs, entry.inputs
        try:
            entry.value = definition.compute(thing, self, *arguments)
        except Missing as missing:
            entry.missing = _distinct(missing.reasons)
        finally:
            self._inputs = before
            entry.pending = False
        return entry

    def known(self, value: Any, label: str = "") -> Any:
        """A field of the model, or Missing where it is Unknown. A `label` puts it into the derivation."""
        if isinstance(value, Unknown):
            raise Missing(value)
        if label and isinstance(value, Measure):
            self.note(f"{label} {value.text}", span=value.span)
        return value

    def note(self, text: str, source: str = "", span: Span | None = None) -> None:
        """Add a step to the derivation of the fact that is being computed."""
        if self._inputs is not NOWHERE:
            self._inputs.append(Note(text, source, span))

    def limit(self, name: str) -> Any:
        """The value of a limit in SI, put into the derivation with its source."""
        limit = self.limits[name]
        self.note(f"limit {name} {limit.text}", limit.source)
        return limit.value

    def index(self, name: Hashable, make: Callable[[], Any]) -> Any:
        """Something made once per installation (a graph, a solved network) that facts share.

        What it rests on goes into no fact's derivation: it would stand only with the fact that happened to ask first.
        """
        if name not in self.kept:
            before, self._inputs = self._inputs, NOWHERE
            try:
                self.kept[name] = make()
            finally:
                self._inputs = before
        return self.kept[name]

    def shared(self, name: Hashable, make: Callable[[], Any]) -> Any:
        """Something made once per installation that stands, with what it rests on, in the derivation of every fact that asks."""
        if name not in self.kept:
            self.kept[name] = self.reading(make)
        answer, read = self.kept[name]
        self._inputs.extend(read)
        return answer


def answer(ledger: Ledger, thing: Any, name: str, *arguments: Any) -> Any:
    """What a fact says; None where it is unknown."""
    try:
        return ledger.get(thing, name, *arguments)
    except Missing:
        return None


def _distinct(reasons: tuple[Unknown, ...]) -> tuple[Unknown, ...]:
    return tuple({(reason.what, reason.span.start): reason for reason in reasons}.values())
