"""What a fault in each run does, as data: its currents, how long the cable bears them, when each fuse opens."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf, isfinite
from typing import Any

from loomwright.facts.registry import Entry, Ledger
from loomwright.model import things as t

Figures = dict[str, Any]


def faults_of(run: t.Run, ledger: Ledger) -> Figures:
    """A fault at each end, and what one at the far end does: to the cable, and to each fuse, all at their own currents.

    None is without end, or, where `missing` has the figure's name, not known.
    """
    found = {
        f"{corner}{end}_amps": ledger.entry(run, f"{corner.replace('_', '-')}{end}-fault")
        for corner in ("", "least_")
        for end in ("start", "end")
    }
    found["far_amps"] = ledger.entry(run, "far-fault")
    found["withstands_s"] = _then(found["far_amps"], run, "withstands", ledger)
    fuses = ledger.entry(run, "fault-fuses")
    shown = ledger.entry(run, "fuses") if fuses.missing else fuses
    return {
        **{name: plain(entry) for name, entry in found.items()},
        "fuses": [_fuse(fuse, run, ledger) for fuse in plain(shown) or ()],
        "missing": _why({**found, "fuses": fuses}),
    }


def _fuse(fuse: t.Fuse, run: t.Run, ledger: Ledger) -> Figures:
    """The two edges of its opening band at what the greatest fault at the far end of the run sends through it."""
    share = ledger.entry(fuse, "share", run)
    holds, opens = (_then(share, fuse, name, ledger) for name in ("holds-for", "opens-by"))
    home = fuse.run or fuse.way
    own = fuse.run is run or (fuse.way is not None and fuse.way is plain(ledger.entry(run, "way")))
    return {
        "kind": fuse.kind,
        "rating_amps": fuse.rating.quantity.si,
        "of": None if own or home is None else home.name,
        "amps": plain(share),
        "opens_between_s": [plain(holds), plain(opens)],
        "missing": _why({"amps": share, "opens_between_s": holds if holds.missing else opens}),
    }


def _then(amps: Entry, thing: object, name: str, ledger: Ledger) -> Entry:
    """A time at a current, or what is missing of the current."""
    return amps if amps.missing else ledger.entry(thing, name, amps.value)


def plain(entry: Entry) -> Any:
    """What a fact says, rounded to a nano-unit; None where it is unknown or without end."""
    value = None if entry.missing else entry.value
    if isinstance(value, float):
        return round(value, 9) + 0.0 if isfinite(value) else None
    return value


def _why(entries: Mapping[str, Entry]) -> dict[str, list[str]]:
    return {
        name: [reason.what for reason in entry.missing] for name, entry in entries.items() if entry.missing
    }


def seconds_of(row: Figures, name: str) -> list[float | None]:
    """A row's times: None for what is not known, infinite for what has no end."""
    values = row[name] if isinstance(row[name], list) else [row[name]]
    return [inf if value is None and name not in row["missing"] else value for value in values]
