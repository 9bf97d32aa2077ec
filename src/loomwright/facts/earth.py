"""Facts of the return side: structures, earth points, what an earth run must bear, and whether current gets back at all."""

from __future__ import annotations

from typing import Any

from loomwright.facts.attribute import attributes, gather
from loomwright.facts.live import Limit, freest
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.facts.returns import Burden, burdens
from loomwright.facts.terminal import lugs_among
from loomwright.facts.wiring import graph
from loomwright.model.things import (
    Alternator,
    Battery,
    Charger,
    Contact,
    Device,
    Earthpoint,
    End,
    Fuse,
    Hub,
    Inverter,
    Load,
    Plug,
    Point,
    Run,
    Sensor,
    Solar,
    Structure,
    Terminal,
)
from loomwright.quantity import show
from loomwright.stock import conductors

attributes(
    "structure",
    ("metal", "word steel|aluminium", "What it is made of.", lambda structure: structure.metal),
    (
        "bonded",
        "thing terminal",
        "The battery terminal that it is the return of.",
        lambda structure: structure.bonded,
    ),
    (
        "mount",
        "word bolted|welded|rubber",
        "How it is fixed to the vehicle.",
        lambda structure: structure.mount,
    ),
    (
        "resistance",
        "resistance",
        "The resistance between two points of it.",
        lambda structure: structure.resistance,
    ),
)

attributes(
    "earthpoint",
    ("structure", "thing structure", "The metal that it is on.", lambda earthpoint: earthpoint.structure),
    ("place", "thing place", "Where it is.", lambda earthpoint: earthpoint.place),
    ("thread", "word", "The thread of its stud.", lambda earthpoint: earthpoint.thread),
    (
        "surface",
        "word bare|painted|anodised",
        "The face that the lug sits on.",
        lambda earthpoint: earthpoint.surface,
    ),
    ("sealed", "yes-no", "Whether it is sealed against water.", lambda earthpoint: earthpoint.sealed),
    (
        "safety-bolt",
        "yes-no",
        "Whether its bolt holds a seat, a belt or an airbag as well.",
        lambda earthpoint: earthpoint.safety_bolt,
    ),
)


@fact(
    "structure",
    "island",
    "yes-no",
    "Whether no current can come back through it: not bonded, and joined to nothing that is.",
)
def island(structure: Structure, ledger: Ledger) -> bool:
    return graph(ledger).is_island(structure)


@fact("earthpoint", "ends", "things end", "The ends that land on it.")
def ends(earthpoint: Earthpoint, ledger: Ledger) -> tuple[End, ...]:
    return ledger.installation.landing_on.get(earthpoint, ())


@fact("earthpoint", "lugs", "count", "How many lugs sit on its stud.")
def lugs(earthpoint: Earthpoint, ledger: Ledger) -> int:
    return lugs_among(ledger, ledger.installation.landing_on.get(earthpoint, ()))


@fact("earthpoint", "maker", "yes-no", "Whether only the maker's own runs end on it.")
def maker(earthpoint: Earthpoint, ledger: Ledger) -> bool:
    return all(end.run.maker for end in ledger.installation.landing_on.get(earthpoint, ()))


# ---------------------------------------------------------------- earth runs


@fact("end", "structure", "thing structure", "The metal that it is fastened to, if any.")
def structure_under(end: End, _ledger: Ledger) -> Structure | None:
    return None if isinstance(end.point, Fuse) else _structure(end.point)


def _structure(point: Point) -> Structure | None:
    return (
        point.structure if isinstance(point, Earthpoint) else point if isinstance(point, Structure) else None
    )


@fact(
    "run",
    "fault-fuse",
    "current",
    "The largest fuse that can feed a fault into this earth, where it is the only way back; none where no fuse can.",
)
def fault_fuse(run: Run, ledger: Ledger) -> float | None:
    worst = _worst_fault(run, ledger)
    if worst is None:
        return None
    if worst.doubts and worst.amps > ledger.get(run, "carries"):
        raise Missing(*worst.doubts)  # a fuse that nobody has looked for may be smaller
    if worst.fuse:
        ledger.note(
            f"a fault behind the {worst.fuse.rating.text} fuse of {worst.fuse.name} comes back through it",
            span=worst.fuse.span,
        )
    return worst.amps


def _worst_fault(run: Run, ledger: Ledger) -> Limit | None:
    return freest(burden.fault for burden in burdens(run, ledger) if burden.fault)


@fact(
    "run",
    "served-area",
    "area",
    "The thickest feed whose current comes back through this earth alone; none where that is not one device's.",
)
def served_area(run: Run, ledger: Ledger) -> float | None:
    return max(gather(lambda feed: ledger.get(feed, "area"), served_feeds(run, ledger)), default=None)


