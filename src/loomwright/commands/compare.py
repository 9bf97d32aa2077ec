"""`compare`: what changed between two specs."""

from __future__ import annotations

import datetime
import os
import sys
from typing import Any

import click

from loomwright.commands.common import EXIT_UNREADABLE, date_of, examples, print_errors, today


@click.command(
    epilog=examples(
        "loomwright compare specs/orchard-bees/as-found.fitout specs/orchard-bees/planned.fitout",
        "loomwright compare --git HEAD~1 --format markdown specs/orchard-bees/planned.fitout",
    )
)
@click.argument("specs", nargs=-1, required=True, metavar="OLD NEW")
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "markdown", "json", "html"]),
    default="text",
    show_default=True,
)
@click.option(
    "--git", "revision", metavar="REV", help="OLD is the same spec as it was at this revision: name NEW only."
)
@click.option("--every-figure", is_flag=True, help="Show figures however little they moved.")
@today
def compare(
    specs: tuple[str, ...],
    form: str,
    revision: str | None,
    every_figure: bool,
    today: datetime.datetime | None,
) -> None:
    """What changed between two specs, as things, figures and findings.

    A spec is a file, or REVISION:PATH as git writes it (HEAD~1:specs/van.fitout).
    """
    from loomwright.report.check import Wishes
    from loomwright.report.console import put
    from loomwright.review import forms, sides

    if len(specs) != (1 if revision is not None else 2):
        raise click.UsageError("name two specs, or one with --git REV")
    wishes = Wishes(today=date_of(today) or datetime.date.today())
    try:
        old = (
            sides.of_revision(revision, specs[0], wishes)
            if revision is not None
            else sides.side(specs[0], wishes)
        )
        new = sides.side(specs[-1], wishes)
        put(forms.told(old, new, form, every_figure, _costs(old, new, wishes)))
    except sides.NotRead as trouble:
        click.echo(f"loomwright: {trouble}:", err=True)
        print_errors(trouble.problems)
        sys.exit(EXIT_UNREADABLE)


def _costs(old: Any, new: Any, wishes: Any) -> tuple[Any, Any]:
    """What the parts of two specs cost, both by the price list that holds for the new one."""
    from loomwright.rulebook.house import house_of

    path = new.report.files[0].path
    house = house_of(path) if os.path.exists(path) else None
    if house is None or house.prices is None:
        return None, None
    from loomwright.sheets.cost import cost_of

    return cost_of(old, house, wishes.today), cost_of(new, house, wishes.today)
