"""What drives current and what takes it, in one mode: the elements that stand between a device's terminals."""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.facts.electrics import resistances as r
from loomwright.facts.electrics.wiring import Wiring, node
from loomwright.facts.registry import Ledger
from loomwright.model import things as t
from loomwright.record import Record
from loomwright.stock import batteries
from loomwright.syntax.tree import Measure

USUAL_CHARGE = 0.8
FULL = 0.995
FULL_SUN = 1000.0


def system_volts(ledger: Ledger) -> float:
    return ledger.installation.fitout.system.quantity.si


# ---------------------------------------------------------------- batteries


def charge_of(battery: t.Battery, mode: t.Mode | None) -> float:
    """State of charge from 0 to 1: a cranking battery is full, house batteries are at the mode's charge (80 % unless said)."""
    if battery.serves == "cranking" or mode is None:
        return 1.0
    return mode.charge.quantity.si if mode.charge is not None else USUAL_CHARGE


def open_volts(battery: t.Battery, charge: float, ledger: Ledger, wiring: Wiring) -> float:
    """Open-circuit voltage. One battery of a 24 V system counts as 24 V, unless it stands in series with another."""
    chemistry = ledger.known(battery.chemistry)
    blocks = 1 if wiring.series else round(system_volts(ledger) / 12)
    return batteries.open_circuit_volts(chemistry, charge).value * max(1, blocks)


def internal_ohms(battery: t.Battery, ledger: Ledger, lowest: bool = False) -> float:
    """Internal resistance: as stated, else by chemistry and capacity (the high end, or the low end for a greatest fault)."""
    if isinstance(battery.internal, Measure):
        return battery.internal.quantity.si / battery.count
    chemistry = ledger.known(battery.chemistry)
    capacity = ledger.known(battery.capacity).quantity.si / 3600
    found = batteries.internal_ohm(chemistry, capacity)
    return (found.low if lowest else found.high) / battery.count


def charging_ohms(battery: t.Battery, charge: float, ohms: float, ledger: Ledger) -> float | None:
    """What a battery resists a charging current with; None where that is its internal resistance.

    A full battery takes next to nothing. Lead-acid of any kind takes by `charge-acceptance` what lies between its voltage at rest
    and absorption: its internal resistance alone would have it take several times that.
    """
    if charge >= FULL:
        return max(r.limit(ledger, "full-battery-takes"), 2 * ohms)
    chemistry = ledger.known(battery.chemistry)
    if chemistry == "lifepo4" or isinstance(battery.capacity, t.Unknown):
        return None
    absorption = batteries.absorption_volts(chemistry)
    rise = (absorption.low + absorption.high) / 2 - batteries.open_circuit_volts(chemistry, 0.5).value
    amps = battery.capacity.quantity.si * battery.count / r.limit(ledger, "charge-acceptance")
    return max(rise * round(system_volts(ledger) / 12) / amps, 2 * ohms) if amps > 0 else None


# ---------------------------------------------------------------- the engine's side


def is_live(supply: t.Supply, mode: t.Mode, ledger: Ledger) -> bool:
    """Whether a point of the vehicle's own wiring has voltage in a mode."""
    live = ledger.known(supply.live)
    return bool(
        live == "always" or mode.engine == "running" or (live == "ignition" and mode.engine == "cranking")
    )


def alternator_limit(alternator: t.Alternator, ledger: Ledger) -> float:
    """What it gives hot, in ampere: a share of its nameplate."""
    rated = ledger.known(alternator.rated).quantity.si
    return float(rated * alternator.count * r.limit(ledger, "alternator-hot"))


# ---------------------------------------------------------------- panels


class Panel(Record):
    """A panel, or as many as its `count` says: a source of `open` volts behind `ohms` that gives at most `short` amps.

    The straight line runs through the open voltage and the point of most power (`at_peak`).
    """

    open: float
    at_peak: float
    short: float
    ohms: float

    def amps(self, volts: float) -> float:
        return min(self.short, max(0.0, (self.open - volts) / self.ohms))


