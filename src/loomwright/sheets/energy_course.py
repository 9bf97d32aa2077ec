"""The state of the house batteries through the days of a spec: what `energy` prints, and the chart of the energy sheet."""

from __future__ import annotations

import csv as csv_format
import io
import json

from loomwright.analysis import energy
from loomwright.analysis.ambient import HOTTEST
from loomwright.facts.electrics.sources import irradiance
from loomwright.facts.energy import bank_of, sources_of, spells_of
from loomwright.facts.load import duty_by_hour, duty_points
from loomwright.facts.registry import Ledger, Missing
from loomwright.facts.sky import plan_of
from loomwright.model import things as t
from loomwright.quantity import written
from loomwright.record import Record
from loomwright.sheets.drawings import Drawing
from loomwright.sheets.drawings.energy import Spell, energy_chart
from loomwright.sheets.drawings.svg import stacked

LONGEST = 30
"""Days after which the search for a dry or a full battery is given up."""


SUN = {
    "site": "The sun is that of a usual day of the month at the site; some days bring less.",
    "modes": "No site is written: full sun, or what the mode says, for the whole of each mode with sun. A real day brings less: write a site.",
    "none": "No mode of the day has sun.",
}
"""Where the sun of a day comes from, as JSON has it and in words."""
WHOLE = 24.0


class NoCourse(Exception):
    """The spec gives no day, no house battery, or too little is known; the message says what."""


class Warmed(Record):
    """A load whose duty follows the warmth: its shares of the time while it is on in a day, 0 to 1, and the usual day of its place in
    °C; None where none is written, and then the greatest share holds all day long."""

    load: str
    place: str
    low: float | None
    high: float | None
    least: float
    most: float
    mean: float


class DayCourse(Record):
    """One day of the spec lived so many times over. Times in hours from its start; None where it is not reached in `LONGEST` days.

    `begins` is the solar hour of the start, `sun` a key of `SUN`; `without_sun` and `with_nothing` say how long the batteries last from full to their
    reserve, `refills` how long they take from it to full in the same days. `watts` by name are Wh at the system's nominal voltage.
    """

    day: str
    days: int
    begins: float
    volts: float
    sun: str
    bank: energy.Bank
    spells: tuple[energy.Spell, ...]
    warmed: tuple[Warmed, ...]
    course: energy.Course
    without_sun: float | None
    with_nothing: float | None
    refills: float | None

    @property
    def length(self) -> float:
        """Hours of one such day."""
        return sum(spell.hours for spell in self.spells)


def sun_of(day: t.Day, ledger: Ledger) -> str:
    """A key of `SUN`."""
    if not any(irradiance(mode) for mode, hours in day.hours if hours.quantity.si):
        return "none"
    return "site" if ledger.installation.site else "modes"


def shortness(name: str, hours: float) -> str:
    """In a sentence that a day is written shorter than a day is; empty where it is not."""
    if hours > WHOLE - 1e-6:
        return ""
    left = written(WHOLE - hours, "h", 3)
    return (
        f"{name} is written with {written(hours, 'h', 3)} only, and is lived again from its end as if it were a whole day: "
        f"say what the other {left} are."
    )


def course_of(day: t.Day, ledger: Ledger, days: int) -> DayCourse:
    """The course of one day from full batteries. Raises NoCourse."""
    try:
        bank = bank_of(ledger)
        if bank is None:
            raise NoCourse("there is no house battery whose days could be followed")
        spells, sources, plan = spells_of(day, ledger), sources_of(day, ledger), plan_of(day, ledger)
    except Missing as missing:
        raise NoCourse("this is not known: " + "; ".join(each.what for each in missing.reasons)) from None
    if not sum(spell.hours for spell in spells) > 0:
        raise NoCourse(f"the day {day.name} has no length")
    solar = frozenset(source.name for source in sources if source.name.endswith(" solar"))
    alone = energy.without(sources, frozenset(source.name for source in sources))
    return DayCourse(
        day.name,
        days,
        plan.begins % 24,
        ledger.installation.fitout.system.quantity.si,
        sun_of(day, ledger),
        bank,
        spells,
        warmed_of(day, ledger),
        energy.simulate(bank, spells, sources, days),
        energy.hours_until(bank, spells, energy.without(sources, solar), 1.0, bank.reserve, LONGEST),
        energy.hours_until(bank, spells, alone, 1.0, bank.reserve, LONGEST),
        energy.hours_until(bank, spells, sources, bank.reserve, energy.NEARLY, LONGEST),
    )


