"""What the grammar can't say of a clause: how often it may stand in a block, what its numbers may be, whether it may be unknown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from loomwright.quantity import DIMENSIONS, show
from loomwright.source import Span
from loomwright.syntax.forms import COUNT, USUAL, Form
from loomwright.syntax.hints import quoted
from loomwright.syntax.tree import Clause, Measure, Number, Word

Slip = tuple[Span, str, str]
"""Place, message, hint."""

NOMINAL = (12.0, 24.0)


class Repeats:
    """What already stands in one block."""

    __slots__ = ("seen",)

    def __init__(self) -> None:
        self.seen: dict[tuple[str, str], Clause] = {}

    def slips(self, form: Form, clause: Clause) -> Iterator[Slip]:
        """The clause itself, when it stands a second time or beside one that excludes it."""
        if form.many == "*":
            return
        part = clause.parts.get(form.many)
        key = (form.group or clause.keyword.text, getattr(part, "text", ""))
        first = self.seen.setdefault(key, clause)
        if first is clause:
            return
        word, line = clause.keyword.text, first.span.line
        if first.keyword.text != word:
            yield (
                clause.span,
                f"'{word}' and '{first.keyword.text}' exclude one another",
                f"'{first.keyword.text}' stands on line {line}: leave one of them out",
            )
        else:
            again = f"'{word} … {key[1]}'" if key[1] else f"'{word}'"
            yield clause.span, f"{again} stands here a second time", f"it stands first on line {line}"


def unknown_slips(form: Form, clause: Clause) -> Iterator[Slip]:
    """The clause, where it is `unknown` and must not be."""
    value = clause.parts.get("value")
    if form.settled and isinstance(value, Word) and value.text == "unknown":
        yield clause.span, f"'{clause.keyword.text}' can't be unknown", form.settled


def number_slips(form: Form, clause: Clause) -> Iterator[Slip]:
    """The numbers of a clause that make no sense where they stand: zero, negative or beyond anything real."""
    yield from _numbers(form, clause.parts)
    word = clause.keyword.text
    value = clause.parts.get("value")
    if word == "system" and isinstance(value, Measure) and value.quantity.si not in NOMINAL:
        yield (
            value.span,
            f"a system of {value.quantity.text} is not known here",
            "write the nominal voltage: 12 V or 24 V",
        )
    low, high = clause.parts.get("low"), clause.parts.get("high")
    if isinstance(low, Measure) and isinstance(high, Measure) and low.quantity.si > high.quantity.si:
        yield (
            low.span.to(high.span),
            f"{low.quantity.text} is warmer than {high.quantity.text}",
            "write the colder one first",
        )


def _numbers(form: Form, parts: Mapping[str, Any]) -> Iterator[Slip]:
    for name, value in parts.items():
        if isinstance(value, Measure):
            yield from _measure(form, name, value)
        elif isinstance(value, Number):
            least, most, _ = form.limits.get(name, COUNT)
            if value.value != int(value.value) or not least <= value.value <= most:
                yield (
                    value.span,
                    f"{quoted(value.text)} can't be right in '{form.keyword}'",
                    f"a whole number from {least} to {most}",
                )
        elif isinstance(value, tuple):
            for inner in value:
                if isinstance(inner, Mapping):
                    yield from _numbers(form, inner)


def _measure(form: Form, name: str, value: Measure) -> Iterator[Slip]:
    si, dimension = value.quantity.si, value.quantity.dimension
    usual = USUAL[dimension]
    limits = form.limits
    least, most, closed = limits.get(f"{name}:{dimension}") or limits.get(name) or usual if limits else usual
    if least < si < most or si == most or (closed and si == least):
        return
    noun = DIMENSIONS[dimension].noun
    if si > most:
        limit = f"at most {show(most, dimension)}"
    else:
        limit = f"{'at least' if closed else 'more than'} {show(least, dimension)}"
    keyword = "a mode's time" if form.form.startswith("MODE") else f"'{form.keyword}'"
    yield (
        value.span,
        f"{quoted(value.text)} can't be right for {keyword}",
        f"{noun} of {limit} is wanted here",
    )
