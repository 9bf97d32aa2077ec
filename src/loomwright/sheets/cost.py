"""What the parts of a compared spec cost, by the workshop's price list."""

from __future__ import annotations

import datetime
from decimal import Decimal

from loomwright.review.compare import Cost
from loomwright.review.sides import Side
from loomwright.rulebook.house import House
from loomwright.rulebook.load import Rulebook
from loomwright.sheets.job import Job
from loomwright.sheets.lists import prices_in
from loomwright.sheets.parts import priced


def cost_of(side: Side, house: House, today: datetime.date) -> Cost | None:
    """The parts list of one side, added up; None for a spec of what came in, which nobody buys, and without a price list."""
    path = side.report.files[0].path
    job = Job(path, (), (path,), side.report, side.ledger, Rulebook((), ()), house, today)
    if job.as_found or house.prices is None:
        return None
    lines = priced(job, prices_in(house.prices))
    total = sum((line.total for line in lines if line.total is not None), Decimal("0.00"))
    return Cost(f"{total:.2f}", sum(1 for line in lines if line.total is None))
