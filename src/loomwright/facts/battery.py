"""Facts of batteries: what they are, where they stand, what they take and give."""

from __future__ import annotations

from loomwright.facts import lines
from loomwright.facts.attribute import attributes
from loomwright.facts.place import hazards_of
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.model import things as t
from loomwright.model.links import Link
from loomwright.stock import batteries as stock
from loomwright.syntax.tree import Measure

LEAD = frozenset(("lead-acid", "agm", "gel"))
SPARKING = (t.Charger, t.Inverter, t.Hub, t.Relay, t.Plug)
CHEMISTRY = "word lead-acid|agm|gel|lifepo4"

attributes(
    "battery",
    ("chemistry", CHEMISTRY, "What its cells are.", lambda battery: battery.chemistry),
    ("capacity", "charge", "What it holds.", lambda battery: battery.capacity),
    (
        "serves",
        "word cranking|house",
        "Whether it cranks the engine or feeds the house.",
        lambda battery: battery.serves,
    ),
    ("held-down", "yes-no", "Whether a clamp or strap holds it.", lambda battery: battery.held_down),
    (
        "charges-from",
        "temperature",
        "The temperature below which its own protection stops its charge (`charges-from`).",
        lambda battery: battery.charges_from,
    ),
    ("bought", "date", "When it was bought.", lambda battery: battery.bought),
)


# ---------------------------------------------------------------- what it takes and gives


def left_out(battery: t.Battery, clause: str) -> bool:
    """Whether a clause doesn't stand at all, as against one that says that nobody knows."""
    return clause not in battery.clauses


def usual(battery: t.Battery, value: Measure | t.Unknown | None, clause: str) -> bool:
    """Whether what is usual for the chemistry stands in for a figure of the label."""
    return value is None or (isinstance(value, t.Unknown) and left_out(battery, clause))


@fact(
    "battery",
    "charge-limit",
    "current",
    "The most that it may be charged with: its label's figure, else what is usual for its chemistry.",
)
def charge_limit(battery: t.Battery, ledger: Ledger) -> float:
    if not usual(battery, battery.charge, "charge"):
        stated: float = ledger.known(battery.charge, "charge").quantity.si
        return stated * battery.count
    chemistry = ledger.known(battery.chemistry)
    found = stock.charge_amps(chemistry, ledger.known(battery.capacity, "capacity").quantity.si / 3600)
    ledger.note(f"{found.value:g} A usual for {chemistry}", f"{found.source}, {found.mark}")
    return found.value * battery.count


@fact("battery", "charge-assumed", "text", "What a message must add where the label gives no charge current.")
def charge_assumed(battery: t.Battery, ledger: Ledger) -> str:
    assumed = usual(battery, battery.charge, "charge")
    return f" (usual for {ledger.get(battery, 'chemistry')}; its own limit is not stated)" if assumed else ""


@fact(
    "battery",
    "discharge-limit",
    "current",
    "The most that it may give for long: its label's figure, else for lead-acid what is usual.",
)
def discharge_limit(battery: t.Battery, ledger: Ledger) -> float:
    """A lithium battery's protection switches off at a figure that only its label knows."""
    if not ledger.get(battery, "discharge-assumed"):
        stated: float = ledger.known(battery.discharge, "discharge").quantity.si
        return stated * battery.count
    hours: float = ledger.limit("lead-acid-discharge-time")
    return float(ledger.get(battery, "capacity")) * battery.count / hours


@fact(
    "battery",
    "discharge-assumed",
    "yes-no",
    "Whether the discharge limit is what is usual for lead-acid, the label giving none.",
)
def discharge_assumed(battery: t.Battery, ledger: Ledger) -> bool:
    if not usual(battery, battery.discharge, "discharge"):
        return False
    if ledger.get(battery, "chemistry") not in LEAD:
        raise Missing(
            t.Unknown(f"the greatest discharge current of {battery.name}", battery.place_of("discharge"))
        )
    return True


@fact(
    "battery",
    "usable",
    "charge",
    "What may be used of it when it has aged: without its reserve, or the share usual for its chemistry.",
)
def usable(battery: t.Battery, ledger: Ledger) -> float:
    if usual(battery, battery.reserve, "reserve"):
        lead = ledger.get(battery, "chemistry") in LEAD
        share = ledger.limit("usable-lead-acid" if lead else "usable-lithium")
    else:
        share = 1 - ledger.known(battery.reserve, "reserve").quantity.si
    return float(
        float(ledger.get(battery, "capacity")) * battery.count * share * ledger.limit("battery-ageing")
    )


