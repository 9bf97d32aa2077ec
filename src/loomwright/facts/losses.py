"""Facts of what wiring leaves of the volts: for a battery that is charged, for a load, above a cut-out."""

from __future__ import annotations

from loomwright.facts.attribute import gather, known_all
from loomwright.facts.electrics.sources import charge_of
from loomwright.facts.registry import Ledger, fact
from loomwright.facts.wiring import graph
from loomwright.model import things as t
from loomwright.model.links import Fed, runs_of
from loomwright.quantity import show
from loomwright.stock import batteries


@fact(
    "battery", "charge-line", "things device", "What charges it through wiring that is not all the maker's."
)
def charge_line(battery: t.Battery, ledger: Ledger) -> tuple[t.Device, ...]:
    return tuple(one.source.device for one in _charging(battery, ledger))


def _charging(battery: t.Battery, ledger: Ledger) -> list[Fed]:
    charging = [one for one in graph(ledger).feeds_device(battery) if one.charging]
    return [
        one
        for one in charging
        if isinstance(one.source.device, CHARGING) and any(not run.maker for run in runs_of(one.path))
    ]


CHARGING = (t.Alternator, t.Charger, t.Supply)


@fact(
    "battery",
    "charge-line-loss",
    "voltage",
    "The most that is lost between what charges it in a mode and its own terminals, out and back.",
    takes=("thing mode",),
)
def charge_line_loss(battery: t.Battery, ledger: Ledger, mode: t.Mode) -> float:
    lines = _charging(battery, ledger)
    gather(lambda one: _must_know(one, ledger), lines)
    if not ledger.get(battery, "charging-current", mode):
        return 0.0
    own = ledger.get(battery, "volts", mode)
    giving = [one.source.device for one in lines if ledger.get(one.source.device, "amps", mode) > 0.0]
    return max((float(ledger.get(one, "volts", mode) - own) for one in giving), default=0.0)


def _must_know(line: Fed, ledger: Ledger) -> None:
    """Raises Missing where a cable or a relay of a charging line is unknown: without it no current would seem to flow."""
    back = graph(ledger).returns(line)
    gather(lambda run: ledger.get(run, "resistance"), (*runs_of(line.path), *(back.runs if back else ())))
    relays = [hop.link.by for hop in line.path if isinstance(hop.link.by, t.Relay)]
    known_all(ledger, [value for relay in relays for value in (relay.closes, relay.opens)])


@fact(
    "load",
    "volts-half-full",
    "voltage",
    "The voltage at its terminals in a mode, were its battery at the charge that cut-outs are judged at.",
    source="its volts in the mode, and the rest voltages of the battery's chemistry",
    takes=("thing mode",),
)
def volts_half_full(load: t.Load, ledger: Ledger, mode: t.Mode) -> float:
    volts: float = ledger.get(load, "volts", mode)
    battery = ledger.get(load, "fed-by", mode)
    if not isinstance(battery, t.Battery):
        return volts
    chemistry, now = ledger.known(battery.chemistry), charge_of(battery, mode)
    judged, at_rest = (
        batteries.open_circuit_volts(chemistry, charge).value
        for charge in (ledger.limit("cut-out-charge"), now)
    )
    blocks = round(ledger.installation.fitout.system.quantity.si / 12)
    return volts + (judged - at_rest) * max(1, blocks)


@fact(
    "device",
    "cut-out",
    "voltage",
    "The voltage below which a load or a charger stops; none where none is written.",
)
def cut_out(device: t.Device, ledger: Ledger) -> float | None:
    if not isinstance(device, (t.Load, t.Charger)) or "cuts-out" not in device.clauses:
        return None
    volts = ledger.known(device.cuts_out, "cuts-out")
    return volts.quantity.si if volts else None


@fact(
    "device",
    "wants-volts",
    "yes-no",
    "Whether a load is on in a mode, or a charger works or hunts.",
    takes=("thing mode",),
)
def wants_volts(device: t.Device, ledger: Ledger, mode: t.Mode) -> bool:
    if isinstance(device, t.Charger):
        return any(ledger.get(device, name, mode) for name in ("works", "hunts"))
    on: bool = isinstance(device, t.Load) and ledger.get(device, "runs", mode)
    return on


@fact(
    "device",
    "volts-to-spare",
    "voltage",
    "What a load with its battery half full, or a charger at its input, gets above its cut-out in a mode.",
    takes=("thing mode",),
)
def volts_to_spare(device: t.Device, ledger: Ledger, mode: t.Mode) -> float:
    name = "input-volts" if isinstance(device, t.Charger) else "volts-half-full"
    return float(ledger.get(device, name, mode) - ledger.get(device, "cut-out"))


@fact(
    "load",
    "shortfall",
    "text",
    "In words what the way to it costs it in a mode, out and back.",
    takes=("thing mode",),
)
def shortfall(load: t.Load, ledger: Ledger, mode: t.Mode) -> str:
    if ledger.get(load, "starved", mode):
        return "can't be given its power at any voltage"
    lost, volts = ledger.get(load, "drop", mode), ledger.get(load, "volts", mode)
    return f"gets {show(volts, 'voltage')}, {show(lost, 'ratio')} of the system's volts being lost on the way out and back"


@fact(
    "run",
    "demand",
    "current",
    "The current through the run in a mode, and what loads would draw that it leaves without an operating point.",
    takes=("thing mode",),
)
def demand(run: t.Run, ledger: Ledger, mode: t.Mode) -> float:
    amps: float = ledger.get(run, "current", mode)
    if ledger.get(mode, "has-operating-point"):
        return amps
    starved = [load for load in ledger.get(run, "loads") if ledger.get(load, "starved", mode)]
    return amps + float(sum(gather(lambda load: ledger.get(load, "nominal-current"), starved)))


@fact(
    "load",
    "worst-run",
    "thing run",
    "Of the runs on the way to it and back the one that loses most in a mode; the first of its circuit's legs for both.",
    takes=("thing mode",),
)
def worst_run(load: t.Load, ledger: Ledger, mode: t.Mode) -> t.Run | None:
    wiring = graph(ledger)
    lost: dict[str, tuple[float, t.Run]] = {}
    for fed in wiring.feeds_device(load):
        back = wiring.returns(fed)
        for run in (*runs_of(fed.path), *(back.runs if back else ())):
            before, first = lost.get(run.name, (0.0, run))
            lost[run.name] = before + ledger.get(run, "drop", mode), first
    worst = max(lost.values(), key=lambda pair: pair[0], default=None)
    return worst[1] if worst else None