def panel(solar: t.Solar, sun: float, ledger: Ledger) -> Panel | None:
    """The panel under an irradiance of `sun` × 1000 W/m², cells at 25 °C; None in the dark.

    Currents are in proportion to the irradiance, voltages are taken as constant. The power at the peak is the nameplate's, held down
    by the short-circuit current.
    """
    if sun <= 0:
        return None
    at_peak = ledger.known(solar.at_peak).quantity.si
    short = ledger.known(solar.short).quantity.si * sun
    peak = ledger.known(solar.peak).quantity.si * sun
    if min(at_peak, short, peak) <= 0:
        return None
    amps = min(peak / at_peak, short)
    row, side = (solar.count, 1) if solar.arrangement == "series" else (1, solar.count)
    opened = max(ledger.known(solar.open).quantity.si, at_peak * 1.001)
    return Panel(opened * row, at_peak * row, short * side, (opened - at_peak) * row / (amps * side))


def irradiance(mode: t.Mode) -> float:
    """The mode's sun as a share of 1000 W/m²; a share may be written as such."""
    if isinstance(mode.sun, str):
        return 1.0 if mode.sun == "full" else 0.0
    quantity = mode.sun.quantity
    return quantity.si if quantity.dimension == "ratio" else quantity.si / FULL_SUN


# ---------------------------------------------------------------- loads


class Draw(Record):
    """What a device takes: `kind` is constant_power (W), constant_current (A) or resistor (ohm)."""

    name: str
    device: t.Device
    pos: str
    neg: str
    kind: str
    value: float
    nominal_amps: float


_KINDS = {"power": "constant_power", "current": "constant_current", "resistance": "resistor"}


def draws(mode: t.Mode, ledger: Ledger) -> list[Draw]:
    """Everything that draws current in the mode, chargers and relay coils apart."""
    made: list[Draw] = []
    for on in {on.thing: on for on in mode.on}.values():
        if isinstance(on.thing, t.Load):
            made.append(_load_draw(on.thing, on.level, ledger))
        elif isinstance(on.thing, t.Inverter):
            made += _inverter_draws(on.thing, on.level, ledger)
    for device in ledger.installation.devices:
        if isinstance(device, t.Sensor) and isinstance(device.draws, Measure):
            made.append(
                _draw(
                    device.name, device, "constant_current", device.draws.quantity.si * device.count, ledger
                )
            )
    return made


def _draw(name: str, device: t.Device, kind: str, value: float, ledger: Ledger) -> Draw:
    volts = system_volts(ledger)
    amps = {"constant_power": value / volts, "constant_current": value}.get(
        kind, volts / value if value else 0.0
    )
    return Draw(name, device, node(device, "pos"), node(device, "neg"), kind, value, amps)


def _load_draw(load: t.Load, level: Measure | None, ledger: Ledger) -> Draw:
    """`draws`, scaled or replaced by the mode's level, times `count`. `duty` is for energy: while a load is on it draws in full."""
    share = 1.0
    if level is not None and level.quantity.dimension == "ratio":
        share, level = level.quantity.si, None
    draws = level if level is not None else ledger.known(load.draws)
    kind, value = _KINDS[draws.quantity.dimension], draws.quantity.si
    if kind == "resistor" and share * load.count > 0:
        return _draw(load.name, load, kind, value / (share * load.count), ledger)
    return _draw(
        load.name,
        load,
        "constant_current" if kind == "resistor" else kind,
        value * share * load.count,
        ledger,
    )


def _inverter_draws(inverter: t.Inverter, level: Measure | None, ledger: Ledger) -> list[Draw]:
    """The power taken from it over its efficiency, and its idle current."""
    found = []
    if level is not None:
        quantity = level.quantity
        watts = quantity.si
        if quantity.dimension == "ratio":
            watts = quantity.si * ledger.known(inverter.rated).quantity.si
        elif quantity.dimension == "current":
            watts = quantity.si * ledger.known(inverter.output).quantity.si
        watts /= max(0.01, r.stated(inverter.efficiency, ledger, "inverter-efficiency-unstated"))
        found.append(_draw(inverter.name, inverter, "constant_power", watts, ledger))
    if isinstance(inverter.idle, Measure):
        idle = inverter.idle.quantity.si * inverter.count
        found.append(_draw(f"{inverter.name} idle", inverter, "constant_current", idle, ledger))
    return found


def things_on(mode: t.Mode) -> Iterable[t.Device]:
    """What the mode switches on."""
    return (on.thing for on in mode.on)