# ---------------------------------------------------------------- where it stands


@fact("battery", "vent-area", "area", "The free area that the vents of its box need, top and bottom: 28 cm² for each m³/h of air, at least the code's figure.",
      source="IEC 62485-3 (Q = 0.05 n I C / 100) and NEC 552.10(D)")  # fmt: skip
def vent_area(battery: t.Battery, ledger: Ledger) -> float:
    """With a gassing current of 1 A per 100 Ah (valve-regulated) or 2 A (vented), 6 cells for each 12 V. In m²."""
    amps = 1.0 if ledger.get(battery, "valve-regulated") else 2.0
    cells = 6 * max(1, round(ledger.installation.fitout.system.quantity.si / 12))
    hours = 3600
    air = 0.05 * cells * amps * float(ledger.get(battery, "capacity")) * battery.count / hours / 100
    ledger.note(f"air {air:.3g} m³/h for {amps:g} A of gassing per 100 Ah", "IEC 62485-3, from memory")
    return float(max(28e-4 * air, ledger.limit("vent-area")))


@fact(
    "battery",
    "valve-regulated",
    "yes-no",
    "Whether it gasses only when overcharged: agm, gel, and lead-acid that is said to be sealed.",
)
def valve_regulated(battery: t.Battery, ledger: Ledger) -> bool:
    return ledger.get(battery, "chemistry") != "lead-acid" or battery.sealed is True


def among_people(battery: t.Battery) -> bool:
    return battery.place.side == "habitable" or "occupants" in hazards_of(battery.place)


def can_spark(device: t.Device) -> bool:
    return isinstance(device, SPARKING) or device.kind in ("isolator", "switch")


attributes(
    "battery",
    ("among-people", "yes-no", "Whether it stands where people ride or stay.", among_people),
    ("outside", "yes-no", "Whether it stands in the open.", lambda battery: battery.place.side == "outside"),
)
attributes(
    "device",
    (
        "sparks",
        "yes-no",
        "Whether it can spark: batteries, chargers, inverters, contacts, plugs, fuses in a hub.",
        lambda device: can_spark(device) or isinstance(device, (t.Battery, t.Alternator)),
    ),
)


@fact(
    "battery",
    "boxed",
    "yes-no",
    "Whether its gas can gather: in a place with a volume or vents, or where people stay; vented cells anywhere but outside.",
)
def boxed(battery: t.Battery, ledger: Ledger) -> bool:
    """Of vented cells somewhere that nothing is said of, the vents must be looked at."""
    place = battery.place
    if {"volume", "vents"} & set(place.clauses) or place.side == "habitable":
        return True
    if place.side == "outside" or ledger.get(battery, "valve-regulated"):
        return False
    ledger.known(place.vents)
    return True


@fact(
    "battery",
    "sparks-beside",
    "things device",
    "What can spark in the same place: chargers, inverters, hubs, plugs, relays, switches.",
)
def sparks_beside(battery: t.Battery, ledger: Ledger) -> tuple[t.Device, ...]:
    devices = ledger.installation.devices
    return tuple(device for device in devices if device.place is battery.place and can_spark(device))


@fact(
    "battery",
    "charge-hottest",
    "temperature",
    "The highest temperature at which its chemistry may be charged.",
)
def charge_hottest(battery: t.Battery, ledger: Ledger) -> float:
    if ledger.get(battery, "chemistry") in ("lifepo4", "gel"):
        return float(ledger.limit("battery-charge-hottest"))
    found = stock.charge_celsius(ledger.get(battery, "chemistry"))
    ledger.note(f"{found.low:g} to {found.high:g} °C", f"{found.source}, {found.mark}")
    return found.high


@fact(
    "battery",
    "stops-its-charge",
    "yes-no",
    "Whether its own protection stops a charge outside its limits: lifepo4 that states `charges-from`.",
)
def stops_its_charge(battery: t.Battery, ledger: Ledger) -> bool:
    return ledger.get(battery, "chemistry") == "lifepo4" and ledger.get(battery, "charges-from") is not None


# ---------------------------------------------------------------- cut off from what it feeds


