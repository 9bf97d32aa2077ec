"""One line of the commissioning record, and what its makers share."""

from __future__ import annotations

from typing import TypeVar

from loomwright.facts.readings import judged
from loomwright.facts.registry import Missing
from loomwright.model import things as t
from loomwright.record import Record
from loomwright.sheets.job import Job
from loomwright.sheets.making import leg_name
from loomwright.sheets.words import (
    fuse_name,
    known,
    place_of,
    shown,
)

D = TypeVar("D", bound=t.Device)


class Reading(Record):
    """One line of the record: what is measured, what it should show, its own limit where the test's is not enough, and what
    the meter showed where the spec says it."""

    of: str
    predicted: str = ""
    limit: str = ""
    run: str = ""
    place: str = ""
    found: str = ""


def devices(job: Job, kind: type[D]) -> list[D]:
    return [device for device in job.installation.devices if isinstance(device, kind)]


def own_runs(job: Job, *roles: str) -> list[t.Run]:
    return [run for run in job.installation.runs if not run.maker and (not roles or run.role in roles)]


def own_ends(job: Job) -> list[t.End]:
    return [end for run in own_runs(job) for end in job.installation.ends_of[run]]


def of_run(run: t.Run, predicted: str = "", limit: str = "", found: str = "") -> Reading:
    place = place_of(run.start)
    return Reading(leg_name(run), predicted, limit, run.name, place.name if place else "", found)


def of_device(
    device: t.Device, predicted: str = "", limit: str = "", what: str = "", found: str = ""
) -> Reading:
    return Reading(f"{device.name}{what}", predicted, limit, place=device.place.name, found=found)


def fuse_place(fuse: t.Fuse) -> str:
    place = fuse.place or (fuse.way.hub.place if fuse.way else None)
    return place.name if place else ""


def of_fuse(fuse: t.Fuse, predicted: str = "", limit: str = "", found: str = "") -> Reading:
    run = fuse.run.name if fuse.run else ""
    return Reading(fuse_name(fuse), predicted, limit, run, fuse_place(fuse), found)


def measured(job: Job, what: str, mode: t.Mode, *of: str) -> str:
    """What the spec says that the meter showed there in a mode, by whom and when, and whether that is beyond what it may be;
    empty where it says nothing. `of` are the names of a run, or of two points in either order."""
    for block in job.installation.readings:
        if block.mode is not mode:
            continue
        for reading in block.readings:
            names = tuple(thing.name for thing in reading.of)
            if reading.what == what and names in (of, of[::-1]):
                sign = "" if names == of else "reversed, "
                beyond = "; beyond its limit" if _is_beyond(reading, block, job) else ""
                return f"{reading.value.quantity.text} ({sign}{block.by}, {block.taken}){beyond}"
    return ""


def _is_beyond(reading: t.Reading, block: t.Readings, job: Job) -> bool:
    try:
        rows = judged(block, job.ledger).rows
    except Missing:
        return False
    return any(row.reading is reading and row.is_within is False for row in rows)


def depth(fuse: t.Fuse, job: Job) -> int:
    """How many fuses lie between it and its source."""
    seen: list[t.Fuse] = []
    here: t.Fuse | None = fuse
    while here is not None and here not in seen:
        seen.append(here)
        here = known(job.ledger, here, "upstream")
    return len(seen) - 1


def three(value: float, unit: str) -> str:
    """To three figures: what a meter of 10 mV and four digits can be held against."""
    return shown(float(f"{value:.3g}"), unit)


def between(value: float, by: float, unit: str) -> str:
    return f"{shown(value - by, unit)} to {shown(value + by, unit)}"


def band(value: float, share: float, unit: str) -> str:
    return f"{shown(value * (1 - share), unit)} to {shown(value * (1 + share), unit)}"


def engine_on(job: Job) -> list[t.Mode]:
    return [mode for mode in job.installation.modes if mode.engine == "running"]
