"""What kinds of value a fact can have, and which kinds a thing belongs to.

A type is one of: a dimension of `quantity` ("current", "length", …), "ratio", "count", "yes-no", "word", "words", "text",
"date", `thing KIND` or `things KIND`. Quantities are held in SI, temperatures in °C.
"""

from __future__ import annotations

from loomwright.model import things as t

# Each class of the model, with the kinds that rules may call it by: its own first, wider ones after. A "connection" is wherever
# conductors are joined to something: an end, a joint, a splice.
KINDS: dict[type, tuple[str, ...]] = {
    t.Place: ("place",),
    t.Structure: ("structure",),
    t.Earthpoint: ("earthpoint",),
    t.Battery: ("battery", "device"),
    t.Alternator: ("alternator", "device"),
    t.Supply: ("supply", "device"),
    t.Charger: ("charger", "device"),
    t.Solar: ("solar", "device"),
    t.Inverter: ("inverter", "device"),
    t.Hub: ("hub", "device"),
    t.Busbar: ("busbar", "device"),
    t.Relay: ("relay", "device"),
    t.Plug: ("plug", "device"),
    t.Splice: ("splice", "device", "connection"),
    t.Load: ("load", "device"),
    t.Sensor: ("sensor", "device"),
    t.Way: ("way",),
    t.Terminal: ("terminal",),
    t.Loom: ("loom",),
    t.Multicore: ("multicore",),
    t.Circuit: ("circuit",),
    t.Stretch: ("stretch",),
    t.Fuse: ("fuse",),
    t.End: ("end", "connection"),
    t.Joint: ("joint", "connection"),
    t.Lug: ("lug",),
    t.Mode: ("mode",),
    t.Day: ("day",),
    t.Site: ("site",),
    t.Concession: ("concession",),
    t.Fitout: ("fitout",),
    t.Readings: ("readings",),
}

# Kinds that one class shares, told apart by a field: isolator, switch, shunt; feed, earth, signal.
CONTACTS = ("isolator", "switch", "shunt")
ROLES = ("feed", "earth", "signal")

KIND_NAMES: frozenset[str] = frozenset(
    [kind for kinds in KINDS.values() for kind in kinds] + [*CONTACTS, *ROLES, "run", "point"]
)

# "point" is whatever a run may end on.
WIDER: dict[str, tuple[str, ...]] = {
    **{kinds[0]: kinds for kinds in KINDS.values()},
    **{kind: (kind, "device") for kind in CONTACTS},
    **{role: (role, "run") for role in ROLES},
    "terminal": ("terminal", "point"),
    "earthpoint": ("earthpoint", "point"),
    "structure": ("structure", "point"),
}


_OF_CLASS: dict[type, tuple[str, ...]] = {of: WIDER[kinds[0]] for of, kinds in KINDS.items()}


def kinds_of(thing: object) -> tuple[str, ...]:
    """All kinds a thing belongs to, its own first: ("battery", "device")."""
    kinds = _OF_CLASS.get(type(thing))
    if kinds is not None:
        return kinds
    if isinstance(thing, t.Run):
        return WIDER[thing.role]
    if isinstance(thing, t.Contact):
        return WIDER[thing.kind]
    raise KeyError(type(thing))


def is_thing(value: object) -> bool:
    return isinstance(value, (t.Run, t.Contact)) or type(value) in KINDS


def name_of(thing: object) -> str:
    """The name by which findings call a thing."""
    name = getattr(thing, "name", "")
    return str(name)
