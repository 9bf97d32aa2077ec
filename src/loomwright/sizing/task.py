"""What is sized, and the states that the rule book judges: one for each choice of sizes and ratings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from loomwright.facts.registry import Ledger, Missing
from loomwright.record import Record, replace
from loomwright.report.check import Report, Wishes, check, judged
from loomwright.rulebook.finding import SEVERITIES, Finding
from loomwright.sheets.lists import Prices
from loomwright.sizing.slots import Found, Slot, found_in, rendered
from loomwright.sizing.stock import CableOption, FuseOption, cable_options, fuse_options, trade_of
from loomwright.stock.fuses import kind as fuse_kind
from loomwright.syntax.parse import Parsed

RULES = frozenset((
    "blade-terminal-mismatch", "breaking-capacity-short", "cable-overloaded", "charge-line-drop", "cut-out-margin", "feeder-overloaded", "fuse-above-cable",
    "fuse-below-load", "fuse-never-blows", "fuse-slower-than-cable", "fuse-trips-on-surge", "lug-barrel-mismatch", "lug-not-made", "no-selectivity",
    "parallel-cables-unequal", "step-down-unfused", "too-thin-for-mechanics", "two-in-one-barrel", "undersized-earth",
    "unfused-both-ends", "unfused-feed", "voltage-drop-high",
))  # fmt: skip
"""The rules that bear on sizes and ratings; a workshop's own rules are judged beside them."""


class NoChoice(Exception):
    """No choice of stocked sizes holds every rule. `lines` say which limit would have to give, and by how much."""

    def __init__(self, lines: Sequence[str]) -> None:
        super().__init__("; ".join(lines))
        self.lines = tuple(lines)


class NotSized(Exception):
    """The spec can't be sized as it stands; `problems` are its errors, `lines` what to look at or measure."""

    def __init__(self, lines: Sequence[str], report: Report | None = None) -> None:
        super().__init__("; ".join(lines))
        self.lines = tuple(lines)
        self.report = report


class State(Record):
    """One choice, the text that it makes, and what the rule book says of that, once it is judged."""

    choice: Mapping[str, str]
    text: str
    ledger: Ledger
    found: Found
    standing: tuple[Finding, ...]
    report: Report


@dataclass(slots=True)
class Task:
    """What is sized: the text and its path, the free slots, the house's rules, and what may be chosen at each slot."""

    text: str
    path: str
    slots: dict[str, Slot]
    free: frozenset[str]
    rules: frozenset[str]
    prices: Prices
    cables: dict[str, tuple[CableOption, ...]] = field(default_factory=dict)
    fuses: dict[str, tuple[FuseOption, ...]] = field(default_factory=dict)
    parsed: dict[str, Parsed] = field(default_factory=dict)
    looked: dict[tuple[tuple[str, str], ...], State] = field(default_factory=dict)
    judged: dict[tuple[tuple[str, str], ...], State] = field(default_factory=dict)

    def judge(self, choice: Mapping[str, str]) -> State:
        """The state of a choice with its findings; each is judged once."""
        key = tuple(sorted(choice.items()))
        if key not in self.judged:
            state = self.look(choice)
            report = judged(state.report, Wishes(only=self.rules))
            standing = tuple(
                one for one in report.findings if one.severity in SEVERITIES and not one.conceded
            )
            self.judged[key] = replace(state, standing=standing, report=report)
        return self.judged[key]

    def look(self, choice: Mapping[str, str]) -> State:
        """The state of a choice with its facts alone; each is read once. Raises NotSized for a text with errors."""
        key = tuple(sorted(choice.items()))
        if key not in self.looked:
            text, layout = rendered(self.text, self.slots, choice)
            report = check(text, self.path, Wishes(only=self.rules, judging=False), before=self.parsed)
            if report.errors or report.ledger is None:
                raise NotSized(
                    [f"{problem.span.line}: {problem.message}" for problem in report.errors], report
                )
            found = found_in(report.ledger.installation, self.path, layout)
            self.looked[key] = State(dict(choice), text, report.ledger, found, (), report)
        return self.looked[key]

    def prepare(self) -> State:
        """Learn from the text as it stands what may be chosen where; what is open is filled for the while."""
        first = {key: "16 mm²" if slot.what == "cable" else f"{slot.kind or 'strip'} {_some(slot.kind or 'strip'):g} A"
                 for key, slot in self.slots.items() if slot.written is None}  # fmt: skip
        state = self.look(first)
        try:
            self._load_options(state.found, state.ledger)
        except Missing as missing:
            raise NotSized([one.what for one in missing.reasons]) from None
        return state

    def _load_options(self, found: Found, ledger: Ledger) -> None:
        """What may be chosen at each free slot. Raises Missing where a length is not known."""
        trade = trade_of(self.slots.values())
        for key, slot in self.slots.items():
            if key not in self.free:
                continue
            if slot.what == "cable":
                self.cables[key] = cable_options(slot, found, trade, ledger, self.prices)
            else:
                self.fuses[key] = fuse_options(slot, found, self.prices)


def _some(kind: str) -> float:
    return fuse_kind(kind).ratings[-1]
