"""Facts of what charges: chargers, and the batteries that share a line with them."""

from __future__ import annotations

from collections.abc import Callable

from loomwright.facts import lines
from loomwright.facts.attribute import attributes, gather, known_all
from loomwright.facts.electrics.resistances import ohm_per_metre
from loomwright.facts.electrics.sources import draws
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.facts.wiring import graph
from loomwright.model import things as t
from loomwright.stock import batteries as stock
from loomwright.syntax.tree import Measure

NO_COUNT = 0.05
"""Volts that a setting may stand beside its window: the resolution of a charger's setting."""

KIN = frozenset(("lead-acid", "agm"))
"""Charged at nearly the same volts (14.4 to 14.7 V): alike enough to share a line for a while. Common practice, no source."""

Ask = Callable[[t.Battery, Ledger], "str | None"]

attributes(
    "charger",
    ("input", "current", "The most that it takes from its input.", lambda charger: charger.input),
    ("output", "current", "What it gives.", lambda charger: charger.output_amps),
    ("output-volts", "voltage", "The voltage that it charges to.", lambda charger: charger.output_volts),
    ("suits", "words", "The chemistries that it is made for.", lambda charger: charger.suits),
    ("starts", "voltage", "The input voltage at which it starts.", lambda charger: charger.starts),
    ("stops", "voltage", "The input voltage at which it stops.", lambda charger: charger.stops),
)


# ---------------------------------------------------------------- who shares a line


def battery_line(battery: t.Battery, ledger: Ledger) -> tuple[t.Battery, ...]:
    """All batteries on a battery's line, itself among them."""
    return lines.on_line(ledger, lines.terminal(ledger, battery, "pos"), t.Battery, "pos")


@fact(
    "battery", "bank", "things battery", "The batteries in parallel that serve the same, itself among them."
)
def bank(battery: t.Battery, ledger: Ledger) -> tuple[t.Battery, ...]:
    return tuple(each for each in battery_line(battery, ledger) if each.serves == battery.serves)


@fact(
    "battery",
    "leads-bank",
    "yes-no",
    "Whether it is the first of its bank, which the rules of a whole bank are asked of.",
)
def leads_bank(battery: t.Battery, ledger: Ledger) -> bool:
    """A cranking battery that shares its line with a house battery leads none: what is between them is judged there."""
    mine = battery_line(battery, ledger)
    house = any(each.serves == "house" for each in mine)
    return bank(battery, ledger)[0] is battery and (battery.serves == "house" or not house)


@fact("battery", "bank-age-spread", "time", "Between the oldest and the newest of its bank.")
def bank_age_spread(battery: t.Battery, ledger: Ledger) -> float:
    days = gather(lambda each: ledger.known(each.bought), bank(battery, ledger))
    known = [day for day in days if day is not None]
    return (max(known) - min(known)).days * 86400.0 if known else 0.0


@fact("battery", "chargers", "things charger", "The chargers whose output is on its line.")
def chargers(battery: t.Battery, ledger: Ledger) -> tuple[t.Charger, ...]:
    return lines.on_line(ledger, lines.terminal(ledger, battery, "pos"), t.Charger, "out")


@fact(
    "battery",
    "alternators",
    "things alternator",
    "The alternators that charge it straight, with no charger between.",
)
def alternators(battery: t.Battery, ledger: Ledger) -> tuple[t.Alternator, ...]:
    return lines.on_line(ledger, lines.terminal(ledger, battery, "pos"), t.Alternator, "pos")


@fact("battery", "charged-by", "things device", "The chargers and alternators on its line.")
def charged_by(battery: t.Battery, ledger: Ledger) -> tuple[t.Device, ...]:
    return (*chargers(battery, ledger), *alternators(battery, ledger))


# ---------------------------------------------------------------- how hard its bank is charged


@fact("battery", "bank-charge-limit", "current", "What its bank may be charged with.")
def bank_charge_limit(battery: t.Battery, ledger: Ledger) -> float:
    return float(sum(ledger.get(each, "charge-limit") for each in bank(battery, ledger)))


@fact(
    "battery",
    "charge-current",
    "current",
    "The most that its bank can be charged with: all chargers in full, and what an alternator pushes into it half full.",
)
def charge_current(battery: t.Battery, ledger: Ledger) -> float:
    amps = sum(
        ledger.known(each.output_amps, f"{each.name} output").quantity.si * each.count
        for each in chargers(battery, ledger)
    )
    if battery.serves == "house":
        for each in bank(battery, ledger):
            amps += sum(
                ledger.get(each, "pushed-by", alternator) for alternator in alternators(battery, ledger)
            )
    return float(amps)


