"""Devices, the parts they take after, their terminals, and the ways of hubs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from loomwright.model.building.clauses import (
    Written,
    as_measure,
    as_word,
    one_of,
    optional,
    plain,
    value,
    values,
    whole,
    word_of,
    written,
)
from loomwright.model.building.kinds import CLASSES, DUTY, FIELDS, SPLICE_COVER, SPLICE_MADE, TERMINALS
from loomwright.model.building.places import find_place, somewhere
from loomwright.model.building.register import (
    BARE_KINDS,
    RUN_KINDS,
    Register,
    declaration,
    enter,
)
from loomwright.model.things import Device, DutyAt, Fuse, Hub, Terminal, Unknown, Way
from loomwright.record import replace
from loomwright.syntax.hints import article
from loomwright.syntax.tree import Clause, Measure, Statement, Word


def device(
    register: Register, statement: Statement, serves: Mapping[str, str], used: Mapping[str, frozenset[str]]
) -> None:
    """Build a device. `serves` tells what each battery without a `serves` is for, `used` which labels runs end on."""
    kind = statement.kind.text
    source = written(statement)
    if "part" in statement.head:
        source = _with_part(register, source, as_word(statement.head["part"]))
    inside = find_place(register, statement.head["place"]) or somewhere(source.span)
    count, spaced = _count(register, source)
    _check_volts(register, source)
    fields: dict[str, Any] = {
        "kind": kind,
        "part": plain(statement.head.get("part")),
        "maker": source.has("maker"),
        "count": count,
        "spaced": spaced,
        "order": optional(source, "order"),
        "threads": _threads(source),
        **values(register, source, FIELDS[kind]),
        **_special(register, source, serves),
    }
    labels = tuple(dict.fromkeys(_labels(source, fields, used.get(source.name, frozenset()))))
    made = CLASSES[kind](source.name, source.span, source.own, place=inside, terminal_names=labels, **fields)
    enter(register, statement, made)
    if register.built.get(made.name) is made:
        _open_terminals(register, made)
        if isinstance(made, Hub):
            _enter_ways(register, made, source)


def _with_part(register: Register, source: Written, word: Word) -> Written:
    """The device's own clauses, and beneath them those of its part that it does not replace."""
    part = declaration(register, word, ("part",), "part")
    if part is None:
        return source
    made_for = as_word(part.head["kind"]).text
    if made_for != source.kind:
        register.report(
            word.span,
            f"{word.text} is a part for {article(made_for)}, and {source.name} is {article(source.kind)}",
        )
        return source
    beneath = written(part)
    clauses = dict(beneath.clauses)
    for keyword, own in source.clauses.items():
        kept = clauses.get(keyword, ()) if keyword in KEYED else ()
        said = {_key(clause) for clause in own}
        clauses[keyword] = own + tuple(clause for clause in kept if _key(clause) not in said)
    return replace(source, clauses=clauses)


# Clauses of a device that stand more than once, and the part that tells them apart.
KEYED = {"stud": "terminal", "way": "number", "note": "value"}


def _key(clause: Clause) -> object:
    return plain(clause.parts.get(KEYED.get(clause.keyword.text, "")))


def _count(register: Register, source: Written) -> tuple[int, Measure | None]:
    clause = source.first("count")
    count = whole(register, clause, "number", most=10_000) if clause else None
    spaced = optional(source, "spaced")
    if spaced is not None and clause is None:
        register.report(
            source.own.get("spaced", source.span),
            f"{source.name} is spaced but not counted",
            "write 'count N'",
        )
    return count or 1, spaced


def _threads(source: Written) -> dict[str, str]:
    """The stud thread by terminal label; "" for all terminals that are not named."""
    threads: dict[str, str] = {}
    for clause in source.all("stud"):
        if word_of(clause, "thread"):
            continue
        named = plain(clause.parts.get("terminal"))
        label = f"{named:g}" if isinstance(named, float) else str(named or "").rpartition(".")[2]
        threads.setdefault(label, plain(clause.parts["thread"]))
    studs = source.first("studs")
    if studs and "thread" in studs.parts:
        threads.setdefault("", plain(studs.parts["thread"]))
    return threads


# ---------------------------------------------------------------- what only one kind has


