"""What the parts of the work order are made of."""

from __future__ import annotations

from loomwright.model import things as t
from loomwright.record import Record
from loomwright.sheets.cautions import standing
from loomwright.sheets.document import Caution, Step, Words
from loomwright.sheets.job import Job
from loomwright.sheets.readings import Trial
from loomwright.sheets.words import counted

FITTER, APPRENTICE, TESTER, ELECTRICIAN = "fitter", "apprentice", "tester", "licensed electrician"


class Section(Record):
    """Steps that belong together. `says` is what the reader must know before the first."""

    title: str
    says: str
    steps: tuple[Step, ...]
    by_place: bool = False  # with a heading over the steps of each place
    always: bool = False  # no filter hides its steps


class Cautioner:
    """Gives each step the cautions that stand there; a caution that has stood in the section before is not said again."""

    def __init__(self, job: Job) -> None:
        self._job = job
        self._told: set[str] = set()

    def before(self, *stands: str) -> tuple[Caution, ...]:
        """The cautions of these places that have not been told yet."""
        fresh = tuple(one for one in standing(self._job, *stands) if one.number not in self._told)
        self._told |= {one.number for one in fresh}
        return fresh


def step(
    key: str,
    words: Words,
    *details: Words,
    person: str = FITTER,
    place: str = "",
    run: str = "",
    cautions: tuple[Caution, ...] = (),
) -> Step:
    """A step; empty details are left out. Its key is what its tick is kept under, and never depends on its number."""
    return Step(key, words, tuple(detail for detail in details if detail), cautions, place, person, run)


def fuse_key(fuse: t.Fuse, job: Job, does: str = "fuse") -> str:
    """A key that stays: a way's by its name, a run's by its name and which of its fuses it is."""
    if fuse.run is None:
        return f"{does}-{fuse.name}"
    fuses = job.installation.fuses_of[fuse.run]
    place = fuses.index(fuse) if isinstance(fuses, tuple) else 0
    return f"{does}-{fuse.name}-{fuse.run.role}-{place + 1}"


def trial_step(
    test: Trial, *details: Words, person: str = TESTER, cautions: tuple[Caution, ...] = ()
) -> Step:
    """The step of a test of the commissioning record, under the number that it has there."""
    rows = f" ({counted(len(test.rows), 'reading')})" if len(test.rows) > 1 else ""
    return step(
        f"test-{test.id}",
        f"{test.id}: {test.name}{rows}.",
        f"How: {test.method}.",
        f"Limit: {test.limit}.",
        *details,
        person=person,
        cautions=cautions,
    )
