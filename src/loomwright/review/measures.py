"""What is reckoned of a spec and compared as numbers: electrical figures, copper, cable to cut."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import inf
from typing import Any

from loomwright.facts.registry import Ledger
from loomwright.model import things as t
from loomwright.record import Record
from loomwright.report.fault_figures import seconds_of
from loomwright.report.figures import figures, known
from loomwright.review.items import say
from loomwright.review.reading import cable_words
from loomwright.stock import making

COPPER_KG_M3 = 8890.0  # IEC 60028, density of annealed copper at 20 °C; from memory

# Of each kind of row the figures that are compared: name in the JSON of `figures` → words and unit.
COMPARED: Mapping[str, Mapping[str, tuple[str, str]]] = {
    "loads": {"volts": ("volts", "V"), "drop_percent": ("drop", "%"), "amps": ("current", "A")},
    "runs": {"amps": ("current", "A"), "spare_amps": ("margin", "A"), "drop_volts": ("drop", "V"), "celsius": ("temperature", "°C")},
    "sources": {"volts": ("volts", "V"), "amps": ("current", "A")},
    "faults": {
        "start_amps": ("fault current at start", "A"),
        "end_amps": ("fault current at far end", "A"),
        "least_end_amps": ("least fault current at far end", "A"),
        "opens_s": ("fuse opens within", "s"),
    },
}  # fmt: skip

Step = tuple[float, float]  # a difference in the unit, and a share of the larger value: both must be reached
STEPS: Mapping[str, Step] = {"V": (0.05, 0), "%": (0.5, 0), "A": (0.1, 0.02), "°C": (2, 0), "s": (0, 0.1)}
STEPS_SAID = "moved: 0.05 V, 0.5 points of %, 0.1 A and 2 %, 2 K, 10 % of a time, or more"


class Figure(Record):
    """One figure; `value` None where it can't be known, infinite for a time without end."""

    mode: str
    kind: str
    name: str
    words: str
    unit: str
    value: float | None


class Copper(Record):
    """Copper of all runs: kg, and the runs that can't be reckoned."""

    kg: float
    unknown: tuple[str, ...]


class Cord(Record):
    """One length of cable to cut, m; None where it can't be known."""

    run: str
    cable: str
    metres: float | None


def figures_of(ledger: Ledger) -> list[Figure]:
    """The figures that are compared, mode by mode, then the faults."""
    data = figures(ledger)
    found: list[Figure] = []
    for mode, rows in data["modes"].items():
        for kind in ("loads", "runs", "sources"):
            for name, row in rows[kind].items():
                found += _row(mode, kind, name, _with_margin(row) if kind == "runs" else row)
        found += [
            Figure(mode, "terminals", name, "volts", "V", value) for name, value in rows["volts"].items()
        ]
    for name, row in data["faults"].items():
        found += _row("", "faults", name, _with_opening(row))
    return found


def _row(mode: str, kind: str, name: str, row: Mapping[str, Any]) -> Iterator[Figure]:
    for key, (words, unit) in COMPARED[kind].items():
        yield Figure(mode, kind, name, words, unit, row[key])


def _with_margin(row: Mapping[str, Any]) -> dict[str, Any]:
    """What a run may carry beyond what it does."""
    carries, amps = row["carries_amps"], row["amps"]
    return {**row, "spare_amps": None if carries is None or amps is None else carries - abs(amps)}


def _with_opening(row: Mapping[str, Any]) -> dict[str, Any]:
    """The slow edge of the last fuse to open at its share; infinite where one never does or there is none, None where not known."""
    if "fuses" in row["missing"]:
        return {**row, "opens_s": None}
    edges = [seconds_of(fuse, "opens_between_s")[1] for fuse in row["fuses"]]
    known_edges = [edge for edge in edges if edge is not None]
    return {**row, "opens_s": max(known_edges, default=inf) if len(known_edges) == len(edges) else None}


def has_moved(old: float, new: float, unit: str, steps: Mapping[str, Step] = STEPS) -> bool:
    """Whether a figure moved so far that it is worth saying."""
    least, share = steps[unit]
    change = abs(new - old)
    return change > 0 and change >= least and change >= share * max(abs(old), abs(new))


def copper_of(ledger: Ledger) -> Copper:
    """Area × length × 8 890 kg/m³ (IEC 60028, from memory) of every conductor that the vehicle's maker did not lay."""
    kilograms = 0.0
    unknown: dict[str, None] = {}
    for run in _own_runs(ledger):
        area, length = known(ledger, run, "area"), known(ledger, run, "length")
        if area is None or length is None:
            unknown[run.name] = None
        else:
            kilograms += area * length * COPPER_KG_M3
    return Copper(kilograms, tuple(sorted(unknown)))


def cords_of(ledger: Ledger) -> list[Cord]:
    """What is cut: a twin cable once for both legs of a circuit, singles and the cores of a multicore each."""
    found = []
    for run in _own_runs(ledger):
        twin = not isinstance(run.cable, t.Unknown) and run.cable.twin
        if not (twin and run.circuit and ledger.installation.legs_of[run.circuit][1] is run):
            found.append(Cord(run.name, say(cable_words(run)), _cut(run, ledger)))
    return found


def _cut(run: t.Run, ledger: Ledger) -> float | None:
    area, length = known(ledger, run, "area"), known(ledger, run, "length")
    if area is None or length is None:
        return None
    return making.cut_mm(making.cutting(area * 1e6), length) / 1000


def _own_runs(ledger: Ledger) -> Iterator[t.Run]:
    return (run for run in ledger.installation.runs if not run.maker)
