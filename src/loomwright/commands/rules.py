"""`rules`: the rule book as a table."""

from __future__ import annotations

import click

from loomwright.commands.common import examples


@click.command(epilog=examples("loomwright rules", "loomwright rules --format markdown > rules.md"))
@click.option(
    "--format", "form", type=click.Choice(["text", "json", "markdown"]), default="text", show_default=True
)
def rules(form: str) -> None:
    """The rule book as a table."""
    from loomwright.report.console import put
    from loomwright.report.rule_table import FORMS
    from loomwright.rulebook.load import load_rules

    put(FORMS[form](load_rules().rules))