@fact("battery", "pushed-by", "current", "What an alternator pushes straight into it half full, held back by its own resistance and the copper of the feed; at most the nameplate.",
      takes=("thing alternator",))  # fmt: skip
def pushed_by(battery: t.Battery, ledger: Ledger, alternator: t.Alternator) -> float:
    """The return and the joints are left out: it is the most that can come."""
    holds = ledger.known(alternator.holds, "holds").quantity.si
    blocks = max(1, round(ledger.installation.fitout.system.quantity.si / 12))
    half = stock.open_circuit_volts(ledger.get(battery, "chemistry"), 0.5)
    ledger.note(f"{half.value * blocks:.4g} V at rest half full", f"{half.source}, {half.mark}")
    rest = half.value * blocks
    rated = ledger.known(alternator.rated, "rated").quantity.si * alternator.count
    return float(
        min(
            rated,
            max(0.0, holds - rest) / (_internal(battery, ledger) + _copper(battery, alternator, ledger)),
        )
    )


def _internal(battery: t.Battery, ledger: Ledger) -> float:
    if not isinstance(battery.internal, t.Unknown):
        return float(ledger.known(battery.internal, "internal").quantity.si / battery.count)
    capacity = ledger.get(battery, "capacity") / 3600
    return stock.internal_ohm(ledger.get(battery, "chemistry"), capacity).low / battery.count


def _copper(battery: t.Battery, alternator: t.Alternator, ledger: Ledger) -> float:
    """The resistance at 20 °C of the conductors from an alternator to a battery."""
    feedings = graph(ledger).feeds(lines.terminal(ledger, battery, "pos"))
    runs = next(feeding.runs for feeding in feedings if feeding.source.device is alternator)
    ohms = 0.0
    for run in runs:
        per_metre = ohm_per_metre(run, ledger)
        length = ledger.get(run, "length")
        ohms += per_metre.value * length
        ledger.note(f"{run.name} {per_metre.value * length * 1e3:.3g} mΩ", per_metre.source, run.cable.span)
    return ohms


# ---------------------------------------------------------------- whether what charges it suits it


@fact(
    "battery",
    "mismatch",
    "text",
    "What on its line does not suit its chemistry: another kind of battery, a charger made for others or set too high or low.",
)
def mismatch(battery: t.Battery, ledger: Ledger) -> str | None:
    """What is certain is told; Missing only where nothing is."""
    told: list[str] = []
    reasons: list[t.Unknown] = []
    for ask in (
        *(_unlike(other) for other in _partners(battery, ledger)),
        *(_unsuited(c) for c in chargers(battery, ledger)),
    ):
        try:
            found = ask(battery, ledger)
        except Missing as missing:
            reasons.extend(missing.reasons)
        else:
            told.extend([found] if found else [])
    if not told and reasons:
        raise Missing(*reasons)
    return "; ".join(told) or None


@fact(
    "battery",
    "mismatch-mild",
    "yes-no",
    "Whether all that differs is flooded lead-acid beside agm, with no charger amiss.",
)
def mismatch_mild(battery: t.Battery, ledger: Ledger) -> bool:
    others = {ledger.get(other, "chemistry") for other in _partners(battery, ledger)}
    amiss = any(_unsuited(charger)(battery, ledger) for charger in chargers(battery, ledger))
    return not amiss and {ledger.get(battery, "chemistry"), *others} <= KIN


def _partners(battery: t.Battery, ledger: Ledger) -> tuple[t.Battery, ...]:
    """The batteries on its line that it is compared with: each pair is named once, at the house battery or the later one."""
    mine = battery_line(battery, ledger)
    place = mine.index(battery)
    return tuple(
        other for index, other in enumerate(mine)
        if other is not battery and (other.serves, battery.serves) != ("house", "cranking")
        and (index < place or (other.serves, battery.serves) == ("cranking", "house"))
    )  # fmt: skip


def _unlike(other: t.Battery) -> Ask:
    def ask(battery: t.Battery, ledger: Ledger) -> str | None:
        kind = ledger.get(other, "chemistry")
        return None if kind == ledger.get(battery, "chemistry") else f"{other.name} is {kind}"

    return ask


