"""What each commissioning test should show on this job: predicted values from the facts, and limits from them or from the test."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import TypeVar

from loomwright.model import things as t
from loomwright.sheets.job import Job
from loomwright.sheets.making import leg_name, made_up
from loomwright.sheets.owner_card import fuses_of
from loomwright.sheets.terms import fuse_title, reach, size_words
from loomwright.sheets.words import (
    counted,
    data,
    describe,
    known,
    listed,
    of_vehicle,
    place_name,
    place_of,
    point_name,
    said,
    shown,
    worst_mode,
)

D = TypeVar("D", bound=t.Device)

CONTINUITY, DROP = 1.1, 1.2  # how far over the predicted value T3 and T16 bear
COOL = 20.0  # K that a cable's surface stays under its class (T21)
MAIN_SHARE = 0.8  # of its main fuse that a system draws (T23)
CLEARS = 3.5  # times its rating that a fault must reach (T24)
LAMP_SHARE = 0.85  # of its design volts that a lamp gets (T19)
MARGIN_V = 0.3  # above the cut-out at a start (T20)
AT_REST = {"lifepo4": "13.1 to 13.4 V", "lead-acid": "≥ 12.4 V", "agm": "≥ 12.4 V", "gel": "≥ 12.4 V"}


@dataclass(frozen=True, slots=True)
class Reading:
    """One line of the record: what is measured, what it should show, its own limit where the test's is not enough."""

    of: str
    predicted: str = ""
    limit: str = ""
    run: str = ""
    place: str = ""


def _devices(job: Job, kind: type[D]) -> list[D]:
    return [device for device in job.installation.devices if isinstance(device, kind)]


def _own_runs(job: Job, *roles: str) -> list[t.Run]:
    return [run for run in job.installation.runs if not run.maker and (not roles or run.role in roles)]


def _ends(job: Job) -> list[t.End]:
    return [end for run in _own_runs(job) for end in job.installation.ends_of[run]]


def _of_run(run: t.Run, predicted: str = "", limit: str = "") -> Reading:
    place = place_of(run.start)
    return Reading(leg_name(run), predicted, limit, run.name, place.name if place else "")


def _of_device(device: t.Device, predicted: str = "", limit: str = "", what: str = "") -> Reading:
    return Reading(f"{device.name}{what}", predicted, limit, place=device.place.name)


def once(_job: Job) -> Iterator[Reading]:
    yield Reading("the whole system")


# ---------------------------------------------------------------- dead


def dead_batteries(job: Job) -> Iterator[Reading]:
    return (
        _of_device(battery, "0 V", "< 0.5 V", ", across its leads") for battery in _devices(job, t.Battery)
    )


def resistances(job: Job) -> Iterator[Reading]:
    for run in _own_runs(job):
        ohm = known(job.ledger, run, "resistance")
        yield _of_run(run, shown(ohm, "ohm"), f"≤ {shown(ohm * CONTINUITY, 'ohm')}" if ohm else "")


def cavities(job: Job) -> Iterator[Reading]:
    for plug in _devices(job, t.Plug):
        for label in sorted({point.label.rsplit("-", 1)[0] for point in job.installation.terminals_of[plug]}):
            yield _of_device(plug, f"{label}-a joins {label}-b and nothing else", what=f", pole {label}")


def polarities(job: Job) -> Iterator[Reading]:
    return (_of_device(load, "+ to pos, − to neg") for load in _devices(job, t.Load) if not load.maker)


def bonds(job: Job) -> Iterator[Reading]:
    for point in job.installation.earthpoints:
        yield Reading(f"{point.name} to {point.structure.name}", limit="≤ 3 mΩ", place=point.place.name)
    for structure in job.installation.structures:
        if not known(job.ledger, structure, "island"):
            yield Reading(f"{structure.name} to battery negative", limit="≤ 10 mΩ")


def insulation(job: Job) -> Iterator[Reading]:
    return (_of_run(run, limit="≥ 0.5 MΩ") for run in _own_runs(job, "feed", "signal"))


