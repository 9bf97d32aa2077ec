"""Facts of what stands on paper: the head of the spec, devices as they would be ordered, labels, colours, ends that go nowhere."""

from __future__ import annotations

from loomwright.facts.attribute import attributes
from loomwright.facts.registry import Ledger, fact
from loomwright.model import things as t

attributes(
    "fitout",
    ("stage", "word as-found|planned|installed", "What the spec describes.", lambda fitout: fitout.stage),
    ("system", "voltage", "The nominal voltage.", lambda fitout: fitout.system),
    ("drawn", "date", "When it was written down.", lambda fitout: fitout.drawn),
)


@fact("fitout", "modes", "things mode", "The ways of using the vehicle that are written down.")
def modes(_fitout: t.Fitout, ledger: Ledger) -> tuple[t.Mode, ...]:
    return ledger.installation.modes


@fact("fitout", "takers", "things device", "The loads and inverters, those of the vehicle's maker left out.")
def takers(_fitout: t.Fitout, ledger: Ledger) -> tuple[t.Device, ...]:
    takes = (t.Load, t.Inverter)
    return tuple(each for each in ledger.installation.devices if isinstance(each, takes) and not each.maker)


@fact("load", "never-on", "yes-no", "Whether modes are written down and none of them switches it on.")
def never_on(load: t.Load, ledger: Ledger) -> bool:
    used: frozenset[t.Device] = ledger.index(
        "things on", lambda: frozenset(on.thing for mode in ledger.installation.modes for on in mode.on)
    )
    return bool(ledger.installation.modes) and load not in used


attributes(
    "device",
    ("kind", "word", "What kind of device it is.", lambda device: device.kind),
    ("place", "thing place", "Where it is.", lambda device: device.place),
    ("maker", "yes-no", "Whether the vehicle's maker fitted it.", lambda device: device.maker),
    ("count", "count", "How many alike.", lambda device: device.count),
    ("order", "text", "The workshop's stock code.", lambda device: device.order),
)


# ---------------------------------------------------------------- what must be known to order a part

DECIDES: dict[str, tuple[str, ...]] = {
    "battery": ("chemistry", "capacity"),
    "charger": ("output_amps", "output_volts"),
    "solar": ("peak", "open"),
    "inverter": ("rated",),
    "hub": ("rated",),
    "busbar": ("rated",),
    "isolator": ("rated",),
    "switch": ("rated",),
    "relay": ("rated",),
    "plug": ("rated",),
    "load": ("draws",),
}


@fact(
    "device",
    "unspecified",
    "text",
    "What the spec of a job to be done leaves open that a part must be ordered by; an order code settles it.",
)
def unspecified(device: t.Device, ledger: Ledger) -> str | None:
    if device.maker or device.order or ledger.installation.fitout.stage == "as-found":
        return None
    values = [getattr(device, field) for field in DECIDES.get(device.kind, ())]
    return ", ".join(value.what for value in values if isinstance(value, t.Unknown)) or None


@fact("run", "unspecified", "yes-no", "Whether the spec of a job to be done leaves its cable open.")
def run_unspecified(run: t.Run, ledger: Ledger) -> bool:
    open_ = isinstance(run.cable, t.Unknown) and not run.auto_cable
    return open_ and not run.maker and not run.order and ledger.installation.fitout.stage != "as-found"


# ---------------------------------------------------------------- labels and colours


@fact(
    "run",
    "unlabelled",
    "yes-no",
    "Whether it has a fuse of its own and no label; a circuit from a hub is labelled by its way.",
)
def unlabelled(run: t.Run, ledger: Ledger) -> bool:
    """A fuse that nobody speaks of is asked for by the rules of protection, not here."""
    if run.role != "feed" or run.maker or run.label or "fuse" not in run.clauses:
        return False
    fuses = ledger.known(ledger.installation.fuses_of[run])
    return bool(fuses) and ledger.known(run.unread_label) is None


