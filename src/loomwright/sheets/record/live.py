"""What the tests under voltage and under load should show."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.model import things as t
from loomwright.sheets.job import Job
from loomwright.sheets.owner_card import fuses_of
from loomwright.sheets.record.reading import (
    Reading,
    band,
    devices,
    engine_on,
    of_device,
    of_fuse,
    of_run,
    own_ends,
    own_runs,
)
from loomwright.sheets.words import (
    describe,
    known,
    place_of,
    point_name,
    said,
    shown,
    worst_mode,
)

DROP = 1.2  # times the predicted drop that T16 bears
COOL = 20.0  # K that a cable's surface stays under its class (T21)
MAIN_SHARE = 0.8  # of its main fuse that a system draws (T23)
CLEARS = 3.5  # times its rating that a fault must reach (T24)
LAMP_SHARE = 0.85  # of its design volts that a lamp gets (T19)
MARGIN_V = 0.3  # above the cut-out at a start (T20)
AT_REST = {"lifepo4": "13.1 to 13.4 V", "lead-acid": "≥ 12.4 V", "agm": "≥ 12.4 V", "gel": "≥ 12.4 V"}


def main_fuses(job: Job) -> Iterator[Reading]:
    firsts = [fuse for fuse in fuses_of(job) if fuse.run and known(job.ledger, fuse, "upstream") is None]
    return (of_fuse(fuse, "lamp dark") for fuse in firsts)


def at_rest(job: Job) -> Iterator[Reading]:
    for battery in devices(job, t.Battery):
        limit = "" if isinstance(battery.chemistry, t.Unknown) else AT_REST[battery.chemistry]
        yield of_device(battery, "", limit, f" ({describe(battery)})")


def branch_amps(job: Job) -> Iterator[Reading]:
    for fuse in fuses_of(job):
        worst = worst_mode(job.ledger, fuse, "load-current")
        if worst and worst[1]:
            yield of_fuse(fuse, f"{shown(worst[1], 'A')} in mode {worst[0].name}", band(worst[1], 0.1, "A"))


def outlets(job: Job) -> Iterator[Reading]:
    for load in devices(job, t.Load):
        lowest = _least_volts(job, load)
        if not load.maker and lowest:
            yield of_device(load, f"{shown(lowest[1], 'V')} in mode {lowest[0].name}", "right sign")


def _least_volts(job: Job, load: t.Load) -> tuple[t.Mode, float] | None:
    """The mode in which a load that runs gets least, with its volts."""
    running = [mode for mode in job.installation.modes if known(job.ledger, load, "runs", mode)]
    found = [(mode, volts) for mode in running if (volts := known(job.ledger, load, "volts", mode))]
    return min(found, key=lambda pair: pair[1], default=None)


def set_points(job: Job) -> Iterator[Reading]:
    for device in job.installation.devices:
        if isinstance(device, t.Relay):
            pairs = [("closes at", device.closes), ("opens at", device.opens)]
        elif isinstance(device, t.Charger):
            pairs = [
                ("starts at", device.starts),
                ("stops at", device.stops),
                ("cuts out at", device.cuts_out),
            ]
        elif isinstance(device, t.Load):
            pairs = [("cuts out at", device.cuts_out)]
        else:
            continue
        for word, value in pairs:
            if value is not None and not isinstance(value, t.Unknown):
                yield of_device(device, said(value), "± 0.2 V", f" {word}")


def isolators(job: Job) -> Iterator[Reading]:
    contacts = [one for one in devices(job, t.Contact) if one.kind in ("isolator", "switch")]
    return (of_device(one, "0 V behind it", what=" open") for one in contacts)


def _drops(job: Job, role: str, *, over: float) -> Iterator[Reading]:
    for run in own_runs(job, role):
        worst = worst_mode(job.ledger, run, "current")
        if worst and worst[1]:
            mode, amps = worst
            drop = known(job.ledger, run, "drop", mode)
            if drop is not None:
                yield of_run(
                    run,
                    f"{shown(drop, 'V')} at {shown(amps, 'A')} ({mode.name})",
                    f"≤ {shown(drop * over, 'V')}",
                )


def feed_drops(job: Job) -> Iterator[Reading]:
    return _drops(job, "feed", over=DROP)


def return_drops(job: Job) -> Iterator[Reading]:
    yield from _drops(job, "earth", over=DROP)
    for point in job.installation.earthpoints:
        yield Reading(f"{point.name}, lug to {point.structure.name}", limit="≤ 0.1 V", place=point.place.name)


def joints(job: Job) -> Iterator[Reading]:
    for device in job.installation.devices:
        if isinstance(device, (t.Contact, t.Relay)):
            yield of_device(device, _through(job, device), "≤ 0.3 V", ", in to out")
    for fuse in fuses_of(job):
        if known(job.ledger, fuse, "bolt-in"):
            yield of_fuse(fuse, limit="≤ 0.1 V at each lug")
    points = dict.fromkeys(
        end.point
        for end in own_ends(job)
        if end.fitting == "lug" and isinstance(end.point, (t.Terminal, t.Earthpoint))
    )
    for point in points:
        place = place_of(point)
        yield Reading(
            f"stud of {point_name(point)}", limit="≤ 0.1 V at each lug", place=place.name if place else ""
        )


def _through(job: Job, device: t.Contact | t.Relay) -> str:
    worst = worst_mode(job.ledger, device, "current")
    ohm = None if isinstance(device.resistance, t.Unknown) else device.resistance.quantity.si
    if not worst or not worst[1] or ohm is None:
        return ""
    return f"{shown(worst[1] * ohm, 'V')} at {shown(worst[1], 'A')} ({worst[0].name})"


def load_volts(job: Job) -> Iterator[Reading]:
    design = job.fitout.system.quantity.si
    for load in devices(job, t.Load):
        for mode in engine_on(job):
            volts = known(job.ledger, load, "volts", mode)
            if volts and known(job.ledger, load, "runs", mode):
                limit = f"≥ {shown(design * LAMP_SHARE, 'V')} at a lamp"
                yield of_device(load, shown(volts, "V"), limit, f" in mode {mode.name}")


def starts(job: Job) -> Iterator[Reading]:
    design = job.fitout.system.quantity.si
    for load in devices(job, t.Load):
        cut, least = known(job.ledger, load, "cuts-out"), _least_volts(job, load)
        sag = known(job.ledger, load, "surge-drop", least[0]) if least else None
        if cut and least and sag is not None:
            yield of_device(
                load, f"{shown(least[1] - sag * design, 'V')} or more", f"≥ {shown(cut + MARGIN_V, 'V')}"
            )


def heat(job: Job) -> Iterator[Reading]:
    for run in own_runs(job):
        worst, grade = worst_mode(job.ledger, run, "celsius"), known(job.ledger, run, "class")
        current = worst_mode(job.ledger, run, "current")
        if worst and current and current[1]:
            limit = f"≤ {shown(grade - COOL, 'degC')}" if grade else ""
            yield of_run(
                run, f"{shown(worst[1], 'degC')} at its hottest place, hottest day ({worst[0].name})", limit
            )


def inverters(job: Job) -> Iterator[Reading]:
    for inverter in devices(job, t.Inverter):
        amps = known(job.ledger, inverter, "full-current")
        yield of_device(inverter, f"about {shown(amps * 0.8, 'A')}" if amps else "", "drop ≤ 0.36 V")


def main_loads(job: Job) -> Iterator[Reading]:
    for fuse in fuses_of(job):
        if known(job.ledger, fuse, "main-feed"):
            limit = f"≤ {shown(fuse.rating.quantity.si * MAIN_SHARE, 'A')}"
            yield of_fuse(fuse, shown(known(job.ledger, fuse, "greatest-load"), "A"), limit)


def clearances(job: Job) -> Iterator[Reading]:
    for fuse in fuses_of(job):
        fault = known(job.ledger, fuse, "least-fault")
        if fault:
            yield of_fuse(fuse, shown(fault, "A"), f"≥ {shown(fuse.rating.quantity.si * CLEARS, 'A')}")