def branches(job: Job) -> Iterator[Reading]:
    for fuse in fuses_of(job):
        yield Reading(f"behind {_where(fuse)}", limit="> 100 kΩ", place=_fuse_place(fuse))


def crimps(job: Job) -> Iterator[Reading]:
    pressed = [made_up(end, job.ledger) for end in _ends(job) if end.made == "crimped"]
    for fitting, group in groupby(sorted(pressed, key=lambda made: made.fitting), lambda made: made.fitting):
        yield Reading(f"{fitting}: {counted(sum(1 for _ in group), 'end')}")


def pulls(job: Job) -> Iterator[Reading]:
    sizes: dict[str, float] = {}
    for end in _ends(job):
        area = known(job.ledger, end.run, "area")
        if area and end.made == "crimped":
            sizes[size_words(end.run.cable).removeprefix("twin ")] = area * 1e6
    table = data("commissioning")["pulls"]["rows"]
    for words, area in sizes.items():
        newton = max((row[1] for row in table if row[0] <= area), default=None)
        yield Reading(
            f"sample crimp on {words}", f"holds {newton} N" if newton else "below the table: tug by hand"
        )


def pins(job: Job) -> Iterator[Reading]:
    counts: dict[str, int] = {}
    for end in _ends(job):
        place = place_of(end.point)
        if place:
            counts[place.name] = counts.get(place.name, 0) + 1
    return (
        Reading(f"{counted(count, 'end')} in the {place_name(name)}", place=name)
        for name, count in counts.items()
    )


def studs(job: Job) -> Iterator[Reading]:
    found: dict[str, tuple[int, str, str]] = {}
    for end in _ends(job):
        made = made_up(end, job.ledger)
        if made.torque:
            count = found.get(made.at, (0, "", ""))[0] + 1
            place = place_of(end.point)
            found[made.at] = (
                count,
                f"{reach(made.torque.low, made.torque.high)} N m",
                place.name if place else "",
            )
    for at, (count, torque, where) in found.items():
        yield Reading(f"{at}, {counted(count, 'lug')}", torque, place=where)


def _where(fuse: t.Fuse) -> str:
    return f"way {fuse.way.number} of {fuse.way.hub.name}" if fuse.way else f"the fuse of {fuse.name}"


def _fuse_place(fuse: t.Fuse) -> str:
    place = fuse.place or (fuse.way.hub.place if fuse.way else None)
    return place.name if place else ""


def _of_fuse(fuse: t.Fuse, predicted: str = "", limit: str = "") -> Reading:
    return Reading(_where(fuse), predicted, limit, fuse.run.name if fuse.run else "", _fuse_place(fuse))


def fuses(job: Job) -> Iterator[Reading]:
    for fuse in fuses_of(job):
        carried = [known(job.ledger, run, "carries") for run in known(job.ledger, fuse, "protects") or ()]
        least = min((amps for amps in carried if amps), default=None)
        yield _of_fuse(
            fuse, fuse_title(fuse), f"≤ {shown(least, 'A')}, what its cable carries" if least else ""
        )


def restraints(job: Job) -> Iterator[Reading]:
    return (_of_device(one, limit="≤ 10 mm") for one in _devices(job, t.Battery) if not of_vehicle(one))


def movers(job: Job) -> Iterator[Reading]:
    for run in _own_runs(job):
        clear = [f"≥ {said(one.distance)} to {one.hazard}" for one in run.clearances]
        stretches = job.installation.stretches_of[run]
        loops = [] if isinstance(stretches, t.Unknown) else [each for each in stretches if each.slack]
        if clear or loops:
            slack = (
                listed(f"{said(each.slack)} of slack in the {place_name(each.place)}" for each in loops)
                if loops
                else ""
            )
            yield _of_run(run, slack, "; ".join(clear))


# ---------------------------------------------------------------- energise


def main_fuses(job: Job) -> Iterator[Reading]:
    firsts = [fuse for fuse in fuses_of(job) if fuse.run and known(job.ledger, fuse, "upstream") is None]
    return (_of_fuse(fuse, "lamp dark") for fuse in firsts)


