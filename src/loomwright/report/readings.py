"""Measured against predicted, and where an excess resistance sits: as text and as JSON."""

from __future__ import annotations

import csv
import datetime
import json
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from math import isfinite
from typing import Any

from loomwright.facts.electrics.solve import solved
from loomwright.facts.meter import Checked
from loomwright.facts.readings import Place, Verdict, figure, in_words, judged
from loomwright.facts.registry import Ledger, Missing
from loomwright.model import things as t
from loomwright.quantity import QuantityError, read
from loomwright.report.figures import NoSuchMode
from loomwright.source import Source, Span
from loomwright.syntax.tree import Measure

_VALUE = re.compile(r"\s*([+-]?[0-9][0-9 .]*?)\s*([^\s0-9.].*)?\Z")


class NoReadings(ValueError):
    """There is nothing to judge, or a line of a file of readings can't be used. The message says which and what to write."""


def of_spec(ledger: Ledger, modes: Iterable[str] = ()) -> tuple[t.Readings, ...]:
    """The blocks of readings in a spec, in all modes or those named. Raises NoSuchMode and NoReadings."""
    blocks, wanted = ledger.installation.readings, [mode_named(name, ledger) for name in modes]
    found = tuple(block for block in blocks if not wanted or block.mode in wanted)
    if not found:
        raise NoReadings(
            "the spec has no readings to judge: write a readings block, or give a file with --csv"
        )
    return found


def mode_named(name: str, ledger: Ledger) -> t.Mode:
    modes = {mode.name: mode for mode in ledger.installation.modes}
    if name not in modes:
        raise NoSuchMode(f"the spec has no mode '{name}': it has {', '.join(modes) or 'none'}")
    return modes[name]


# ---------------------------------------------------------------- a file of readings


def of_csv(text: str, path: str, mode: t.Mode, ledger: Ledger) -> t.Readings:
    """Readings from lines `terminal,value` (the black lead on the zero of the mode: the cranking battery's negative),
    `terminal,terminal,value` (volts between them), `run,value` (amps). A value without a unit is in volts or amperes; a first
    line of titles and empty lines are passed over. Raises NoReadings with path and line."""
    source = Source(path, text)
    found, start = [], 0
    for number, line in enumerate(text.splitlines(keepends=True), 1):
        cells = [cell.strip() for cell in next(csv.reader([line.strip()]), [])]
        span = Span(source, start, start + len(line.rstrip()))
        start += len(line)
        if any(cells) and not (number == 1 and not _VALUE.match(cells[-1])):
            try:
                found.append(_reading(cells, span, mode, ledger))
            except (NoReadings, QuantityError) as wrong:
                raise NoReadings(f"{path}:{number}: {wrong}") from None
    if not found:
        raise NoReadings(f"{path} holds no readings: write lines such as 'house.pos,12.64' or 'main,18.2 A'")
    whole = Span(source, 0, len(text))
    return t.Readings(path, whole, {}, taken=datetime.date.min, by="", mode=mode, readings=tuple(found))


def _reading(cells: Sequence[str], span: Span, mode: t.Mode, ledger: Ledger) -> t.Reading:
    *of, value = cells
    if len(of) == 1:
        run = next((run for run in ledger.installation.runs if run.name == of[0]), None)
        if run is not None:
            return t.Reading("amps", (run,), _measure(value, "A", "current", span), span)
        of.append(_zero(mode, ledger))
    if len(of) != 2:
        raise NoReadings("a line is 'terminal,value', 'terminal,terminal,value' or 'run,value'")
    points = tuple(_point(name, ledger) for name in of)
    return t.Reading("volts", points, _measure(value, "V", "voltage", span), span)


def _zero(mode: t.Mode, ledger: Ledger) -> str:
    state = solved(mode, ledger)
    if state.solution is None:
        raise NoReadings(
            f"mode {mode.name} can't be solved: {', '.join(reason.what for reason in state.missing)}"
        )
    return state.solution.reference


def _point(name: str, ledger: Ledger) -> t.Point:
    installation = ledger.installation
    thing = installation.named.get(name)
    if isinstance(thing, (t.Busbar, t.Splice)):
        return installation.terminals_of[thing][0]
    point = installation.terminals.get(name) or thing
    if not isinstance(point, (t.Terminal, t.Earthpoint, t.Structure)):
        raise NoReadings(f"there is no terminal or run '{name}' in the spec")
    return point


def _measure(text: str, unit: str, dimension: str, span: Span) -> Measure:
    written = _VALUE.match(text)
    if written is None:
        raise NoReadings(f"'{text}' is no reading; write a number such as 12.64 V")
    number, own = written[1].replace(" ", ""), written[2] or unit
    return Measure(read(number, own, dimension), f"{number} {own}", span)


# ---------------------------------------------------------------- as data


