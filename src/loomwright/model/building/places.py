"""Places, structures and earthpoints."""

from __future__ import annotations

from loomwright.model.building.clauses import (
    Field,
    Written,
    as_word,
    one_of,
    value,
    values,
    word_of,
    written,
)
from loomwright.model.building.register import Register, enter, find, terminal
from loomwright.model.things import Earthpoint, Place, Structure, Unknown
from loomwright.syntax.tree import Measure, Statement, Word

PLACE = (
    Field("hazards", "hazards", "what can harm a cable in {}", part="values", nothing=True, left_out=None),
    Field("opening", "opening", "how the edge of the hole {} is guarded", nothing=True, left_out=None),
    Field("volume", "volume", "the volume of {}"),
    Field("vents", "vents", "the free area of the vents of {}", nothing=True),
)
STRUCTURE = (
    Field("metal", "metal", "the metal of {}"),
    Field("mount", "mount", "how {} is mounted"),
    Field("resistance", "resistance", "the resistance of {}"),
)
EARTHPOINT = (
    Field("thread", "stud", "the stud of {}", part="thread"),
    Field("surface", "surface", "the surface under {}"),
)


def place(register: Register, statement: Statement) -> None:
    source = written(statement)
    coolest, hottest = _ambient(register, source)
    fields = values(register, source, PLACE)
    hazards = fields.pop("hazards")
    made = Place(
        source.name,
        source.span,
        source.own,
        coolest=coolest,
        hottest=hottest,
        hazards=hazards if isinstance(hazards, Unknown) else frozenset(hazards or ()),
        flexes=source.has("flexes"),
        side=one_of(source, ("inside", "outside", "habitable"), "whether {} is inside or outside"),
        **fields,
    )
    enter(register, statement, made)


def _ambient(register: Register, source: Written) -> tuple[Measure | Unknown, Measure | Unknown]:
    """The lowest and the highest ambient temperature; one figure alone is both."""
    clause = source.first("ambient")
    if clause and isinstance(low := clause.parts.get("low"), Measure):
        high = clause.parts.get("high")
        return low, high if isinstance(high, Measure) else low
    same = value(register, source, Field("", "ambient", "the ambient temperature of {}"))
    return same, same


def structure(register: Register, statement: Statement) -> None:
    source = written(statement)
    clause = source.first("bonded")
    bonded = None
    if clause and not word_of(clause):
        bonded = terminal(register, as_word(clause.parts["value"]))
    made = Structure(
        source.name, source.span, source.own, bonded=bonded, **values(register, source, STRUCTURE)
    )
    enter(register, statement, made)


def earthpoint(register: Register, statement: Statement) -> None:
    source = written(statement)
    on = find(register, as_word(statement.head["structure"]), Structure, ("structure",))
    inside = find_place(register, statement.head["place"])
    if on is None or inside is None:
        return
    made = Earthpoint(
        source.name,
        source.span,
        source.own,
        structure=on,
        place=inside,
        sealed=source.has("sealed"),
        safety_bolt=source.has("safety-bolt"),
        **values(register, source, EARTHPOINT),
    )
    enter(register, statement, made)


def find_place(register: Register, part: object) -> Place | None:
    return find(register, part, Place, ("place",)) if isinstance(part, Word) else None
