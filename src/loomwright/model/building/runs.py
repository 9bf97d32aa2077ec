"""Looms, multicores, and runs with all that belongs to them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from loomwright.model.building.clauses import (
    Written,
    as_measure,
    as_word,
    optional,
    plain,
    whole,
    word_of,
    written,
)
from loomwright.model.building.ends import EndClauses, end_clauses, terminate
from loomwright.model.building.layers import (
    cable,
    conductor,
    everywhere,
    first,
    in_place,
    is_auto,
    measured,
    nearest_all,
)
from loomwright.model.building.paths import Path, check_places, fuses, joints, path, stretches
from loomwright.model.building.register import (
    Register,
    declaration,
    enter,
    find,
    point,
    terminal,
    where,
)
from loomwright.model.things import (
    Circuit,
    Clearance,
    Device,
    End,
    Fuse,
    Hub,
    Inverter,
    Joint,
    Load,
    Loom,
    Multicore,
    Point,
    Run,
    Sensor,
    Stretch,
    Terminal,
    Unknown,
)
from loomwright.record import Record, replace
from loomwright.source import Span
from loomwright.syntax.hints import article
from loomwright.syntax.tree import Statement, Word


@dataclass(slots=True)
class Laid:
    """All runs built so far, and what belongs to each."""

    runs: list[Run] = field(default_factory=list)
    ends: dict[Run, tuple[End, ...]] = field(default_factory=dict)
    fuses: dict[Run, tuple[Fuse, ...] | Unknown] = field(default_factory=dict)
    joints: dict[Run, tuple[Joint, ...] | Unknown] = field(default_factory=dict)
    stretches: dict[Run, tuple[Stretch, ...] | Unknown] = field(default_factory=dict)
    legs: dict[Circuit, tuple[Run, Run]] = field(default_factory=dict)
    cores: dict[str, dict[str, Span]] = field(default_factory=dict)  # taken so far, by multicore


class Leg(Record):
    """One conductor to be laid, with the places where its two ends were written."""

    role: str
    start: Point
    end: Point
    start_span: Span
    end_span: Span
    circuit: Circuit | None = None


def loom(register: Register, statement: Statement) -> None:
    source = written(statement)
    says = f"the sleeve of {source.name}"
    sleeve = in_place(register, [source], "sleeve", "", says)
    enter(register, statement, Loom(source.name, source.span, source.own, sleeve))


def multicore(register: Register, statement: Statement) -> None:
    source = written(statement)
    clause = source.first("cable")
    cores = whole(register, clause, "number") if clause else None
    enter(
        register,
        statement,
        Multicore(source.name, source.span, source.own, cores or 0, optional(source, "label")),
    )


def run(register: Register, laid: Laid, statement: Statement, practice: Written | None) -> None:
    """Lay a feed, an earth, a signal or the two legs of a circuit. Slips in its clauses are reported even where an
    end can't be found."""
    source = written(statement)
    layers, bundle, sheath = _layers(register, source, practice)
    found = path(register, layers)
    check_places(register, layers, found)
    _check_core(register, laid, source, sheath)
    legs = (
        _circuit_legs(register, statement, source) if source.kind == "circuit" else _leg(register, statement)
    )
    if not legs:
        return
    points = [each for leg in legs for each in (leg.start, leg.end)]
    has_fuse = bool([clause for clause in nearest_all(layers, "fuse") if word_of(clause) != "none"])
    said = end_clauses(register, layers, points, has_fuse)
    made = [_lay(register, laid, leg, layers, found, said, bundle, sheath) for leg in legs]
    circuit = legs[0].circuit
    if circuit:
        laid.legs[circuit] = (made[0], made[1])
    enter(register, statement, circuit or made[0])


def _layers(
    register: Register, source: Written, practice: Written | None
) -> tuple[list[Written], Loom | None, Multicore | None]:
    """The run's own clauses, then those of its multicore, its loom and its file's practice."""
    layers = [source]
    bundle, sheath = None, None
    core = source.first("core")
    if core and not word_of(core, "multicore"):
        word = as_word(core.parts["multicore"])
        sheath = find(register, word, Multicore, ("multicore",))
        if sheath:
            layers.append(written(register.declared[word.text]))
    beneath = [practice] if practice else []
    joined = first([*layers, *beneath], "loom")
    if joined and not word_of(joined):
        word = as_word(joined.parts["value"])
        bundle = find(register, word, Loom, ("loom",))
        if bundle:
            layers.append(written(register.declared[word.text]))
    return layers + beneath, bundle, sheath