def warmed_of(day: t.Day, ledger: Ledger) -> tuple[Warmed, ...]:
    """The loads that the day switches on and whose duty follows the warmth. Raises Missing."""
    on = dict.fromkeys(each.thing for mode, _ in day.hours for each in mode.on)
    loads = [load for load in on if isinstance(load, t.Load) and duty_points(load, ledger) is not None]
    return tuple(_warmed(load, day, ledger) for load in loads)


def _warmed(load: t.Load, day: t.Day, ledger: Ledger) -> Warmed:
    plan, share, place = plan_of(day, ledger), duty_by_hour(load, ledger), load.place
    modes = [
        (mode, hours.quantity.si) for mode, hours in day.hours if any(on.thing is load for on in mode.on)
    ]
    whole = sum(hours for _, hours in modes)
    mean = (
        sum(ledger.get(load, "duty-during", day, mode) * hours for mode, hours in modes) / whole
        if whole
        else 0.0
    )
    if share is None or place.usual_low is None or place.usual_high is None:
        return Warmed(load.name, place.name, None, None, mean, mean, mean)
    shares = [each for mode, _ in modes for each in plan.through(mode, share)]
    low, high = place.usual_low.quantity.si, place.usual_high.quantity.si
    return Warmed(load.name, place.name, low, high, min(shares), max(shares), mean)


def courses_of(ledger: Ledger, days: int) -> tuple[DayCourse, ...]:
    """One course for each day of the spec. Raises NoCourse."""
    found = ledger.installation.days
    if not found:
        raise NoCourse("no day is written: 'day NAME { MODE HOURS; … }' says how long each mode lasts")
    return tuple(course_of(day, ledger, days) for day in found)


# ---------------------------------------------------------------- in print


def text(title: str, courses: tuple[DayCourse, ...]) -> str:
    """For reading."""
    lines = [title]
    for one in courses:
        lines += ["", *_told(one)]
    lines += ["", *dict.fromkeys(SUN[one.sun] for one in courses)]
    lines += [
        f"Wh are Ah at the nominal {written(volts, 'V', 3)}." for volts in {one.volts for one in courses}
    ]
    lines.append("Losses in cables are left out. Measured results decide.")
    return "\n".join(lines) + "\n"


def _told(one: DayCourse) -> list[str]:
    course, length = one.course, one.length
    lines = [
        f"Day {one.day}, {one.days} times over from full batteries, beginning at {_clock(one.begins)} by the sun",
        *filter(None, [shortness(one.day, length)]),
        "",
        f"    lowest state         {course.lowest:.0%} after {course.lowest_at:.1f} h; {one.bank.reserve:.0%} is to be left".replace(
            "%", " %"
        ),
        f"    at the end           {course.state[-1]:.0%}".replace("%", " %"),
        f"    without sun          {_days(one.without_sun, length, 'lasts')}",
        f"    with nothing coming  {_days(one.with_nothing, length, 'lasts')}",
        f"    refills              {_refilled(one.refills)}",
        "",
    ]
    rows = [("comes from", course.given), ("goes to", course.taken)]
    for words, flows in rows:
        width = max((len(name) for name in flows), default=0)
        lines.append(f"    {words}")
        for name, charge in sorted(flows.items(), key=lambda pair: (-pair[1], pair[0])):
            lines.append(f"        {name:<{width}}  {charge:8.1f} Ah  {charge * one.volts:9.0f} Wh")
    lines += [f"    {line}" for line in map(told_of, one.warmed)]
    lines.append(f"    lost in charging and standing  {course.lost:.1f} Ah")
    if course.unserved > 0.05:
        lines.append(f"    asked of an empty battery      {course.unserved:.1f} Ah")
    return lines


def told_of(each: Warmed) -> str:
    """In a line how much of the time a load draws by the warmth."""
    if each.low is None:
        return f"{each.load} draws {_percent(each.mean)} of the time, its most: no usual day is written for {each.place}"
    return (
        f"{each.load} draws {_percent(each.least)} to {_percent(each.most)} of the time, {_percent(each.mean)} on average, with "
        f"{each.place} {each.low:g} °C at {_clock(HOTTEST + 12)} and {each.high:g} °C at {_clock(HOTTEST)}"
    )


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _clock(hour: float) -> str:
    minutes = round(hour * 60) % 1440
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _days(hours: float | None, length: float, verb: str) -> str:
    if hours is None:
        return f"{verb} {LONGEST} days and more"
    return f"{verb} {hours:.0f} h, {hours / length:.1f} days, from full to what is to be left"


