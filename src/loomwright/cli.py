"""The commands: each parses its options, calls one function, prints."""

from __future__ import annotations

import datetime
import gc
import os
import sys
from collections.abc import Callable
from typing import Any

import click

import loomwright

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


@click.group("loomwright", context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(loomwright.__version__, message="loomwright %(version)s")
def commands() -> None:
    """Check the 12 V system of a working vehicle before copper is cut, and print its papers.

    Exit status: 0 nothing at or over the threshold; 1 findings at or over it; 2 the spec, a rule file or the command line
    could not be read; 3 a fault of the program.
    """


def _date(value: datetime.datetime | None) -> datetime.date | None:
    return value.date() if value else None


@commands.command(
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

    _refuse_unknown_rules([*only, *skip])
    wishes = checking.Wishes(frozenset(only), frozenset(skip), _date(today))
    whole = _check_all(paths, wishes, jobs, not no_cache)
    report, known = _beyond_baseline(whole, wishes, baseline, write_baseline)
    if form in ("sarif", "junit"):
        _print_for_servers(form, whole if form == "sarif" else report, wishes, severity, known)
    else:
        _print_report(report, form)
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


def _print_report(report: Any, form: str) -> None:
    from loomwright.report.console import put, wants_colour

    if form == "json":
        from loomwright.report.json_form import as_json

        put(as_json(report))
        return
    from loomwright.report import text

    put(text.gnu(report) if form == "gnu" else text.text(report, wants_colour(sys.stdout)))


def _refuse_unknown_rules(names: list[str]) -> None:
    if not names:
        return
    from loomwright.rulebook.load import load_rules
    from loomwright.syntax.hints import nearest

    known = [rule.name for rule in load_rules().rules]
    for name in names:
        if name not in known:
            near = nearest(name, known)
            hint = f": did you mean '{near}'?" if near else "; 'loomwright rules' lists them"
            raise click.UsageError(f"there is no rule '{name}'{hint}")


@commands.command(
    epilog=examples(
        "loomwright explain unfused-feed",
        "loomwright explain run.carries specs/orchard-bees/planned.fitout main",
    )
)
@click.argument("topic", metavar="RULE|FACT")
@click.argument("spec", required=False, type=click.Path())
@click.argument("name", required=False)
@today
def explain(topic: str, spec: str | None, name: str | None, today: datetime.datetime | None) -> None:
    """A rule or a fact in full; with a spec and a thing's name, with that spec's numbers."""
    from loomwright.report import explain as explaining
    from loomwright.report.console import put

    if spec and not name:
        raise click.UsageError(
            "name the thing of the spec that is to be explained, such as a run or a battery"
        )
    if spec and name:
        put(explaining.explain_in(topic, spec, name, _date(today)))
    else:
        put(explaining.explain(topic))


@commands.command(
    epilog=examples(
        "loomwright figures specs/orchard-bees/planned.fitout",
        "loomwright figures --mode night --format json specs/orchard-bees/planned.fitout",
    )
)
@spec
@click.option("--mode", "modes", multiple=True, metavar="MODE", help="This mode only; may be repeated.")
@click.option(
    "--format", "form", type=click.Choice(["text", "json", "csv"]), default="text", show_default=True
)
def figures(spec: str, modes: tuple[str, ...], form: str) -> None:
    """Volts, amps, drop, loss and temperature in each mode, and what a fault does."""
    from loomwright.report import figures as figuring
    from loomwright.report.console import put
    from loomwright.report.files import facts_of

    try:
        put(figuring.FORMS[form](facts_of(spec), modes or None))
    except figuring.NoSuchMode as unknown:
        raise click.UsageError(str(unknown)) from None


@commands.command(
    epilog=examples(
        "loomwright readings specs/orchard-bees/installed.fitout",
        "loomwright readings --mode driving --csv meter.csv specs/orchard-bees/planned.fitout",
    )
)
@spec
@click.option(
    "--csv", "table", metavar="FILE", help="Readings of one mode: lines 'terminal,volts' and 'run,amps'."
)
@click.option("--mode", "modes", multiple=True, metavar="MODE", help="This mode only; may be repeated.")
@click.option("--format", "form", type=click.Choice(["text", "json"]), default="text", show_default=True)
def readings(spec: str, table: str | None, modes: tuple[str, ...], form: str) -> None:
    """What the meter showed against what the spec predicts, and where an excess resistance sits."""
    from loomwright.report import readings as reading
    from loomwright.report.console import put
    from loomwright.report.figures import NoSuchMode
    from loomwright.report.files import Unreadable, facts_of, read_spec

    if table and len(modes) != 1:
        raise click.UsageError("a file of readings is of one mode: name it with --mode")
    ledger = facts_of(spec)
    try:
        blocks = reading.of_spec(ledger, modes) if table is None else ()
        if table:
            blocks = (reading.of_csv(read_spec(table), table, reading.mode_named(modes[0], ledger), ledger),)
    except NoSuchMode as unknown:
        raise click.UsageError(str(unknown)) from None
    except reading.NoReadings as none:
        raise Unreadable(str(none)) from None
    put(reading.FORMS[form](blocks, ledger))


@commands.command(epilog=examples("loomwright rules", "loomwright rules --format markdown > rules.md"))
@click.option(
    "--format", "form", type=click.Choice(["text", "json", "markdown"]), default="text", show_default=True
)
def rules(form: str) -> None:
    """The rule book as a table."""
    from loomwright.report.console import put
    from loomwright.report.rule_table import FORMS
    from loomwright.rulebook.load import load_rules

    put(FORMS[form](load_rules().rules))


@commands.command(
    epilog=examples(
        "loomwright sheets specs/orchard-bees/planned.fitout -o papers",
        "loomwright sheets specs/orchard-bees/planned.fitout -o papers --format pdf --only work-order",
    )
)
@spec
@click.option("-o", "--output", "folder", required=True, metavar="DIR", help="The folder for the files.")
@click.option(
    "--format",
    "formats",
    type=click.Choice(["html", "pdf", "markdown", "csv"]),
    multiple=True,
    default=["html"],
    show_default=True,
    help="May be repeated. csv is the parts list and the cut list.",
)
@click.option("--only", multiple=True, metavar="SHEET", help="Print this sheet only; may be repeated.")
@click.option(
    "--from",
    "old",
    type=click.Path(),
    metavar="OLD",
    help="The spec of what came in; else as-found.fitout beside the spec, if it is of the same job.",
)
@today
def sheets(
    spec: str,
    folder: str,
    formats: tuple[str, ...],
    only: tuple[str, ...],
    old: str | None,
    today: datetime.datetime | None,
) -> None:
    """The install documents: what a workshop prints, mails and sticks in the lid."""
    from loomwright.model.files import FileTrouble
    from loomwright.report.console import put
    from loomwright.report.files import Unreadable, read_spec
    from loomwright.sheets import job as jobs
    from loomwright.sheets import printing

    _refuse_unknown_sheets(only)
    try:
        job = jobs.job_of(read_spec(spec), None if spec == "-" else spec, _date(today), old)
        written = printing.write_whole(folder, printing.files_of(job, formats, only), job.files)
    except jobs.NoPapers as none:
        _print_errors(none.problems)
        sys.exit(EXIT_UNREADABLE)
    except (FileTrouble, printing.NotWritten) as trouble:
        raise Unreadable(str(trouble)) from None
    put("".join(f"{path}\n" for path in written))


def _refuse_unknown_sheets(names: tuple[str, ...]) -> None:
    from loomwright.sheets.catalogue import NAMES
    from loomwright.syntax.hints import nearest

    for name in names:
        if name not in NAMES:
            near = nearest(name, NAMES)
            hint = f": did you mean '{near}'?" if near else f"; there are {', '.join(NAMES)}"
            raise click.UsageError(f"there is no sheet '{name}'{hint}")


@commands.command(
    epilog=examples(
        "loomwright compare specs/orchard-bees/as-found.fitout specs/orchard-bees/planned.fitout",
        "loomwright compare --git HEAD~1 --format markdown specs/orchard-bees/planned.fitout",
    )
)
@click.argument("specs", nargs=-1, required=True, metavar="OLD NEW")
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "markdown", "json", "html"]),
    default="text",
    show_default=True,
)
@click.option(
    "--git", "revision", metavar="REV", help="OLD is the same spec as it was at this revision: name NEW only."
)
@click.option("--every-figure", is_flag=True, help="Show figures however little they moved.")
@today
def compare(
    specs: tuple[str, ...],
    form: str,
    revision: str | None,
    every_figure: bool,
    today: datetime.datetime | None,
) -> None:
    """What changed between two specs, as things, figures and findings.

    A spec is a file, or REVISION:PATH as git writes it (HEAD~1:specs/van.fitout).
    """
    from loomwright.report.check import Wishes
    from loomwright.report.console import put
    from loomwright.review import forms, sides

    if len(specs) != (1 if revision is not None else 2):
        raise click.UsageError("name two specs, or one with --git REV")
    wishes = Wishes(today=_date(today) or datetime.date.today())
    try:
        old = (
            sides.of_revision(revision, specs[0], wishes)
            if revision is not None
            else sides.side(specs[0], wishes)
        )
        new = sides.side(specs[-1], wishes)
        put(forms.told(old, new, form, every_figure, _costs(old, new, wishes)))
    except sides.NotRead as trouble:
        click.echo(f"loomwright: {trouble}:", err=True)
        _print_errors(trouble.problems)
        sys.exit(EXIT_UNREADABLE)