def _check_core(register: Register, laid: Laid, source: Written, sheath: Multicore | None) -> None:
    """A core has the size and the path of its multicore, and only one run goes through it."""
    core = source.first("core")
    if core is None or sheath is None:
        return
    for keyword in ("cable", "along"):
        if keyword in source.own:
            register.report(
                source.own[keyword],
                f"{source.name} is a core of {sheath.name}, which says '{keyword}' already",
                f"leave '{keyword}' out",
            )
    if source.kind == "circuit":
        register.report(
            core.span,
            "a circuit is two conductors, and a core is one",
            "write a feed and an earth, a core each",
        )
    taken = laid.cores.setdefault(sheath.name, {})
    colour = str(plain(core.parts.get("colour")) or f"core {len(taken) + 1}")
    if colour in taken:
        register.report(
            core.span, f"the {colour} core of {sheath.name} is used twice", f"first at {where(taken[colour])}"
        )
    elif sheath.cores and len(taken) >= sheath.cores:
        register.report(core.span, f"{sheath.name} has {sheath.cores} cores, and all are used already")
    taken.setdefault(colour, core.span)


# ---------------------------------------------------------------- where a run goes


def _leg(register: Register, statement: Statement) -> list[Leg]:
    role = statement.kind.text
    words = [as_word(statement.head[end]) for end in ("from", "to")]
    ends: list[Point | None] = [_end_point(register, role, word) for word in words]
    start, end = ends
    if start is None or end is None:
        return []
    if start is end:
        register.report(
            words[1].span, f"{words[1].text} is where this run starts: it must end somewhere else"
        )
    return [Leg(role, start, end, words[0].span, words[1].span)]


def _end_point(register: Register, role: str, word: Word) -> Point | None:
    """An earth may end on anything; a feed or signal runs between terminals."""
    statement = register.declared.get(word.text)
    if role != "earth" and statement and statement.kind.text in ("earthpoint", "structure"):
        register.report(
            word.span,
            f"{word.text} is {article(statement.kind.text)}, and {article(role)} runs between terminals",
            "write an earth instead",
        )
        return None
    return point(register, word) if role == "earth" else terminal(register, word)


LOADS = ("load", "inverter", "sensor")


def _circuit_legs(register: Register, statement: Statement, source: Written) -> list[Leg]:
    """Feed and return of a final circuit: back to the same device's neg, or where `return` says."""
    from_word, to_word = as_word(statement.head["from"]), as_word(statement.head["to"])
    start = terminal(register, from_word)
    load = _load(register, to_word)
    back, back_span = _return_point(register, source, start, from_word)
    if start is None or load is None or back is None:
        return []
    circuit = Circuit(source.name, source.span, source.own, load)
    pos, neg = (register.terminals[f"{load.name}.{label}"] for label in ("pos", "neg"))
    return [
        Leg("feed", start, pos, from_word.span, to_word.span, circuit),
        Leg("earth", neg, back, to_word.span, back_span, circuit),
    ]


def _load(register: Register, word: Word) -> Device | None:
    name, dot, _ = word.text.partition(".")
    if dot and name in register.declared:
        register.report(
            word.span, "a circuit feeds a load by its name, both conductors in one", f"write '{name}'"
        )
        return None
    if declaration(register, word, LOADS, "load") is None:
        return None
    made = register.built.get(word.text)
    return made if isinstance(made, (Load, Inverter, Sensor)) else None


def _return_point(
    register: Register, source: Written, start: Terminal | None, from_word: Word
) -> tuple[Point | None, Span]:
    clause = source.first("return")
    if clause and not word_of(clause):
        word = as_word(clause.parts["value"])
        return point(register, word), word.span
    if start is None:
        return None, from_word.span
    found = register.terminals.get(f"{start.device.name}.{_return_label(start)}")
    if found is None:
        register.report(
            from_word.span,
            f"{source.name} can't return to {start.device.name}, which has no neg",
            "say where it returns with a clause 'return TERMINAL'",
        )
    return found, from_word.span