SPOKEN_FOR = {
    "green/yellow": "green/yellow is the protective earth of mains and nothing else",
    "yellow/green": "green/yellow is the protective earth of mains and nothing else",
    "orange": "orange marks high voltage in a vehicle",
    "yellow": "yellow marks airbag wiring in a vehicle",
}


def colour_clash(run: t.Run) -> str | t.Unknown | None:
    """The two legs of a circuit share a sheath, whose colour says nothing of either."""
    colour = colour_of(run)
    if isinstance(colour, t.Unknown):
        return colour
    if run.circuit is None and (run.role, colour) in (("earth", "red"), ("feed", "black")):
        return f"{colour} is the {'positive' if colour == 'red' else 'negative'}"
    return SPOKEN_FOR.get(colour or "")


def colour_of(run: t.Run) -> str | t.Unknown | None:
    """The colour of a run that is not the maker's; none where its cable is left to be sized."""
    if run.maker or run.auto_cable:
        return None
    if isinstance(run.cable, t.Unknown):
        return run.cable if "cable" in run.clauses else None
    return run.cable.colour


attributes(
    "run",
    ("colour-clash", "text", "What the colour of its insulation says that it is not.", colour_clash),
    (
        "green-yellow",
        "yes-no",
        "Whether it has the colours of the protective earth.",
        lambda run: colour_of(run) in ("green/yellow", "yellow/green"),
    ),
    ("is-feed", "yes-no", "Whether it is a positive conductor.", lambda run: run.role == "feed"),
)


# ---------------------------------------------------------------- ends that go nowhere

THROUGH: dict[str, dict[str, tuple[str, ...]]] = {
    "isolator": {"in": ("out",), "out": ("in",)},
    "switch": {"in": ("out",), "out": ("in",)},
    "shunt": {"in": ("out",), "out": ("in",)},
    "relay": {"in": ("out", "rest"), "out": ("in",), "rest": ("in",)},
}


@fact(
    "run",
    "dangles-at",
    "thing point",
    "The splice, busbar, switch or relay that it is brought to and that nothing leads on from; none where it arrives.",
)
def dangles_at(run: t.Run, ledger: Ledger) -> t.Point | None:
    return next(
        (point for point in (run.start, run.end) if not run.maker and _leads_nowhere(point, ledger)), None
    )


def _leads_nowhere(point: t.Point, ledger: Ledger) -> bool:
    if not isinstance(point, t.Terminal):
        return False
    device, landing = point.device, ledger.installation.landing_on
    if isinstance(device, (t.Splice, t.Busbar)):
        joined = ledger.installation.terminals_of[device]
        bonds = sum(structure.bonded in joined for structure in ledger.installation.structures)
        return bonds + sum(len(landing.get(each, ())) for each in joined) < 2
    beyond = THROUGH.get(device.kind, {}).get(point.label, ())
    others = [ledger.installation.terminals.get(f"{device.name}.{label}") for label in beyond]
    return bool(beyond) and not any(landing.get(other) for other in others if other)


# ---------------------------------------------------------------- the vehicle's own wiring

attributes(
    "supply",
    ("holds", "voltage", "The voltage there.", lambda supply: supply.holds),
    ("rated", "current", "The most that it is made for.", lambda supply: supply.rated),
    ("live", "word always|ignition|engine", "When it is live.", lambda supply: supply.live),
    (
        "taken-from",
        "word",
        "The circuit of the vehicle that it is a point of.",
        lambda supply: supply.taken_from,
    ),
)


@fact("supply", "tapped-by", "things run", "The added runs that take from it.")
def tapped_by(supply: t.Supply, ledger: Ledger) -> tuple[t.Run, ...]:
    terminals = ledger.installation.terminals_of[supply]
    ends = [end for each in terminals for end in ledger.installation.landing_on.get(each, ())]
    return tuple(dict.fromkeys(end.run for end in ends if not end.run.maker))
