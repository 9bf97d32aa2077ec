"""One line of the commissioning record, and what its makers share."""

from __future__ import annotations

from typing import TypeVar

from loomwright.model import things as t
from loomwright.record import Record
from loomwright.sheets.job import Job
from loomwright.sheets.making import leg_name
from loomwright.sheets.words import (
    fuse_name,
    place_of,
    shown,
)

D = TypeVar("D", bound=t.Device)


class Reading(Record):
    """One line of the record: what is measured, what it should show, its own limit where the test's is not enough."""

    of: str
    predicted: str = ""
    limit: str = ""
    run: str = ""
    place: str = ""


def devices(job: Job, kind: type[D]) -> list[D]:
    return [device for device in job.installation.devices if isinstance(device, kind)]


def own_runs(job: Job, *roles: str) -> list[t.Run]:
    return [run for run in job.installation.runs if not run.maker and (not roles or run.role in roles)]


def own_ends(job: Job) -> list[t.End]:
    return [end for run in own_runs(job) for end in job.installation.ends_of[run]]


def of_run(run: t.Run, predicted: str = "", limit: str = "") -> Reading:
    place = place_of(run.start)
    return Reading(leg_name(run), predicted, limit, run.name, place.name if place else "")


def of_device(device: t.Device, predicted: str = "", limit: str = "", what: str = "") -> Reading:
    return Reading(f"{device.name}{what}", predicted, limit, place=device.place.name)


def fuse_place(fuse: t.Fuse) -> str:
    place = fuse.place or (fuse.way.hub.place if fuse.way else None)
    return place.name if place else ""


def of_fuse(fuse: t.Fuse, predicted: str = "", limit: str = "") -> Reading:
    return Reading(fuse_name(fuse), predicted, limit, fuse.run.name if fuse.run else "", fuse_place(fuse))


def band(value: float, share: float, unit: str) -> str:
    return f"{shown(value * (1 - share), unit)} to {shown(value * (1 + share), unit)}"


def engine_on(job: Job) -> list[t.Mode]:
    return [mode for mode in job.installation.modes if mode.engine == "running"]