def readings_data(blocks: Iterable[t.Readings], ledger: Ledger) -> dict[str, Any]:
    """JSON version 1: each block with its readings and its diagnosis; volts, amperes, ohms and °C."""
    return {
        "version": 1,
        "file": ledger.installation.fitout.span.source.path,
        "readings": [_block_data(block, ledger) for block in blocks],
    }


def _block_data(block: t.Readings, ledger: Ledger) -> dict[str, Any]:
    head = {"name": block.name, "mode": block.mode.name, "by": block.by or None}
    try:
        verdict = judged(block, ledger)
    except Missing as missing:
        return {**head, "rows": [], "diagnosis": None, "missing": [reason.what for reason in missing.reasons]}
    return {
        **head,
        "rows": [_row_data(row) for row in verdict.rows],
        "diagnosis": _diagnosis_data(verdict),
        "missing": [],
    }


def _row_data(row: Checked) -> dict[str, Any]:
    return {
        "what": row.reading.what,
        "of": [point.name for point in row.reading.of],
        "measured": round(row.measured, 9),
        "predicted": None if row.predicted is None else round(row.predicted, 9) + 0.0,
        "at_least": None if row.low is None else round(row.low, 9),
        "at_most": None if row.high is None else round(row.high, 9),
        "within": row.is_within,
    }


def _diagnosis_data(verdict: Verdict) -> dict[str, Any] | None:
    found = verdict.diagnosis
    if found is None:
        return None
    return {
        "nothing_wrong": found.nothing_wrong,
        "suspects": [
            {
                "elements": list(suspect.elements),
                "extra_ohms": round(suspect.extra_ohms, 9),
                "extra_ohms_error": round(suspect.extra_ohms_error, 9)
                if isfinite(suspect.extra_ohms_error)
                else None,
                "residual_volts": round(suspect.residual_volts, 9),
            }
            for suspect in found.suspects
        ],
        "places": [
            {"elements": list(place.elements), "pieces": list(place.pieces)} for place in verdict.places
        ],
        "next_reading": found.next_reading,
        "doubtful": found.doubtful or None,
        "do": list(verdict.next_steps),
    }


def readings_json(blocks: Iterable[t.Readings], ledger: Ledger) -> str:
    return json.dumps(readings_data(blocks, ledger), ensure_ascii=False, indent=1, allow_nan=False) + "\n"


# ---------------------------------------------------------------- as text

VERDICTS = {True: "within", False: "BEYOND", None: "not judged"}


def readings_text(blocks: Iterable[t.Readings], ledger: Ledger) -> str:
    """A table for each block, then what the readings together say."""
    return "\n".join("\n".join(_block_lines(block, ledger)) + "\n" for block in blocks)


def _block_lines(block: t.Readings, ledger: Ledger) -> Iterator[str]:
    by = f", by {block.by}" if block.by else ""
    yield f"{block.name}{by}" if block.by else f"{block.name} in {block.mode.name}"
    try:
        verdict = judged(block, ledger)
    except Missing as missing:
        yield f"    can't be judged: {', '.join(reason.what for reason in missing.reasons)} is not known"
        return
    yield ""
    rows = [("", "measured", "predicted", "limit", "verdict"), *map(_cells, verdict.rows)]
    widths = [max(len(row[k]) for row in rows) for k in range(4)]
    for row in rows:
        name, measured, predicted, limit, says = row
        yield (
            f"    {name.ljust(widths[0])}  {measured.rjust(widths[1])}  {predicted.rjust(widths[2])}"
            f"  {limit.ljust(widths[3])}  {says}"
        ).rstrip()
    yield ""
    yield from (f"    {line}" for line in _conclusion(verdict))


def _cells(row: Checked) -> tuple[str, str, str, str, str]:
    predicted = "?" if row.predicted is None else row.shown(row.predicted)
    return (
        f"{row.reading.what} {row.of}",
        row.reading.value.text,
        predicted,
        row.limit,
        VERDICTS[row.is_within],
    )


def _conclusion(verdict: Verdict) -> Iterator[str]:
    found = verdict.diagnosis
    if found is None:
        yield "No volts were read by which a resistance could be found."
        return
    if found.nothing_wrong:
        yield "The volts agree with the spec as well as this meter can tell."
        return
    if found.doubtful:
        yield found.doubtful
    for place in verdict.places:
        yield from _place_lines(place)
    yield from verdict.next_steps


def _place_lines(place: Place) -> Iterator[str]:
    error = figure(place.error, "resistance", 1)
    yield (
        f"Excess resistance in {in_words(place)}: {figure(place.ohms, 'resistance')} (± {error}),"
        f" which costs {figure(place.drop, 'voltage')}. It sits in one of:"
    )
    yield from (f"    {piece}" for piece in place.pieces)


FORMS: dict[str, Callable[[Iterable[t.Readings], Ledger], str]] = {
    "text": readings_text,
    "json": readings_json,
}
