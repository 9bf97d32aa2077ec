"""`explain`: a rule or a fact in full, or the derivation of a figure."""

from __future__ import annotations

import datetime
import os

import click

from loomwright.commands.common import date_of, examples, today


@click.command(
    epilog=examples(
        "loomwright explain unfused-feed",
        "loomwright explain run.carries specs/orchard-bees/planned.fitout main",
    )
)
@click.argument("topic", metavar="RULE|FACT")
@click.argument("spec", required=False, type=click.Path())
@click.argument("name", required=False)
@today
def explain(topic: str, spec: str | None, name: str | None, today: datetime.datetime | None) -> None:
    """A rule or a fact in full, as the workshop here has it; with a spec and a thing's name, with that spec's numbers."""
    from loomwright.report import explain as explaining
    from loomwright.report.console import put

    if spec and not name:
        raise click.UsageError(
            "name the thing of the spec that is to be explained, such as a run or a battery"
        )
    if spec and name:
        put(explaining.explain_in(topic, spec, name, date_of(today)))
    else:
        put(explaining.explain(topic, os.curdir))
