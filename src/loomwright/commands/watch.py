"""`watch`: findings and papers at every save."""

from __future__ import annotations

import datetime
import sys
from typing import Any

import click

from loomwright.commands.common import date_of, examples, spec, today, told_fault
from loomwright.commands.sheets import refuse_unknown_sheets


@click.command(
    epilog=examples(
        "loomwright watch specs/orchard-bees/planned.fitout",
        "loomwright watch --browser specs/orchard-bees/planned.fitout",
    )
)
@spec
@click.option("--browser", is_flag=True, help="Open the page in the browser.")
@click.option("--only", multiple=True, metavar="SHEET", help="Show this sheet only; may be repeated.")
@today
def watch(spec: str, browser: bool, only: tuple[str, ...], today: datetime.datetime | None) -> None:
    """Check a spec whenever it is saved, and show its papers on an address of this machine. Ctrl-C ends it."""
    from loomwright.report.console import put, wants_colour
    from loomwright.report.files import specs_of
    from loomwright.report.text import text
    from loomwright.watching.address import Address
    from loomwright.watching.watch import Watch

    refuse_unknown_sheets(only)
    if specs_of([spec]) != [spec] or spec == "-":
        raise click.UsageError("watch one spec: the path of a file")

    def tell(said: Any) -> None:
        click.clear()  # does nothing where there is no terminal
        put(f"{said}\n" if isinstance(said, str) else text(said, wants_colour(sys.stdout)))
        click.echo(f"papers at {address.url}", err=True)

    address = Address()
    if browser:
        click.launch(address.url)
    try:
        Watch(spec, tell, address.show, told_fault, date_of(today), only).forever()
    except KeyboardInterrupt:
        address.close()
