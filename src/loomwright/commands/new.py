"""`new`: a starting spec."""

from __future__ import annotations

import sys
from typing import TypeVar

import click

from loomwright.commands.common import EXIT_FINDINGS, EXIT_UNREADABLE, examples, print_report

Answer = TypeVar("Answer", str, float)


@click.command(
    epilog=examples(
        "loomwright new van.fitout",
        "loomwright new van.fitout --battery 'agm 100 Ah' --charger 20 --solar 0 --load 'fridge 45 W' --load 'lamps 2 A'",
    )
)
@click.argument("spec", type=click.Path(dir_okay=False))
@click.option("--title", help="What it is called.")
@click.option("--battery", help="The house battery, such as 'lifepo4 120 Ah'.")
@click.option("--charger", type=float, help="The charger's output in A.")
@click.option("--solar", type=float, help="Panels in W, 0 for none.")
@click.option("--metres", type=float, help="Metres of cable from the engine to the box.")
@click.option(
    "--load",
    "loads",
    multiple=True,
    metavar="LOAD",
    help="'NAME DRAWS [critical] [in PLACE] [LENGTH]'; may be repeated.",
)
def new(
    spec: str,
    title: str | None,
    battery: str | None,
    charger: float | None,
    solar: float | None,
    metres: float | None,
    loads: tuple[str, ...],
) -> None:
    """A starting spec from a few answers, sized; what is not given is asked for. Never writes over a file.

    What `check` finds in it is told; a dangerous or major finding ends with 1.
    """
    from loomwright.report.console import put
    from loomwright.report.files import Unreadable
    from loomwright.sizing import beginning, first_spec, writing
    from loomwright.sizing.size import NoChoice

    try:
        beginning.answers(  # what is given is judged before anything is asked
            _or(title, "A van"), _or(battery, beginning.BATTERY), _or(charger, 30.0), _or(solar, 160.0), _or(metres, 5.0), loads or beginning.LOADS
        )  # fmt: skip
        said = beginning.answers(
            _asked(title, "What is it called", "A van"),
            _asked(battery, "The house battery", beginning.BATTERY),
            _asked(charger, "The charger's output in A", 30.0),
            _asked(solar, "Panels in W, 0 for none", 160.0),
            _asked(metres, "Metres of cable from the engine to the box", 5.0),
            loads or _parted(_asked(None, "Loads, parted by commas", ", ".join(beginning.LOADS))),
        )
        text = first_spec.spec_of(said)
        writing.put_new(spec, text)
    except beginning.BadAnswer as bad:
        raise click.UsageError(str(bad)) from None
    except NoChoice as none:
        raise click.UsageError(f"no sizes in stock will do: {none}") from None
    except writing.NotWritten as trouble:
        raise Unreadable(str(trouble)) from None
    put(f"{spec}\n")
    _judge(spec, text)


def _or(given: Answer | None, offered: Answer) -> Answer:
    return offered if given is None else given


def _asked(given: Answer | None, question: str, offered: Answer) -> Answer:
    """What was given, else the answer to a question. Raises UsageError where nobody answers."""
    if given is not None:
        return given
    try:
        answer: Answer = click.prompt(question, default=offered, type=type(offered))
    except click.Abort as stopped:
        if not isinstance(stopped.__context__, EOFError):
            raise
        click.echo()
        raise click.UsageError(
            f"'{question}' was not answered: the input is at its end. Give each answer as an option; --help lists them"
        ) from None
    return answer


def _parted(text: str) -> tuple[str, ...]:
    return tuple(part for part in text.split(",") if part.strip())


def _judge(spec: str, text: str) -> None:
    """Tell what `check` finds in what was written; it is the answers that lead to it."""
    from loomwright.report.check import check

    report = check(text, spec)
    found = {one.severity for one in report.findings}
    if report.errors or found & {"dangerous", "major", "minor"}:
        print_report(report, "text")
    if report.errors:
        sys.exit(EXIT_UNREADABLE)
    if found & {"dangerous", "major"}:
        sys.exit(EXIT_FINDINGS)
