"""Facts of inverters, and of where mains begins: a boundary that is told and never designed."""

from __future__ import annotations

from loomwright.facts import lines
from loomwright.facts.attribute import attributes
from loomwright.facts.registry import Ledger, fact
from loomwright.model import things as t
from loomwright.syntax.tree import Measure

EXTRA_LOW_VOLTS = 50.0
"""Alternating voltage up to which a circuit is extra-low voltage (IEC 61140, from memory)."""

attributes(
    "inverter",
    ("rated", "power", "What it gives for long.", lambda inverter: inverter.rated),
    ("idle", "current", "What it takes with nothing plugged in.", lambda inverter: inverter.idle),
    ("output", "voltage", "The voltage that it makes.", lambda inverter: inverter.output),
)


@fact("inverter", "efficiency", "ratio", "What comes out for what goes in; assumed where it is not stated.")
def efficiency(inverter: t.Inverter, ledger: Ledger) -> float:
    if "efficiency" not in inverter.clauses:
        return float(ledger.limit("inverter-efficiency-unstated"))
    share: float = ledger.known(inverter.efficiency, "efficiency").quantity.si
    return share


@fact(
    "inverter",
    "full-current",
    "current",
    "What it takes at its rated power from a battery that is nearly empty: P / (η V).",
)
def full_current(inverter: t.Inverter, ledger: Ledger) -> float:
    volts = ledger.limit("inverter-volts") * ledger.installation.fitout.system.quantity.si / 12
    watts = ledger.known(inverter.rated, "rated").quantity.si * inverter.count
    return float(watts / (ledger.get(inverter, "efficiency") * volts))


@fact(
    "inverter",
    "batteries",
    "things battery",
    "The batteries that feed it: the house batteries on its line, or without one all.",
)
def batteries(inverter: t.Inverter, ledger: Ledger) -> tuple[t.Battery, ...]:
    found = lines.on_line(ledger, lines.terminal(ledger, inverter, "pos"), t.Battery, "pos")
    return tuple(each for each in found if each.serves == "house") or found


@fact("inverter", "supply-limit", "current", "What its batteries together may give for long.")
def supply_limit(inverter: t.Inverter, ledger: Ledger) -> float:
    return float(sum(ledger.get(battery, "discharge-limit") for battery in ledger.get(inverter, "batteries")))


@fact(
    "inverter",
    "switchable",
    "yes-no",
    "Whether it can be switched off: a wire on `remote`, or a switch, isolator or relay in its feed.",
)
def switchable(inverter: t.Inverter, ledger: Ledger) -> bool:
    remote = ledger.installation.terminals.get(f"{inverter.name}.remote")
    if remote and ledger.installation.landing_on.get(remote):
        return True
    opened = lines.spread(
        ledger,
        lines.terminal(ledger, inverter, "pos"),
        lambda link: not isinstance(link.by, (t.Contact, t.Relay)),
    )
    return not any(f"{battery.name}.pos" in opened for battery in ledger.get(inverter, "batteries"))


# ---------------------------------------------------------------- the boundary to mains


@fact("device", "mains", "text", "What of it belongs to the mains side, and so to a licensed electrician.")
def mains(device: t.Device, ledger: Ledger) -> str | None:
    if isinstance(device, t.Inverter):
        return _inverter_output(device)
    if isinstance(device, t.Charger) and _from_mains(device, ledger):
        return "its mains supply"
    if (
        isinstance(device, t.Supply)
        and isinstance(device.holds, Measure)
        and device.holds.quantity.si > EXTRA_LOW_VOLTS
    ):
        return f"the {device.holds.text} at {device.name}.pos"
    return None


def _inverter_output(inverter: t.Inverter) -> str | None:
    """An inverter whose output nobody has stated makes mains: that is what inverters are for."""
    output = inverter.output
    if not isinstance(output, Measure):
        return "its mains output"
    return f"its {output.text} output" if output.quantity.si > EXTRA_LOW_VOLTS else None


def _from_mains(charger: t.Charger, ledger: Ledger) -> bool:
    """A run lands on `mains`; or some mode has mains on, and nothing else could feed the charger."""
    landed = {label for label in ("in", "solar", "mains") if _lands(charger, label, ledger)}
    return "mains" in landed or (not landed and any(mode.mains for mode in ledger.installation.modes))


def _lands(device: t.Device, label: str, ledger: Ledger) -> bool:
    found = ledger.installation.terminals.get(f"{device.name}.{label}")
    return bool(found and ledger.installation.landing_on.get(found))


def run_mains(run: t.Run) -> bool:
    return any(_is_mains(point) for point in (run.start, run.end))


attributes(
    "run",
    (
        "mains",
        "yes-no",
        "Whether it carries mains: it ends on a charger's `mains`, an inverter's output or a mains supply.",
        run_mains,
    ),
)


def _is_mains(point: t.Point) -> bool:
    if not isinstance(point, t.Terminal):
        return False
    device = point.device
    if isinstance(device, t.Charger):
        return point.label == "mains"
    if isinstance(device, t.Inverter):
        return point.label not in ("pos", "neg", "remote") and _inverter_output(device) is not None
    volts = device.holds if isinstance(device, t.Supply) else None
    return isinstance(volts, Measure) and volts.quantity.si > EXTRA_LOW_VOLTS


@fact("run", "sleeved-with", "things run", "The runs of the low-voltage side that share its loom or sheath.")
def sleeved_with(run: t.Run, ledger: Ledger) -> tuple[t.Run, ...]:
    def together(other: t.Run) -> bool:
        return (run.loom is not None and other.loom is run.loom) or (
            run.multicore is not None and other.multicore is run.multicore
        )

    return tuple(
        other
        for other in ledger.installation.runs
        if other is not run and together(other) and not run_mains(other)
    )
