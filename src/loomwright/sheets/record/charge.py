"""What the tests of charging and standing should show."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from loomwright.model import things as t
from loomwright.sheets.job import Job
from loomwright.sheets.record.reading import (
    Reading,
    band,
    devices,
    engine_on,
    of_device,
    own_ends,
)
from loomwright.sheets.words import (
    known,
    place_name,
    place_of,
    shown,
)


def _house(job: Job) -> list[t.Battery]:
    return [battery for battery in devices(job, t.Battery) if battery.serves == "house"]


def _in_modes(
    things: Iterable[t.Device], fact: str, unit: str, limit: str, job: Job, modes: Iterable[t.Mode]
) -> Iterator[Reading]:
    for thing in things:
        for mode in modes:
            value = known(job.ledger, thing, fact, mode)
            if value:
                yield of_device(thing, shown(value, unit), limit, f" in mode {mode.name}")


def house_volts(job: Job) -> Iterator[Reading]:
    return _in_modes(_house(job), "volts", "V", "", job, engine_on(job))


def charge_lines(job: Job) -> Iterator[Reading]:
    return _in_modes(_house(job), "charge-line-loss", "V", "≤ 0.36 V", job, engine_on(job))


def charge_amps(job: Job) -> Iterator[Reading]:
    for battery in _house(job):
        limit = known(job.ledger, battery, "charge-limit")
        words = f"≤ {shown(limit, 'A')}" if limit else ""
        yield from _in_modes([battery], "charging-current", "A", words, job, job.installation.modes)


def alternators(job: Job) -> Iterator[Reading]:
    return _in_modes(devices(job, t.Alternator), "volts", "V", "≥ 13.2 V", job, engine_on(job))


def parting(job: Job) -> Iterator[Reading]:
    """What could draw on the starter with the engine off: chargers at their input, relays."""
    for mode in job.installation.modes:
        if mode.engine == "off":
            for charger in devices(job, t.Charger):
                if (amps := known(job.ledger, charger, "input-amps", mode)) is not None:
                    yield of_device(charger, shown(amps, "A"), what=f", into its input, in mode {mode.name}")
            for relay in devices(job, t.Relay):
                if (amps := known(job.ledger, relay, "current", mode)) is not None:
                    yield of_device(relay, shown(amps, "A"), what=f", in to out, in mode {mode.name}")


def solar(job: Job) -> Iterator[Reading]:
    for panel in devices(job, t.Solar):
        if not isinstance(panel.open, t.Unknown):
            series = panel.count if panel.arrangement == "series" else 1
            volts = panel.open.quantity.si * series
            yield of_device(panel, f"{shown(volts, 'V')} at 25 °C", band(volts, 0.05, "V"), " open volts")
        short = known(job.ledger, panel, "short-current")
        if short:
            yield of_device(panel, f"{shown(short, 'A')} in full sun", what=" short current")


def mains(job: Job) -> Iterator[Reading]:
    for device in job.installation.devices:
        if known(job.ledger, device, "mains"):
            yield of_device(device, "", "certificate attached", " (licensed electrician)")


def starter_side(job: Job) -> Iterator[Reading]:
    cranking = [battery for battery in devices(job, t.Battery) if battery.serves == "cranking"]
    return (
        of_device(one, shown(known(job.ledger, one, "standby"), "A"), "≤ 10 mA added") for one in cranking
    )


def standby(job: Job) -> Iterator[Reading]:
    for battery in _house(job):
        amps = known(job.ledger, battery, "standby")
        yield of_device(battery, shown(amps, "A"), band(amps, 0.2, "A") if amps else "")


def wet(job: Job) -> Iterator[Reading]:
    places = dict.fromkeys(place for end in own_ends(job) if (place := place_of(end.point)))
    return (
        Reading(place_name(place), place=place.name)
        for place in places
        if known(job.ledger, place, "exposed")
    )
