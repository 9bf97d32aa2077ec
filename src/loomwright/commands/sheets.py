"""`sheets`: the install documents."""

from __future__ import annotations

import datetime
import sys

import click

from loomwright.commands.common import EXIT_UNREADABLE, date_of, examples, print_errors, spec, today


@click.command(
    epilog=examples(
        "loomwright sheets specs/orchard-bees/planned.fitout -o papers",
        "loomwright sheets specs/orchard-bees/planned.fitout -o papers --format pdf --only work-order",
    )
)
@spec
@click.option("-o", "--output", "folder", required=True, metavar="DIR", help="The folder for the files.")
@click.option(
    "--format",
    "formats",
    type=click.Choice(["html", "pdf", "markdown", "csv"]),
    multiple=True,
    default=["html"],
    show_default=True,
    help="May be repeated. csv is the parts list and the cut list.",
)
@click.option("--only", multiple=True, metavar="SHEET", help="Print this sheet only; may be repeated.")
@click.option(
    "--from",
    "old",
    type=click.Path(),
    metavar="OLD",
    help="The spec of what came in; else as-found.fitout beside the spec, if it is of the same job.",
)
@today
def sheets(
    spec: str,
    folder: str,
    formats: tuple[str, ...],
    only: tuple[str, ...],
    old: str | None,
    today: datetime.datetime | None,
) -> None:
    """The install documents: what a workshop prints, mails and sticks in the lid."""
    from loomwright.model.files import FileTrouble
    from loomwright.report.console import put
    from loomwright.report.files import Unreadable, read_spec
    from loomwright.sheets import job as jobs
    from loomwright.sheets import lists, printing
    from loomwright.sheets.revision import spec_name

    refuse_unknown_sheets(only)
    try:
        job = jobs.job_of(read_spec(spec), None if spec == "-" else spec, date_of(today), old)
        written = printing.write_whole(
            folder, printing.files_of(job, formats, only), job.files, spec_name(job.path)
        )
    except jobs.NoPapers as none:
        print_errors(none.problems)
        sys.exit(EXIT_UNREADABLE)
    except (FileTrouble, printing.NotWritten) as trouble:
        raise Unreadable(str(trouble)) from None
    for said in lists.troubles(job.house):
        click.echo(f"loomwright: {said}", err=True)
    put("".join(f"{path}\n" for path in written))


def refuse_unknown_sheets(names: tuple[str, ...]) -> None:
    from loomwright.sheets.catalogue import NAMES
    from loomwright.syntax.hints import nearest

    for name in names:
        if name not in NAMES:
            near = nearest(name, NAMES)
            hint = f": did you mean '{near}'?" if near else f"; there are {', '.join(NAMES)}"
            raise click.UsageError(f"there is no sheet '{name}'{hint}")
