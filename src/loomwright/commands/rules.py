"""`rules`: the rule book as a table."""

from __future__ import annotations

import os
import sys

import click

from loomwright.commands.common import EXIT_UNREADABLE, examples, print_errors


@click.command(epilog=examples("loomwright rules", "loomwright rules --format markdown > rules.md"))
@click.option(
    "--format", "form", type=click.Choice(["text", "json", "markdown"]), default="text", show_default=True
)
def rules(form: str) -> None:
    """The rule book as a table, with the rules and classes of the workshop whose folder this is."""
    from loomwright.report.books import book_for
    from loomwright.report.console import put
    from loomwright.report.rule_table import FORMS

    book, _ = book_for(os.curdir)
    if book.problems:
        print_errors(book.problems)
        sys.exit(EXIT_UNREADABLE)
    put(FORMS[form](book.rules))
