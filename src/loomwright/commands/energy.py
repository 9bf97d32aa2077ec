"""`energy`: state of charge through the days."""

from __future__ import annotations

import click

from loomwright.commands.common import examples, spec


@click.command(
    epilog=examples(
        "loomwright energy specs/orchard-bees/planned.fitout",
        "loomwright energy --days 10 --format svg specs/orchard-bees/planned.fitout > charge.svg",
    )
)
@spec
@click.option(
    "--days", type=click.IntRange(1, 365), default=3, show_default=True, help="How many such days on end."
)
@click.option(
    "--format", "form", type=click.Choice(["text", "json", "csv", "svg"]), default="text", show_default=True
)
def energy(spec: str, days: int, form: str) -> None:
    """State of charge through the day, or several: what comes in, what goes, how low it gets."""
    from loomwright.report.console import put
    from loomwright.report.files import Unreadable, facts_of
    from loomwright.sheets import energy_course

    try:
        put(energy_course.FORMS[form](spec, energy_course.courses_of(facts_of(spec), days)))
    except energy_course.NoCourse as none:
        raise Unreadable(f"{spec}: {none}") from None
