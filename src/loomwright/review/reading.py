"""From the model to plain data: every field of every thing, under the words that the trade has for it."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from loomwright.model import things as t
from loomwright.record import values_of
from loomwright.review.items import (
    NONE,
    NOT_KNOWN,
    Data,
    Fields,
    Key,
    Named,
    Value,
    amount,
    keyed,
    listed,
)
from loomwright.syntax.tree import Measure, Size

# Fields of the model that say nothing by themselves, or that are told together with others below.
APART = {"name", "span", "clauses", "kind", "threads", "terminal_names", "start_span", "end_span", "rule_span",
         "coolest", "hottest", "usual_low", "usual_high", "count"}  # fmt: skip
WORDS = {"place": "in", "drawn_by": "drawn by", "output_amps": "output", "output_volts": "output voltage"}
SIDES = {
    "start": "end at start",
    "end": "end at far side",
    "fuse-in": "end into fuse",
    "fuse-out": "end out of fuse",
}


def data_of(installation: t.Installation) -> Data:
    """All that a spec says, as plain data."""
    return keyed(_rows(installation))


def key_of(thing: t.Thing) -> Key:
    """Kind and name of a thing."""
    if isinstance(thing, t.Device):
        return thing.kind, thing.name
    if isinstance(thing, t.Run):
        return ("circuit" if thing.circuit else thing.role), thing.name
    return type(thing).__name__.lower(), thing.name


def _rows(of: t.Installation) -> Iterator[tuple[Key, Fields]]:
    yield ("fitout", ""), {"title": (of.fitout.name,), **_plain(of.fitout), **_notes(of.fitout, of)}
    things: Iterable[t.Thing] = (
        *of.places,
        *of.structures,
        *of.earthpoints,
        *of.looms,
        *of.multicores,
        *of.days,
    )
    for thing in things:
        yield key_of(thing), {**_plain(thing), **_notes(thing, of)}
    for device in of.devices:
        yield key_of(device), {**_plain(device), **_device(device, of), **_notes(device, of)}
    for run in of.runs:
        if run.circuit is None or of.legs_of[run.circuit][0] is run:
            yield key_of(run), {**_run(run, of), **_notes(run, of)}
    for mode in of.modes:
        yield key_of(mode), {**_plain(mode), **_notes(mode, of)}
    if of.site:
        yield ("site", ""), _plain(of.site)
    for concession in of.concessions:
        yield key_of(concession), {**_plain(concession), "on": _by_name(concession.name, of)}
    for readings in of.readings:
        yield key_of(readings), _readings(readings)


# ---------------------------------------------------------------- any thing


def _plain(thing: t.Thing) -> dict[str, Value]:
    """The fields of a thing, but for what is not stated at all."""
    found = {}
    for name, value in values_of(thing).items():
        if name not in APART and value not in (None, False, ()):
            found[WORDS.get(name, name.replace("_", " "))] = value_of(value)
    if isinstance(thing, t.Place):
        warmest = () if thing.coolest == thing.hottest else ("to", *value_of(thing.hottest))
        found["ambient"] = (*value_of(thing.coolest), *warmest)
        if thing.usual_low and thing.usual_high:
            found["usually"] = (*value_of(thing.usual_low), "to", *value_of(thing.usual_high))
    if isinstance(thing, t.Device) and thing.count > 1:
        found["count"] = value_of(thing.count)
    return found


def value_of(value: Any) -> Value:
    """A field of the model as a value."""
    match value:
        case None:
            return NONE
        case bool():
            return ("yes",) if value else ("no",)
        case t.Unknown():
            return NOT_KNOWN
        case Measure():
            return (amount(value.quantity.si, value.quantity.dimension, value.quantity.text),)
        case Size():
            return (_size(value),)
        case t.Terminal() | t.Thing() | t.On():
            return _named(value)
        case datetime.date():
            return (value.isoformat(),)
        case t.DutyAt():
            return (*value_of(value.share), "at", *value_of(value.celsius))
        case t.Clearance():
            return listed([(*value_of(value.distance), "to", value.hazard)])
        case frozenset():
            return listed((word,) for word in sorted(value))
        case tuple():
            return listed(map(_member, value))
    return (str(value),)


def _named(thing: Any) -> Value:
    if isinstance(thing, t.On):
        return (*_named(thing.thing), *(value_of(thing.level) if thing.level else ()))
    if isinstance(thing, t.Terminal):
        return (Named(thing.device.kind, thing.device.name, f".{thing.label}" if thing.label else ""),)
    return (Named(*key_of(thing)),)


def _member(each: Any) -> Value:
    """One of several: a value, or what belongs together (a mode and its hours)."""
    return (
        tuple(atom for part in each for atom in value_of(part)) if isinstance(each, tuple) else value_of(each)
    )


def _size(size: Size) -> str:
    """`16 mm²`, `8 B&S`, `2/0 AWG`, `6 mm auto`."""
    unit = {"area": "mm²", "bs": "B&S", "awg": "AWG", "auto": "mm auto"}[size.kind]
    return f"{size.number} {unit}"


def _notes(thing: t.Thing, of: t.Installation) -> dict[str, Value]:
    notes = of.notes.get(thing.name, ())
    return {"note": listed(((note,) for note in notes), ";")} if notes else {}


def _by_name(name: str, of: t.Installation) -> Value:
    """A name as it stands in a concession: of a thing, of a terminal or of a way."""
    whole, dot, rest = name.partition(".")
    thing = of.named.get(whole)
    if thing is None:
        return (name,)
    kind, own = key_of(thing)
    return (Named(kind, own, f"{dot}{rest}"),)


def _readings(readings: t.Readings) -> Fields:
    rows = {
        f"{reading.what} {number}": (*listed(_named(each) for each in reading.of), *value_of(reading.value))
        for number, reading in enumerate(readings.readings, 1)
    }
    head: dict[str, Value] = {
        "taken": (readings.taken.isoformat(),),
        "in mode": _named(readings.mode),
        "by": (readings.by,),
    }
    return {**head, **rows}


# ---------------------------------------------------------------- devices


def _device(device: t.Device, of: t.Installation) -> dict[str, Value]:
    found: dict[str, Value] = {}
    for terminal, thread in device.threads.items():
        found[f"stud {terminal}".strip()] = (thread,)
    if "terminals" in device.clauses:
        found["terminals"] = listed((name,) for name in sorted(device.terminal_names))
    for way in of.ways_of.get(device, ()) if isinstance(device, t.Hub) else ():
        found[f"way {way.number}"] = (
            *_protection(of.fuse_of_way[way]),
            *((way.control,) if way.control else ()),
        )
    return found


def _protection(fuse: t.Fuse | t.Unknown | None) -> Value:
    return (fuse.kind, *value_of(fuse.rating)) if isinstance(fuse, t.Fuse) else value_of(fuse)


# ---------------------------------------------------------------- runs


def _run(run: t.Run, of: t.Installation) -> Fields:
    legs: tuple[t.Run, ...] = of.legs_of[run.circuit] if run.circuit else (run,)
    found: dict[str, Value] = {"from": _named(run.start)}
    found["to"] = _named(run.circuit.load) if run.circuit else _named(run.end)
    if run.circuit:
        found["return"] = _named(legs[-1].end)
    found |= {
        "cable": cable_words(run),
        "along": _along(of.stretches_of[run]),
        "fuse": _row(of.fuses_of[run], _fuse),
    }
    if of.joints_of[run] != ():
        found["joint"] = _row(of.joints_of[run], _joint)
    for label in ("sleeve", "clips", "slack"):
        if told := _by_place(of.stretches_of[run], label):
            found[label] = told
    if unlike := _unlike(run.conductor):
        found["conductor"] = unlike
    ends: dict[str, Value] = {}
    for number, leg in enumerate(legs):
        ends |= _ends(of.ends_of[leg], "return " if number else "", of)
    alike = run.circuit is not None and len(set(ends.values())) == 1
    found |= {"ends": next(iter(ends.values()))} if alike else ends
    for label in (
        "clearances",
        "diameter",
        "bend",
        "label",
        "loom",
        "multicore",
        "core",
        "order",
        "maker",
        "auto_cable",
        "auto_fuse",
    ):
        value = getattr(run, label)
        if value not in (None, False, ()) and not (label == "bend" and isinstance(value, t.Unknown)):
            found[label.removesuffix("s").replace("_", " ")] = value_of(value)
    return found


def cable_words(run: t.Run) -> Value:
    """A cable as it is bought: cores, size, tinned, colour, class."""
    cable = run.cable
    if isinstance(cable, t.Unknown):
        return NOT_KNOWN
    words = (
        "twin" if cable.twin else "",
        _size(cable.size),
        "tinned" if cable.tinned else "",
        cable.colour or "",
    )
    return (*(word for word in words if word), *(value_of(cable.insulation) if cable.insulation else ()))


def _unlike(made: t.Conductor) -> Value:
    """A conductor that is not what a workshop fits; nothing where it is, or nobody has looked."""
    words = [word for word in (made.strands, made.metal, made.use) if isinstance(word, str)]
    return () if set(words) <= set(t.AS_MADE.values()) else tuple(words)


def _row(parts: Sequence[Any] | t.Unknown, told: Any) -> Value:
    return NOT_KNOWN if isinstance(parts, t.Unknown) else listed(map(told, parts), ";")


def _along(stretches: Sequence[t.Stretch] | t.Unknown) -> Value:
    if isinstance(stretches, t.Unknown):
        return NOT_KNOWN
    return listed(
        (*_named(each.place), *(value_of(each.length) if each.length else ())) for each in stretches
    )


def _fuse(fuse: t.Fuse) -> Value:
    where: Value = ()
    if isinstance(fuse.from_start_m, float):
        where = ("at", amount(fuse.from_start_m, "length"))
    elif fuse.at:
        where = ("at", *value_of(fuse.at))
    inside: Value = ("in", *_named(fuse.place)) if fuse.place else ()
    return (fuse.kind, *value_of(fuse.rating), *where, *inside)


def _joint(joint: t.Joint) -> Value:
    return ("at", *value_of(joint.at), *value_of(joint.made), *value_of(joint.cover))


def _by_place(stretches: Sequence[t.Stretch] | t.Unknown, label: str) -> Value | None:
    """What holds along the path: once where it is the same all along, else by place; None where nothing is said of it."""
    if isinstance(stretches, t.Unknown):
        return None
    rows = [(getattr(each, label), each.place) for each in stretches if each.length]
    places: dict[Value, list[t.Place]] = {}
    for value, place in rows:
        if label != "slack" or value is not None:
            places.setdefault(value_of(value), []).append(place)
    if len(places) == 1 and label != "slack":
        return next(iter(places))
    told = [(*value, "in", *listed(_named(place) for place in there)) for value, there in places.items()]
    return listed(told, ";") if told else None


def _ends(ends: Sequence[t.End], leg: str, of: t.Installation) -> dict[str, Value]:
    found: dict[str, Value] = {}
    for end in ends:
        label = f"{leg}{SIDES[end.side]}"
        number = sum(1 for other in found if other.partition(" of fuse ")[0] == label)
        found[f"{label} of fuse {number + 1}" if number else label] = _end(end, of)
    return found


def _end(end: t.End, of: t.Installation) -> Value:
    lug: Value = ()
    if end.fitting == "lug":
        size = (_size(end.lug_size),) if isinstance(end.lug_size, Size) else value_of(end.lug_size)
        lug = (*size, *value_of(end.lug_thread))
    shared = ("with", *_by_name(end.shares_with, of)) if end.shares_with else ()
    row = [
        (*value_of(end.fitting), *lug, *shared),
        value_of(end.made),
        value_of(end.cover),
        value_of(end.held),
        ("clip", *value_of(end.clip)) if isinstance(end.clip, Measure) else NOT_KNOWN,
        (end.entry,) if isinstance(end.entry, str) else NOT_KNOWN,
    ]
    known = [value for value in row if value != NOT_KNOWN]
    return listed(known) if known else NOT_KNOWN
