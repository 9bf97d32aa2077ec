"""`size`: least-cost cables and fuses."""

from __future__ import annotations

import sys

import click

from loomwright.commands.common import EXIT_FINDINGS, EXIT_UNREADABLE, examples, print_report, spec


@click.command(
    epilog=examples(
        "loomwright size specs/orchard-bees/planned.fitout",
        "loomwright size --all --write specs/orchard-bees/planned.fitout",
    )
)
@spec
@click.option(
    "--all", "everything", is_flag=True, help="Size all that the workshop fits, not only what says auto."
)
@click.option("--write", is_flag=True, help="Put the sizes into the spec; nothing else of it changes.")
@click.option("--format", "form", type=click.Choice(["text", "json"]), default="text", show_default=True)
def size(spec: str, everything: bool, write: bool, form: str) -> None:
    """The least-cost cable sizes and fuse ratings that hold every rule in every mode. A dangerous or major finding that no size
    mends is told, and ends with 1."""
    from loomwright.report.console import put
    from loomwright.report.files import Unreadable, read_spec
    from loomwright.sizing import size as sizing
    from loomwright.sizing import telling, writing

    if write and spec == "-":
        raise click.UsageError("standard input can't be written to: name the spec's file")
    text = read_spec(spec)
    try:
        sized = sizing.size(text, "<stdin>" if spec == "-" else spec, everything)
        put(telling.FORMS[form](sized))
        if write:
            writing.put_in(spec, text, sized.text)
        if any(one.severity in ("dangerous", "major") for one in sized.standing):
            sys.exit(EXIT_FINDINGS)
    except sizing.NotSized as cannot:
        if cannot.report is not None:
            print_report(cannot.report, "text")
            sys.exit(EXIT_UNREADABLE)
        raise Unreadable(f"{spec} can't be sized until this is known: {cannot}") from None
    except sizing.NoChoice as none:
        put("".join(f"{spec}: no choice holds: {line}\n" for line in none.lines))
        sys.exit(EXIT_FINDINGS)
    except writing.NotWritten as trouble:
        raise Unreadable(str(trouble)) from None
