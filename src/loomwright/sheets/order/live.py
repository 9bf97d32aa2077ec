"""What becomes live when a fuse goes in or a contact closes, with no other fuse before it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TypeVar

from loomwright.model import things as t
from loomwright.sheets.job import Job
from loomwright.sheets.words import known

D = TypeVar("D", bound=t.Device)

USERS: tuple[type[t.Device], ...] = (t.Load, t.Sensor, t.Inverter, t.Charger)
JOINTS = (t.Busbar, t.Splice)


def behind_fuse(fuse: t.Fuse, job: Job) -> tuple[t.Device, ...]:
    """The devices that a fuse makes live by itself: no further fuse and no contact between."""
    return _distinct(_reached(_outlet(fuse, job), job), USERS)


def behind_contact(contact: t.Contact, job: Job) -> tuple[t.Device, ...]:
    """The devices that a contact makes live by itself, while the fuses behind it are out."""
    out = job.installation.terminals[f"{contact.name}.out"]
    return _distinct(_reached([out], job), USERS)


def contacts_behind(fuse: t.Fuse, job: Job) -> tuple[t.Contact, ...]:
    """The isolators and switches that a fuse feeds with no further fuse between."""
    reached = _distinct(_reached(_outlet(fuse, job), job), (t.Contact,))
    return tuple(one for one in reached if one.kind in ("isolator", "switch"))


def _distinct(devices: Iterable[t.Device], kinds: tuple[type[D], ...]) -> tuple[D, ...]:
    return tuple(dict.fromkeys(device for device in devices if isinstance(device, kinds)))


def _outlet(fuse: t.Fuse, job: Job) -> list[t.Point]:
    """The points on the far side of a fuse."""
    if fuse.way is not None:
        runs = known(job.ledger, fuse.way, "runs") or ()
    else:
        runs = (fuse.run,) if fuse.run else ()
    return [run.start if known(job.ledger, run, "fed-at-end") else run.end for run in runs]


def _reached(starts: list[t.Point], job: Job) -> Iterator[t.Device]:
    """Every device met on the way from some points along feeds without a fuse, through bars, joints and shunts."""
    seen: dict[t.Point, None] = {}
    todo = list(starts)
    while todo:
        point = todo.pop(0)
        if point in seen or not isinstance(point, t.Terminal):
            continue
        seen[point] = None
        yield point.device
        todo += [*_through(point, job), *_along(point, job)]


def _through(point: t.Terminal, job: Job) -> list[t.Terminal]:
    device = point.device
    passes = isinstance(device, JOINTS) or (isinstance(device, t.Contact) and device.kind == "shunt")
    return list(job.installation.terminals_of[device]) if passes else []


def _along(point: t.Terminal, job: Job) -> Iterator[t.Point]:
    """The other ends of the feeds without a fuse that land on a point that current passes, or that it comes from."""
    if isinstance(point.device, (*USERS, t.Battery, t.Hub, t.Plug, t.Relay)):
        return
    if isinstance(point.device, t.Contact) and point.label == "in":
        return
    for end in job.installation.landing_on.get(point, ()):
        run = end.run
        fuses = job.installation.fuses_of[run]
        if run.role == "feed" and (isinstance(fuses, t.Unknown) or not fuses):
            yield run.end if run.start is point else run.start
