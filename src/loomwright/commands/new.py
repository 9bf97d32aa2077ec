"""`new`: a starting spec."""

from __future__ import annotations

import click

from loomwright.commands.common import examples


@click.command(
    epilog=examples(
        "loomwright new van.fitout",
        "loomwright new van.fitout --battery 'agm 100 Ah' --charger 20 --solar 0 --load 'fridge 45 W' --load 'lamps 2 A'",
    )
)
@click.argument("spec", type=click.Path(dir_okay=False))
@click.option("--title", prompt="What is it called", default="A van", show_default=True)
@click.option("--battery", prompt="The house battery", default="lifepo4 120 Ah", show_default=True)
@click.option("--charger", prompt="The charger's output in A", type=float, default=30.0, show_default=True)
@click.option("--solar", prompt="Panels in W, 0 for none", type=float, default=160.0, show_default=True)
@click.option(
    "--metres",
    prompt="Metres of cable from the engine to the box",
    type=float,
    default=5.0,
    show_default=True,
)
@click.option(
    "--load",
    "loads",
    multiple=True,
    metavar="LOAD",
    help="'NAME DRAWS [critical] [in PLACE] [LENGTH]'; may be repeated.",
)
def new(
    spec: str, title: str, battery: str, charger: float, solar: float, metres: float, loads: tuple[str, ...]
) -> None:
    """A starting spec from a few answers, sized; what is not given is asked for. Never writes over a file."""
    from loomwright.report.console import put
    from loomwright.report.files import Unreadable
    from loomwright.sizing import beginning, writing
    from loomwright.sizing.size import NoChoice

    if not loads:
        asked = click.prompt("Loads, parted by commas", default=", ".join(beginning.LOADS))
        loads = tuple(text for text in asked.split(",") if text.strip())
    try:
        said = beginning.answers(title, battery, charger, solar, metres, loads)
        writing.put_new(spec, beginning.spec_of(said))
    except beginning.BadAnswer as bad:
        raise click.UsageError(str(bad)) from None
    except NoChoice as none:
        raise click.UsageError(f"no sizes in stock will do: {none}") from None
    except writing.NotWritten as trouble:
        raise Unreadable(str(trouble)) from None
    put(f"{spec}\n")