def _special(register: Register, source: Written, serves: Mapping[str, str]) -> dict[str, Any]:
    """The fields that a table can't fill."""
    match source.kind:
        case "battery":
            return _battery(source, serves)
        case "charger":
            return {"isolated": source.has("isolated")}
        case "hub":
            return _negatives(register, source)
        case "busbar":
            return {"studs": _number(register, source, "studs", "number", "how many studs {} has")}
        case "plug":
            poles = source.first("poles")
            return {"poles": (whole(register, poles, "value", 100) if poles else None) or 2}
        case "relay":
            return _relay(source)
        case "splice":
            return {
                "made": one_of(source, SPLICE_MADE, "how {} is made"),
                "cover": one_of(source, SPLICE_COVER, "how {} is covered"),
            }
        case "load":
            return {"critical": source.has("critical"), "duty": _duty(register, source)}
    return {}


def _duty(register: Register, source: Written) -> Any:
    """One share, or several by the warmth around it, put in the order of their temperatures."""
    clause = source.first("duty")
    if clause is None or not isinstance(items := clause.parts.get("items"), tuple):
        return value(register, source, DUTY)
    points = sorted(
        (
            DutyAt(as_measure(item["share"]), as_measure(item["at"]))
            for item in items
            if isinstance(item, Mapping)
        ),
        key=lambda point: point.celsius.quantity.si,
    )
    for point, after in pairwise(points):
        if point.celsius.quantity.si == after.celsius.quantity.si:
            register.report(
                after.celsius.span,
                f"{source.name} has two duties at {after.celsius.quantity.text}",
                "one is enough",
            )
    if not any(point.share.quantity.si for point in points):
        register.report(clause.span, f"{source.name} never draws: its duty is 0 % at every temperature")
    return tuple(points)


def _battery(source: Written, serves: Mapping[str, str]) -> dict[str, Any]:
    closed = one_of(source, ("sealed", "vented"), "whether {} is sealed or vented")
    held: bool | Unknown = source.has("held-down")
    clause = source.first("held-down")
    if clause is None or word_of(clause) == "unknown":
        held = Unknown(f"whether {source.name} is held down", clause.span if clause else source.span)
    said = optional(source, "serves")
    return {
        "sealed": closed if isinstance(closed, Unknown) else closed == "sealed",
        "held_down": held,
        "post_sensor": source.has("post-sensor"),
        "serves": said or serves.get(source.name, "house"),
    }


# Of a device's two clauses the one that must not be the lower, the other, and what it means where it is.
NEVER_BELOW = {
    "charger": ("starts", "stops", "it would stop again as soon as it starts"),
    "relay": ("closes", "opens", "it would open again as soon as it closes"),
    "solar": ("open", "at-peak", "a panel has its highest voltage with nothing on it"),
}
HOLDS = (0.9, 1.4)  # of the system's volts: what a running alternator may hold (common practice, no source)


def _check_volts(register: Register, source: Written) -> None:
    """Report voltages of one device that contradict one another or the system."""
    if source.kind in NEVER_BELOW:
        upper, lower, why = NEVER_BELOW[source.kind]
        high, low = optional(source, upper), optional(source, lower)
        if isinstance(high, Measure) and isinstance(low, Measure) and high.quantity.si < low.quantity.si:
            at = (high if upper in source.own else low).span
            said = f"{source.name} has '{upper} {high.text}' below '{lower} {low.text}'"
            register.report(at, said, f"{why}: correct one of them")
    held = optional(source, "holds") if source.kind == "alternator" else None
    if isinstance(held, Measure) and register.system:
        least, most = (share * register.system for share in HOLDS)
        if not least <= held.quantity.si <= most:
            said = f"{source.name} holds {held.text}, and the system has {register.system:g} V"
            register.report(held.span, said, f"from {least:g} V to {most:g} V is wanted here")


def _number(register: Register, source: Written, keyword: str, part: str, says: str) -> int | Unknown:
    clause = source.first(keyword)
    count = whole(register, clause, part) if clause else None
    return count or Unknown(says.format(source.name), source.own.get(keyword, source.span))


def _negatives(register: Register, source: Written) -> dict[str, Any]:
    clause = source.first("negatives")
    none = clause is not None and word_of(clause) == "none"
    count = _number(
        register, source, "negatives", "number", "whether {} has a negatives bar, and of how many studs"
    )
    return {
        "negatives": None if none else count,
        "negative_thread": plain(clause.parts.get("thread")) if clause and not none else None,
    }


