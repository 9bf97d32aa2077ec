"""Many specs: checked by several processes, and not again while nothing that their findings rest on has changed.

A report is kept in the user's cache folder (see `loomwright.cache`) with what it rests on: the spec's text, the texts that it
includes, the house's file and rules, the program with its rule book and limits, and what was asked for. The day counts only where
a concession of the spec has an end, for nothing else is judged by it. A report with errors is never kept.
"""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterable, Iterator, Sequence

from loomwright import cache, garbage
from loomwright.record import Record, replace
from loomwright.report import basis
from loomwright.report.check import Report, Wishes, check, together
from loomwright.report.files import Unreadable, read_spec
from loomwright.source import Problem, Source

BATCH = 16
"""Specs that a process is given at a time: enough that handing over costs nothing beside checking."""


Progress = Callable[[int, int], None]
"""Told after each spec how many of how many are done."""


class Kept(Record):
    """A report without its facts. `basis` is what it rests on beside the includes; `day` is "" where the day does not count."""

    basis: str
    day: str
    includes: tuple[tuple[str, str], ...]
    report: Report


def check_many(
    paths: Iterable[str],
    wishes: Wishes,
    jobs: int = 1,
    keep: bool = True,
    progress: Progress | None = None,
) -> Report:
    """The report of several specs, in the order given whatever is done first.

    `jobs` processes share the work (-1: one a core); inside `joblib.parallel_config(...)` it goes to that backend instead, such
    as a Dask cluster whose workers see the same files. Without `keep` no report is taken from the cache or put into it. Of
    several, a file that can't be read is an error of the report; raises Unreadable for one alone.
    """
    every = list(paths)
    return together(_counted(_reports(every, wishes, jobs, keep), len(every), progress))


def _counted(reports: Iterable[Report], count: int, progress: Progress | None) -> Iterator[Report]:
    for number, report in enumerate(reports, 1):
        yield report
        if progress is not None:
            progress(number, count)


def _reports(paths: Sequence[str], wishes: Wishes, jobs: int, keep: bool) -> Iterator[Report]:
    """Report after report in the order of the paths; only those that nobody has kept are shared out."""
    held = {path: report for path in paths if keep and (report := recalled(path, wishes)) is not None}
    missing = [path for path in paths if path not in held]
    ask = checked if len(paths) == 1 else _told
    alone = jobs == 1 or len(missing) < 2 or "-" in missing
    by_this = (ask(path, wishes, keep) for path in missing)
    reckoned = by_this if alone else _shared_out(missing, wishes, jobs, keep)
    return (held[path] if path in held else next(reckoned) for path in paths)


def _shared_out(paths: Sequence[str], wishes: Wishes, jobs: int, keep: bool) -> Iterator[Report]:
    import joblib

    batches = [paths[start : start + BATCH] for start in range(0, len(paths), BATCH)]
    work = (joblib.delayed(_batch)(batch, wishes, keep) for batch in batches)
    done = joblib.Parallel(n_jobs=jobs, batch_size=1, return_as="generator")(work)
    return (report for reports in done for report in reports)


def _batch(paths: Sequence[str], wishes: Wishes, keep: bool) -> list[Report]:
    """What one process does at a time."""
    garbage.seldom()
    return [_told(path, wishes, keep) for path in paths]


def _told(path: str, wishes: Wishes, keep: bool) -> Report:
    """The report of one of several specs: that it can't be read is an error at its head, and the others are checked."""
    try:
        return checked(path, wishes, keep)
    except Unreadable as unread:
        head = Source("<stdin>" if path == "-" else path, "").span(0, 0)
        return Report((), (), (Problem(head, f"this spec can't be read: {unread.why}"),))


def checked(path: str, wishes: Wishes, keep: bool = True) -> Report:
    """The report of one spec without its facts; it is kept where it may be. Raises Unreadable."""
    text = read_spec(path)
    seen, reading = basis.recording()
    report = check(text, "<stdin>" if path == "-" else path, wishes, reading)
    for finding in report.findings:
        finding.settle()
    plain = replace(report, ledger=None)
    if keep and path != "-" and not report.errors:
        includes = tuple((real, basis.digest(included)) for real, included in seen.items())
        day = _day(wishes) if _expires(report) else ""
        cache.keep("findings", _slot(path, wishes), Kept(_rests_on(path, text), day, includes, plain))
    return plain


def recalled(path: str, wishes: Wishes) -> Report | None:
    """The report of a spec that was kept, where it can still be read and holds."""
    if path == "-":
        return None
    kept = cache.recall("findings", _slot(path, wishes))
    if not isinstance(kept, Kept) or kept.day not in ("", _day(wishes)):
        return None
    try:
        text = read_spec(path)
    except Unreadable:
        return None
    return kept.report if kept.basis == _rests_on(path, text) and _includes_hold(kept) else None


def _slot(path: str, wishes: Wishes) -> str:
    """Where a spec's report is kept: one place a spec, so that the cache does not grow with every change."""
    wished = (sorted(wishes.only), sorted(wishes.skip), wishes.judging)
    return basis.digest(path, os.path.realpath(path), repr(wished))


def _day(wishes: Wishes) -> str:
    return (wishes.today or datetime.date.today()).isoformat()


def _rests_on(path: str, text: str) -> str:
    house = basis.house_files(path)
    texts = (basis.text_or_none(file) for file in house)
    return basis.digest(basis.program(), os.getcwd(), text, *house, *texts)


def _includes_hold(kept: Kept) -> bool:
    return all(basis.digest(basis.text_or_none(real)) == digest for real, digest in kept.includes)


def _expires(report: Report) -> bool:
    """Whether the findings may be others on another day."""
    ledger = report.ledger
    return ledger is not None and any(one.until is not None for one in ledger.installation.concessions)
