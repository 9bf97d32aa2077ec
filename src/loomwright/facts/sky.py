"""The site's sky through a day, and a day's modes against the clock."""

from __future__ import annotations

from collections.abc import Callable

from loomwright.analysis import sun
from loomwright.facts.electrics.sources import FULL_SUN, irradiance
from loomwright.facts.registry import Ledger, fact
from loomwright.model import things as t
from loomwright.record import Record

MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december",
)  # fmt: skip
HOUR = 3600.0
STEP = 1 / 12
"""Hours of a step of the simulation."""
NOON, DAWN = 12.0, 6.0


class Sky(Record):
    """The site's sky on the middle day of its month; without a site the modes' own sun is all that is known."""

    latitude: float
    day: int
    tilt: float
    facing: float
    share: float

    def light(self, hour: float) -> float:
        """What a usual sky lets onto the panels at a solar hour, as a share of 1000 W/m²."""
        clear = sun.on_surface(self.latitude, self.day, hour % 24, self.tilt, self.facing)
        return self.share * clear / FULL_SUN


def sky_of(ledger: Ledger) -> Sky | None:
    """Raises Missing where the site's latitude or month is not known, or its tilt or facing is written `unknown`."""
    site = ledger.installation.site
    if site is None:
        return None
    latitude = ledger.known(site.latitude, "latitude").quantity.si
    day = sun.MIDDLES[MONTHS.index(ledger.known(site.month))]
    tilt = ledger.known(site.tilt)
    steep = tilt.quantity.si if tilt else 0.0
    facing = ledger.known(site.facing) if steep else None  # a flat panel faces the sky
    towards = facing.quantity.si if facing else 180.0 if latitude > 0 else 0.0
    return Sky(latitude, day, steep, towards, float(ledger.get(site, "sky-share")))


@fact(
    "site",
    "sky-share",
    "ratio",
    "What a usual day's sky lets through of a clear day's light, by how much of the daylight the sun shines there in the month.",
    source="FAO Irrigation and Drainage Paper 56, eq. 35 over eq. 37, from memory",
)
def sky_share(site: t.Site, ledger: Ledger) -> float:
    """By the site's `sunshine`, else by what is assumed of a site that doesn't say."""
    written = ledger.known(site.sunshine, "sunshine") if site.sunshine else None
    return sun.sky_share(written.quantity.si if written else float(ledger.limit("sunshine-unstated")))


@fact("site", "sun-time", "time", "How long full sun (1000 W/m²) would take to give what the panels get on a usual day in the middle of the month.",
      source="FAO Irrigation and Drainage Paper 56, eq. 21, 23 and 35; Astronomical Almanac; Ineichen and Perez 2002; from memory")  # fmt: skip
def sun_time(_site: t.Site, ledger: Ledger) -> float:
    """By tilt and facing of the site."""
    sky = sky_of(ledger)
    assert sky is not None
    return sky.share * sun.day_sum(sky.latitude, sky.day, sky.tilt, sky.facing) / FULL_SUN * HOUR


@fact(
    "day",
    "sun-time",
    "time",
    "How long full sun would take to give what panels get in the day's modes with sun, by the site's sky where there is one.",
)
def day_sun_time(day: t.Day, ledger: Ledger) -> float:
    plan = plan_of(day, ledger)
    count = round(day_length(day) / HOUR / STEP)
    return sum(plan.light((index + 0.5) * STEP) for index in range(count)) * STEP * HOUR


class Plan(Record):
    """A day's modes in order with their ends in hours, and the solar hour that it begins at."""

    modes: tuple[tuple[t.Mode, float], ...]
    begins: float
    sky: Sky | None

    def mode(self, hour: float) -> t.Mode:
        length = self.modes[-1][1]
        now = hour % length
        return next((mode for mode, end in self.modes if now < end), self.modes[-1][0])

    def clock(self, hour: float) -> float:
        """The solar hour of the day; one that is written shorter than 24 h begins at the same hour again."""
        return (self.begins + hour % self.modes[-1][1]) % 24

    def through(self, mode: t.Mode, of: Callable[[float], float]) -> list[float]:
        """Something that changes by the solar hour, in the middles of the steps while a mode lasts."""
        end = next(end for each, end in self.modes if each is mode)
        start = max((before for _, before in self.modes if before < end), default=0.0)
        count = max(1, round((end - start) / STEP))
        each = (end - start) / count
        return [of(self.clock(start + (index + 0.5) * each)) for index in range(count)]

    def light(self, hour: float) -> float:
        """Sun on the panels at an hour of the plan, as a share of 1000 W/m²; none in a mode without sun."""
        share = irradiance(self.mode(hour))
        if not share:
            return 0.0
        return share if self.sky is None else share * self.sky.light(self.clock(hour))


def plan_of(day: t.Day, ledger: Ledger) -> Plan:
    """The day against the clock: noon falls into the middle of the modes with sun; without any the day begins at dawn."""
    ends: list[tuple[t.Mode, float]] = []
    sunny: list[float] = []
    at = 0.0
    for mode, hours in day.hours:
        start, at = at, at + hours.quantity.si / HOUR
        ends.append((mode, at))
        if irradiance(mode):
            sunny += [start, at]
    begins = NOON - (sunny[0] + sunny[-1]) / 2 if sunny else DAWN
    return Plan(tuple(ends), begins, sky_of(ledger))


def day_length(day: t.Day) -> float:
    return sum(hours.quantity.si for _, hours in day.hours)
