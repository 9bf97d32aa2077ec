"""`figures`: the electrical figures of each mode."""

from __future__ import annotations

import click

from loomwright.commands.common import examples, spec


@click.command(
    epilog=examples(
        "loomwright figures specs/orchard-bees/planned.fitout",
        "loomwright figures --mode night --format json specs/orchard-bees/planned.fitout",
    )
)
@spec
@click.option("--mode", "modes", multiple=True, metavar="MODE", help="This mode only; may be repeated.")
@click.option(
    "--format", "form", type=click.Choice(["text", "json", "csv"]), default="text", show_default=True
)
def figures(spec: str, modes: tuple[str, ...], form: str) -> None:
    """Volts, amps, drop, loss and temperature in each mode, and what a fault does."""
    from loomwright.report import figures as figuring
    from loomwright.report.console import put
    from loomwright.report.files import facts_of

    try:
        put(figuring.FORMS[form](facts_of(spec), modes or None))
    except figuring.NoSuchMode as unknown:
        raise click.UsageError(str(unknown)) from None
