"""Known findings of a vehicle that is taken over: only what comes on top of them fails.

A baseline is JSON, one known finding a line, sorted, so that two people's changes to it merge. An entry is a file (from the
folder of the baseline), a rule and the names of the things; never a line or a message. Two alike entries stand for two
findings. The class is kept as well: a finding that became worse than what is known is a new one.

A dangerous finding, or one that might be, is never left out of what is shown and counts toward the exit status: whoever lives
with it says so by a concession in the spec.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections import Counter
from collections.abc import Collection, Hashable, Iterable
from typing import Any, NamedTuple

from loomwright import whole
from loomwright.record import Record, replace
from loomwright.report.check import CLASSES, Report
from loomwright.report.files import Unreadable
from loomwright.rulebook.finding import Finding

VERSION = 1


class Entry(NamedTuple):
    """One known finding."""

    file: str
    rule: str
    things: tuple[str, ...]
    severity: str


class Parted(Record):
    """A report held against a baseline.

    `report` is what is to be shown and judged: what is new, conceded, or dangerous. `known` are all findings that the baseline
    has, `shown` those of them that stay in the report for the danger in them; `gone` are entries that no longer occur.
    """

    report: Report
    known: tuple[Finding, ...]
    shown: tuple[Finding, ...]
    gone: tuple[Entry, ...]


class Occurrences:
    """Counts how often something was met before."""

    def __init__(self) -> None:
        self._met: Counter[Hashable] = Counter()

    def of(self, key: Hashable) -> int:
        self._met[key] += 1
        return self._met[key] - 1


def fingerprint(finding: Finding, number: int = 0) -> str:
    """32 hexadecimal digits of the SHA-256 of rule and names, and of the number of alike ones before it."""
    text = json.dumps([finding.rule, finding.things, number], ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def part(report: Report, baseline: Iterable[Entry], path: str, rules: Collection[str]) -> Parted:
    """The report without what is known. `path` is the baseline's own; `rules` those that were judged: an entry of another rule,
    or of a file that was not checked, is not gone."""
    waiting = sorted(baseline, key=_order)
    known = [finding for finding in report.findings if not finding.conceded and _take(finding, waiting, path)]
    hidden = {id(finding) for finding in known if finding.rule_severity != "dangerous"}
    checked = {_from(path, file.path) for file in report.files}
    checked |= {_from(path, finding.span.source.path) for finding in report.findings}
    return Parted(
        report=replace(report, findings=tuple(f for f in report.findings if id(f) not in hidden)),
        known=tuple(known),
        shown=tuple(finding for finding in known if id(finding) not in hidden),
        gone=tuple(entry for entry in waiting if entry.file in checked and entry.rule in rules),
    )


def _take(finding: Finding, waiting: list[Entry], path: str) -> bool:
    """Use up the entry that covers a finding: the same, and known to be as bad or worse."""
    mine = entry_of(finding, path)
    alike = [entry for entry in waiting if entry[:3] == mine[:3]]
    covering = [entry for entry in alike if _rank(entry.severity) <= _rank(mine.severity)]
    if not covering:
        return False
    waiting.remove(max(covering, key=lambda entry: _rank(entry.severity)))
    return True


def entry_of(finding: Finding, path: str) -> Entry:
    """A finding as a baseline at `path` lists it."""
    return Entry(_from(path, finding.span.source.path), finding.rule, finding.things, finding.severity)


def written(report: Report, path: str, old: Iterable[Entry] | None, rules: Collection[str]) -> str:
    """The text of a baseline at `path`: of all findings that nobody conceded, or where there is an `old` one only of those that
    it has: it shrinks and never takes up what is new."""
    if old is None:
        entries = [entry_of(finding, path) for finding in report.findings if not finding.conceded]
    else:
        parted = part(report, old, path, rules)
        occurs = Counter(old) - Counter(parted.gone)
        entries = list(occurs.elements())
    lines = [json.dumps(entry._asdict(), ensure_ascii=False) for entry in sorted(entries, key=_order)]
    known = "\n  " + ",\n  ".join(lines) + "\n" if lines else ""
    return f'{{"version": {VERSION}, "known": [{known}]}}\n'


def read(path: str) -> list[Entry]:
    """The entries of a baseline file. Raises Unreadable, which says what to do."""
    from loomwright.model.files import FileTrouble, read_file

    if not os.path.exists(path):
        raise Unreadable(f"there is no baseline {path}: 'check --write-baseline {path}' writes one")
    try:
        return parse(read_file(path))
    except FileTrouble as trouble:
        raise Unreadable(str(trouble)) from None
    except (ValueError, KeyError, TypeError) as wrong:
        raise Unreadable(f"{path} is no baseline of version {VERSION}: {wrong}") from None


def parse(text: str) -> list[Entry]:
    """Raises ValueError, KeyError or TypeError for what is no baseline."""
    data: Any = json.loads(text)
    if (
        not isinstance(data, dict)
        or data.get("version") != VERSION
        or not isinstance(data.get("known"), list)
    ):
        raise ValueError(f'it must be {{"version": {VERSION}, "known": [...]}}')
    return [_entry(row) for row in data["known"]]


def _entry(row: Any) -> Entry:
    things = row["things"]
    fields = (row["file"], row["rule"], row["severity"])
    if not isinstance(things, list) or not all(isinstance(text, str) for text in (*fields, *things)):
        raise TypeError("an entry has texts for file, rule and severity, and a list of names for things")
    if row["severity"] not in CLASSES:
        raise ValueError(f"'{row['severity']}' is no class of severity")
    return Entry(row["file"], row["rule"], tuple(things), row["severity"])


def write(path: str, text: str) -> None:
    """Write a baseline whole or not at all. Raises Unreadable."""
    try:
        whole.write(path, text.encode())
    except OSError as error:
        raise Unreadable(f"{path} can't be written: {whole.reason(error)}") from None


def told(parted: Parted, path: str) -> str:
    """What a baseline did, in sentences for standard error."""
    lines = []
    left_out = len(parted.known) - len(parted.shown)
    if left_out:
        lines.append(f"{left_out} known from {path} not shown")
    if parted.shown:
        lines.append(
            f"{len(parted.shown)} known from {path} that are or may be dangerous stay in force:"
            " mend them, or concede them in the spec"
        )
    if parted.gone:
        lines.append(
            f"{len(parted.gone)} known from {path} no longer occur ('--write-baseline {path}' takes them out):"
        )
        lines += [f"    {entry.rule} on {', '.join(entry.things)} ({entry.file})" for entry in parted.gone]
    return "".join(f"{line}\n" for line in lines)


def _from(path: str, file: str) -> str:
    """A file as a baseline names it: from the baseline's folder, with slashes."""
    if file.startswith("<"):
        return file
    return os.path.relpath(file, os.path.dirname(path) or ".").replace(os.sep, "/")


def _order(entry: Entry) -> tuple[str, str, tuple[str, ...], int]:
    return entry.file, entry.rule, entry.things, _rank(entry.severity)


def _rank(severity: str) -> int:
    return CLASSES.index(severity)
