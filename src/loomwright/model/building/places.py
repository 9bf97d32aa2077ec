"""Places, structures and earthpoints."""

from __future__ import annotations

from loomwright.model.building.clauses import (
    Field,
    Written,
    as_word,
    one_of,
    optional,
    value,
    values,
    word_of,
    written,
)
from loomwright.model.building.register import Register, enter, find, terminal
from loomwright.model.things import Earthpoint, Place, Structure, Unknown
from loomwright.source import Span
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
    low, high = _usual(register, source, coolest, hottest)
    hazards = fields.pop("hazards")
    made = Place(
        source.name,
        source.span,
        source.own,
        coolest=coolest,
        hottest=hottest,
        usual_low=low,
        usual_high=high,
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


def _usual(
    register: Register, source: Written, coolest: Measure | Unknown, hottest: Measure | Unknown
) -> tuple[Measure | None, Measure | None]:
    """The coolest and the hottest of a usual day, which its ambient must bound; one ambient alone is only the hottest."""
    low, high = optional(source, "usually", "low"), optional(source, "usually", "high")
    if not isinstance(low, Measure) or not isinstance(high, Measure):
        return None, None
    if isinstance(hottest, Measure) and high.quantity.si > hottest.quantity.si:
        register.report(
            high.span,
            f"{source.name} is usually up to {high.quantity.text} warm, and its ambient says at most {hottest.quantity.text}",
            "ambient is the whole range that it ever has",
        )
    if isinstance(coolest, Measure) and coolest is not hottest and low.quantity.si < coolest.quantity.si:
        register.report(
            low.span,
            f"{source.name} is usually down to {low.quantity.text}, and its ambient says at least {coolest.quantity.text}",
            "ambient is the whole range that it ever has",
        )
    return low, high


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


def somewhere(span: Span) -> Place:
    """Where a device stands whose place is missing, which is told: its terminals are looked at all the same."""
    unseen = Unknown("where it stands", span)
    return Place(
        "somewhere",
        span,
        {},
        coolest=unseen,
        hottest=unseen,
        usual_low=None,
        usual_high=None,
        hazards=unseen,
        side=unseen,
        flexes=False,
        opening=None,
        volume=unseen,
        vents=unseen,
    )


def find_place(register: Register, part: object) -> Place | None:
    return find(register, part, Place, ("place",)) if isinstance(part, Word) else None
