"""Facts of what drives current in a mode: batteries, alternators, supplies, chargers, panels, and inverters that take it on."""

from __future__ import annotations

from loomwright.facts.electrics import sources as s
from loomwright.facts.electrics.asking import METHOD, source_amps, state_of, volts_at, volts_between
from loomwright.facts.electrics.wiring import node, wiring
from loomwright.facts.registry import Ledger, fact
from loomwright.model import things as t

IN_MODE = ("thing mode",)


def _pole_volts(device: t.Device, ledger: Ledger, mode: t.Mode) -> float:
    return volts_between(device, "pos", "neg", mode, ledger)


for _kind in ("battery", "alternator", "solar", "inverter", "sensor"):
    fact(_kind, "volts", "voltage", "The voltage at its terminals in a mode.", source=METHOD, takes=IN_MODE)(
        _pole_volts
    )


def _given_amps(device: t.Device, ledger: Ledger, mode: t.Mode) -> float:
    return source_amps(device.name, mode, ledger)


for _kind in ("alternator", "supply", "solar"):
    fact(_kind, "amps", "current", "The current that it gives in a mode.", source=METHOD, takes=IN_MODE)(
        _given_amps
    )


@fact(
    "battery",
    "amps",
    "current",
    "The current that it gives in a mode; negative while it is charged.",
    source=METHOD,
    takes=IN_MODE,
)
def battery_amps(battery: t.Battery, ledger: Ledger, mode: t.Mode) -> float:
    charge = s.charge_of(battery, mode)
    chemistry = ledger.known(battery.chemistry)
    ledger.note(
        f"{chemistry} at {charge:.0%}: {s.open_volts(battery, charge, ledger, wiring(ledger)):.4g} V at rest",
        "stocked table",
    )
    return source_amps(battery.name, mode, ledger)


@fact(
    "battery",
    "discharging-current",
    "current",
    "The current drawn from it in a mode.",
    source=METHOD,
    takes=IN_MODE,
)
def discharging_current(battery: t.Battery, ledger: Ledger, mode: t.Mode) -> float:
    return max(0.0, float(ledger.get(battery, "amps", mode)))


@fact(
    "battery",
    "charging-current",
    "current",
    "The current that charges it in a mode.",
    source=METHOD,
    takes=IN_MODE,
)
def charging_current(battery: t.Battery, ledger: Ledger, mode: t.Mode) -> float:
    return max(0.0, -float(ledger.get(battery, "amps", mode)))


@fact(
    "battery",
    "full",
    "yes-no",
    "Whether the mode has it full: it then takes next to no charge.",
    takes=IN_MODE,
)
def full(battery: t.Battery, _: Ledger, mode: t.Mode) -> bool:
    return s.charge_of(battery, mode) >= s.FULL


@fact(
    "alternator",
    "delivers",
    "current",
    "The most that it gives in a mode, hot; nothing while the engine stands.",
    source="nameplate × limit alternator-hot",
    takes=IN_MODE,
)
def delivers(alternator: t.Alternator, ledger: Ledger, mode: t.Mode) -> float:
    if mode.engine != "running":
        return 0.0
    ledger.known(alternator.rated, "rated")
    ledger.limit("alternator-hot")
    return s.alternator_limit(alternator, ledger)


@fact(
    "supply",
    "volts",
    "voltage",
    "The voltage between it and the vehicle's return in a mode.",
    source=METHOD,
    takes=IN_MODE,
)
def supply_volts(supply: t.Supply, ledger: Ledger, mode: t.Mode) -> float:
    home = wiring(ledger).vehicle_return
    return volts_at(node(supply, "pos"), supply.span, mode, ledger) - volts_at(
        home, supply.span, mode, ledger
    )


# ---------------------------------------------------------------- chargers


@fact(
    "charger",
    "works",
    "yes-no",
    "Whether it takes current from its input in a mode: started, not stopped, above its cut-out.",
    source=METHOD,
    takes=IN_MODE,
)
def works(charger: t.Charger, ledger: Ledger, mode: t.Mode) -> bool:
    return charger.name in state_of(mode, ledger).working


@fact(
    "charger",
    "hunts",
    "yes-no",
    "Whether it would start and stop without end: it starts unloaded, and its own current pulls its input under its stop.",
    source=METHOD,
    takes=IN_MODE,
)
def hunts(charger: t.Charger, ledger: Ledger, mode: t.Mode) -> bool:
    return charger.name in state_of(mode, ledger).unsteady


@fact(
    "charger",
    "input-volts",
    "voltage",
    "The voltage at its input in a mode, under its own current if it starts at all.",
    source=METHOD,
    takes=IN_MODE,
)
def input_volts(charger: t.Charger, ledger: Ledger, mode: t.Mode) -> float:
    state = state_of(mode, ledger)
    if charger.name in state.unsteady and charger.name in state.input_volts:
        return state.input_volts[charger.name]
    return volts_between(charger, "in", "neg", mode, ledger)


@fact(
    "charger",
    "input-amps",
    "current",
    "The current into its input in a mode.",
    source="output power less the sun's, over efficiency",
    takes=IN_MODE,
)
def input_amps(charger: t.Charger, ledger: Ledger, mode: t.Mode) -> float:
    return source_amps(f"{charger.name} in", mode, ledger)


@fact("charger", "amps", "current", "The current that it gives in a mode.", source=METHOD, takes=IN_MODE)
def output_amps(charger: t.Charger, ledger: Ledger, mode: t.Mode) -> float:
    return source_amps(f"{charger.name} out", mode, ledger)


@fact("charger", "volts", "voltage", "The voltage at its output in a mode.", source=METHOD, takes=IN_MODE)
def output_volts(charger: t.Charger, ledger: Ledger, mode: t.Mode) -> float:
    return volts_between(charger, "out", "neg", mode, ledger)


@fact(
    "charger",
    "solar-amps",
    "current",
    "The current into its solar input in a mode.",
    source=METHOD,
    takes=IN_MODE,
)
def solar_amps(charger: t.Charger, ledger: Ledger, mode: t.Mode) -> float:
    return source_amps(f"{charger.name} solar", mode, ledger)


@fact("relay", "is-closed", "yes-no", "Whether it is closed in a mode.", source=METHOD, takes=IN_MODE)
def is_closed(relay: t.Relay, ledger: Ledger, mode: t.Mode) -> bool:
    return relay.name in state_of(mode, ledger).closed


@fact(
    "relay",
    "hunts",
    "yes-no",
    "Whether it would open and close without end in a mode.",
    source=METHOD,
    takes=IN_MODE,
)
def relay_hunts(relay: t.Relay, ledger: Ledger, mode: t.Mode) -> bool:
    return relay.name in state_of(mode, ledger).unsteady


@fact(
    "inverter",
    "input-current",
    "current",
    "What it draws from its battery in a mode, its idle current included.",
    source="watts taken over efficiency, plus idle",
    takes=IN_MODE,
)
def inverter_current(inverter: t.Inverter, ledger: Ledger, mode: t.Mode) -> float:
    state = state_of(mode, ledger)
    return state.amps.get(inverter.name, 0.0) + state.amps.get(f"{inverter.name} idle", 0.0)
