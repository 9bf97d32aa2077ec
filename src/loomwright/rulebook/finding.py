"""A finding: a rule that did not hold, or could not be judged, at a place in the spec."""

from __future__ import annotations

from loomwright.record import Record
from loomwright.source import Span

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
    facts: tuple[Rested, ...] = ()
    missing: tuple[Wanted, ...] = ()
    edits: tuple[Edit, ...] = ()
    conceded: Conceded | None = None
    rule_file: str = ""

    @property
    def identity(self) -> tuple[str, tuple[str, ...]]:
        return self.rule, self.things

    def order(self) -> tuple[str, int, int, str, tuple[str, ...]]:
        """Sort key: file, place, rule, names."""
        path, start, _ = self.span.order()
        return path, start, _rank(self.severity), self.rule, self.things


def _rank(severity: str) -> int:
    return (*SEVERITIES, UNPROVEN).index(severity)
