"""How the vehicle is used and judged: modes, days, site, concessions, readings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from loomwright.model.building.clauses import (
    Field,
    Written,
    as_word,
    optional,
    plain,
    values,
    word_of,
    written,
)
from loomwright.model.building.register import RUN_KINDS, Register, enter, find, may_be_elsewhere, point
from loomwright.model.things import (
    Circuit,
    Concession,
    Contact,
    Day,
    Device,
    Inverter,
    Load,
    Mode,
    On,
    Plug,
    Point,
    Reading,
    Readings,
    Relay,
    Run,
    Site,
    Thing,
)
from loomwright.syntax.tree import Clause, Date, Measure, Statement, Word

OPENING = ("isolator", "switch", "relay", "plug")  # what a mode may close or open
USED = ("load", "inverter")

SITE = (
    Field("latitude", "latitude", "the latitude of the site"),
    Field("longitude", "longitude", "the longitude of the site"),
    Field("month", "month", "the month that is reckoned for"),
    Field("tilt", "tilt", "how steep the panels lie", nothing=True, left_out=None),
    Field("facing", "facing", "where the panels face", nothing=True, left_out=None),
    Field("coldest", "coldest", "the coldest dawn at the site", nothing=True, left_out=None),
    Field("sunshine", "sunshine", "how much of the daylight the sun shines at the site", left_out=None),
)


def mode(register: Register, statement: Statement) -> None:
    source = written(statement)
    sun = optional(source, "sun")
    charge = optional(source, "charge")
    closed, opened = (_contacts(register, source, keyword) for keyword in ("closed", "open"))
    for device in closed:
        if device in opened:
            register.report(source.own["open"], f"{device.name} is both closed and open in {source.name}")
    made = Mode(
        source.name,
        source.span,
        source.own,
        says=plain(statement.head.get("says")) or "",
        engine=optional(source, "engine") or "off",
        sun=sun or "none",
        mains=optional(source, "mains") == "on",
        charge=charge if isinstance(charge, Measure) else None,
        closed=closed,
        opened=opened,
        on=_on(register, source),
    )
    enter(register, statement, made)


def _contacts(register: Register, source: Written, keyword: str) -> tuple[Device, ...]:
    clause = source.first(keyword)
    words = clause.parts.get("values") if clause else None
    found = []
    for word in words if isinstance(words, tuple) else ():
        device = find(register, as_word(word), Device, OPENING, "switch, isolator, relay or plug")
        if isinstance(device, (Contact, Relay, Plug)):
            found.append(device)
    return tuple(found)


def _on(register: Register, source: Written) -> tuple[On, ...]:
    clause = source.first("on")
    items = clause.parts.get("items") if clause else None
    found: dict[str, On] = {}
    for item in items if isinstance(items, tuple) else ():
        assert isinstance(item, Mapping)
        word = as_word(item["name"])
        device = find(register, word, Device, USED, "load or inverter")
        if not isinstance(device, (Load, Inverter)):
            continue
        if word.text in found:
            register.report(word.span, f"{word.text} is switched on twice in {source.name}")
        level = item.get("value")
        found.setdefault(word.text, On(device, level if isinstance(level, Measure) else None, word.span))
    return tuple(found.values())


def day(register: Register, statement: Statement) -> None:
    source = written(statement)
    hours: list[tuple[Mode, Measure]] = []
    for clause in statement.clauses:
        length = clause.parts.get("value")
        found = find(register, clause.keyword, Mode, ("mode",)) if clause.keyword.text != "note" else None
        if found and isinstance(length, Measure):
            if any(each is found for each, _ in hours):
                register.report(clause.span, f"{found.name} stands twice in {source.name}")
            hours.append((found, length))
    total = sum(length.quantity.si for _, length in hours)
    if total > 86_400.5:  # seconds in a day, and room for rounded figures
        register.report(source.span, f"{source.name} lasts {total / 3600:g} h, and a day has 24 h")
    enter(register, statement, Day(source.name, source.span, source.own, tuple(hours)))


def site(register: Register, statement: Statement) -> Site:
    source = written(statement)
    return Site("site", source.span, source.own, **values(register, source, SITE))


def concession(register: Register, statement: Statement) -> Concession | None:
    source = written(statement)
    rule, on = as_word(statement.head["rule"]), as_word(statement.head["on"])
    for keyword, says in (("reason", "why it is accepted"), ("by", "who accepts it")):
        if not optional(source, keyword) and not register.troubles.within(statement.span):
            register.report(source.span, f"this concession does not say {says}", f'write: {keyword} "…"')
    if _conceded(register, on) is None:
        return None
    return Concession(
        on.text,
        source.span,
        source.own,
        rule.text,
        rule.span,
        reason=optional(source, "reason") or "",
        by=optional(source, "by") or "",
        until=optional(source, "until"),
    )


def _conceded(register: Register, word: Word) -> Thing | Point | None:
    """The thing that a finding is accepted on: anything with a name, a terminal or a way."""
    if "." in word.text:
        return point(register, word)
    if word.text in register.declared:
        return register.built.get(word.text)
    if not may_be_elsewhere(register, word):
        near = register.did_you_mean(word.text, register.declared)
        register.report(word.span, f"there is nothing named {word.text}{near}")
    return None


def readings(
    register: Register, statement: Statement, legs: Mapping[Circuit, tuple[Run, Run]]
) -> Readings | None:
    source = written(statement)
    in_mode = find(register, as_word(statement.head["mode"]), Mode, ("mode",))
    found = [reading for clause in statement.clauses if (reading := _reading(register, clause, legs))]
    date = statement.head["date"]
    if in_mode is None or not isinstance(date, Date):
        return None
    return Readings(
        f"readings {date.value.isoformat()} in {in_mode.name}",
        source.span,
        source.own,
        taken=date.value,
        by=plain(statement.head.get("by")) or "",
        mode=in_mode,
        readings=tuple(found),
    )


def _reading(register: Register, clause: Clause, legs: Mapping[Circuit, tuple[Run, Run]]) -> Reading | None:
    what, measured = clause.keyword.text, clause.parts.get("value")
    if word_of(clause):
        register.report(
            clause.span, f"these {what} have no figure", "a line says what the meter showed: leave it out"
        )
    if not isinstance(measured, Measure):
        return None
    if what == "amps":
        of: list[Any] = [_run(register, as_word(clause.parts["run"]), legs)]
    else:
        of = [
            point(register, as_word(clause.parts[key])) for key in ("from", "to", "at") if key in clause.parts
        ]
    if None in of:
        return None
    return Reading(what, tuple(of), measured, clause.span)


def _run(register: Register, word: Word, legs: Mapping[Circuit, tuple[Run, Run]]) -> Run | None:
    """The run that a clamp was put round; of a circuit its feed."""
    found = find(register, word, Thing, RUN_KINDS, "run")
    if isinstance(found, Circuit):
        return legs[found][0]
    return found if isinstance(found, Run) else None
