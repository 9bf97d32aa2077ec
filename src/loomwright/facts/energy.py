"""The day of the house batteries: what is used, what may be used, and what comes in, by a simulation of their charge.

Each load takes its nominal current times its duty, and its standing draw while it is off. Chargers give what they can while the
engine or mains feeds them, panels what a usual sky lets through at that hour. Losses in cables are left out.
"""

from __future__ import annotations

from collections.abc import Callable

from loomwright.analysis import energy, sun
from loomwright.facts import lines
from loomwright.facts.battery import LEAD, charge_limit
from loomwright.facts.electrics.sources import FULL_SUN, Draw, alternator_limit, draws, irradiance
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.facts.wiring import graph
from loomwright.model import things as t
from loomwright.record import Record
from loomwright.stock import batteries as stock
from loomwright.syntax.tree import Measure

MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december",
)  # fmt: skip
HOUR = 3600.0
NOON, DAWN = 12.0, 6.0


# ---------------------------------------------------------------- the sun


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
    """Raises Missing where the site's latitude or month is not known."""
    site = ledger.installation.site
    if site is None:
        return None
    latitude = ledger.known(site.latitude, "latitude").quantity.si
    day = sun.MIDDLES[MONTHS.index(ledger.known(site.month))]
    tilt, facing = (each.quantity.si if each else None for each in (site.tilt, site.facing))
    towards = facing if facing is not None else 180.0 if latitude > 0 else 0.0
    return Sky(latitude, day, tilt or 0.0, towards, float(ledger.limit("sky-share")))


@fact("site", "sun-time", "time", "How long full sun (1000 W/m²) would take to give what the panels get on a usual day in the middle of the month.",
      source="FAO Irrigation and Drainage Paper 56, eq. 23 to 25; Ineichen and Perez 2002 (from memory); limit sky-share")  # fmt: skip
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
    step = 1 / 12
    count = round(day_length(day) / HOUR / step)
    return sum(plan.light((index + 0.5) * step) for index in range(count)) * step * HOUR


class Plan(Record):
    """A day's modes in order with their ends in hours, and the solar hour that it begins at."""

    modes: tuple[tuple[t.Mode, float], ...]
    begins: float
    sky: Sky | None

    def mode(self, hour: float) -> t.Mode:
        length = self.modes[-1][1]
        now = hour % length
        return next((mode for mode, end in self.modes if now < end), self.modes[-1][0])

    def light(self, hour: float) -> float:
        """Sun on the panels at an hour of the plan, as a share of 1000 W/m²; none in a mode without sun."""
        share = irradiance(self.mode(hour))
        if not share:
            return 0.0
        return share if self.sky is None else share * self.sky.light(self.begins + hour)


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
    "What comes into the house in the day, from chargers, alternators and sun, with the batteries at their reserve as it begins.",
    source="simulated in steps of 5 min",
)
def gains(day: t.Day, ledger: Ledger) -> float:
    """A bank that is down takes all that it can; how soon it is full tells what it can't use."""
    house_bank = bank_of(ledger)
    if house_bank is None:
        return 0.0
    course = energy.simulate(
        house_bank, spells_of(day, ledger), sources_of(day, ledger), 1, house_bank.reserve
    )
    return sum(course.given.values()) * HOUR


@fact("day", "refill", "charge", "What must come in to make good what was used, losses of charging counted.")
def refill(day: t.Day, ledger: Ledger) -> float:
    return float(ledger.get(day, "use") / _efficiency(ledger))


def _efficiency(ledger: Ledger) -> float:
    lead = any(ledger.get(battery, "chemistry") in LEAD for battery in house(ledger))
    return float(ledger.limit("charge-efficiency-lead-acid" if lead else "charge-efficiency-lithium"))


def day_length(day: t.Day) -> float:
    return sum(hours.quantity.si for _, hours in day.hours)


# ---------------------------------------------------------------- the simulation's own terms


def bank_of(ledger: Ledger) -> energy.Bank | None:
    """The house batteries as one bank, aged; None where there is none."""
    found = house(ledger)
    if not found:
        return None
    ageing = ledger.limit("battery-ageing")
    whole = sum(ledger.get(battery, "capacity") * battery.count for battery in found) / HOUR
    usable = sum(ledger.get(battery, "usable") for battery in found) / HOUR
    chemistry = ledger.get(found[0], "chemistry")
    takes = sum(charge_limit(battery, ledger) for battery in found)
    lead = chemistry in LEAD
    exponent = stock.peukert_exponent(chemistry)
    # half empty, lead-acid takes its capacity over the limit's hours, and the less the fuller it is; lithium falls off at the end
    absorbing = (
        ledger.limit("charge-acceptance") / HOUR / 2
        if lead
        else ledger.limit("absorption-lithium") * whole / takes
    )
    stood = ledger.limit("self-discharge-lead-acid" if lead else "self-discharge-lithium")
    return energy.Bank(
        capacity_ah=whole * ageing,
        charge_amps=takes,
        absorbing_hours=absorbing,
        efficiency=_efficiency(ledger),
        exponent=(exponent.low + exponent.high) / 2 if lead else 1.0,
        keeps=1.0 - stood,
        reserve=1.0 - usable / (whole * ageing),
    )


