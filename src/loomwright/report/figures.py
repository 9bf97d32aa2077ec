"""The electrical figures of a spec, mode by mode, and what a fault does: as data, as a table, as CSV."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from math import isfinite
from typing import Any

from loomwright.facts.electrics.solve import solved
from loomwright.facts.electrics.sources import system_volts
from loomwright.facts.electrics.wiring import node_of
from loomwright.facts.registry import Ledger
from loomwright.model import things as t
from loomwright.report.fault_figures import Figures, faults_of, plain, seconds_of

WIDTH = 100
UNKNOWN = "?"


class NoSuchMode(ValueError):
    """A mode was asked for that the spec does not have. The message lists those that it has."""


def figures(ledger: Ledger, modes: Iterable[str] | None = None) -> Figures:
    """The figures of all modes, or of those named, as JSON version 1 has them (volts, amps, watts, ohms, degC).

    A figure that can't be known is None; a terminal that nothing ties to a source is left out. Raises `NoSuchMode`.
    """
    installation = ledger.installation
    return {
        "version": 1,
        "file": installation.fitout.span.source.path,
        "modes": {mode.name: _of_mode(mode, ledger) for mode in _chosen(installation, modes)},
        "faults": {name: faults_of(run, ledger) for name, run in _positive_runs(installation)},
    }


def _chosen(installation: t.Installation, names: Iterable[str] | None) -> Sequence[t.Mode]:
    if names is None:
        return installation.modes
    known = {mode.name: mode for mode in installation.modes}
    for name in names:
        if name not in known:
            there = f"it has {', '.join(known)}" if known else "it has none"
            raise NoSuchMode(f"the spec has no mode '{name}': {there}")
    return [known[name] for name in names]


def known(ledger: Ledger, thing: object, name: str, *arguments: object) -> Any:
    """What a fact says, rounded to a nano-unit; None where it is unknown, does not exist or is without end."""
    return plain(ledger.entry(thing, name, *arguments))


def _of_mode(mode: t.Mode, ledger: Ledger) -> Figures:
    installation, state = ledger.installation, solved(mode, ledger)

    def get(thing: t.Thing, *names: str) -> list[float | None]:
        return [known(ledger, thing, name, mode) for name in names]

    volts = {
        terminal.name: round(state.volts[node_of(terminal)], 9) + 0.0
        for terminal in installation.terminals.values()
        if node_of(terminal) in state.volts and installation.landing_on.get(terminal)
    }
    structures = {
        s.name: round(state.volts[s.name], 9) + 0.0 for s in installation.structures if s.name in state.volts
    }
    return {
        "volts": volts,
        "structure_volts": structures,
        "runs": {name: _run_figures(thing, mode, ledger) for name, thing in _runs_and_circuits(installation)},
        "loads": {load.name: _load_figures(load, mode, ledger) for load in _loads_on(mode)},
        "sources": {
            source.name: dict(zip(("volts", "amps"), get(source, "volts", "amps"), strict=True))
            for source in _sources(installation)
        },
        "converged": state.converged,
        "iterations": state.iterations,
        "missing": [reason.what for reason in state.missing],
        "starved": {
            name: {"asked_watts": _finite(asked), "at_most_watts": _finite(at_most)}
            for name, (asked, at_most) in state.starved.items()
        },
    }


def _finite(value: float) -> float | None:
    return round(value, 9) + 0.0 if isfinite(value) else None


def starved_words(mode: Mapping[str, Any]) -> Iterator[str]:
    """A sentence for each load that asks for more than the network can give and is left out."""
    for name, row in mode["starved"].items():
        asked, at_most = row["asked_watts"], row["at_most_watts"]
        powers = " more than the sources carry"
        if asked is not None:
            powers = f" {asked:.4g} W and can be given {at_most:.4g} W at most"
        yield f"{name} asks for{powers}: no operating point with it, left out below."


def _runs_and_circuits(installation: t.Installation) -> Iterator[tuple[str, t.Run | t.Circuit]]:
    """Every run by its name; the two legs of a circuit are one entry."""
    told: set[str] = set()
    for run in installation.runs:
        if run.name not in told:
            told.add(run.name)
            yield run.name, run.circuit or run


def _run_figures(thing: t.Run | t.Circuit, mode: t.Mode, ledger: Ledger) -> Figures:
    legs = ledger.installation.legs_of[thing] if isinstance(thing, t.Circuit) else (thing,)
    carries = [known(ledger, leg, "carries") for leg in legs]
    names = {"amps": "current", "drop_volts": "drop", "loss_watts": "loss", "celsius": "celsius"}
    found = {key: known(ledger, thing, name, mode) for key, name in names.items()}
    return {**found, "carries_amps": None if None in carries else min(carries)}


def _loads_on(mode: t.Mode) -> list[t.Load]:
    return list(dict.fromkeys(on.thing for on in mode.on if isinstance(on.thing, t.Load)))


def _load_figures(load: t.Load, mode: t.Mode, ledger: Ledger) -> Figures:
    names = {"volts": "volts", "amps": "current", "watts": "watts", "drop_percent": "drop"}
    found = {key: known(ledger, load, name, mode) for key, name in names.items()}
    share = found["drop_percent"]
    return {**found, "drop_percent": None if share is None else round(share * 100, 7)}


def _sources(installation: t.Installation) -> list[t.Device]:
    kinds = (t.Battery, t.Alternator, t.Supply, t.Charger, t.Solar)
    return [device for device in installation.devices if isinstance(device, kinds)]


def _positive_runs(installation: t.Installation) -> Iterator[tuple[str, t.Run]]:
    yield from ((run.name, run) for run in installation.runs if run.role != "earth")


# ---------------------------------------------------------------- as a table


def figures_text(ledger: Ledger, modes: Iterable[str] | None = None) -> str:
    """The figures as tables of at most 100 columns. `?` stands for what can't be known."""
    data = figures(ledger, modes)
    says = {mode.name: mode.says for mode in ledger.installation.modes}
    nominal = system_volts(ledger)
    lines = [f"{data['file']}: {ledger.installation.fitout.name}, {nominal:g} V"]
    for name, mode in data["modes"].items():
        lines += ["", _cut(f"Mode {name}: {says[name]}" if says[name] else f"Mode {name}")]
        lines += _mode_lines(mode)
    lines += ["", "Faults: a dead short at each end, greatest and least", *_fault_lines(data["faults"])]
    return "\n".join(lines) + "\n"