def served_feeds(run: Run, ledger: Ledger) -> tuple[Run, ...]:
    """The feeds that an earth must be as thick as, in the order of the text."""
    served = {feed for burden in burdens(run, ledger) for feed in _served(burden, ledger)}
    grounded = ledger.get(run, "grounded-battery")
    served.update(_feeds(grounded, ledger) if grounded else ())
    return tuple(each for each in ledger.installation.runs if each in served)


@fact(
    "run",
    "grounded-battery",
    "thing battery",
    "The battery that has its earth on a structure through this run; none for one that is bonded to a structure anyway.",
)
def grounded_battery(run: Run, ledger: Ledger) -> Battery | None:
    bonded = {structure.bonded for structure in ledger.installation.structures}
    for one, other in ((run.start, run.end), (run.end, run.start)):
        if run.role == "earth" and _is_negative_post(one) and _structure(other) and one not in bonded:
            return one.device if isinstance(one, Terminal) and isinstance(one.device, Battery) else None
    return None


def _is_negative_post(point: Point) -> bool:
    return isinstance(point, Terminal) and isinstance(point.device, Battery) and point.label == "neg"


CONSUMERS = (Load, Charger, Inverter, Hub, Solar, Sensor)
"""Devices that take current in by their feeds and give it back by their negative."""


def _served(burden: Burden, ledger: Ledger) -> list[Run]:
    """The feeds of the device whose negative lies just beyond, or of the battery that is earthed to a structure."""
    beyond = ledger.installation.terminals.get(burden.beyond)
    if beyond is not None and isinstance(beyond.device, CONSUMERS) and beyond.label == "neg":
        return _feeds(beyond.device, ledger)
    return []


def _feeds(device: Device, ledger: Ledger) -> list[Run]:
    """The fitter's feeds that land on a device; of a hub only what comes in."""
    installation = ledger.installation
    terminals = (
        t for t in installation.terminals_of[device] if t.label == "in" or not isinstance(device, Hub)
    )
    landing = (end.run for terminal in terminals for end in installation.landing_on.get(terminal, ()))
    return [run for run in landing if run.role == "feed" and not run.maker]


@fact(
    "run",
    "too-small-for",
    "text",
    "In words, all that this earth is too small for; empty when it is large enough.",
)
def too_small_for(run: Run, ledger: Ledger) -> str:
    """What is not known is left out: it does not take away what is certain."""
    names = ("fault-fuse", "carries", "served-area", "area", "grounded-battery")
    fuse, carries, served, area, grounded = (_if_known(run, name, ledger) for name in names)
    told = []
    if fuse is not None and carries is not None and fuse > carries:
        worst = _worst_fault(run, ledger)
        where = f" of {worst.fuse.name}" if worst and worst.fuse else ""
        told.append(
            f"it carries {show(carries, 'current')}, and the {show(fuse, 'current')} fuse{where} can feed a fault into it"
        )
    if served is not None and area is not None and served > area * CLOSE:
        told.append(f"its feed has {show(served, 'area')}")
    least = ledger.limits["least-area-battery-earth"]
    if grounded and area is not None and least.value > area * CLOSE:
        told.append(f"a battery's earth has at least {least.text}")
    return "; ".join(told)


def _if_known(run: Run, name: str, ledger: Ledger) -> Any:
    entry = ledger.entry(run, name)
    return None if entry.missing else entry.value


CLOSE = 1 + 1e-9


@fact("run", "earth-size", "text", "The thinnest size of the same trade that this earth may be.")
def earth_size(run: Run, ledger: Ledger) -> str | None:
    fuse, served = ledger.get(run, "fault-fuse"), ledger.get(run, "served-area")
    least = ledger.limits["least-area-battery-earth"].value if ledger.get(run, "grounded-battery") else 0.0
    sizes = conductors.sizes(ledger.known(run.cable).size.kind)
    by_fuse = ledger.get(run, "carrying-size", fuse) if fuse else sizes[0].label
    carrying = [size.label for size in sizes].index(by_fuse) if by_fuse else len(sizes)
    thick = (size for size in sizes[carrying:] if size.area_mm2 * 1e-6 * CLOSE >= max(served or 0.0, least))
    return next((size.label for size in thick), None)


# ---------------------------------------------------------------- a monitor's shunt


@fact(
    "run",
    "bypassed-shunt",
    "thing shunt",
    "The shunt whose battery side this earth lands on, so that its current is not counted; none if it lands on none.",
)
def bypassed_shunt(run: Run, ledger: Ledger) -> Contact | None:
    if run.role != "earth":
        return None
    for here, there in ((run.start, run.end), (run.end, run.start)):
        if _is_negative_post(here) and not _is_shunt(there) and not _is_negative_post(there):
            found = _shunt_of(here, ledger)
            if found is not None:
                return found
    return None


