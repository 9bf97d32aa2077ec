"""What the tests under voltage and under load should show."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.model import things as t
from loomwright.sheets.far_faults import far_fault
from loomwright.sheets.fuse_chart import NOTHING, fed_by
from loomwright.sheets.job import Job
from loomwright.sheets.making import leg_name
from loomwright.sheets.owner_card import fuses_of
from loomwright.sheets.record.reading import (
    Reading,
    band,
    depth,
    devices,
    engine_on,
    fuse_place,
    measured,
    of_device,
    of_fuse,
    of_run,
    own_ends,
    own_runs,
    three,
)
from loomwright.sheets.words import (
    at_level,
    describe,
    fuse_name,
    known,
    listed,
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
OFF_BATTERY = 0.5  # V that an outlet may be below what feeds it (E4)
MARGIN_V = 0.3  # above the cut-out at a start (T20)
AT_REST = {"lifepo4": "13.1 to 13.4 V", "lead-acid": "≥ 12.4 V", "agm": "≥ 12.4 V", "gel": "≥ 12.4 V"}


def main_fuses(job: Job) -> Iterator[Reading]:
    return (of_fuse(fuse, "lamp dark") for fuse in fuses_of(job) if depth(fuse, job) == 0)


def at_rest(job: Job) -> Iterator[Reading]:
    for battery in devices(job, t.Battery):
        limit = "" if isinstance(battery.chemistry, t.Unknown) else AT_REST[battery.chemistry]
        yield of_device(battery, "", limit, f" ({describe(battery)})")


def branch_amps(job: Job) -> Iterator[Reading]:
    for fuse in fuses_of(job):
        worst = worst_mode(job.ledger, fuse, "load-current")
        if worst and worst[1] >= NOTHING:
            mode, amps = worst
            found = measured(job, "amps", mode, fuse.run.name) if fuse.run else ""
            predicted = f"{shown(amps, 'A')} in mode {mode.name}{turned_down(fuse, mode, job)}"
            yield of_fuse(fuse, predicted, band(amps, 0.1, "A"), found)


def turned_down(fuse: t.Fuse, mode: t.Mode, job: Job) -> str:
    """What a mode has behind a fuse on in part only: `, lamps at 50 %`."""
    behind = fed_by(fuse, job)
    partly = [at_level(on) for on in mode.on if on.level and on.thing.name in behind]
    return f", {listed(partly)}" if partly else ""


def outlets(job: Job) -> Iterator[Reading]:
    for load in devices(job, t.Load):
        lowest = _least_volts(job, load)
        if not load.maker and lowest:
            mode, volts = lowest
            lost = known(job.ledger, load, "lost-volts", mode)
            least = "" if lost is None else f", ≥ {shown(volts + lost - OFF_BATTERY, 'V')}"
            predicted = f"{shown(volts, 'V')} in mode {mode.name}"
            yield of_device(load, predicted, f"right sign{least}", found=_at_load(job, load, mode))


def _at_load(job: Job, load: t.Load, mode: t.Mode) -> str:
    return measured(job, "volts", mode, f"{load.name}.pos", f"{load.name}.neg")


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
                    f"{three(drop, 'V')} at {shown(amps, 'A')} ({mode.name})",
                    f"≤ {three(drop * over, 'V')}",
                    measured(job, "volts", mode, run.start.name, run.end.name),
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
            predicted, found = _through(job, device)
            yield of_device(device, predicted, "≤ 0.3 V", ", in to out", found)
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


def _through(job: Job, device: t.Contact | t.Relay) -> tuple[str, str]:
    """The volts lost in it in the mode with most current, and what the meter showed there."""
    worst = worst_mode(job.ledger, device, "current")
    if not worst or not worst[1]:
        return "", ""
    mode, amps = worst
    ohm = None if isinstance(device.resistance, t.Unknown) else device.resistance.quantity.si
    predicted = f"{three(amps * ohm, 'V')} at {shown(amps, 'A')} ({mode.name})" if ohm is not None else ""
    return predicted, measured(job, "volts", mode, f"{device.name}.in", f"{device.name}.out")


def load_volts(job: Job) -> Iterator[Reading]:
    """With the engine running; a load that never runs then, in the mode in which it gets least."""
    design = job.fitout.system.quantity.si
    for load in devices(job, t.Load):
        running = [mode for mode in engine_on(job) if known(job.ledger, load, "runs", mode)]
        lowest = _least_volts(job, load)
        for mode in running or [lowest[0]] if lowest else ():
            volts, cut = known(job.ledger, load, "volts", mode), known(job.ledger, load, "cuts-out")
            least = max(design * LAMP_SHARE, cut + MARGIN_V if cut else 0.0)
            if volts:
                words = f" in mode {mode.name}"
                found = _at_load(job, load, mode)
                yield of_device(load, shown(volts, "V"), f"≥ {shown(least, 'V')}", words, found)


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
    """The feed that each fuse clears worst, with the least fault at its far end: what the rules judge the fuse by."""
    for fuse in fuses_of(job):
        if found := far_fault(job.ledger, fuse):
            run, amps = found
            yield Reading(
                f"{fuse_name(fuse)}, at the far end of {leg_name(run)}",
                three(amps, "A"),
                f"≥ {shown(fuse.rating.quantity.si * CLEARS, 'A')}",
                run.name,
                fuse_place(fuse),
            )
