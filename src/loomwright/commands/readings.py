"""`readings`: the meter against the spec."""

from __future__ import annotations

import click

from loomwright.commands.common import examples, spec


@click.command(
    epilog=examples(
        "loomwright readings specs/orchard-bees/installed.fitout",
        "loomwright readings --mode driving --csv meter.csv specs/orchard-bees/planned.fitout",
    )
)
@spec
@click.option(
    "--csv", "table", metavar="FILE", help="Readings of one mode: lines 'terminal,volts' and 'run,amps'."
)
@click.option("--mode", "modes", multiple=True, metavar="MODE", help="This mode only; may be repeated.")
@click.option("--format", "form", type=click.Choice(["text", "json"]), default="text", show_default=True)
def readings(spec: str, table: str | None, modes: tuple[str, ...], form: str) -> None:
    """What the meter showed against what the spec predicts, and where an excess resistance sits."""
    from loomwright.report import readings as reading
    from loomwright.report.console import put
    from loomwright.report.figures import NoSuchMode
    from loomwright.report.files import Unreadable, facts_of, read_spec

    if table and len(modes) != 1:
        raise click.UsageError("a file of readings is of one mode: name it with --mode")
    ledger = facts_of(spec)
    try:
        blocks = reading.of_spec(ledger, modes) if table is None else ()
        if table:
            blocks = (reading.of_csv(read_spec(table), table, reading.mode_named(modes[0], ledger), ledger),)
    except NoSuchMode as unknown:
        raise click.UsageError(str(unknown)) from None
    except reading.NoReadings as none:
        raise Unreadable(str(none)) from None
    put(reading.FORMS[form](blocks, ledger))
