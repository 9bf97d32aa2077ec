"""What a run takes over: its own clauses over those of its multicore, its loom and its file's practice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from loomwright.model.building.clauses import Written, as_size, plain, word_of
from loomwright.model.building.register import Register
from loomwright.model.things import AS_MADE, Cable, Conductor, Unknown
from loomwright.source import Span
from loomwright.syntax.tree import Clause, Measure


def first(layers: Sequence[Written], keyword: str) -> Clause | None:
    """The clause of the nearest layer that has it."""
    return next((clause for layer in layers if (clause := layer.first(keyword))), None)


def nearest_all(layers: Sequence[Written], keyword: str) -> tuple[Clause, ...]:
    """All clauses of a keyword in the nearest layer that has any: they replace those beneath."""
    return next((found for layer in layers if (found := layer.all(keyword))), ())


def everywhere(layers: Sequence[Written], keyword: str) -> Iterator[Clause]:
    for layer in layers:
        yield from layer.all(keyword)


def in_place(register: Register, layers: Sequence[Written], keyword: str, place: str, says: str) -> Any:
    """`sleeve` or `clips` as they stand at one place of a run: a clause for that place, else one for the whole run."""
    for layer in layers:
        clauses = layer.all(keyword)
        here = [clause for clause in clauses if plain(clause.parts.get("in")) == place]
        whole_run = [clause for clause in clauses if "in" not in clause.parts]
        for clause in here or whole_run:
            missing = word_of(clause)
            return (
                Unknown(says, clause.span)
                if missing == "unknown"
                else None
                if missing
                else plain(clause.parts["value"])
            )
    return Unknown(says, layers[0].span) if register.as_found else None


def cable(clause: Clause | None, name: str, span: Span) -> Cable | Unknown:
    """The conductor of a `cable` clause; Unknown when it was left out, is unknown or is still to be sized (`auto`)."""
    size = as_size(clause.parts.get("size")) if clause else None
    if clause is None or size is None:
        return Unknown(f"the cable size of {name}", clause.span if clause else span)
    colour, insulation = clause.parts.get("colour"), clause.parts.get("class")
    return Cable(
        size,
        twin="twin" in clause.parts,
        tinned="tinned" in clause.parts,
        colour=plain(colour),
        insulation=insulation if isinstance(insulation, Measure) else None,
        span=clause.span,
    )


def conductor(register: Register, layers: Sequence[Written]) -> Conductor:
    """What the `conductor` clauses of all layers say together, the nearest word of each kind; one `unknown` hides all beneath it."""
    said: dict[str, Any] = {}
    doubted = None
    for clause in (clause for layer in layers if (clause := layer.first("conductor"))):
        if word_of(clause):
            doubted = Unknown(f"what the cable of {layers[0].name} is made of", clause.span)
            break
        said = {kind: plain(part) for kind, part in clause.parts.items()} | said
    left_out = doubted or (
        register.unwritten("what the cables are made of: strands, metal, what for", layers[0].span)
        if register.as_found
        else None
    )
    words = {kind: said.get(kind) or left_out or usual for kind, usual in AS_MADE.items()}
    return Conductor(doubted=doubted if "metal" not in said else None, **words)


def measured(register: Register, layers: Sequence[Written], keyword: str, says: str) -> Any:
    """A length that only the nearest layer with that clause gives: None where it is `none` or a plan leaves it out."""
    clause = first(layers, keyword)
    if clause is None:
        return register.unwritten(says, layers[0].span) if register.as_found else None
    if missing := word_of(clause):
        return Unknown(f"the {keyword} of {layers[0].name}", clause.span) if missing == "unknown" else None
    return plain(clause.parts["value"])


def is_auto(clause: Clause | None) -> bool:
    """Whether a cable or fuse is left to be sized."""
    if clause is None:
        return False
    return any(plain(clause.parts.get(part)) == "auto" for part in ("value", "size", "rating", "kind"))