def _refilled(hours: float | None) -> str:
    if hours is None:
        return f"never full again within {LONGEST} such days"
    return f"full again {hours:.0f} h after it was down to what is to be left"


def as_json(title: str, courses: tuple[DayCourse, ...]) -> str:
    """Version 1: charges in Ah, energies in Wh at the nominal voltage, states from 0 to 1, times in hours; `hours` is how long the
    day is, `sun` a key of `SUN`."""
    days = [
        {
            "day": one.day,
            "days": one.days,
            "begins": round(one.begins, 4),
            "hours": round(one.length, 4),
            "sun": one.sun,
            "nominal_volts": one.volts,
            "capacity_ah": round(one.bank.capacity_ah, 4),
            "reserve": round(one.bank.reserve, 6),
            "lowest": {"state": round(one.course.lowest, 6), "hour": round(one.course.lowest_at, 4)},
            "end": round(one.course.state[-1], 6),
            "lasts_without_sun": _rounded(one.without_sun),
            "lasts_with_nothing": _rounded(one.with_nothing),
            "refills": _rounded(one.refills),
            "sources": _flows(one, one.course.given),
            "loads": _flows(one, one.course.taken),
            "follow_warmth": {
                each.load: {
                    "place": each.place,
                    "coolest_celsius": each.low,
                    "hottest_celsius": each.high,
                    "duty": {
                        "least": round(each.least, 6),
                        "most": round(each.most, 6),
                        "mean": round(each.mean, 6),
                    },
                }
                for each in one.warmed
            },
            "lost_ah": round(one.course.lost, 4),
            "unserved_ah": round(one.course.unserved, 4),
            "course": [
                [round(h, 4), round(s, 6)] for h, s in zip(one.course.hours, one.course.state, strict=True)
            ],
        }
        for one in courses
    ]
    return json.dumps({"version": 1, "file": title, "days": days}, ensure_ascii=False, indent=1) + "\n"


def _rounded(hours: float | None) -> float | None:
    return None if hours is None else round(hours, 3)


def _flows(one: DayCourse, flows: dict[str, float] | object) -> dict[str, dict[str, float]]:
    assert isinstance(flows, dict)
    return {name: {"ah": round(ah, 4), "wh": round(ah * one.volts, 3)} for name, ah in sorted(flows.items())}


def csv(_title: str, courses: tuple[DayCourse, ...]) -> str:
    """One line a step: day, hour from its start, mode, state of charge from 0 to 1."""
    out = io.StringIO()
    writer = csv_format.writer(out, lineterminator="\n")
    writer.writerow(("day", "hour", "mode", "state"))
    for one in courses:
        spells = _spells(one)
        for hour, state in zip(one.course.hours, one.course.state, strict=True):
            mode = next((spell.name for spell in spells if hour < spell.stop - 1e-9), spells[-1].name)
            writer.writerow((one.day, f"{hour:.4f}", mode, f"{state:.6f}"))
    return out.getvalue()


def _spells(one: DayCourse) -> list[Spell]:
    spells: list[Spell] = []
    start = 0.0
    for _ in range(one.days):
        for spell in one.spells:
            spells.append(Spell(spell.name, start, start + spell.hours))
            start += spell.hours
    return spells


def chart(one: DayCourse) -> Drawing:
    """The state of charge through the days, with what must be left."""
    percent = [100 * min(1.0, max(0.0, state)) for state in one.course.state]
    title = f"State of charge, {one.day}"
    return energy_chart(
        f"energy-{one.day}", title, one.course.hours, percent, 100 * one.bank.reserve, _spells(one)
    )


def svg(_title: str, courses: tuple[DayCourse, ...]) -> str:
    """The chart of each day that the spec writes, one under the other."""
    made = stacked([chart(one) for one in courses])
    return made if made.endswith("\n") else made + "\n"


FORMS = {"text": text, "json": as_json, "csv": csv, "svg": svg}