@commands.command(
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
    """The least-cost cable sizes and fuse ratings that hold every rule in every mode."""
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
    except sizing.NotSized as cannot:
        if cannot.report is not None:
            _print_report(cannot.report, "text")
            sys.exit(EXIT_UNREADABLE)
        raise Unreadable(f"{spec} can't be sized until this is known: {cannot}") from None
    except sizing.NoChoice as none:
        put("".join(f"{spec}: no choice holds: {line}\n" for line in none.lines))
        sys.exit(EXIT_FINDINGS)
    except writing.NotWritten as trouble:
        raise Unreadable(str(trouble)) from None


def _costs(old: Any, new: Any, wishes: Any) -> tuple[Any, Any]:
    """What the parts of two specs cost, both by the price list that holds for the new one."""
    from loomwright.rulebook.house import house_of

    path = new.report.files[0].path
    house = house_of(path) if os.path.exists(path) else None
    if house is None or house.prices is None:
        return None, None
    from loomwright.sheets.cost import cost_of

    return cost_of(old, house, wishes.today), cost_of(new, house, wishes.today)


@commands.command(
    epilog=examples(
        "loomwright energy specs/orchard-bees/planned.fitout",
        "loomwright energy --days 10 --format svg specs/orchard-bees/planned.fitout > charge.svg",
    )
)
@spec
@click.option(
    "--days", type=click.IntRange(1, 365), default=3, show_default=True, help="How many such days on end."
)
@click.option(
    "--format", "form", type=click.Choice(["text", "json", "csv", "svg"]), default="text", show_default=True
)
def energy(spec: str, days: int, form: str) -> None:
    """State of charge through the day, or several: what comes in, what goes, how low it gets."""
    from loomwright.report.console import put
    from loomwright.report.files import Unreadable, facts_of
    from loomwright.sheets import energy_course

    try:
        put(energy_course.FORMS[form](spec, energy_course.courses_of(facts_of(spec), days)))
    except energy_course.NoCourse as none:
        raise Unreadable(f"{spec}: {none}") from None


@commands.command(
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


def _print_errors(problems: Any) -> None:
    """The errors of a spec that can't be read, as `check` prints them."""
    from loomwright.report.check import Report

    _print_report(Report((), (), problems), "text")


@commands.command(
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
    _print_errors([problem for spec in specs for problem in spec.problems])
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


@commands.command(
    epilog=examples(
        "loomwright watch specs/orchard-bees/planned.fitout",
        "loomwright watch --browser specs/orchard-bees/planned.fitout",
    )
)
@spec
@click.option("--browser", is_flag=True, help="Open the page in the browser.")
@click.option("--only", multiple=True, metavar="SHEET", help="Show this sheet only; may be repeated.")
@today
def watch(spec: str, browser: bool, only: tuple[str, ...], today: datetime.datetime | None) -> None:
    """Check a spec whenever it is saved, and show its papers on an address of this machine. Ctrl-C ends it."""
    from loomwright.report.console import put, wants_colour
    from loomwright.report.files import specs_of
    from loomwright.report.text import text
    from loomwright.watching.address import Address
    from loomwright.watching.watch import Watch

    _refuse_unknown_sheets(only)
    if specs_of([spec]) != [spec] or spec == "-":
        raise click.UsageError("watch one spec: the path of a file")

    def tell(said: Any) -> None:
        click.clear()  # does nothing where there is no terminal
        put(f"{said}\n" if isinstance(said, str) else text(said, wants_colour(sys.stdout)))
        click.echo(f"papers at {address.url}", err=True)

    address = Address()
    if browser:
        click.launch(address.url)
    try:
        Watch(spec, tell, address.show, _told_fault, _date(today), only).forever()
    except KeyboardInterrupt:
        address.close()


@commands.command(
    "editor",
    epilog=examples(
        "loomwright editor        (an editor starts it and speaks to it)",
        "loomwright editor 2> editor.log",
    ),
)
def serve_editor() -> None:
    """A server of the Language Server Protocol on standard input and output. docs/editors.md tells how to set it up."""
    try:
        from loomwright.editor.server import serve
    except ImportError as missing:
        raise click.UsageError(
            f"the editor's server needs pygls: python3 -m pip install 'loomwright[editor]' ({missing})"
        ) from None
    serve()


def main() -> None:
    """The console script: no traceback ever reaches the user."""
    gc.set_threshold(
        200_000, 20, 20
    )  # a check makes many objects and frees few: collecting often costs a fifth of its time
    _guarded(lambda: commands.main(standalone_mode=True))


def _guarded(run: Callable[[], object]) -> None:
    from loomwright.report.files import Unreadable

    try:
        run()
    except Unreadable as unreadable:
        click.echo(f"loomwright: {unreadable}", err=True)
        sys.exit(EXIT_UNREADABLE)
    except (KeyboardInterrupt, BrokenPipeError):
        sys.exit(130)
    except Exception as fault:
        click.echo(f"loomwright: {_told_fault(fault)}", err=True)
        sys.exit(EXIT_FAULT)


def _told_fault(fault: Exception) -> str:
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
            file.write(f"loomwright {loomwright.__version__}, Python {sys.version}\n{traceback.format_exc()}")
    except OSError:
        return "its report could not be written"
    return f"its report is in {file.name}; please send it to the maintainers"


if __name__ == "__main__":
    main()
