"""`tidy`: one layout for every spec."""

from __future__ import annotations

import sys

import click

from loomwright.commands.common import EXIT_FINDINGS, EXIT_UNREADABLE, examples, paths, print_errors


@click.command(
    epilog=examples(
        "loomwright tidy specs/orchard-bees/planned.fitout",
        "loomwright tidy --check --diff specs/",
    )
)
@paths
@click.option(
    "--check", "only_asking", is_flag=True, help="Write nothing; exit with 1 when a spec is not tidy."
)
@click.option("--diff", "differing", is_flag=True, help="Write nothing; show what would change.")
def tidy(paths: tuple[str, ...], only_asking: bool, differing: bool) -> None:
    """One layout for every spec, comments kept. `-` lays out standard input on standard output."""
    from loomwright.report import tidying
    from loomwright.report.console import put
    from loomwright.report.files import specs_of

    specs = [tidying.tidied(path) for path in specs_of(paths)]
    print_errors([problem for spec in specs for problem in spec.problems])
    if differing:
        put("".join(spec.difference for spec in specs))
    elif only_asking:
        put("".join(f"{spec.path} is not tidy\n" for spec in specs if spec.changed))
    else:
        put("".join(spec.after for spec in specs if spec.path == "-" and not spec.problems))
        tidying.write_back(spec for spec in specs if spec.path != "-")
    if any(spec.problems for spec in specs):
        sys.exit(EXIT_UNREADABLE)
    if only_asking and any(spec.changed for spec in specs):
        sys.exit(EXIT_FINDINGS)
