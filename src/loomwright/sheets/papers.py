"""All sheets of a job, bound in order."""

from __future__ import annotations

from collections.abc import Collection

from loomwright.sheets.catalogue import NAMES, sheet_of
from loomwright.sheets.document import Papers
from loomwright.sheets.job import Job
from loomwright.sheets.revision import revision_of

STAGES = {"as-found": "as found", "planned": "planned", "installed": "as installed"}


def papers(job: Job, only: Collection[str] = ()) -> Papers:
    """The papers of a job; `only` leaves the named sheets (empty: all that have something to say)."""
    made = (sheet_of(name, job) for name in NAMES if not only or name in only)
    fitout = job.fitout
    return Papers(
        title=fitout.name,
        job=fitout.job or "",
        vehicle=fitout.vehicle or "vehicle not stated",
        customer=fitout.customer or "",
        stage=STAGES[fitout.stage],
        revision=revision_of(job),
        sheets=tuple(sheet for sheet in made if sheet is not None),
    )