def at_rest(job: Job) -> Iterator[Reading]:
    for battery in _devices(job, t.Battery):
        limit = "" if isinstance(battery.chemistry, t.Unknown) else AT_REST[battery.chemistry]
        yield _of_device(battery, "", limit, f" ({describe(battery)})")


def branch_amps(job: Job) -> Iterator[Reading]:
    for fuse in fuses_of(job):
        worst = worst_mode(job.ledger, fuse, "load-current")
        if worst and worst[1]:
            yield _of_fuse(fuse, f"{shown(worst[1], 'A')} in mode {worst[0].name}", _band(worst[1], 0.1, "A"))


def _band(value: float, share: float, unit: str) -> str:
    return f"{shown(value * (1 - share), unit)} to {shown(value * (1 + share), unit)}"


def outlets(job: Job) -> Iterator[Reading]:
    for load in _devices(job, t.Load):
        lowest = _least_volts(job, load)
        if not load.maker and lowest:
            yield _of_device(load, f"{shown(lowest[1], 'V')} in mode {lowest[0].name}", "right sign")


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
                yield _of_device(device, said(value), "± 0.2 V", f" {word}")


def isolators(job: Job) -> Iterator[Reading]:
    contacts = [one for one in _devices(job, t.Contact) if one.kind in ("isolator", "switch")]
    return (_of_device(one, "0 V behind it", what=" open") for one in contacts)


# ---------------------------------------------------------------- under load


