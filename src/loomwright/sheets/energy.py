"""The energy sheet: what the house uses in a day, what comes in, and how long it lasts without."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.facts.registry import Missing
from loomwright.model import things as t
from loomwright.sheets.document import Block, Column, Facts, Figure, Heading, Note, Row, Sheet, Table
from loomwright.sheets.energy_course import (
    LONGEST,
    SUN,
    NoCourse,
    chart,
    course_of,
    shortness,
    sun_of,
    told_of,
    warmed_of,
)
from loomwright.sheets.job import Job
from loomwright.sheets.terms import amps, figure
from loomwright.sheets.words import known, listed
from loomwright.syntax.tree import Measure

AH = 3600.0
HOUR = 3600.0


DAYS = 3  # that the chart follows: enough to see whether the state comes back


def sheet(job: Job) -> Sheet | None:
    """One balance for each day of the spec, with the state of charge followed through it; None where it has no day or no house
    battery."""
    installation = job.installation
    houses = [d for d in installation.devices if isinstance(d, t.Battery) and d.serves == "house"]
    if not installation.days or not houses:
        return None
    blocks: list[Block] = []
    for day in installation.days:
        blocks += _day(day, job)
        blocks += _course(day, job)
    suns = " ".join(dict.fromkeys(SUN[sun_of(day, job.ledger)] for day in installation.days))
    blocks.append(
        Note(
            f"Loads at their duty, chargers within what the battery takes at its state. {suns} Losses in cables are left out."
            " Measured results decide."
        )
    )
    return Sheet("energy", "Energy", "customer, estimator", tuple(blocks))


def _day(day: t.Day, job: Job) -> Iterator[Block]:
    ledger = job.ledger
    names = ("use", "gains", "store", "refill", "sun-time")
    use, gains, store, refill, sun = (known(ledger, day, name) for name in names)
    yield Heading(f"A day of {day.name}")
    short = shortness(day.name, sum(time.quantity.si for _, time in day.hours) / HOUR)
    if short:
        yield Note(short)
    yield Facts(
        (
            ("The house uses", _ah(use)),
            ("Comes in", _ah(gains)),
            ("Needed to make that good, losses of charging counted", _ah(refill)),
            _balance(gains, refill),
            ("Full sun counted", "not known" if sun is None else f"{figure(sun / HOUR, 1)} h"),
            ("May be used of the batteries", _ah(store)),
            ("Lasts with nothing coming in", _days(store, use)),
        )
    )
    yield _modes(day, job)
    yield _batteries(job)
    yield _loads(day, job)
    yield from _follow(day, job)
    yield _chargers(day, job)


def _course(day: t.Day, job: Job) -> Iterator[Block]:
    """The state of charge followed through the day, several times over from full, and the lowest it comes to."""
    try:
        one = course_of(day, job.ledger, DAYS)
    except NoCourse as none:
        yield Note(f"The state of charge can't be followed through the day: {none}.")
        return
    made = chart(one)
    yield Figure(made.title, made.description, made.svg)
    yield Facts(
        (
            (f"Lowest state of charge in {DAYS} such days", f"{figure(100 * one.course.lowest, 0)} %"),
            ("That is after", f"{figure(one.course.lowest_at, 1)} h"),
            ("Lasts from full without sun", _hours(one.without_sun)),
            ("Full again from what must be left", _hours(one.refills)),
        )
    )


def _hours(hours: float | None) -> str:
    return f"more than {LONGEST} days" if hours is None else f"{figure(hours, 0)} h"


def _modes(day: t.Day, job: Job) -> Table:
    rows = []
    for mode, hours in day.hours:
        current = known(job.ledger, day, "house-current", mode)
        time = hours.quantity.si
        on = listed(dict.fromkeys(each.thing.name for each in mode.on))
        used = None if current is None else current * time / AH
        rows.append(Row((mode.name, figure(time / HOUR, 1), amps(current), figure(used, 1), on)))
    columns = (
        Column("Mode"), Column("Lasts", "h", number=True), Column("House takes on average", "A", number=True),
        Column("Uses", "Ah", number=True), Column("On"),
    )  # fmt: skip
    return Table(f"Through the day, {day.name}", columns, tuple(rows))


def _batteries(job: Job) -> Table:
    rows = []
    for battery in job.installation.devices:
        if isinstance(battery, t.Battery) and battery.serves == "house":
            capacity = (
                None
                if isinstance(battery.capacity, t.Unknown)
                else battery.capacity.quantity.si * battery.count
            )
            usable = known(job.ledger, battery, "usable")
            rows.append(Row((battery.name, _plain_ah(capacity), _plain_ah(usable))))
    columns = (
        Column("Battery"),
        Column("Capacity", "Ah", number=True),
        Column("May be used, aged", "Ah", number=True),
    )
    return Table("House batteries", columns, tuple(rows))


def _loads(day: t.Day, job: Job) -> Table:
    """What each load takes through the day: its nominal current, and its duty on average over the hours that it is on."""
    rows = []
    for load in job.installation.devices:
        if not isinstance(load, t.Load):
            continue
        hours = (
            sum(time.quantity.si for mode, time in day.hours if any(on.thing is load for on in mode.on))
            / HOUR
        )
        duty, current = _duty(load, day, job), known(job.ledger, load, "nominal-current")
        rows.append(
            Row((load.name, figure(hours, 1), figure(None if duty is None else 100 * duty, 0), amps(current)))
        )
    columns = (
        Column("Load"), Column("On", "h", number=True), Column("Duty", "%", number=True), Column("Draws", "A", number=True),
    )  # fmt: skip
    return Table(f"Loads, {day.name}", columns, tuple(rows))


def _duty(load: t.Load, day: t.Day, job: Job) -> float | None:
    """On average over the hours that it is on; of a load that the day never switches on what it is written with, at its most."""
    modes = [
        (mode, hours.quantity.si) for mode, hours in day.hours if any(on.thing is load for on in mode.on)
    ]
    whole = sum(hours for _, hours in modes)
    if not whole:
        written: float | None = known(job.ledger, load, "duty")
        return written
    total = 0.0
    for mode, hours in modes:
        share = known(job.ledger, load, "duty-during", day, mode)
        if share is None:
            return None
        total += share * hours
    return total / whole


def _follow(day: t.Day, job: Job) -> Iterator[Note]:
    """What the duty of loads that follow the warmth was reckoned from."""
    try:
        yield from (Note(f"{told_of(each)}.") for each in warmed_of(day, job.ledger))
    except Missing:
        return


def _chargers(day: t.Day, job: Job) -> Table:
    """What can charge the house batteries, and in which modes of the day it works."""
    houses = [d for d in job.installation.devices if isinstance(d, t.Battery) and d.serves == "house"]
    found = dict.fromkeys(
        each for battery in houses for each in known(job.ledger, battery, "charged-by") or ()
    )
    rows = []
    for source in found:
        most = source.output_amps if isinstance(source, t.Charger) else source.rated
        panels = known(job.ledger, source, "panels") if isinstance(source, t.Charger) else ()
        watts = sum(
            panel.peak.quantity.si * panel.count for panel in panels or () if isinstance(panel.peak, Measure)
        )
        works = [mode.name for mode, _ in day.hours if _works(source, mode, job)]
        amount = most.quantity.si if isinstance(most, Measure) else None
        rows.append(Row((source.name, amps(amount), figure(watts, 0), listed(works))))
    columns = (
        Column("Source"), Column("At most", "A", number=True), Column("Panels on it", "W", number=True), Column("Works in"),
    )  # fmt: skip
    return Table(f"What charges the house, {day.name}", columns, tuple(rows))


def _works(source: t.Charger | t.Alternator, mode: t.Mode, job: Job) -> bool:
    """By its solved current; an alternator while the engine runs."""
    if isinstance(source, t.Charger):
        return bool((known(job.ledger, source, "amps", mode) or 0.0) > 0.05)
    return mode.engine == "running"


def _balance(gains: float | None, refill: float | None) -> tuple[str, str]:
    if gains is None or refill is None:
        return "Balance", "not known"
    over = gains - refill
    return (
        ("More comes in than is needed", _ah(over)) if over >= 0 else ("Falls short each day by", _ah(-over))
    )


def _ah(value: float | None) -> str:
    return "not known" if value is None else f"{figure(value / AH, 0)} Ah"


def _plain_ah(value: float | None) -> str:
    return figure(None if value is None else value / AH, 0)


def _days(store: float | None, use: float | None) -> str:
    if store is None or use is None:
        return "not known"
    return f"{figure(store / use, 1)} days" if use else "no end: nothing is used"