@fact("battery", "uncut", "things device", "What it feeds with no isolator or plug between.")
def uncut(battery: t.Battery, ledger: Ledger) -> tuple[t.Device, ...]:
    return tuple(
        device for device in lines.taking(ledger, _before_isolators(battery, ledger)) if not device.maker
    )


@fact(
    "battery",
    "isolator-distance",
    "length",
    "The longest way from its terminal to an isolator that cuts it off; none without one.",
)
def isolator_distance(battery: t.Battery, ledger: Ledger) -> float | None:
    reached = _before_isolators(battery, ledger)
    found = []
    for isolator in ledger.installation.devices:
        near = [node for label in ("in", "out") if (node := f"{isolator.name}.{label}") in reached]
        if isolator.kind == "isolator" and near:
            runs = [link.by for link in lines.way_to(reached, near[0]) if isinstance(link.by, t.Run)]
            found.append(sum(ledger.get(run, "length") for run in runs))
    return max(found, default=None)


def _before_isolators(battery: t.Battery, ledger: Ledger) -> lines.Reached:
    """What its current reaches with every isolator open, not through another battery's terminal."""
    others = {
        f"{d.name}.pos" for d in ledger.installation.devices if isinstance(d, t.Battery) and d is not battery
    }
    return lines.spread(ledger, lines.terminal(ledger, battery, "pos"), _not_cut, others)


def _not_cut(link: Link) -> bool:
    by = link.by
    return not (isinstance(by, t.Plug) or (isinstance(by, t.Contact) and by.kind == "isolator"))


# ---------------------------------------------------------------- a cranking battery that accessories flatten


@fact(
    "battery",
    "drained-by",
    "things load",
    "The loads that take from it with the engine off and nothing that stops them: no relay between, no cut-out of their own.",
)
def drained_by(battery: t.Battery, ledger: Ledger) -> tuple[t.Load, ...]:
    """A load that no mode has on while the engine is off does no harm. What is certain is told; else what is unknown."""
    reached = lines.spread(
        ledger, lines.terminal(ledger, battery, "pos"), lambda link: not isinstance(link.by, t.Relay)
    )
    loads = [d for d in lines.taking(ledger, reached) if isinstance(d, t.Load) and not d.maker]
    loads = [load for load in loads if _works_at_rest(load, ledger)]
    least = ledger.get(battery, "starter-cut-out")
    certain = [load for load in loads if not _asks_first(load) and not _spares(load, least)]
    unsure = [load.cuts_out for load in loads if isinstance(load.cuts_out, t.Unknown) and _asks_first(load)]
    if not certain and unsure:
        raise Missing(*unsure)
    return tuple(certain)


@fact(
    "battery",
    "starter-cut-out",
    "voltage",
    "The least cut-out of what hangs on it with the engine off, for the system's volts.",
)
def starter_cut_out(_battery: t.Battery, ledger: Ledger) -> float:
    return float(ledger.limit("starter-cut-out")) * ledger.installation.fitout.system.quantity.si / 12


def _works_at_rest(load: t.Load, ledger: Ledger) -> bool:
    modes = ledger.installation.modes
    return not modes or any(on.thing is load for mode in modes if mode.engine == "off" for on in mode.on)


def _asks_first(load: t.Load) -> bool:
    return isinstance(load.cuts_out, t.Unknown) and "cuts-out" in load.clauses


def _spares(load: t.Load, least: float) -> bool:
    return isinstance(load.cuts_out, Measure) and load.cuts_out.quantity.si >= least


# ---------------------------------------------------------------- standing draws


@fact(
    "battery",
    "standby",
    "current",
    "What takes from it always, with nothing switched on: sensors, the loads' `standby`, inverters that nothing switches off.",
)
def standby(battery: t.Battery, ledger: Ledger) -> float:
    takers = lines.taking(ledger, _before_isolators(battery, ledger))
    return sum(_standing(device, ledger) for device in takers)


def _standing(device: t.Device, ledger: Ledger) -> float:
    amps: Measure | None = None
    if isinstance(device, t.Sensor):
        amps = ledger.known(device.draws, f"{device.name} draws")
    elif isinstance(device, t.Inverter) and not ledger.get(device, "switchable"):
        amps = ledger.known(device.idle, f"{device.name} idle")
    elif isinstance(device, t.Load):
        amps = ledger.known(device.standby, f"{device.name} standby")
    return amps.quantity.si * device.count if amps else 0.0
