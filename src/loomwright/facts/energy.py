"""The day of the house batteries: what is used, what may be used, and what comes in, by a simulation of their charge.

Each load takes its nominal current times its duty, by the warmth of the hour where it follows that, and its standing draw while it
is off. Chargers give what they can while the engine or mains feeds them, panels what a usual sky lets through at that hour. Losses
in cables are left out.
"""

from __future__ import annotations

from collections.abc import Callable

from loomwright.analysis import energy
from loomwright.facts import lines
from loomwright.facts.battery import LEAD, charge_limit
from loomwright.facts.electrics.sources import Draw, alternator_limit, draws
from loomwright.facts.load import duty_by_hour
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.facts.sky import HOUR, Plan, plan_of
from loomwright.facts.wiring import graph
from loomwright.model import things as t
from loomwright.stock import batteries as stock
from loomwright.syntax.tree import Measure

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
    return float(sum(ledger.get(day, "house-current", mode) * hours.quantity.si for mode, hours in day.hours))


@fact(
    "day",
    "house-current",
    "current",
    "What the loads on the house batteries take on average while a mode of the day lasts, their duty counted.",
    takes=("thing mode",),
)
def house_current(day: t.Day, ledger: Ledger, mode: t.Mode) -> float:
    total = 0.0
    for draw in draws(mode, ledger):
        if _on_house(draw.device, ledger):
            amps = draw.nominal_amps * _duty(draw, day, mode, ledger)
            ledger.note(f"{draw.name} {amps:.3g} A")
            total += amps
    return total


def _duty(draw: Draw, day: t.Day, mode: t.Mode, ledger: Ledger) -> float:
    """Of what follows the warmth the mean over the mode's hours."""
    if not isinstance(draw.device, t.Load):
        return 1.0
    return float(ledger.get(draw.device, "duty-during", day, mode))


@fact(
    "load",
    "duty-during",
    "ratio",
    "The share of the time that it draws while a mode of a day lasts, where it follows the warmth by the usual day of its place.",
    source="straight lines between what is written; the day's course is common practice, no source",
    takes=("thing day", "thing mode"),
)
def duty_during(load: t.Load, ledger: Ledger, day: t.Day, mode: t.Mode) -> float:
    """The mean of the steps of the simulation; where no usual day is written, the greatest in the ambient all day long."""
    share = duty_by_hour(load, ledger)
    if share is None:
        return float(ledger.get(load, "duty"))
    shares = plan_of(day, ledger).through(mode, share)
    return sum(shares) / len(shares)


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
    """The day's modes with what each load on the house takes: on average, or by the hour where it follows the warmth.

    Missing where no mode lasts any time.
    """
    if not any(hours.quantity.si > 0 for _, hours in day.hours):
        raise Missing(t.Unknown(f"how long the modes of {day.name} last", day.span))
    plan = plan_of(day, ledger)
    return tuple(
        energy.Spell(
            mode.name, hours.quantity.si / HOUR, _loads(day, mode, ledger), _by_hour(mode, plan, ledger)
        )
        for mode, hours in day.hours
    )


def _loads(day: t.Day, mode: t.Mode, ledger: Ledger) -> dict[str, float]:
    """Of what follows the warmth the mean."""
    loads: dict[str, float] = {}
    for draw in draws(mode, ledger):
        if _on_house(draw.device, ledger):
            name = draw.device.name
            loads[name] = loads.get(name, 0.0) + draw.nominal_amps * _duty(draw, day, mode, ledger)
    for load, amps in _standing(mode, ledger).items():
        loads[load] = loads.get(load, 0.0) + amps
    return loads


def _by_hour(mode: t.Mode, plan: Plan, ledger: Ledger) -> dict[str, Callable[[float], float]]:
    """What takes more by day than by night: A at an hour of the plan."""
    found: dict[str, Callable[[float], float]] = {}
    for draw in draws(mode, ledger):
        share = duty_by_hour(draw.device, ledger) if isinstance(draw.device, t.Load) else None
        if share is not None and _on_house(draw.device, ledger):
            found[draw.device.name] = _drawn_by(share, draw.nominal_amps, plan)
    return found


def _drawn_by(share: Callable[[float], float], amps: float, plan: Plan) -> Callable[[float], float]:
    return lambda hour: amps * share(plan.clock(hour))


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
