"""Small words that several sheets share: names for people, quantities, counts, rows."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import cache
from typing import Any

from loomwright.facts.registry import Ledger, answer
from loomwright.model import things as t
from loomwright.quantity import show
from loomwright.rulebook.wording import called

NOT_KNOWN = "not known"


@cache
def data(name: str) -> dict[str, Any]:
    """One file of `data/`, read once."""
    import os.path
    import tomllib

    with open(os.path.join(os.path.dirname(__file__), "data", f"{name}.toml"), "rb") as file:
        return tomllib.load(file)


known = answer


def shown(value: float | None, unit: str) -> str:
    """A value held in SI, in print; what is not known says so."""
    return NOT_KNOWN if value is None else show(value, unit)


def said(value: Any) -> str:
    """A field of the model as its writer wrote its quantity or word; `none` and `not known` where it has neither."""
    if isinstance(value, t.Unknown):
        return NOT_KNOWN
    if value is None:
        return "none"
    quantity = getattr(value, "quantity", None)
    return str(quantity.text if quantity is not None else value)


def place_name(place: t.Place | str) -> str:
    """A place as people say it: `engine bay`."""
    return (place if isinstance(place, str) else place.name).replace("-", " ")


def places_met(stretches: Iterable[t.Stretch] | t.Unknown) -> str:
    """The places of a path, each once, with spaces between: what rows and steps are filtered by."""
    met = () if isinstance(stretches, t.Unknown) else stretches
    return " ".join(distinct(stretch.place.name for stretch in met))


def point_name(point: t.Point | t.Fuse) -> str:
    """What an end sits on: a terminal, earth point or structure by its name, a fuse by its run."""
    return called(point)


def place_of(point: t.Point | t.Fuse) -> t.Place | None:
    """Where a point is; None for a structure, and for a fuse whose place is not told."""
    if isinstance(point, t.Terminal):
        return point.device.place
    return None if isinstance(point, t.Structure) else point.place


def measured_from(fuse: t.Fuse) -> str:
    """The end of its run that a fuse's distance is written from."""
    run, at, along = fuse.run, fuse.at, fuse.from_start_m
    if run is None or at is None:
        return ""
    from_start = isinstance(along, float) and abs(along - at.quantity.si) < 1e-9
    return point_name(run.start if from_start else run.end)


def fuse_name(fuse: t.Fuse) -> str:
    """Which fuse it is: `way 2 of ways`, `the fuse of main, 0.15 m from crank.pos`."""
    if fuse.way:
        return f"way {fuse.way.number} of {fuse.way.hub.name}"
    where = f", {said(fuse.at)} from {measured_from(fuse)}" if fuse.at else ""
    return f"the fuse of {fuse.name}{where}"


def listed(names: Iterable[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    row = list(names)
    return " and ".join(filter(None, (", ".join(row[:-1]), row[-1]))) if row else "none"


def counted(count: int, noun: str, plural: str = "") -> str:
    """`1 fuse`, `3 fuses`, `no fuses`."""
    words = noun if count == 1 else plural or f"{noun}s"
    return f"{count or 'no'} {words}"


def sentence(text: str) -> str:
    """Text with a capital first letter and a full stop."""
    text = ended(text)
    return text and f"{text[0].upper()}{text[1:]}"


def spoken(text: str, installation: t.Installation) -> str:
    """A text of a finding as a paper says it: units as they are printed, and a capital letter where it begins with no name."""
    text = re.sub(r"(?<=\d )mm2\b", "mm²", text.strip()).replace(" degC", " °C")
    first = text.split(" ", 1)[0].rstrip(",:;.")
    return ended(text) if first in installation.named or first in installation.terminals else sentence(text)


def ended(text: str) -> str:
    """Text with a full stop; it may begin with a name, which keeps its small letter."""
    text = text.strip()
    return text and f"{text}{'' if text[-1] in '.!?' else '.'}"


def distinct(texts: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(text for text in texts if text))


def at_level(on: t.On) -> str:
    """What a mode switches on, with how far where it says so: `lamps at 50 %`."""
    return f"{on.thing.name} at {on.level.quantity.text}" if on.level else on.thing.name


def worst_mode(ledger: Ledger, thing: Any, fact: str) -> tuple[t.Mode, float] | None:
    """The mode in which a fact of a thing is greatest, with its value there; None where no mode tells."""
    modes: Sequence[t.Mode] = ledger.installation.modes
    values = [
        (mode, value) for mode in modes if isinstance(value := known(ledger, thing, fact, mode), (int, float))
    ]
    return max(values, key=lambda pair: pair[1]) if values else None


DEVICE_WORDS = {
    "battery": "battery", "alternator": "alternator", "supply": "point of the vehicle's wiring", "charger": "charger",
    "solar": "solar panel", "inverter": "inverter", "hub": "fuse hub", "busbar": "busbar", "isolator": "isolator",
    "switch": "switch", "relay": "relay", "plug": "plug", "shunt": "shunt", "splice": "splice", "load": "load",
    "sensor": "sensor",
}  # fmt: skip
CHEMISTRIES = {"lead-acid": "lead-acid", "agm": "AGM", "gel": "gel", "lifepo4": "LiFePO4"}


def of_vehicle(device: t.Device) -> bool:
    """Whether it came with the vehicle: fitted by its maker, or what starts and charges it."""
    if isinstance(device, t.Battery):
        return device.maker or device.serves == "cranking"
    return device.maker or isinstance(device, (t.Alternator, t.Supply))


def describe(device: t.Device) -> str:
    """What it is, with the figures that it is bought by: `LiFePO4 battery 120 Ah`."""
    word = DEVICE_WORDS[device.kind]
    figures = _figures(device)
    alike = f"{device.count} × " if device.count > 1 else ""
    return f"{alike}{word}{' ' + figures if figures else ''}"


def _figures(device: t.Device) -> str:
    match device:
        case t.Battery():
            chemistry = "" if isinstance(device.chemistry, t.Unknown) else CHEMISTRIES[device.chemistry]
            return ", ".join(filter(None, (chemistry, _figure(device.capacity))))
        case t.Charger():
            return _pairs(("in", device.input), ("out", device.output_amps), ("at", device.output_volts))
        case t.Solar():
            return _figure(device.peak)
        case (
            t.Inverter()
            | t.Alternator()
            | t.Hub()
            | t.Busbar()
            | t.Contact()
            | t.Relay()
            | t.Plug()
            | t.Supply()
        ):
            return _figure(device.rated)
        case t.Load():
            return _figure(device.draws)
    return ""


def _figure(value: Any) -> str:
    return "" if value is None or isinstance(value, t.Unknown) else said(value)


def _pairs(*pairs: tuple[str, Any]) -> str:
    return ", ".join(
        f"{_figure(value)} {word}" if word != "at" else f"{_figure(value)}"
        for word, value in pairs
        if _figure(value)
    )
