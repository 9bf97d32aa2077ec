"""All sheets in the order in which they are bound. A sheet is a module with `sheet(job: Job) -> Sheet | None`.

To add one: write the module, and give it a line here. `None` means that the sheet has nothing to say for that job.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module

from loomwright.sheets.document import Sheet
from loomwright.sheets.job import Job

SHEETS: tuple[tuple[str, str], ...] = (
    ("cover", "loomwright.sheets.cover"),
    ("inspection", "loomwright.sheets.inspection"),
    ("diagram", "loomwright.sheets.diagram"),
    ("routing", "loomwright.sheets.routing"),
    ("rework", "loomwright.sheets.rework"),
    ("work-order", "loomwright.sheets.work_order"),
    ("run-schedule", "loomwright.sheets.run_schedule"),
    ("cut-list", "loomwright.sheets.cut_list"),
    ("terminations", "loomwright.sheets.terminations"),
    ("fuse-chart", "loomwright.sheets.fuse_chart"),
    ("labels", "loomwright.sheets.labels"),
    ("parts", "loomwright.sheets.parts"),
    ("figures", "loomwright.sheets.figures"),
    ("protection-curves", "loomwright.sheets.protection_curves"),
    ("energy", "loomwright.sheets.energy"),
    ("commissioning", "loomwright.sheets.commissioning"),
    ("compliance", "loomwright.sheets.compliance"),
    ("owner-card", "loomwright.sheets.owner_card"),
)
NAMES = tuple(name for name, _ in SHEETS)


def sheet_of(name: str, job: Job) -> Sheet | None:
    """One sheet of a job. Raises KeyError for a name that no sheet has."""
    make: Callable[[Job], Sheet | None] = import_module(dict(SHEETS)[name]).sheet
    return make(job)
