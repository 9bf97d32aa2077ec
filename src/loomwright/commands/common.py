"""What several commands share: options, exit statuses, how reports and faults are printed."""

from __future__ import annotations

import datetime
import sys
from typing import Any

import click

from loomwright.version import __version__

EXIT_FINDINGS, EXIT_UNREADABLE, EXIT_FAULT = 1, 2, 3
SEVERITIES = ("dangerous", "major", "minor", "unproven")

spec = click.argument("spec", type=click.Path())
paths = click.argument("paths", nargs=-1, required=True, type=click.Path(), metavar="PATH...")
today = click.option(
    "--today", type=click.DateTime(["%Y-%m-%d"]), help="A date in place of the clock's (concessions expire)."
)


def examples(*lines: str) -> str:
    """The two examples that close each command's help."""
    return "\b\nExamples:\n" + "\n".join(f"  {line}" for line in lines)


def date_of(value: datetime.datetime | None) -> datetime.date | None:
    return value.date() if value else None


def print_report(report: Any, form: str) -> None:
    from loomwright.report.console import put, wants_colour

    if form == "json":
        from loomwright.report.json_form import as_json

        put(as_json(report))
        return
    from loomwright.report import text

    put(text.gnu(report) if form == "gnu" else text.text(report, wants_colour(sys.stdout)))


def print_errors(problems: Any) -> None:
    """The errors of specs that can't be read, as `check` prints them; nothing where there are none."""
    if not problems:
        return
    from loomwright.report.check import Report

    print_report(Report((), (), problems), "text")


def told_fault(fault: Exception) -> str:
    """One line on a fault that is being handled; the rest goes into a file."""
    return f"a fault of the program ({type(fault).__name__}): {_keep_report()}"


def _keep_report() -> str:
    """Write the traceback to a file and say where."""
    import tempfile
    import traceback

    try:
        with tempfile.NamedTemporaryFile(
            "w", prefix="loomwright-fault-", suffix=".txt", delete=False, encoding="utf-8"
        ) as file:
            file.write(f"loomwright {__version__}, Python {sys.version}\n{traceback.format_exc()}")
    except OSError:
        return "its report could not be written"
    return f"its report is in {file.name}; please send it to the maintainers"
