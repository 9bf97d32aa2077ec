"""What the tests of charging and standing should show."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TypeVar

from loomwright.model import things as t
from loomwright.record import replace
from loomwright.sheets.job import Job
from loomwright.sheets.record.reading import (
    Reading,
    band,
    between,
    devices,
    engine_on,
    measured,
    of_device,
    own_ends,
    three,
)
from loomwright.sheets.words import (
    known,
    place_name,
    place_of,
    shown,
)

D = TypeVar("D", bound=t.Device)

SET_VOLTS = 0.1  # V that a charger's volts may be off at the end of charge (T25)
RISEN = "13.8 to 14.4 V after 10 min"  # joined straight or by a relay (T25)
ASLEEP = 0.05  # A that a whole vehicle draws asleep (T32)


def _house(job: Job) -> list[t.Battery]:
    return [battery for battery in devices(job, t.Battery) if battery.serves == "house"]


def _in_modes(
    things: Iterable[D], fact: str, unit: str, limit: str, job: Job, modes: Iterable[t.Mode]
) -> Iterator[tuple[D, t.Mode, Reading]]:
    for thing in things:
        for mode in modes:
            value = known(job.ledger, thing, fact, mode)
            if value:
                yield thing, mode, of_device(thing, shown(value, unit), limit, f" in mode {mode.name}")


def house_volts(job: Job) -> Iterator[Reading]:
    """At the charge that the mode has the battery at, and what it must rise to: the charger's set volts."""
    for battery in _house(job):
        chargers = known(job.ledger, battery, "chargers") or ()
        set_to = [
            one.output_volts.quantity.si for one in chargers if not isinstance(one.output_volts, t.Unknown)
        ]
        limit = f"rises; {between(max(set_to), SET_VOLTS, 'V')} at the end of charge" if set_to else RISEN
        for _, mode, row in _in_modes([battery], "volts", "V", limit, job, engine_on(job)):
            found = measured(job, "volts", mode, f"{battery.name}.pos", f"{battery.name}.neg")
            yield replace(row, predicted=f"{row.predicted}{_charged(mode)}", found=found)


def _charged(mode: t.Mode) -> str:
    return f" at {mode.charge.quantity.text} of charge" if mode.charge else ""


def charge_lines(job: Job) -> Iterator[Reading]:
    for battery in _house(job):
        for mode in engine_on(job):
            lost = known(job.ledger, battery, "charge-line-loss", mode)
            if lost:
                yield of_device(battery, three(lost, "V"), "≤ 0.36 V", f" in mode {mode.name}")


def charge_amps(job: Job) -> Iterator[Reading]:
    for battery in _house(job):
        limit = known(job.ledger, battery, "charge-limit")
        words = f"≤ {shown(limit, 'A')}" if limit else ""
        rows = _in_modes([battery], "charging-current", "A", words, job, job.installation.modes)
        yield from (row for _, _, row in rows)


def alternators(job: Job) -> Iterator[Reading]:
    returns = [f"{battery.name}.neg" for battery in devices(job, t.Battery)]
    for one, mode, row in _in_modes(
        devices(job, t.Alternator), "volts", "V", "≥ 13.2 V", job, engine_on(job)
    ):
        found = (measured(job, "volts", mode, f"{one.name}.pos", minus) for minus in returns)
        yield replace(row, found=next(filter(None, found), ""))


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
    """At the open plug first: polarity, open volts, short current; then what flows when it is joined."""
    for panel in devices(job, t.Solar):
        yield of_device(panel, "+ to +, − to −", "as marked at the plug", " polarity, plug open")
        yield from _open_volts(panel, job)
        short = known(job.ledger, panel, "short-current")
        if short:
            yield of_device(
                panel, f"{shown(short, 'A')} in full sun", "as the sun allows", " short current, plug open"
            )
        yield of_device(panel, _most_charge(panel, job), "more than 0 A in the sun", " charge, plug together")


def _open_volts(panel: t.Solar, job: Job) -> Iterator[Reading]:
    if isinstance(panel.open, t.Unknown):
        return
    series = panel.count if panel.arrangement == "series" else 1
    volts = panel.open.quantity.si * series
    warmth = "" if isinstance(panel.coefficient, t.Unknown) else f", {panel.coefficient.quantity.text}"
    most = [
        one.solar_volts.quantity.si
        for one in devices(job, t.Charger)
        if panel in (known(job.ledger, one, "panels") or ())
        and one.solar_volts is not None
        and not isinstance(one.solar_volts, t.Unknown)
    ]
    never = f"; never over {shown(min(most), 'V')}" if most else ""
    yield of_device(
        panel,
        f"{shown(volts, 'V')} at 25 °C{warmth}",
        f"{band(volts, 0.05, 'V')}, corrected for the panel's heat{never}",
        " open volts, plug open",
    )


def _most_charge(panel: t.Solar, job: Job) -> str:
    """The most that its controller takes from the sun in a mode with the engine off."""
    found = [
        (amps, mode)
        for mode in job.installation.modes
        if mode.engine == "off"
        for one in devices(job, t.Charger)
        if panel in (known(job.ledger, one, "panels") or ())
        and (amps := known(job.ledger, one, "solar-amps", mode))
    ]
    if not found:
        return ""
    amps, mode = max(found, key=lambda pair: pair[0])
    return f"{shown(amps, 'A')} into the controller in mode {mode.name}"


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
    """What the spec says that always draws; where that is nothing, what a whole vehicle may draw asleep."""
    for battery in _house(job):
        amps = known(job.ledger, battery, "standby")
        limit = band(amps, 0.2, "A") if amps else f"≤ {shown(ASLEEP, 'A')}, else find what draws"
        yield of_device(battery, shown(amps, "A"), limit)


def wet(job: Job) -> Iterator[Reading]:
    places = dict.fromkeys(place for end in own_ends(job) if (place := place_of(end.point)))
    return (
        Reading(place_name(place), place=place.name)
        for place in places
        if known(job.ledger, place, "exposed")
    )