def _unsuited(charger: t.Charger) -> Ask:
    def ask(battery: t.Battery, ledger: Ledger) -> str | None:
        kind = ledger.get(battery, "chemistry")
        suits = ledger.known(charger.suits)
        if kind not in suits:
            return f"{charger.name} suits {' and '.join(suits) or 'none'}"
        blocks = max(1, round(ledger.installation.fitout.system.quantity.si / 12))
        volts = ledger.known(charger.output_volts, "output").quantity.si
        least, most = (stock.float_volts(kind).low * blocks, stock.absorption_volts(kind).high * blocks)
        if least - NO_COUNT <= volts <= most + NO_COUNT:
            return None
        return f"{charger.name} charges at {volts:.4g} V, and {kind} takes {least:.4g} to {most:.4g} V"

    return ask


# ---------------------------------------------------------------- when a charger works


@fact(
    "charger",
    "cranking-battery",
    "thing battery",
    "The cranking battery that its input hangs on with no relay between; none without one.",
)
def cranking_battery(charger: t.Charger, ledger: Ledger) -> t.Battery | None:
    reached = lines.spread(
        ledger, lines.terminal(ledger, charger, "in"), lambda link: not isinstance(link.by, t.Relay)
    )
    found = [
        d
        for d in ledger.installation.devices
        if isinstance(d, t.Battery) and d.serves == "cranking" and f"{d.name}.pos" in reached
    ]
    return found[0] if found else None


@fact(
    "charger",
    "told-when",
    "yes-no",
    "Whether something tells it when the engine runs: a starting or stopping voltage, or a wire on `sense` or `remote`.",
)
def told_when(charger: t.Charger, ledger: Ledger) -> bool:
    if any(
        ledger.installation.landing_on.get(lines.terminal(ledger, charger, label))
        for label in ("sense", "remote")
    ):
        return True
    volts = charger.starts, charger.stops
    if any(isinstance(each, Measure) for each in volts):
        return True
    return any(each is not None for each in known_all(ledger, volts))


# ---------------------------------------------------------------- alternators

attributes(
    "alternator",
    ("rated", "current", "Its nameplate current, cold.", lambda alternator: alternator.rated),
    (
        "regulation",
        "word fixed|smart",
        "Whether its voltage is fixed or led by the engine's computer.",
        lambda a: a.regulation,
    ),
)


@fact("alternator", "demand", "current", "What is asked of it in a mode: chargers in full, house batteries that it charges straight, and the loads on its line.",
      takes=("thing mode",))  # fmt: skip
def demand(alternator: t.Alternator, ledger: Ledger, mode: t.Mode) -> float:
    """Shared among the alternators of a line; a load counts by its duty, for the batteries bear its peaks.

    The vehicle's own needs are not in the spec.
    """
    line = lines.terminal(ledger, alternator, "pos")
    amps = sum(
        _taken_in(charger, alternator, ledger) for charger in lines.on_line(ledger, line, t.Charger, "in")
    )
    for battery in straight_to(alternator, ledger):
        amps += min(ledger.get(battery, "pushed-by", alternator), ledger.get(battery, "charge-limit"))
    on = set(lines.on_line(ledger, line, t.Load, "pos")) | set(lines.on_line(ledger, line, t.Inverter, "pos"))
    amps += sum(
        draw.nominal_amps * _duty(draw.device, ledger) for draw in draws(mode, ledger) if draw.device in on
    )
    return float(amps) / len(lines.on_line(ledger, line, t.Alternator, "pos"))


def _duty(device: t.Device, ledger: Ledger) -> float:
    """The share of the time that a device draws; all of it where none is stated."""
    return float(ledger.get(device, "duty")) if isinstance(device, t.Load) else 1.0


def _taken_in(charger: t.Charger, alternator: t.Alternator, ledger: Ledger) -> float:
    """What a charger takes in at the alternator's voltage to give its full output."""
    watts = (
        ledger.known(charger.output_amps, "output").quantity.si
        * ledger.known(charger.output_volts).quantity.si
    )
    share = (
        ledger.known(charger.efficiency).quantity.si
        if "efficiency" in charger.clauses
        else ledger.limit("charger-efficiency-unstated")
    )
    return float(watts * charger.count / share / ledger.known(alternator.holds, "holds").quantity.si)


@fact(
    "alternator",
    "straight-to",
    "things battery",
    "The house batteries that it charges straight, with no charger between.",
)
def straight_to(alternator: t.Alternator, ledger: Ledger) -> tuple[t.Battery, ...]:
    found = lines.on_line(ledger, lines.terminal(ledger, alternator, "pos"), t.Battery, "pos")
    return tuple(battery for battery in found if battery.serves == "house")