def _mode_lines(mode: Figures) -> Iterator[str]:
    if mode["missing"]:
        yield from (_cut(f"    nothing can be said: {what} is not known") for what in mode["missing"])
        return
    yield from (_cut(f"    {sentence}") for sentence in starved_words(mode))
    rows = [
        (
            name,
            _number(run["amps"], 2),
            _number(run["carries_amps"], 1),
            _number(run["drop_volts"], 3),
            _number(run["loss_watts"], 2),
            _number(run["celsius"], 0),
        )
        for name, run in mode["runs"].items()
    ]
    yield from _table(("run", "A", "carries A", "drop V", "loss W", "degC"), rows)
    loads = [
        (
            name,
            _number(load["amps"], 2),
            _number(load["volts"], 2),
            _number(load["watts"], 1),
            _number(load["drop_percent"], 1),
        )
        for name, load in mode["loads"].items()
    ]
    yield from _table(("load", "A", "V", "W", "drop %"), loads)
    sources = [
        (name, _number(source["amps"], 2), _number(source["volts"], 2))
        for name, source in mode["sources"].items()
    ]
    yield from _table(("source", "A", "V"), sources)
    volts = {**mode["volts"], **mode["structure_volts"]}
    yield from _side_by_side([(name, _number(value, 3)) for name, value in volts.items()])


def _fault_lines(faults: Mapping[str, Figures]) -> Iterator[str]:
    rows = []
    for name, fault in faults.items():
        amps = [
            _number(fault[key], 0) for key in ("start_amps", "least_start_amps", "end_amps", "least_end_amps")
        ]
        bears = _seconds(*seconds_of(fault, "withstands_s"))
        rows.append((name, *amps, bears, ", ".join(_fuse_words(fuse) for fuse in fault["fuses"]) or "-"))
    head = ("run", "start A", "least", "end A", "least", "bears s", "fuse and s to open at the far end's")
    yield from _table(head, rows, text_last=True)