def _drops(job: Job, role: str, *, over: float) -> Iterator[Reading]:
    for run in _own_runs(job, role):
        worst = worst_mode(job.ledger, run, "current")
        if worst and worst[1]:
            mode, amps = worst
            drop = known(job.ledger, run, "drop", mode)
            if drop is not None:
                yield _of_run(
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
            yield _of_device(device, _through(job, device), "≤ 0.3 V", ", in to out")
    for fuse in fuses_of(job):
        if known(job.ledger, fuse, "bolt-in"):
            yield _of_fuse(fuse, limit="≤ 0.1 V at each lug")
    points = dict.fromkeys(
        end.point
        for end in _ends(job)
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


def _engine_on(job: Job) -> list[t.Mode]:
    return [mode for mode in job.installation.modes if mode.engine == "running"]


def load_volts(job: Job) -> Iterator[Reading]:
    design = job.fitout.system.quantity.si
    for load in _devices(job, t.Load):
        for mode in _engine_on(job):
            volts = known(job.ledger, load, "volts", mode)
            if volts and known(job.ledger, load, "runs", mode):
                limit = f"≥ {shown(design * LAMP_SHARE, 'V')} at a lamp"
                yield _of_device(load, shown(volts, "V"), limit, f" in mode {mode.name}")


def starts(job: Job) -> Iterator[Reading]:
    design = job.fitout.system.quantity.si
    for load in _devices(job, t.Load):
        cut, least = known(job.ledger, load, "cuts-out"), _least_volts(job, load)
        sag = known(job.ledger, load, "surge-drop", least[0]) if least else None
        if cut and least and sag is not None:
            yield _of_device(
                load, f"{shown(least[1] - sag * design, 'V')} or more", f"≥ {shown(cut + MARGIN_V, 'V')}"
            )


def heat(job: Job) -> Iterator[Reading]:
    for run in _own_runs(job):
        worst, grade = worst_mode(job.ledger, run, "celsius"), known(job.ledger, run, "class")
        current = worst_mode(job.ledger, run, "current")
        if worst and current and current[1]:
            limit = f"≤ {shown(grade - COOL, 'degC')}" if grade else ""
            yield _of_run(
                run, f"{shown(worst[1], 'degC')} at its hottest place, hottest day ({worst[0].name})", limit
            )


def inverters(job: Job) -> Iterator[Reading]:
    for inverter in _devices(job, t.Inverter):
        amps = known(job.ledger, inverter, "full-current")
        yield _of_device(inverter, f"about {shown(amps * 0.8, 'A')}" if amps else "", "drop ≤ 0.36 V")


def main_loads(job: Job) -> Iterator[Reading]:
    for fuse in fuses_of(job):
        if known(job.ledger, fuse, "main-feed"):
            limit = f"≤ {shown(fuse.rating.quantity.si * MAIN_SHARE, 'A')}"
            yield _of_fuse(fuse, shown(known(job.ledger, fuse, "greatest-load"), "A"), limit)


def clearances(job: Job) -> Iterator[Reading]:
    for fuse in fuses_of(job):
        fault = known(job.ledger, fuse, "least-fault")
        if fault:
            yield _of_fuse(fuse, shown(fault, "A"), f"≥ {shown(fuse.rating.quantity.si * CLEARS, 'A')}")


# ---------------------------------------------------------------- charging and standing


def _house(job: Job) -> list[t.Battery]:
    return [battery for battery in _devices(job, t.Battery) if battery.serves == "house"]


def _in_modes(
    things: Iterable[t.Device], fact: str, unit: str, limit: str, job: Job, modes: Iterable[t.Mode]
) -> Iterator[Reading]:
    for thing in things:
        for mode in modes:
            value = known(job.ledger, thing, fact, mode)
            if value:
                yield _of_device(thing, shown(value, unit), limit, f" in mode {mode.name}")


def house_volts(job: Job) -> Iterator[Reading]:
    return _in_modes(_house(job), "volts", "V", "", job, _engine_on(job))


def charge_lines(job: Job) -> Iterator[Reading]:
    return _in_modes(_house(job), "charge-line-loss", "V", "≤ 0.36 V", job, _engine_on(job))


def charge_amps(job: Job) -> Iterator[Reading]:
    for battery in _house(job):
        limit = known(job.ledger, battery, "charge-limit")
        words = f"≤ {shown(limit, 'A')}" if limit else ""
        yield from _in_modes([battery], "charging-current", "A", words, job, job.installation.modes)


def alternators(job: Job) -> Iterator[Reading]:
    return _in_modes(_devices(job, t.Alternator), "volts", "V", "≥ 13.2 V", job, _engine_on(job))


def parting(job: Job) -> Iterator[Reading]:
    """What could draw on the starter with the engine off: chargers at their input, relays."""
    for mode in job.installation.modes:
        if mode.engine == "off":
            for charger in _devices(job, t.Charger):
                if (amps := known(job.ledger, charger, "input-amps", mode)) is not None:
                    yield _of_device(charger, shown(amps, "A"), what=f", into its input, in mode {mode.name}")
            for relay in _devices(job, t.Relay):
                if (amps := known(job.ledger, relay, "current", mode)) is not None:
                    yield _of_device(relay, shown(amps, "A"), what=f", in to out, in mode {mode.name}")


def solar(job: Job) -> Iterator[Reading]:
    for panel in _devices(job, t.Solar):
        if not isinstance(panel.open, t.Unknown):
            series = panel.count if panel.arrangement == "series" else 1
            volts = panel.open.quantity.si * series
            yield _of_device(panel, f"{shown(volts, 'V')} at 25 °C", _band(volts, 0.05, "V"), " open volts")
        short = known(job.ledger, panel, "short-current")
        if short:
            yield _of_device(panel, f"{shown(short, 'A')} in full sun", what=" short current")


def mains(job: Job) -> Iterator[Reading]:
    for device in job.installation.devices:
        if known(job.ledger, device, "mains"):
            yield _of_device(device, "", "certificate attached", " (licensed electrician)")


def starter_side(job: Job) -> Iterator[Reading]:
    cranking = [battery for battery in _devices(job, t.Battery) if battery.serves == "cranking"]
    return (
        _of_device(one, shown(known(job.ledger, one, "standby"), "A"), "≤ 10 mA added") for one in cranking
    )


def standby(job: Job) -> Iterator[Reading]:
    for battery in _house(job):
        amps = known(job.ledger, battery, "standby")
        yield _of_device(battery, shown(amps, "A"), _band(amps, 0.2, "A") if amps else "")


def wet(job: Job) -> Iterator[Reading]:
    places = dict.fromkeys(place for end in _ends(job) if (place := place_of(end.point)))
    return (
        Reading(place_name(place), place=place.name)
        for place in places
        if known(job.ledger, place, "exposed")
    )