def spells_of(day: t.Day, ledger: Ledger) -> tuple[energy.Spell, ...]:
    """The day's modes with what each load on the house takes on average."""
    return tuple(
        energy.Spell(mode.name, hours.quantity.si / HOUR, _loads(mode, ledger)) for mode, hours in day.hours
    )


def _loads(mode: t.Mode, ledger: Ledger) -> dict[str, float]:
    loads: dict[str, float] = {}
    for draw in draws(mode, ledger):
        if _on_house(draw.device, ledger):
            name = draw.device.name
            loads[name] = loads.get(name, 0.0) + draw.nominal_amps * _duty(draw, ledger)
    for load, amps in _standing(mode, ledger).items():
        loads[load] = loads.get(load, 0.0) + amps
    return loads


def _standing(mode: t.Mode, ledger: Ledger) -> dict[str, float]:
    """What loads on the house draw although the mode does not switch them on."""
    on = {each.thing for each in mode.on}
    return {
        load.name: load.standby.quantity.si * load.count
        for load in ledger.installation.devices
        if isinstance(load, t.Load)
        and load not in on
        and isinstance(load.standby, Measure)
        and _on_house(load, ledger)
    }


def sources_of(day: t.Day, ledger: Ledger) -> tuple[energy.Source, ...]:
    """What charges the house: each charger from the engine or mains and from its panels, and alternators straight."""
    plan = plan_of(day, ledger)
    found: list[energy.Source] = []
    for charger in _house_chargers(ledger):
        found += _of_charger(charger, plan, ledger)
    pushed = _straight(ledger)
    if pushed:
        found.append(energy.Source("alternator", _while_running(plan, pushed)))
    return tuple(found)


def _of_charger(charger: t.Charger, plan: Plan, ledger: Ledger) -> list[energy.Source]:
    most = ledger.known(charger.output_amps, f"{charger.name} output").quantity.si * charger.count
    works = {mode.name for mode, _ in plan.modes if _works(charger, mode, ledger)}
    made: list[energy.Source] = []
    if works:
        fed = min(most, _engine_gives(charger, ledger))
        mains = {mode.name for mode, _ in plan.modes if mode.mains and ledger.get(charger, "mains")}

        def from_line(hour: float) -> float:
            name = plan.mode(hour).name
            return most if name in mains else fed if name in works else 0.0

        made.append(energy.Source(charger.name, from_line, charger.name, most))
    watts = sum(
        ledger.known(panel.peak, "peak").quantity.si * panel.count for panel in ledger.get(charger, "panels")
    )
    if watts:
        volts = ledger.known(charger.output_volts, "output").quantity.si
        full = watts * ledger.limit("solar-yield") / volts
        made.append(
            energy.Source(f"{charger.name} solar", lambda hour: full * plan.light(hour), charger.name, most)
        )
    return made


def _engine_gives(charger: t.Charger, ledger: Ledger) -> float:
    """What an alternator on its line can give at its output, hot; without end where that is not known."""
    line = lines.on_line(ledger, lines.terminal(ledger, charger, "in"), t.Alternator, "pos")
    try:
        given = sum(alternator_limit(each, ledger) * ledger.known(each.holds).quantity.si for each in line)
        volts = ledger.known(charger.output_volts, "output").quantity.si
    except Missing:
        return float("inf")
    return given * _passes(charger, ledger) / volts if line else float("inf")


def _passes(charger: t.Charger, ledger: Ledger) -> float:
    if isinstance(charger.efficiency, Measure):
        return charger.efficiency.quantity.si
    return float(ledger.limit("charger-efficiency-unstated"))


def _while_running(plan: Plan, amps: float) -> Callable[[float], float]:
    return lambda hour: amps if plan.mode(hour).engine == "running" else 0.0


def _house_chargers(ledger: Ledger) -> tuple[t.Charger, ...]:
    return tuple(
        dict.fromkeys(charger for battery in house(ledger) for charger in ledger.get(battery, "chargers"))
    )


def _works(charger: t.Charger, mode: t.Mode, ledger: Ledger) -> bool:
    if mode.mains and ledger.get(charger, "mains"):
        return True
    line = lines.terminal(ledger, charger, "in")
    engine = [
        *lines.on_line(ledger, line, t.Alternator, "pos"),
        *lines.on_line(ledger, line, t.Supply, "pos"),
    ]
    return mode.engine == "running" and bool(engine)


def _straight(ledger: Ledger) -> float:
    """What alternators push in with no charger between: no more than each battery takes for long, A."""
    total = 0.0
    for battery in house(ledger):
        pushed = sum(
            ledger.get(battery, "pushed-by", alternator) for alternator in ledger.get(battery, "alternators")
        )
        total += min(pushed, charge_limit(battery, ledger)) if pushed else 0.0
    return total