def _fuse_words(fuse: Figures) -> str:
    """A fuse with its times, and where it sits when that is before the run."""
    of = f" of {fuse['of']}" if fuse["of"] else ""
    times = dict.fromkeys(map(_seconds, seconds_of(fuse, "opens_between_s")))
    return f"{fuse['kind']} {fuse['rating_amps']:g} A{of} {'…'.join(times)}"


def _table(head: Sequence[str], rows: Sequence[Sequence[str]], text_last: bool = False) -> Iterator[str]:
    """Columns as wide as they must be: names to the left, figures to the right; no line over the width."""
    if not rows:
        return
    widths = [max(len(row[k]) for row in (head, *rows)) for k in range(len(head))]
    widths[0] = min(widths[0], 40)
    last = len(head) - 1 if text_last else len(head)
    yield ""
    for row in (head, *rows):
        cells = [row[0][: widths[0]].ljust(widths[0])]
        cells += [
            row[k].ljust(widths[k]) if k == last else row[k].rjust(widths[k]) for k in range(1, len(row))
        ]
        yield _cut("    " + "  ".join(cells).rstrip())


def _side_by_side(pairs: Sequence[tuple[str, str]]) -> Iterator[str]:
    """Terminals and their volts in as many columns as the width holds, down each column first."""
    if not pairs:
        return
    name_width, width = (max(len(pair[k]) for pair in pairs) for k in (0, 1))
    columns = max(1, (WIDTH - 4 + 4) // (name_width + 2 + width + 4))
    height = -(-len(pairs) // columns)
    yield ""
    yield "    volts at the terminals"
    for k in range(height):
        cells = [f"{name.ljust(name_width)}  {value.rjust(width)}" for name, value in pairs[k::height]]
        yield _cut("    " + "    ".join(cells))


def _cut(line: str) -> str:
    return line if len(line) <= WIDTH else line[: WIDTH - 1] + "…"


def _number(value: float | None, places: int) -> str:
    return (
        UNKNOWN
        if value is None
        else f"{value + 0.0:.{places}f}".replace("-0." + "0" * places, "0." + "0" * places)
    )


def _seconds(value: float | None) -> str:
    if value is None:
        return UNKNOWN
    return f"{value:.3g}" if isfinite(value) else "no end"


# ---------------------------------------------------------------- as CSV

COLUMNS = ("mode", "kind", "name", "figure", "value")


def figures_csv(ledger: Ledger, modes: Iterable[str] | None = None) -> str:
    """One figure a line: mode (empty for faults), kind, name, figure, value. Units are in the figures' names.

    An unknown value is empty, a time without end `inf`.
    """
    data = figures(ledger, modes)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for mode, found in data["modes"].items():
        for kind in ("volts", "structure_volts"):
            writer.writerows(
                (mode, kind.removesuffix("_volts").replace("volts", "terminal"), name, "volts", _plain(value))
                for name, value in found[kind].items()
            )
        for kind in ("runs", "loads", "sources"):
            for name, row in found[kind].items():
                writer.writerows(
                    (mode, kind[:-1], name, figure, _plain(value)) for figure, value in row.items()
                )
    for name, row in data["faults"].items():
        writer.writerows(("", "fault", name, figure, _plain(value)) for figure, value in _flat(row))
    return out.getvalue()


def _flat(row: Figures) -> Iterator[tuple[str, float | None]]:
    for figure, value in row.items():
        if figure.endswith("_amps"):
            yield figure, value
    yield "withstands_s", seconds_of(row, "withstands_s")[0]
    for k, fuse in enumerate(row["fuses"], 1):
        yield f"fuse_{k}_rating_amps", fuse["rating_amps"]
        yield f"fuse_{k}_amps", fuse["amps"]
        for edge, seconds in zip(("holds_s", "opens_s"), seconds_of(fuse, "opens_between_s"), strict=True):
            yield f"fuse_{k}_{edge}", seconds


def _plain(value: float | None) -> str:
    return "" if value is None else f"{value:.9g}"


def figures_json(ledger: Ledger, modes: Iterable[str] | None = None) -> str:
    return json.dumps(figures(ledger, modes), ensure_ascii=False, indent=1, allow_nan=False) + "\n"


FORMS: dict[str, Callable[[Ledger, Iterable[str] | None], str]] = {
    "text": figures_text,
    "json": figures_json,
    "csv": figures_csv,
}
