"""The program `loomwright`: finds a command's module when it is called, and lets no traceback reach the user."""

from __future__ import annotations

import os
import sys
from importlib import import_module
from typing import NoReturn

import click

from loomwright import garbage
from loomwright.commands.common import EXIT_FAULT, EXIT_UNREADABLE, told_fault
from loomwright.version import __version__

COMMANDS = (
    "check",
    "explain",
    "rules",
    "figures",
    "sheets",
    "compare",
    "size",
    "energy",
    "readings",
    "tidy",
    "new",
    "watch",
    "editor",
)


class Commands(click.Group):
    """The commands by name, each imported only when it is called: a check must not wait for what it doesn't need."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command:  # noqa: ARG002
        if cmd_name not in COMMANDS:
            from loomwright.syntax.hints import nearest, quoted

            near = nearest(cmd_name, COMMANDS)
            hint = f"did you mean '{near}'?" if near else "'loomwright --help' lists them"
            raise click.UsageError(f"there is no command {quoted(cmd_name)}: {hint}")
        command: click.Command = getattr(import_module(f"loomwright.commands.{cmd_name}"), cmd_name)
        return command


@click.command(
    "loomwright",
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, message="loomwright %(version)s")
def commands() -> None:
    """Check the 12 V system of a working vehicle before copper is cut, and print its papers.

    Exit status: 0 nothing at or over the threshold; 1 findings at or over it; 2 the spec, a rule file or the command line
    could not be read; 3 a fault of the program.
    """


def main() -> None:
    """The console script: no traceback ever reaches the user."""
    garbage.seldom()
    if sys.stdout is None:  # closed by the shell: nobody wants to read it
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    try:
        sys.exit(commands.main(standalone_mode=False))
    except click.ClickException as misused:
        misused.show()
        sys.exit(misused.exit_code)
    except (
        click.Abort,
        KeyboardInterrupt,
        BrokenPipeError,
    ):  # click's own way with Ctrl-C ends with 1, as findings do
        sys.exit(130)
    except OSError as refused:
        if refused.filename is not None:
            _end_in_fault(refused)
        from loomwright.whole import (
            reason,
        )  # of no file that we opened: the disk behind the output is full

        click.echo(f"loomwright: the output can't be written: {reason(refused)}", err=True)
        sys.exit(EXIT_UNREADABLE)
    except Exception as fault:
        from loomwright.report.files import Unreadable

        if isinstance(fault, Unreadable):
            click.echo(f"loomwright: {fault}", err=True)
            sys.exit(EXIT_UNREADABLE)
        _end_in_fault(fault)


def _end_in_fault(fault: Exception) -> NoReturn:
    click.echo(f"loomwright: {told_fault(fault)}", err=True)
    sys.exit(EXIT_FAULT)


if __name__ == "__main__":
    main()
