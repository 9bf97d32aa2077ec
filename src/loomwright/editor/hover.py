"""What is told of a word under the pointer, as Markdown: with the spec's own figures where it can be read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import inf, isfinite
from typing import Any

from loomwright.editor.desk import Desk, Sheet
from loomwright.editor.marks import Mark, mark_at
from loomwright.facts.registry import Ledger, Missing
from loomwright.model import things as t
from loomwright.quantity import DIMENSIONS, convert, decimal, show
from loomwright.source import Span
from loomwright.syntax.forms import STATEMENTS, Form, Head, form_of
from loomwright.syntax.parse import parse
from loomwright.syntax.tree import Measure, Size

UNKNOWN = "?"


def hover(desk: Desk, path: str, offset: int) -> tuple[Span, str] | None:
    """The place that is told of, and what is told; None where there is nothing to say."""
    sheet = desk.sheet(path)
    mark = mark_at(sheet.marks, offset) if sheet else None
    if sheet is None or mark is None:
        return None
    text = "\n\n".join(filter(None, _told(desk, path, sheet, mark)))
    return (sheet.source.span(mark.start, mark.end), text) if text else None


def _told(desk: Desk, path: str, sheet: Sheet, mark: Mark) -> Iterator[str]:
    if mark.what == "statement":
        yield _of_form(STATEMENTS[mark.text])
    elif mark.what == "clause" and not mark.is_name:
        form = form_of(mark.statement, mark.text)
        yield _of_form(form) if form else ""
    elif mark.role == "rule":
        yield _of_rule(mark.text)
    elif mark.what in ("number", "unit"):
        yield _of_value(sheet, mark)
    elif mark.is_name:
        yield from _of_name(desk, path, mark)


def _of_form(form: Form | Head) -> str:
    return f"`{form.form}`\n\n{form.meaning}\n\nFor example: `{form.example}`"


def _of_rule(name: str) -> str:
    from loomwright.rulebook.load import load_rules

    rule = load_rules().rule(name)
    if rule is None:
        return ""
    _, why, do = rule.texts
    return f"**{rule.name}**: {rule.severity}\n\n{rule.title}\n\n{why}\n\n{do}\n\n" + "; ".join(rule.sources)


# ---------------------------------------------------------------- numbers


def _of_value(sheet: Sheet, mark: Mark) -> str:
    """What a quantity is in other words: `8 B&S` is so much copper, `150 mm` a length of 0.15 m."""
    found = next(_values_at(parse(sheet.source).document.statements, mark.start), None)
    if isinstance(found, Size):
        from loomwright.stock.conductors import UnknownSize, conductor

        try:
            size = conductor(found.kind, found.number)
        except UnknownSize:
            return ""
        return f"**{size.label}**: {size.area_mm2:.3g} mm² of copper ({size.source})"
    if found is None:
        return ""
    quantity = found.quantity
    dimension = DIMENSIONS[quantity.dimension]
    home = f"{quantity.si:.6g} {dimension.unit}".strip()
    shown = show(quantity.si, quantity.dimension)
    same = f" = {shown}" if shown != quantity.text else ""
    held = f"; held as {home}" if home not in (quantity.text, shown) else ""
    return f"**{quantity.text}**{same}\n\n{dimension.noun}{held}"


def _values_at(parts: Any, offset: int) -> Iterator[Measure | Size]:
    """The quantities among parts of declarations that stand at an offset."""
    if isinstance(parts, (Measure, Size)):
        if parts.span.start <= offset <= parts.span.end:
            yield parts
    elif isinstance(parts, Mapping):
        for part in parts.values():
            yield from _values_at(part, offset)
    elif isinstance(parts, tuple):
        for part in parts:
            yield from _values_at(part, offset)
    elif hasattr(parts, "clauses"):
        if parts.span.start <= offset <= parts.span.end:
            yield from _values_at(parts.clauses, offset)
    elif hasattr(parts, "parts"):
        yield from _values_at(parts.parts, offset)


# ---------------------------------------------------------------- things


def _of_name(desk: Desk, path: str, mark: Mark) -> Iterator[str]:
    declared = next(
        (
            other
            for file in desk.company(path)
            if (sheet := desk.sheet(file))
            for other in sheet.marks
            if other.role == "declares" and other.name == mark.name
        ),
        None,
    )
    if declared is None:
        return
    ledger = next((r.ledger for spec in desk.specs_with(path) if (r := desk.report(spec)).ledger), None)
    thing = ledger.installation.named.get(mark.name) if ledger else None
    if ledger is None or thing is None:
        yield f"**{declared.statement} {mark.name}**"
        return
    yield from of_thing(thing, ledger)
    terminal = ledger.installation.terminals.get(mark.text) if mark.what == "terminal" else None
    if terminal is not None:
        yield _table(
            ["mode", terminal.name],
            [[mode.name, fact(ledger, terminal, "volts", mode)] for mode in _modes(ledger)],
        )


def of_thing(thing: t.Thing, ledger: Ledger) -> Iterator[str]:
    """What is known of a thing, in paragraphs of Markdown."""
    installation = ledger.installation
    if isinstance(thing, t.Circuit):
        feed, earth = installation.legs_of[thing]
        yield f"**circuit {thing.name}** to {thing.load.name}"
        yield from _of_run(feed, ledger, of=thing)
        if fact(ledger, earth, "carries") != fact(ledger, feed, "carries"):
            yield f"its return carries {fact(ledger, earth, 'carries')}"
    elif isinstance(thing, t.Run):
        yield f"**{thing.role} {thing.name}** from {thing.start.name} to {thing.end.name}"
        yield from _of_run(thing, ledger, of=thing)
    elif isinstance(thing, t.Place):
        yield from _of_place(thing, installation)
    elif isinstance(thing, t.Device):
        yield from _of_device(thing, ledger)
    elif isinstance(thing, t.Mode):
        yield f"**mode {thing.name}** {thing.says}".rstrip()
        yield "on: " + (", ".join(on.thing.name for on in thing.on) or "nothing")
    else:
        yield f"**{type(thing).__name__.lower()} {thing.name}**"


def _of_run(run: t.Run, ledger: Ledger, of: t.Run | t.Circuit) -> Iterator[str]:
    """Size, what it carries, and for each mode amps, drop, margin and what its fuse does."""
    size = fact(ledger, run, "size")
    yield f"{size}, {fact(ledger, run, 'length')}, carries **{fact(ledger, run, 'carries')}**"
    fuses = _fuses(run, ledger)
    rows = [_mode_row(run, of, mode, fuses, ledger) for mode in _modes(ledger)]
    heads = [
        "mode",
        "amps",
        "drop",
        "margin",
        "conductor",
        *(f"{f.kind} {f.rating.quantity.text}" for f in fuses),
    ]
    if rows:
        yield _table(heads, rows)
    for fuse in fuses:
        yield _of_fault(run, fuse, ledger)


def _mode_row(
    run: t.Run, of: t.Run | t.Circuit, mode: t.Mode, fuses: list[t.Fuse], ledger: Ledger
) -> list[str]:
    amps, carries = value(ledger, run, "current", mode), value(ledger, run, "carries")
    margin = UNKNOWN if amps is None or carries is None else show(carries - amps, "current")
    bands = [UNKNOWN if amps is None else _band(ledger, fuse, amps) for fuse in fuses]
    return [
        mode.name,
        fact(ledger, run, "current", mode),
        fact(ledger, of, "drop", mode),
        margin,
        fact(ledger, run, "celsius", mode),
        *bands,
    ]


def _of_fault(run: t.Run, fuse: t.Fuse, ledger: Ledger) -> str:
    amps = value(ledger, run, "end-fault")
    if amps is None:
        return ""
    return f"at a fault at its far end, {show(amps, 'current')}, the {fuse.kind} {_band(ledger, fuse, amps)}"


def _band(ledger: Ledger, fuse: t.Fuse, amps: float) -> str:
    """The opening band of a fuse at a current."""
    first, last = value(ledger, fuse, "holds-for", amps), value(ledger, fuse, "opens-by", amps)
    if first is None or last is None:
        return UNKNOWN
    if first == inf:
        return "holds"
    if last == inf:
        return f"may open from {show(first, 'time')}"
    return f"opens in {_both(first, last)}"


def _both(first: float, last: float) -> str:
    """Two times in the unit of the later, so that they can be compared at a glance."""
    later = show(last, "time")
    unit = later.rpartition(" ")[2]
    return f"{decimal(convert(first, unit), 3)} to {later}"


def _fuses(run: t.Run, ledger: Ledger) -> list[t.Fuse]:
    """Those in the run, and of one that hangs on a hub the way's."""
    own = ledger.installation.fuses_of[run]
    found = list(own) if isinstance(own, tuple) else []
    for way, fuse in ledger.installation.fuse_of_way.items():
        if isinstance(fuse, t.Fuse) and way.name == run.start.name:
            found.append(fuse)
    return found


