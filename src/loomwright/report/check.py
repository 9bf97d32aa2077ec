"""The whole job as one call: from a text to its findings."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING

from loomwright.facts.registry import Ledger
from loomwright.model.things import Fitout, Installation
from loomwright.record import Record
from loomwright.rulebook.finding import SEVERITIES, UNPROVEN, Finding
from loomwright.source import Problem

if TYPE_CHECKING:
    from loomwright.facts.limits import Limit
    from loomwright.rulebook.house import Changes, House
    from loomwright.rulebook.judge import Aside
    from loomwright.syntax.parse import Parsed

CLASSES = (*SEVERITIES, UNPROVEN)


class Checked(Record):
    """One spec. `rules` is how many it was held to: none where errors kept it from being judged.

    `house` is what the workshop's own file changes of the rules and their limits.
    """

    path: str
    title: str
    stage: str
    runs: int
    devices: int
    rules: int
    fragment: bool = False
    house: Changes | None = None


class Report(Record):
    """Findings and errors of one or more specs, in the order of file and place.

    `ledger` gives the facts of the spec that was checked last, for whoever wants to show more than findings; it is None
    where the text could not be read.
    """

    files: tuple[Checked, ...]
    findings: tuple[Finding, ...]
    errors: tuple[Problem, ...]
    ledger: Ledger | None = None

    @property
    def counts(self) -> dict[str, int]:
        """Findings by class, without the conceded ones; then `conceded` and `errors`."""
        counts = dict.fromkeys((*CLASSES, "conceded", "errors"), 0)
        for finding in self.findings:
            counts["conceded" if finding.conceded else finding.severity] += 1
        counts["errors"] = len(self.errors)
        return counts

    def reaches(self, threshold: str) -> bool:
        """Whether a finding that nobody conceded is of class `threshold` or worse."""
        counts = self.counts
        return any(counts[name] for name in CLASSES[: CLASSES.index(threshold) + 1])


class Wishes(Record):
    """What one call of `check` is to look at. Empty `only` means every rule; without `judging` only facts are made ready."""

    only: frozenset[str] = frozenset()
    skip: frozenset[str] = frozenset()
    today: datetime.date | None = None
    judging: bool = True

    def wants(self, rule: str) -> bool:
        """Whether a rule of that name is asked."""
        return rule not in self.skip and (not self.only or rule in self.only)


def check(
    text: str,
    path: str | None = None,
    wishes: Wishes | None = None,
    read: Callable[[str], str] | None = None,
    before: dict[str, Parsed] | None = None,
    aside: Aside | None = None,
) -> Report:
    """Findings of one spec. `read` serves included files that are not to be read from disk (an editor's buffers), `before` what
    the files said when they were read before (`model.load.load`), `aside` the findings of rules that are judged elsewhere."""
    from loomwright.model.load import load

    wishes = wishes or Wishes()
    name = path or "<text>"
    loaded = load(text, name, read, before)
    if loaded.installation is None:
        files = (Checked(name, "", "", 0, 0, 0, fragment=True),) if loaded.fragment else ()
        return Report(files, (), _in_order(loaded.problems))
    return _judge(loaded.installation, name, loaded.problems, wishes, aside)


def _judge(
    installation: Installation, name: str, problems: tuple[Problem, ...], wishes: Wishes, aside: Aside | None
) -> Report:
    house = _house(name)
    limits, wrong = _limits(installation.fitout, house)
    ledger = Ledger(installation, limits, wishes.today or datetime.date.today())
    return _by_book(ledger, house, name, (*wrong, *problems), wishes, aside)


def judged(report: Report, wishes: Wishes) -> Report:
    """The report of one spec that was not judged yet (`judging=False`), judged by the facts that it has already."""
    assert report.ledger is not None
    (file,) = report.files
    return _by_book(report.ledger, _house(file.path), file.path, (), wishes)


def _house(name: str) -> House:
    from loomwright.rulebook.house import House, house_of

    return House() if name.startswith("<") else house_of(name)  # a text without a path has no workshop


def _by_book(
    ledger: Ledger,
    house: House,
    name: str,
    problems: tuple[Problem, ...],
    wishes: Wishes,
    aside: Aside | None = None,
) -> Report:
    from loomwright.rulebook.judge import judge
    from loomwright.rulebook.load import load_rules

    installation = ledger.installation
    book = house.judged(load_rules(house.rules, ledger.limits))
    errors = _in_order((*book.problems, *problems))
    rules = [rule for rule in book.rules if wishes.wants(rule.name)]
    if errors or not wishes.judging:
        rules = []
    findings = judge(rules, ledger, [rule.name for rule in book.rules], aside) if rules else ()
    runs = len(installation.runs) - len(installation.circuits)
    fitout = installation.fitout
    devices = len(installation.devices)
    checked = Checked(name, fitout.name, fitout.stage, runs, devices, len(rules), house=house.changes)
    return Report((checked,), tuple(findings), errors, ledger)


def _limits(fitout: Fitout, house: House) -> tuple[Mapping[str, Limit], tuple[Problem, ...]]:
    """The limits that the spec asks for, with the workshop's own figures."""
    from loomwright.facts.limits import LimitsError, load_limits

    try:
        return house.limited(load_limits(fitout.limits))
    except LimitsError as error:
        return load_limits(), (Problem(fitout.place_of("limits"), str(error)),)


def _in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    return tuple(sorted(problems, key=Problem.order))


def together(reports: Iterable[Report]) -> Report:
    """Reports of several specs as one, in the order given; a finding of a shared include stands once."""
    files: list[Checked] = []
    findings: dict[tuple[object, ...], Finding] = {}
    errors: dict[tuple[object, ...], Problem] = {}
    for report in reports:
        files += report.files
        for finding in report.findings:
            findings.setdefault((*finding.order(), finding.message), finding)
        for problem in report.errors:
            errors.setdefault(problem.order(), problem)
    return Report(tuple(files), tuple(findings.values()), tuple(errors.values()))