def _return_label(start: Terminal) -> str:
    """`neg`; at a plug the negative pole of the same half."""
    label = start.label
    return f"neg-{label[-1]}" if start.device.kind == "plug" and label.startswith("pos-") else "neg"


# ---------------------------------------------------------------- laying it


def _lay(
    register: Register,
    laid: Laid,
    leg: Leg,
    layers: Sequence[Written],
    found: Path,
    said: EndClauses,
    bundle: Loom | None,
    sheath: Multicore | None,
) -> Run:
    made = _run(register, leg, layers, bundle, sheath)
    backwards = leg.circuit is not None and leg.role == "earth"
    along = fuses(register, made, layers, found, _protected(leg)) if not backwards else ()
    laid.runs.append(made)
    laid.fuses[made] = along
    laid.joints[made] = joints(register, made, layers, found)
    laid.stretches[made] = stretches(register, made, layers, found, backwards)
    laid.ends[made] = _ends(register, made, along, said)
    return made


def _protected(leg: Leg) -> bool:
    """Whether a circuit starts at a way of a hub, whose protection (or want of it) is the way's own."""
    start = leg.start
    return leg.circuit is not None and isinstance(start, Terminal) and isinstance(start.device, Hub)


def _run(
    register: Register, leg: Leg, layers: Sequence[Written], bundle: Loom | None, sheath: Multicore | None
) -> Run:
    source = layers[0]
    drawn = cable(first(layers, "cable"), source.name, source.span)
    core = source.first("core")
    colour = plain(core.parts.get("colour")) if core and sheath else None
    if colour and not isinstance(drawn, Unknown):
        drawn = replace(drawn, colour=colour)
    return Run(
        source.name,
        source.span,
        source.own,
        role=leg.role,
        start=leg.start,
        end=leg.end,
        circuit=leg.circuit,
        cable=drawn,
        conductor=conductor(register, layers),
        diameter=measured(register, layers, "diameter", "") if first(layers, "diameter") else None,
        bend=measured(register, layers, "bend", "how tightly the cables are bent"),
        auto_cable=is_auto(first(layers, "cable")),
        auto_fuse=any(is_auto(clause) for clause in nearest_all(layers, "fuse")),
        maker=any(layer.has("maker") for layer in layers),
        loom=bundle,
        multicore=sheath,
        core=colour,
        label=optional(source, "label") or (optional(layers[1], "label") if sheath else None),
        unread_label=_unread_label(layers[: 2 if sheath else 1]),
        order=next((code for layer in layers if (code := optional(layer, "order"))), None),
        clearances=tuple(
            Clearance(as_measure(clause.parts["value"]), plain(clause.parts["to"]), clause.span)
            for clause in everywhere(layers, "clearance")
            if not word_of(clause)
        ),
        start_span=leg.start_span,
        end_span=leg.end_span,
    )


def _unread_label(layers: Sequence[Written]) -> Unknown | None:
    clause = first(layers, "label")
    if clause is None or word_of(clause) != "unknown":
        return None
    return Unknown(f"whether {layers[0].name} has a label", clause.span)


def _ends(
    register: Register, made: Run, along: tuple[Fuse, ...] | Unknown, said: EndClauses
) -> tuple[End, ...]:
    sides: list[tuple[str, Point | Fuse]] = [("start", made.start)]
    for fuse in () if isinstance(along, Unknown) else along:
        sides += [("fuse-in", fuse), ("fuse-out", fuse)]
    sides.append(("end", made.end))
    return tuple(
        terminate(register, made, side, at, said.fuse if isinstance(at, Fuse) else said.of(at))
        for side, at in sides
    )


def check_shared_barrels(register: Register, laid: Laid) -> None:
    """Report an `end … with RUN` where no such run ends on the same point."""
    for ends in laid.ends.values():
        for end in ends:
            other = end.shares_with
            if other is None or isinstance(end.point, Fuse) or register.fragment:
                continue
            there = (made for made in laid.runs if made.name == other and made is not end.run)
            if not any(end.point in (made.start, made.end) for made in there):
                register.report(
                    end.span,
                    f"no run {other} ends at {end.point.name}, so {end.run.name} can't share its lug there",
                    "write the name of the run whose conductor is in the same barrel",
                )