def _relay(source: Written) -> dict[str, Any]:
    """A relay is worked by its coil or by the voltage that it senses; of what works it the other is then none."""
    senses = source.first("closes") or source.first("opens")
    coil = source.first("coil")
    if senses and not coil:
        return {"coil": None}
    if coil and not senses:
        return {"closes": None, "opens": None}
    return {}


# ---------------------------------------------------------------- terminals


def labels_used(statements: Sequence[Statement]) -> dict[str, frozenset[str]]:
    """The labels after the dot, by device, on which runs end: a splice has as many terminals as are used."""
    used: dict[str, set[str]] = {}
    for statement in statements:
        if statement.kind.text in RUN_KINDS:
            for word in (statement.head["from"], statement.head["to"]):
                name, _, label = as_word(word).text.partition(".")
                used.setdefault(name, set()).add(label)
    return {name: frozenset(labels) for name, labels in used.items()}


def _labels(source: Written, fields: Mapping[str, Any], used: frozenset[str]) -> Iterator[str]:
    """All terminal labels of a device, in a fixed order."""
    for label in TERMINALS[source.kind]:
        if not (label == "neg" and fields.get("negatives", 0) is None):
            yield label
    if source.kind == "hub":
        numbers = {plain(clause.parts.get("number")) for clause in source.all("way")}
        yield from (f"{number:g}" for number in sorted(numbers - {None}))
    elif source.kind == "plug":
        poles = fields["poles"]
        for pole in ("pos", "neg")[:poles] if poles <= 2 else range(1, poles + 1):
            yield from (f"{pole}-a", f"{pole}-b")
    elif source.kind in BARE_KINDS:
        studs = fields.get("studs")
        if isinstance(studs, int):
            yield from (str(number + 1) for number in range(studs))
        else:
            yield from sorted((label for label in used if label.isdecimal()), key=int)
    yield from optional(source, "terminals", "values") or ()


def _open_terminals(register: Register, made: Device) -> None:
    for label in made.terminal_names:
        name = f"{made.name}.{label}" if label else made.name
        register.terminals[name] = Terminal(name, made, label, made.span)


# ---------------------------------------------------------------- ways


def _way_numbers(register: Register, source: Written) -> dict[int, Clause]:
    ways: dict[int, Clause] = {}
    for clause in source.all("way"):
        number = whole(register, clause, "number")
        if number is None:
            continue
        ways.setdefault(number, clause)
    return ways


def _enter_ways(register: Register, hub: Hub, source: Written) -> None:
    """Keep the ways of a hub by number, each with its protection."""
    ways: dict[Way, Fuse | Unknown | None] = {}
    for number, clause in sorted(_way_numbers(register, source).items()):
        name = f"{hub.name}.{number}"
        way = Way(name, clause.span, {"way": clause.span}, hub, number, plain(clause.parts.get("control")))
        ways[way] = _way_fuse(way, clause)
    register.ways[hub] = ways


def _way_fuse(way: Way, clause: Clause) -> Fuse | Unknown | None:
    missing = word_of(clause, "kind") or word_of(clause, "rating")
    if missing == "none":
        return None
    kind, rating = clause.parts.get("kind"), clause.parts.get("rating")
    if missing or not isinstance(kind, Word) or not isinstance(rating, Measure):
        return Unknown(f"the protection of {way.name}", clause.span)
    return Fuse(None, way, kind.text, rating, None, None, way.hub.place, clause.span)


def battery_uses(statements: Sequence[Statement], maker: Sequence[bool]) -> dict[str, str]:
    """What each battery serves where it does not say: `cranking` if runs of the vehicle's maker join it to an alternator.

    `maker` tells of each statement whether it is marked so, by itself or by its file's practice.
    """
    joined: dict[str, list[str]] = {}
    kinds = {each.name.text: each.kind.text for each in statements if each.name}
    for statement, made in zip(statements, maker, strict=True):
        if made and statement.kind.text == "feed":
            a, b = (as_word(statement.head[end]).text.partition(".")[0] for end in ("from", "to"))
            joined.setdefault(a, []).append(b)
            joined.setdefault(b, []).append(a)
    reached = [name for name, kind in kinds.items() if kind == "alternator"]
    seen = set(reached)
    for name in reached:  # grows while it is walked
        if kinds.get(name) == "battery":
            continue
        for other in joined.get(name, ()):
            if other not in seen:
                seen.add(other)
                reached.append(other)
    return {
        name: "cranking" if name in seen else "house" for name, kind in kinds.items() if kind == "battery"
    }
