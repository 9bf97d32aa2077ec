"""`check`: findings of specs."""

from __future__ import annotations

import datetime
import os
import sys
import time
from typing import Any

import click

from loomwright.commands.common import (
    EXIT_FINDINGS,
    EXIT_UNREADABLE,
    SEVERITIES,
    date_of,
    examples,
    paths,
    print_report,
    today,
)

NEVER_OFF = {"licensed-work": "it names what only a licensed electrician may do"}
"""Rules that no command line leaves out, each with the reason."""


@click.command(
    epilog=examples(
        "loomwright check specs/orchard-bees/planned.fitout",
        "loomwright check --format gnu --severity minor specs/",
    )
)
@paths
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "gnu", "json", "sarif", "junit"]),
    default="text",
    show_default=True,
)
@click.option(
    "--severity",
    type=click.Choice(SEVERITIES),
    default="major",
    show_default=True,
    help="Exit with 1 when a finding is of this class or worse.",
)
@click.option("--only", multiple=True, metavar="RULE", help="Show this rule only; may be repeated.")
@click.option("--skip", multiple=True, metavar="RULE", help="Leave this rule out; may be repeated.")
@click.option(
    "--baseline", metavar="FILE", help="Known findings: only what comes on top of them is shown and counts."
)
@click.option(
    "--write-baseline",
    metavar="FILE",
    help="Write today's findings as known; in a file that is there, only take out those that no longer occur.",
)
@click.option(
    "--jobs",
    type=click.IntRange(0),
    default=1,
    show_default=True,
    metavar="N",
    help="Share many specs among N processes; 0 is one a core.",
)
@click.option("--no-cache", is_flag=True, help="Of several specs, check those too that are as they were.")
@today
def check(
    paths: tuple[str, ...],
    form: str,
    severity: str,
    only: tuple[str, ...],
    skip: tuple[str, ...],
    baseline: str | None,
    write_baseline: str | None,
    jobs: int,
    no_cache: bool,
    today: datetime.datetime | None,
) -> None:
    """Findings of specs: what is wrong, where, why, and what to do."""
    from loomwright.report import check as checking

    start = time.perf_counter()
    _refuse_unknown_rules([*only, *skip], paths)
    _refuse_to_skip(skip)
    wishes = checking.Wishes(frozenset(only), frozenset(skip), date_of(today))
    whole = _check_all(paths, wishes, jobs, not no_cache)
    report, known = _beyond_baseline(whole, wishes, baseline, write_baseline)
    if form in ("sarif", "junit"):
        _print_for_servers(form, whole if form == "sarif" else report, wishes, severity, known)
    else:
        print_report(report, form)
    click.echo(f"took {time.perf_counter() - start:.2f} s", err=True)
    if report.errors:
        sys.exit(EXIT_UNREADABLE)
    if report.reaches(severity):
        sys.exit(EXIT_FINDINGS)


def _check_all(paths: tuple[str, ...], wishes: Any, jobs: int, keep: bool) -> Any:
    """The report of all specs; of several the progress on a terminal, and reports kept."""
    from loomwright.report import files, many

    specs = files.specs_of(paths)
    several = len(specs) > 1
    progress = _progress if several and sys.stderr.isatty() else None
    try:
        return many.check_many(specs, wishes, jobs or -1, keep and several, progress)
    finally:
        if progress:
            click.echo("\r\x1b[K", err=True, nl=False)


def _progress(done: int, of: int) -> None:
    if done % 8 == 0 or done == of:
        click.echo(f"\rchecked {done} of {of} specs", err=True, nl=False)


def _beyond_baseline(whole: Any, wishes: Any, path: str | None, write: str | None) -> tuple[Any, Any]:
    """The report without what a baseline knows, and what it knows; both as they were where there is no baseline."""
    if whole.errors or not (path or write):
        return whole, None
    from loomwright.report import baseline
    from loomwright.report.books import rules_by_file

    rules = {rule.name for book in rules_by_file(whole, wishes).values() for rule in book}
    if write:
        old = baseline.read(write) if os.path.exists(write) else None
        baseline.write(write, baseline.written(whole, write, old, rules))
    path = path or write or ""
    parted = baseline.part(whole, baseline.read(path), path, rules)
    click.echo(baseline.told(parted, path), err=True, nl=False)
    return parted.report, parted.known


def _print_for_servers(form: str, report: Any, wishes: Any, severity: str, known: Any) -> None:
    from loomwright.report.books import rules_by_file
    from loomwright.report.console import put

    rules = rules_by_file(report, wishes)
    if form == "sarif":
        from loomwright.report.sarif import as_sarif

        put(as_sarif(report, rules, known))
    else:
        from loomwright.report.junit import as_junit

        put(as_junit(report, rules, severity))


def _refuse_to_skip(names: tuple[str, ...]) -> None:
    for name in names:
        if name in NEVER_OFF:
            raise click.UsageError(f"'{name}' can't be skipped: {NEVER_OFF[name]}")


def _refuse_unknown_rules(names: list[str], paths: tuple[str, ...]) -> None:
    if not names:
        return
    from loomwright.report.books import rules_known
    from loomwright.syntax.hints import nearest

    known = rules_known(paths)
    for name in names:
        if name not in known:
            near = nearest(name, known)
            hint = f": did you mean '{near}'?" if near else "; 'loomwright rules' lists them"
            raise click.UsageError(f"there is no rule '{name}'{hint}")