def _of_place(place: t.Place, installation: t.Installation) -> Iterator[str]:
    yield f"**place {place.name}**"
    bounds = [at.quantity.text for at in (place.coolest, place.hottest) if isinstance(at, Measure)]
    words = [" to ".join(dict.fromkeys(bounds)) or "ambient unknown"]
    words += [place.side] if isinstance(place.side, str) else []
    words += [f"opening, {place.opening}"] if isinstance(place.opening, str) else []
    if place.stated_hazards:
        words.append("hazards " + ", ".join(sorted(place.stated_hazards)))
    yield "; ".join(words)
    passing = dict.fromkeys(
        run.name
        for run in installation.runs
        if isinstance(stretches := installation.stretches_of[run], tuple)
        and any(stretch.place is place for stretch in stretches)
    )
    yield "passed by " + ", ".join(passing) if passing else ""
    standing = [device.name for device in installation.devices if device.place is place]
    yield "here: " + ", ".join(standing) if standing else ""


def _of_device(device: t.Device, ledger: Ledger) -> Iterator[str]:
    yield f"**{device.kind} {device.name}** in {device.place.name}"
    names = {"volts": "volts", "current": "amps", "drop": "drop"} if isinstance(device, t.Load) else {}
    if isinstance(device, (t.Battery, t.Alternator, t.Charger, t.Solar, t.Supply)):
        names = {"volts": "volts", "amps": "amps"}
    if names and _modes(ledger):
        rows = [[mode.name, *(fact(ledger, device, name, mode) for name in names)] for mode in _modes(ledger)]
        yield _table(["mode", *names.values()], rows)


# ---------------------------------------------------------------- facts in print


def value(ledger: Ledger, thing: Any, name: str, *arguments: Any) -> Any:
    """A fact, or None where it is unknown or there is none."""
    try:
        found = ledger.get(thing, name, *arguments)
    except (Missing, KeyError):
        return None
    # a solver's last digits are no figure
    return round(found, 9) + 0.0 if isinstance(found, float) and isfinite(found) else found


def fact(ledger: Ledger, thing: Any, name: str, *arguments: Any) -> str:
    """A fact as a sentence has it, `?` where it is unknown."""
    from loomwright.rulebook.wording import printed

    found = value(ledger, thing, name, *arguments)
    if found is None:
        return UNKNOWN
    return printed(found, ledger.entry(thing, name, *arguments).definition.type)


def _modes(ledger: Ledger) -> tuple[t.Mode, ...]:
    return ledger.installation.modes


def _table(heads: list[str], rows: list[list[str]]) -> str:
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)
