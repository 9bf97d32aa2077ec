"""`editor`: the language server."""

from __future__ import annotations

import click

from loomwright.commands.common import examples


@click.command(
    epilog=examples(
        "loomwright editor        (an editor starts it and speaks to it)",
        "loomwright editor 2> editor.log",
    ),
)
def editor() -> None:
    """A server of the Language Server Protocol on standard input and output. docs/editors.md tells how to set it up."""
    try:
        from loomwright.editor.server import serve
    except ImportError as missing:
        raise click.UsageError(
            f"the editor's server needs pygls: python3 -m pip install 'loomwright[editor]' ({missing})"
        ) from None
    serve()
