"""Solved figures beside the head of each run: the most that it carries in any mode, and the most that it loses."""

from __future__ import annotations

import os
from collections.abc import Iterator

from loomwright.editor.desk import Desk
from loomwright.editor.hover import value
from loomwright.facts.registry import Ledger
from loomwright.model import things as t
from loomwright.quantity import show
from loomwright.record import Record


class Inlay(Record):
    """A remark to be shown behind an offset of the text."""

    offset: int
    text: str
    tip: str


def inlays(desk: Desk, path: str) -> tuple[Inlay, ...]:
    """One for each run of a file whose currents are known; none while its spec can't be read."""
    for spec in desk.specs_with(path):
        ledger = desk.report(spec).ledger
        if ledger is not None:
            return tuple(_of_runs(path, ledger))
    return ()


def _of_runs(path: str, ledger: Ledger) -> Iterator[Inlay]:
    told: set[str] = set()
    for run in ledger.installation.runs:
        if run.name in told or os.path.realpath(run.span.source.path) != path:
            continue
        told.add(run.name)
        figures = [
            (amps, value(ledger, run.circuit or run, "drop", mode), mode.name)
            for mode in ledger.installation.modes
            if (amps := value(ledger, run, "current", mode)) is not None
        ]
        if figures:
            yield _inlay(run, figures)


def _inlay(run: t.Run, figures: list[tuple[float, float | None, str]]) -> Inlay:
    amps, _, mode = max(figures, key=lambda each: each[0])
    text = show(amps, "current")
    drops = [(drop, name) for _, drop, name in figures if drop is not None]
    tip = f"most current in {mode}"
    if drops:
        drop, where = max(drops)
        text += f", {show(drop, 'voltage')}"
        tip += f", most drop in {where}"
    return Inlay(run.span.end, text, tip)
