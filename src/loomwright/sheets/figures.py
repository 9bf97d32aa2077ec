"""The electrical figures: what flows and what is lost in each mode, and what a fault does."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from loomwright.report.fault_figures import seconds_of
from loomwright.report.figures import figures, starved_words
from loomwright.sheets.document import Block, Column, Heading, Note, Piece, Row, Sheet, Table
from loomwright.sheets.job import Job
from loomwright.sheets.terms import DASH, amps, figure, seconds
from loomwright.sheets.words import listed

RUN_COLUMNS = (
    Column("Run"), Column("Current", "A", number=True), Column("May carry", "A", number=True),
    Column("Margin", "%", number=True), Column("Drop", "V", number=True), Column("Drop", "%", number=True),
    Column("Loss", "W", number=True), Column("Conductor", "°C", number=True),
)  # fmt: skip
LOAD_COLUMNS = (
    Column("Load"), Column("Terminals", "V", number=True), Column("Current", "A", number=True),
    Column("Power", "W", number=True), Column("Drop from source", "%", number=True),
)  # fmt: skip
SOURCE_COLUMNS = (Column("Source"), Column("Terminals", "V", number=True), Column("Gives", "A", number=True))
FAULT_COLUMNS = (
    Column("Run"), Column("At its start", "A", number=True), Column("At its end", "A", number=True),
    Column("Least at its end", "A", number=True), Column("Cable bears the far end's", "s", number=True),
    Column("Fuse"), Column("Opens it in", "s", number=True),
)  # fmt: skip


def sheet(job: Job) -> Sheet | None:
    """Mode by mode; None where there are neither modes nor runs."""
    data = figures(job.ledger)
    if not data["modes"] and not data["faults"]:
        return None
    nominal = job.fitout.system.quantity.si
    blocks: list[Block] = []
    for mode in job.installation.modes:
        blocks += _mode(mode.name, mode.says, data["modes"][mode.name], nominal)
    blocks += [Heading("Faults"), _faults(data["faults"])]
    blocks.append(
        Note(
            "A circuit counts both legs. Margin is what a run may carry beyond its current. Drop in % is of the nominal voltage"
            f" ({nominal:g} V). Battery minus where a source takes current. Faults are dead shorts, batteries full and cable cold;"
            " the least is with an aged battery, low and hot. The far end is that away from the fuse; cable and fuse are each told at"
            " what the greatest fault there sends through them. ? stands for what the spec leaves open."
        )
    )
    return Sheet("figures", "Electrical figures", "reviewer", tuple(blocks))


def _mode(name: str, says: str, found: Mapping[str, Any], nominal: float) -> Iterator[Block]:
    yield Heading(f"Mode {name}: {says}" if says else f"Mode {name}")
    if found["missing"]:
        yield Note(f"Nothing can be said: {listed(found['missing'])} not known.")
        return
    yield from map(Note, starved_words(found))
    runs = tuple(_run(run, row, nominal) for run, row in found["runs"].items())
    yield Table(f"Runs, {name}", RUN_COLUMNS, runs)
    loads = tuple(
        Row(
            (
                load,
                figure(row["volts"], 2),
                amps(row["amps"]),
                figure(row["watts"], 0),
                _percent(row["drop_percent"]),
            )
        )
        for load, row in found["loads"].items()
    )
    yield Table(f"Loads, {name}", LOAD_COLUMNS, loads, empty="No load is on.")
    sources = tuple(
        Row((source, figure(row["volts"], 2), amps(row["amps"]))) for source, row in found["sources"].items()
    )
    yield Table(f"Sources, {name}", SOURCE_COLUMNS, sources)


def _run(name: str, row: Mapping[str, Any], nominal: float) -> Row:
    drop = row["drop_volts"]
    cells = (
        (Piece(name, run=name),),
        amps(row["amps"]),
        amps(row["carries_amps"]),
        _margin(row["amps"], row["carries_amps"]),
        figure(drop, 2),
        _percent(None if drop is None else 100 * drop / nominal),
        figure(row["loss_watts"], 1),
        figure(row["celsius"], 0),
    )
    return Row(cells, run=name)


def _margin(flows: float | None, carries: float | None) -> str:
    """By how much of what it may carry a run is free."""
    return figure(None if flows is None or not carries else 100 * (1 - flows / carries), 0)


def _percent(value: float | None) -> str:
    return figure(value, 1)


def _faults(faults: Mapping[str, Any]) -> Table:
    rows = []
    for name, row in faults.items():
        fuses = row["fuses"]
        told = [f"{fuse['kind']} {fuse['rating_amps']:g} A{_where(fuse['of'])}" for fuse in fuses]
        times = [
            " to ".join(dict.fromkeys(map(seconds, seconds_of(fuse, "opens_between_s")))) for fuse in fuses
        ]
        cells = (
            (Piece(name, run=name),),
            figure(row["start_amps"], 0),
            figure(row["end_amps"], 0),
            figure(row["least_end_amps"], 0),
            seconds(*seconds_of(row, "withstands_s")),
            "; ".join(told) or "none",
            "; ".join(times) or DASH,
        )
        rows.append(Row(cells, run=name))
    return Table("A dead short at each end of a run, greatest and least", FAULT_COLUMNS, tuple(rows))


def _where(of: str | None) -> str:
    return f" of {of}" if of else ""