@fact(
    "run",
    "bypassed-sensor",
    "thing battery",
    "The battery whose post-mounted current sensor this earth goes round; none if it goes round none.",
)
def bypassed_sensor(run: Run, _ledger: Ledger) -> Battery | None:
    posts = (
        point.device
        for point in (run.start, run.end)
        if isinstance(point, Terminal) and _is_negative_post(point)
    )
    sensed = (battery for battery in posts if isinstance(battery, Battery) and battery.post_sensor)
    return next(sensed, None) if run.role == "earth" else None


def _is_shunt(point: Point) -> bool:
    return isinstance(point, Terminal) and isinstance(point.device, Contact) and point.device.kind == "shunt"


def _shunt_of(post: Point, ledger: Ledger) -> Contact | None:
    """The shunt that an earth joins to a battery's negative post."""
    for end in ledger.installation.landing_on.get(post, ()):
        other = end.run.end if end.run.start is post else end.run.start
        if isinstance(other, Terminal) and _is_shunt(other):
            assert isinstance(other.device, Contact)
            return other.device
    return None


# ---------------------------------------------------------------- does it come back


@fact(
    "device",
    "no-way-back-to",
    "things device",
    "The sources that it takes current from and whose return that current cannot get back to; not asked of the maker's own.",
)
def no_way_back_to(device: Device, ledger: Ledger) -> tuple[Device, ...]:
    if device.maker:
        return ()
    wires = graph(ledger)
    fed = [fed for fed in wires.feeds_device(device) if wires.negative(fed.terminal) is not None]
    return tuple(dict.fromkeys(each.source.device for each in fed if wires.returns(each) is None))


@fact(
    "load", "returns-twice", "yes-no", "Whether its current goes back by a cable and by a structure at once."
)
def returns_twice(load: Load, ledger: Ledger) -> bool:
    installation = ledger.installation
    neg = installation.terminals.get(f"{load.name}.neg")
    earths = (
        [end.run for end in installation.landing_on.get(neg, ()) if end.run.role == "earth"] if neg else []
    )
    far = [run.end if run.start is neg else run.start for run in earths]
    return len({_structure(point) is not None for point in far}) > 1


# ---------------------------------------------------------------- what is joined wrongly


@fact(
    "isolator", "in-return", "thing run", "The earth run that it interrupts, if it sits on the negative side."
)
def in_return(isolator: Contact, ledger: Ledger) -> Run | None:
    landing = ledger.installation.landing_on
    ends = (end for t in ledger.installation.terminals_of[isolator] for end in landing.get(t, ()))
    return next((end.run for end in ends if end.run.role == "earth"), None)


_POLED = (Alternator, Battery, Charger, Hub, Inverter, Load, Sensor, Solar)
_POSITIVE = ("pos", "in", "out", "solar")


@fact(
    "run",
    "wrong-pole",
    "thing terminal",
    "The terminal of the other polarity that it lands on; none if it lands on none. Cells in series are joined so by design.",
)
def wrong_pole(run: Run, _ledger: Ledger) -> Terminal | None:
    ends = [point for point in (run.start, run.end) if isinstance(point, Terminal)]
    in_series = any(len([e for e in ends if isinstance(e.device, kind)]) == 2 for kind in (Battery, Solar))
    return None if in_series else next((end for end in ends if _is_wrong_pole(run, end)), None)


def _is_wrong_pole(run: Run, terminal: Terminal) -> bool:
    if not isinstance(terminal.device, _POLED):
        return False
    if run.role == "earth":
        return terminal.label in _POSITIVE or terminal.label.isdecimal()
    return run.role == "feed" and terminal.label == "neg"


@fact("plug", "mirrored", "words", "The contacts that have a feed on one half and an earth on the other.")
def mirrored(plug: Plug, ledger: Ledger) -> tuple[str, ...]:
    terminals = {terminal.label: terminal for terminal in ledger.installation.terminals_of[plug]}
    poles = [label.removesuffix("-a") for label in terminals if label.endswith("-a")]
    roles = {
        label: {end.run.role == "earth" for end in ledger.installation.landing_on.get(terminal, ())}
        for label, terminal in terminals.items()
    }
    return tuple(pole for pole in poles if {*roles[f"{pole}-a"], *roles[f"{pole}-b"]} == {True, False})


@fact(
    "device",
    "shorted-by",
    "things run",
    "The conductors that join its positive to its own return, if any do.",
)
def shorted_by(device: Device, ledger: Ledger) -> tuple[Run, ...]:
    short = next((each for each in graph(ledger).short_circuits() if each.source.device is device), None)
    return short.runs if short else ()
