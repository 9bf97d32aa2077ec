"""A finding: a rule that did not hold, or could not be judged, at a place in the spec."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any, Generic, TypeVar, overload

from loomwright.record import Record
from loomwright.source import Span

T = TypeVar("T")

SEVERITIES = ("dangerous", "major", "minor")  # the deficiency classes of Directive 2014/45/EU
UNPROVEN = "unproven"


class Rested(Record):
    """A fact that a finding rested on: `name` as the rule wrote it, `text` its value as printed, `value` and `unit` for programs."""

    name: str
    value: float | str | bool | None
    unit: str
    text: str


class Wanted(Record):
    """Something that must be looked at or measured before a rule can be judged."""

    what: str
    span: Span


class Edit(Record):
    """Put `text` in place of `span`. `offered` edits touch a fuse or a conductor and are never applied unasked."""

    span: Span
    text: str
    offered: bool = True


class Later(Sequence[T], Generic[T]):
    """A row that is made when somebody first looks at it: what a finding rests on, and what mends it, few ever read."""

    __slots__ = ("_made",)

    def __init__(self, make: Callable[[], tuple[T, ...]]) -> None:
        self._made: tuple[T, ...] | Callable[[], tuple[T, ...]] = make

    def made(self) -> tuple[T, ...]:
        """The row itself; from now on nothing is held that it was made from."""
        if not isinstance(self._made, tuple):
            self._made = self._made()
        return self._made

    @overload
    def __getitem__(self, at: int) -> T: ...
    @overload
    def __getitem__(self, at: slice) -> Sequence[T]: ...
    def __getitem__(self, at: int | slice) -> T | Sequence[T]:
        return self.made()[at]

    def __len__(self) -> int:
        return len(self.made())

    def __iter__(self) -> Iterator[T]:
        return iter(self.made())

    def __eq__(self, other: object) -> bool:
        return self.made() == (other.made() if isinstance(other, Later) else other)

    def __hash__(self) -> int:
        return hash(self.made())

    def __repr__(self) -> str:
        return repr(self.made())

    def __reduce__(self) -> tuple[Any, ...]:
        return tuple, (self.made(),)


class Conceded(Record):
    """The concession that covers a finding."""

    reason: str
    by: str
    until: str | None


class Finding(Record):
    """`severity` is `unproven` where the rule could not be judged; `rule_severity` is what it would be.

    A finding is the same finding in another version of the spec when `identity` is the same.
    """

    rule: str
    severity: str
    rule_severity: str
    span: Span
    things: tuple[str, ...]
    at: str
    message: str
    why: str
    do: str
    sources: tuple[str, ...]
    facts: Sequence[Rested] = ()
    missing: tuple[Wanted, ...] = ()
    edits: Sequence[Edit] = ()
    conceded: Conceded | None = None
    rule_file: str = ""

    @property
    def identity(self) -> tuple[str, tuple[str, ...]]:
        return self.rule, self.things

    def settle(self) -> None:
        """Make what was left for later, so that the finding holds nothing of the installation that it was found in."""
        for row in (self.facts, self.edits):
            if isinstance(row, Later):
                row.made()

    def order(self) -> tuple[str, int, int, str, tuple[str, ...]]:
        """Sort key: file, place, rule, names."""
        path, start, _ = self.span.order()
        return path, start, _rank(self.severity), self.rule, self.things


def _rank(severity: str) -> int:
    return (*SEVERITIES, UNPROVEN).index(severity)
