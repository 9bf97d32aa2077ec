"""What every sheet is made from: one spec that was read and judged, and what belongs to it on disk."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable

from loomwright.facts.registry import Ledger
from loomwright.model.files import FileTrouble, read_file, read_text
from loomwright.model.load import load
from loomwright.model.things import Fitout, Installation
from loomwright.record import Record, replace
from loomwright.report.check import Report, Wishes, check
from loomwright.rulebook.finding import Finding
from loomwright.rulebook.house import House, house_of
from loomwright.rulebook.load import Rulebook, load_rules
from loomwright.source import Problem

AS_FOUND = "as-found"
NEIGHBOUR = "as-found.fitout"


class NoPapers(Exception):
    """The spec (or the one that it is compared with) can't be read; `problems` lists every error."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__(f"{len(problems)} errors")
        self.problems = problems


class Job(Record):
    """One spec with its facts and findings. `today` is the day that concessions were judged on.

    `texts` are the spec's text and its includes' in the order met, `files` their paths; `predecessor` holds the facts of the
    as-found spec of the same job, and `predecessor_trouble` says why one that is there could not be used.
    """

    path: str
    texts: tuple[str, ...]
    files: tuple[str, ...]
    report: Report
    ledger: Ledger
    rulebook: Rulebook
    house: House
    today: datetime.date
    predecessor: Ledger | None = None
    predecessor_trouble: str = ""

    @property
    def installation(self) -> Installation:
        return self.ledger.installation

    @property
    def fitout(self) -> Fitout:
        return self.ledger.installation.fitout

    @property
    def findings(self) -> tuple[Finding, ...]:
        return self.report.findings

    @property
    def as_found(self) -> bool:
        """Whether the spec describes what came in, so that there is nothing to build from it."""
        return self.fitout.stage == AS_FOUND


def job_of(
    text: str, path: str | None = None, today: datetime.date | None = None, old: str | None = None
) -> Job:
    """The job of a spec's text. `old` is the path of the spec that it replaces; without it an `as-found.fitout` beside the
    spec with the same job number is taken. Raises NoPapers for a spec with errors, FileTrouble for an `old` that can't be read.
    """
    today = today or datetime.date.today()
    name = path or "<text>"
    kept, read = _keeping()
    report = check(text, name, Wishes(today=today), read)
    if report.errors or report.ledger is None:
        raise NoPapers(report.errors)
    house = house_of(name) if os.path.exists(name) else House()
    ledger = report.ledger
    job = Job(
        path=name,
        texts=(text, *kept.values()),
        files=(name, *kept),
        report=report,
        ledger=ledger,
        rulebook=house.judged(load_rules(house.rules, ledger.limits)),
        house=house,
        today=today,
    )
    return _with_given(job, old) if old else _with_neighbour(job)


def _keeping() -> tuple[dict[str, str], Callable[[str], str]]:
    """A reader of included files that keeps what it read, by path."""
    kept: dict[str, str] = {}

    def read(real: str) -> str:
        kept[real] = read_text(real)
        return kept[real]

    return kept, read


def _with_given(job: Job, old: str) -> Job:
    loaded = load(read_file(old), old)
    if loaded.installation is None:
        raise NoPapers(loaded.problems)
    return replace(job, predecessor=_ledger(loaded.installation, job))


def _with_neighbour(job: Job) -> Job:
    beside = os.path.join(os.path.dirname(job.path), NEIGHBOUR)
    if job.as_found or not os.path.isfile(job.path) or not os.path.isfile(beside):
        return job
    try:
        loaded = load(read_file(beside), beside)
    except FileTrouble as trouble:
        return replace(job, predecessor_trouble=str(trouble))
    if loaded.installation is None:
        return replace(job, predecessor_trouble=f"{NEIGHBOUR} beside this spec has errors and was not used")
    if not job.fitout.job or loaded.installation.fitout.job != job.fitout.job:
        return job
    return replace(job, predecessor=_ledger(loaded.installation, job))


def _ledger(installation: Installation, job: Job) -> Ledger:
    return Ledger(installation, job.ledger.limits, job.today)
