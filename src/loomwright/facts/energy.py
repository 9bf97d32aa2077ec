"""The day's balance of the house batteries: what is used, what may be used, and what comes in.

A plain balance, not a simulation: mean currents times hours. Each load takes its nominal current times its duty; each charger
gives its full output while it works; the sun gives a panel's peak power, times a yield, for the hours that the modes have sun,
but for no more than a clear sky gives on that day. Losses in cables and the voltage through the day are left out.
"""

from __future__ import annotations

from math import acos, cos, pi, sin, tan

from loomwright.facts import lines
from loomwright.facts.battery import charge_limit
from loomwright.facts.electrics.sources import Draw, draws, irradiance
from loomwright.facts.registry import Ledger, fact
from loomwright.facts.wiring import graph
from loomwright.model import things as t

MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december",
)  # fmt: skip
SOLAR_CONSTANT = 0.0820  # MJ/(m² min), FAO-56 eq. 21
CLEAR_SKY = 0.75  # share of the sun that reaches the ground under a clear sky near sea level: FAO-56 eq. 37 without its height
MJ_PER_KWH = 3.6
HOUR = 3600.0


# ---------------------------------------------------------------- the sun


def extraterrestrial(latitude: float, day_of_year: int) -> float:
    """Radiation on a flat surface above the air, MJ/(m² day), for a latitude in degrees (FAO-56 eq. 21 to 25)."""
    phi, year = latitude * pi / 180, 2 * pi * day_of_year / 365
    near = 1 + 0.033 * cos(year)
    tilt = 0.409 * sin(year - 1.39)
    sunset = acos(max(-1.0, min(1.0, -tan(phi) * tan(tilt))))
    return (
        24
        * 60
        / pi
        * SOLAR_CONSTANT
        * near
        * (sunset * sin(phi) * sin(tilt) + cos(phi) * cos(tilt) * sin(sunset))
    )


@fact("site", "sun-time", "time", "How long full sun (1000 W/m²) would take to give what a flat panel gets under a clear sky in the middle of the month.",
      source="FAO Irrigation and Drainage Paper 56, eq. 21 and 37 (from memory)")  # fmt: skip
def sun_time(site: t.Site, ledger: Ledger) -> float:
    """Tilt and facing are left out."""
    latitude = ledger.known(site.latitude, "latitude").quantity.si
    day = int(30.4 * MONTHS.index(ledger.known(site.month)) + 15)
    return CLEAR_SKY * extraterrestrial(latitude, day) / MJ_PER_KWH * HOUR


@fact(
    "day",
    "sun-time",
    "time",
    "How long full sun shines in its modes; no more than a clear sky gives at the site.",
)
def day_sun_time(day: t.Day, ledger: Ledger) -> float:
    said = sum(irradiance(mode) * hours.quantity.si for mode, hours in day.hours)
    site = ledger.installation.site
    return min(said, ledger.get(site, "sun-time")) if site and said else said


# ---------------------------------------------------------------- the house


def house(ledger: Ledger) -> tuple[t.Battery, ...]:
    return tuple(d for d in ledger.installation.devices if isinstance(d, t.Battery) and d.serves == "house")


@fact("day", "house", "things battery", "The house batteries that live through the day.")
def house_of(_day: t.Day, ledger: Ledger) -> tuple[t.Battery, ...]:
    return house(ledger)


@fact("day", "store", "charge", "What the house batteries hold for use, aged, without their reserve.")
def store(_day: t.Day, ledger: Ledger) -> float:
    return float(sum(ledger.get(battery, "usable") for battery in house(ledger)))


@fact("day", "use", "charge", "What the house takes in the day.")
def use(day: t.Day, ledger: Ledger) -> float:
    return float(sum(ledger.get(mode, "house-current") * hours.quantity.si for mode, hours in day.hours))


@fact(
    "mode",
    "house-current",
    "current",
    "What the loads on the house batteries take in a mode on average, their duty counted.",
)
def house_current(mode: t.Mode, ledger: Ledger) -> float:
    total = 0.0
    for draw in draws(mode, ledger):
        if _on_house(draw.device, ledger):
            amps = draw.nominal_amps * _duty(draw, ledger)
            ledger.note(f"{draw.name} {amps:.3g} A")
            total += amps
    return total


def _duty(draw: Draw, ledger: Ledger) -> float:
    return float(ledger.get(draw.device, "duty")) if isinstance(draw.device, t.Load) else 1.0


def _on_house(device: t.Device, ledger: Ledger) -> bool:
    sources = [fed.source.device for fed in graph(ledger).feeds_device(device)]
    return any(isinstance(source, t.Battery) and source.serves == "house" for source in sources)


# ---------------------------------------------------------------- what comes in


@fact(
    "day",
    "gains",
    "charge",
    "What comes into the house batteries in the day: chargers, alternators straight, sun.",
)
def gains(day: t.Day, ledger: Ledger) -> float:
    return float(
        sum(_given(charger, day, ledger) for charger in _house_chargers(ledger)) + _straight(day, ledger)
    )


@fact("day", "refill", "charge", "What must come in to make good what was used, losses of charging counted.")
def refill(day: t.Day, ledger: Ledger) -> float:
    lead = any(ledger.get(battery, "chemistry") != "lifepo4" for battery in house(ledger))
    return float(
        ledger.get(day, "use")
        / ledger.limit("charge-efficiency-lead-acid" if lead else "charge-efficiency-lithium")
    )


def _house_chargers(ledger: Ledger) -> tuple[t.Charger, ...]:
    return tuple(
        dict.fromkeys(charger for battery in house(ledger) for charger in ledger.get(battery, "chargers"))
    )


def _given(charger: t.Charger, day: t.Day, ledger: Ledger) -> float:
    """A charger's output for as long as the engine or mains feeds it, and the sun's for the rest; never above its output."""
    amps = ledger.known(charger.output_amps, f"{charger.name} output").quantity.si * charger.count
    fed = sum(hours.quantity.si for mode, hours in day.hours if _works(charger, mode, ledger))
    sunny = ledger.get(day, "sun-time")
    watts = sum(
        ledger.known(panel.peak, "peak").quantity.si * panel.count for panel in ledger.get(charger, "panels")
    )
    if not (watts and sunny):
        return float(amps * fed)
    volts = ledger.known(charger.output_volts, "output").quantity.si
    from_sun = min(amps, watts * ledger.limit("solar-yield") / volts)
    return float(amps * fed + from_sun * min(sunny, max(0.0, day_length(day) - fed)))


def day_length(day: t.Day) -> float:
    return sum(hours.quantity.si for _, hours in day.hours)


def _works(charger: t.Charger, mode: t.Mode, ledger: Ledger) -> bool:
    if mode.mains and ledger.get(charger, "mains"):
        return True
    line = lines.terminal(ledger, charger, "in")
    engine = [
        *lines.on_line(ledger, line, t.Alternator, "pos"),
        *lines.on_line(ledger, line, t.Supply, "pos"),
    ]
    return mode.engine == "running" and bool(engine)


def _straight(day: t.Day, ledger: Ledger) -> float:
    """What alternators push in with no charger between: no more than each battery takes for long."""
    running = sum(hours.quantity.si for mode, hours in day.hours if mode.engine == "running")
    total = 0.0
    for battery in house(ledger) if running else ():
        pushed = sum(
            ledger.get(battery, "pushed-by", alternator) for alternator in ledger.get(battery, "alternators")
        )
        total += min(pushed, charge_limit(battery, ledger)) * running if pushed else 0.0
    return total
