"""Frozen kinds of things that are cheap to declare.

The modules of a check declare some hundred and forty kinds. The standard library's `dataclass` makes every one of them
twice and compiles up to six functions for it while its module is imported, which was a fifth of the time of a small
check. Here a kind is made once, with slots, and only its `__init__` is compiled, when the first of the kind is made.

    class Span(Record):
        path: str
        line: int = 1

A `Record` is its values: equal and hashed by them. An `Entity` is itself, and equal to nothing else. Neither can be changed;
`replace` makes another one. The names of the fields, those of its bases first, are in `__match_args__`. A default that is
to be made anew each time is written `made(factory=list)`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from operator import attrgetter
from typing import Any, NoReturn, TypeVar, dataclass_transform

T = TypeVar("T")
R = TypeVar("R", bound="Entity")


class _Made:
    """A default that a call makes."""

    __slots__ = ("make",)

    def __init__(self, make: Callable[[], Any]) -> None:
        self.make = make


def made(*, factory: Callable[[], T]) -> T:
    """A field's default: what the factory gives, anew for each one that is made."""
    return _Made(factory)  # type: ignore[return-value]  # to the type checker it is what it makes


@dataclass_transform(frozen_default=True, field_specifiers=(made,))
class _Kind(type):
    """Makes a class of its annotations: slots for its own fields, the names of all, and an `__init__` to be compiled."""

    __match_args__: tuple[str, ...]
    _defaults: Mapping[str, Any]
    _values: Callable[[object], tuple[Any, ...]]

    def __new__(kind, name: str, bases: tuple[type, ...], namespace: dict[str, Any]) -> _Kind:
        inherited = next((base for base in bases if isinstance(base, _Kind)), None)
        own = tuple(namespace.get("__annotations__", ()))
        names = (*inherited.__match_args__, *own) if inherited else own
        defaults = dict(inherited._defaults) if inherited else {}
        defaults.update({field: namespace.pop(field) for field in own if field in namespace})
        namespace |= {
            "__slots__": own,
            "__match_args__": names,
            "__init__": _init_of_the_first,
            "_defaults": defaults,
            "_values": _getter(names),
        }
        return super().__new__(kind, name, bases, namespace)


def _getter(names: tuple[str, ...]) -> Callable[[object], tuple[Any, ...]]:
    """What gives the values of all fields."""
    if len(names) > 1:
        return attrgetter(*names)
    return lambda one: tuple(getattr(one, name) for name in names)


def _init_of_the_first(self: Any, *values: Any, **named: Any) -> None:
    """Compiles the `__init__` of the kind, which then takes this one's place."""
    kind = type(self)
    known: dict[str, Any] = {"made": _Made}
    heads, lines = ["self"], []
    for name in kind.__match_args__:
        known[f"set_{name}"] = getattr(kind, name).__set__
        value = name
        if name in kind._defaults:
            default = known[f"default_{name}"] = kind._defaults[name]
            if isinstance(default, _Made):
                value = f"default_{name}.make() if {name} is default_{name} else {name}"
            heads.append(f"{name}=default_{name}")
        else:
            heads.append(name)
        lines.append(f"    set_{name}(self, {value})\n")
    text = f"def __init__({', '.join(heads)}):\n{''.join(lines) or '    pass'}"
    exec(text, known)  # nothing but the names of fields goes in
    kind.__init__ = known["__init__"]
    self.__init__(*values, **named)


class Entity(metaclass=_Kind):
    """Frozen, and equal to itself only."""

    def __setattr__(self, name: str, value: object) -> NoReturn:
        raise AttributeError(f"{type(self).__name__}.{name} can't be changed")

    def __delattr__(self, name: str) -> NoReturn:
        raise AttributeError(f"{type(self).__name__}.{name} can't be taken away")

    def __repr__(self) -> str:
        values = ", ".join(f"{name}={value!r}" for name, value in values_of(self).items())
        return f"{type(self).__qualname__}({values})"

    def __reduce__(self) -> tuple[type[Entity], tuple[Any, ...]]:
        return type(self), type(self)._values(self)


class Record(Entity):
    """Frozen, and equal to whatever is of its kind and has its values."""

    def __eq__(self, other: object) -> bool:
        if other.__class__ is not self.__class__:
            return NotImplemented
        values = type(self)._values
        return values(self) == values(other)

    def __hash__(self) -> int:
        return hash(type(self)._values(self))


def values_of(entity: Entity) -> Mapping[str, Any]:
    """The values by field, in the order of declaration."""
    return dict(zip(type(entity).__match_args__, type(entity)._values(entity), strict=True))


def replace(entity: R, **changes: Any) -> R:
    """Another one with other values; `TypeError` for a field that it doesn't have."""
    return type(entity)(**{**values_of(entity), **changes})
