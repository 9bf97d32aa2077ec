"""Declarations of a file and its includes → an installation, in passes.

Names first, then places, devices and their terminals, structures, runs with all that lies along them, and last what
refers to all of these. Every pass reports what it can't make sense of and goes on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from loomwright.model.building import devices, places, runs, use
from loomwright.model.building.clauses import Written, once, optional, plain, written
from loomwright.model.building.register import RUN_KINDS, Register, Troubles, declare
from loomwright.model.building.sizes import check_sizes
from loomwright.model.things import (
    Circuit,
    Concession,
    Day,
    Device,
    Earthpoint,
    End,
    Fitout,
    Fuse,
    Hub,
    Installation,
    Loom,
    Mode,
    Multicore,
    Place,
    Point,
    Readings,
    Site,
    Structure,
    Terminal,
    Thing,
    Unknown,
    Way,
)
from loomwright.source import Problem
from loomwright.syntax.forms import DEVICES
from loomwright.syntax.tree import Measure, Statement


def build(
    statements: Sequence[Statement], troubles: Troubles | None = None
) -> tuple[Installation | None, tuple[Problem, ...]]:
    """The installation that statements describe, and what was wrong with them.

    `troubles` are the syntax errors found before: what seems to be missing near one of them is not reported again. There
    is no installation where anything was wrong, and none of a fragment.
    """
    head = next((each for each in statements if each.kind.text == "fitout"), None)
    near = troubles or Troubles()
    stage = written(head).own.get("stage") if head else None
    register = Register(_stage(head), stage, is_fragment(statements, near), near, system=_system(head))
    declare(register, statements)
    once(register, statements, "fitout")
    fitout = _fitout(register, head) if head else None
    practices = _practices(register, statements)
    check_sizes(register, statements)
    _things(register, statements, practices)
    laid = _runs(register, statements, practices)
    site, concessions, readings = _use(register, statements, laid)
    problems = tuple(sorted(register.problems, key=Problem.order))
    if fitout is None or problems:
        return None, problems
    return _assemble(register, statements, fitout, laid, site, concessions, readings), ()


# ---------------------------------------------------------------- the head


def is_fragment(statements: Sequence[Statement], troubles: Troubles) -> bool:
    """Whether a file is to be checked where it is included: it has no `fitout`, nor one that could not be read."""
    return not troubles.headless and all(each.kind.text != "fitout" for each in statements)


def _stage(head: Statement | None) -> str:
    """The stage, as long as one can be made out: where none can, nothing is taken for written."""
    return (optional(written(head), "stage") if head else None) or "as-found"


def _system(head: Statement | None) -> float | None:
    system = optional(written(head), "system") if head else None
    return system.quantity.si if isinstance(system, Measure) else None


def _fitout(register: Register, head: Statement) -> Fitout | None:
    title = plain(head.head.get("title")) or ""
    source = written(head, title)
    system = optional(source, "system")
    for keyword, example in (("stage", "stage planned"), ("system", "system 12 V")):
        if optional(source, keyword) is None and not register.troubles.within(head.span):
            register.report(
                head.head_span, f"this fitout has no '{keyword}'", f"write, for example: {example}"
            )
    if not isinstance(system, Measure):
        return None
    return Fitout(
        title,
        head.head_span,
        source.own,
        stage=register.stage,
        job=optional(source, "job"),
        vehicle=optional(source, "vehicle"),
        customer=optional(source, "customer"),
        drawn=optional(source, "drawn", "date"),
        drawn_by=optional(source, "drawn", "by"),
        system=system,
        limits=optional(source, "limits") or "general",
    )


def _practices(register: Register, statements: Sequence[Statement]) -> dict[str, Written]:
    """The workshop's defaults, by file: they hold for the runs of the file that they stand in."""
    by_file: dict[str, list[Statement]] = {}
    for statement in statements:
        if statement.kind.text == "practice":
            by_file.setdefault(statement.span.source.path, []).append(statement)
    found = {path: once(register, group, "practice") for path, group in by_file.items()}
    return {path: written(statement) for path, statement in found.items() if statement}


# ---------------------------------------------------------------- passes


def _things(register: Register, statements: Sequence[Statement], practices: dict[str, Written]) -> None:
    marked = [_by_maker(statement, practices) for statement in statements]
    serves = devices.battery_uses(statements, marked)
    used = devices.labels_used(statements)

    def device(register: Register, statement: Statement) -> None:
        devices.device(register, statement, serves, used)

    _pass(register, statements, ("place",), places.place)
    _pass(register, statements, DEVICES, device)
    _pass(register, statements, ("structure",), places.structure)
    _pass(register, statements, ("earthpoint",), places.earthpoint)
    _pass(register, statements, ("loom",), runs.loom)
    _pass(register, statements, ("multicore",), runs.multicore)


def _by_maker(statement: Statement, practices: dict[str, Written]) -> bool:
    practice = practices.get(statement.span.source.path)
    own = any(clause.keyword.text == "maker" for clause in statement.clauses)
    return own or (practice is not None and practice.has("maker"))


def _runs(register: Register, statements: Sequence[Statement], practices: dict[str, Written]) -> runs.Laid:
    laid = runs.Laid()

    def run(register: Register, statement: Statement) -> None:
        runs.run(register, laid, statement, practices.get(statement.span.source.path))

    _pass(register, statements, RUN_KINDS, run)
    runs.check_shared_barrels(register, laid)
    return laid


def _use(
    register: Register, statements: Sequence[Statement], laid: runs.Laid
) -> tuple[Site | None, tuple[Concession, ...], tuple[Readings, ...]]:
    _pass(register, statements, ("mode",), use.mode)
    _pass(register, statements, ("day",), use.day)
    where = once(register, statements, "site")
    concessions = [use.concession(register, each) for each in statements if each.kind.text == "concession"]
    readings = [
        use.readings(register, each, laid.legs) for each in statements if each.kind.text == "readings"
    ]
    return (
        use.site(register, where) if where else None,
        tuple(each for each in concessions if each),
        tuple(each for each in readings if each),
    )


def _pass(
    register: Register,
    statements: Iterable[Statement],
    kinds: Sequence[str],
    make: Callable[[Register, Statement], None],
) -> None:
    for statement in statements:
        if statement.kind.text in kinds:
            make(register, statement)


# ---------------------------------------------------------------- the whole


def _assemble(
    register: Register,
    statements: Sequence[Statement],
    fitout: Fitout,
    laid: runs.Laid,
    site: Site | None,
    concessions: tuple[Concession, ...],
    readings: tuple[Readings, ...],
) -> Installation:
    built = [thing for each in statements if each.name and (thing := register.built.get(each.name.text))]
    devices = tuple(each for each in built if isinstance(each, Device))
    named: dict[str, Thing] = {thing.name: thing for thing in built}
    ways_of: dict[Hub, tuple[Way, ...]] = {}
    fuse_of_way: dict[Way, Fuse | None | Unknown] = {}
    for hub, ways in register.ways.items():
        ways_of[hub] = tuple(ways)
        fuse_of_way.update(ways)
        named.update((way.name, way) for way in ways)
    return Installation(
        fitout=fitout,
        places=tuple(each for each in built if isinstance(each, Place)),
        structures=tuple(each for each in built if isinstance(each, Structure)),
        earthpoints=tuple(each for each in built if isinstance(each, Earthpoint)),
        devices=devices,
        looms=tuple(each for each in built if isinstance(each, Loom)),
        multicores=tuple(each for each in built if isinstance(each, Multicore)),
        circuits=tuple(each for each in built if isinstance(each, Circuit)),
        runs=tuple(laid.runs),
        modes=tuple(each for each in built if isinstance(each, Mode)),
        days=tuple(each for each in built if isinstance(each, Day)),
        site=site,
        concessions=concessions,
        readings=readings,
        named=named,
        terminals=register.terminals,
        terminals_of=_terminals_of(devices, register),
        ways_of=ways_of,
        fuse_of_way=fuse_of_way,
        legs_of=laid.legs,
        ends_of=laid.ends,
        fuses_of=laid.fuses,
        joints_of=laid.joints,
        stretches_of=laid.stretches,
        landing_on=_landing_on(laid),
        notes=_notes(statements, fitout),
    )


def _terminals_of(devices: Iterable[Device], register: Register) -> dict[Device, tuple[Terminal, ...]]:
    found: dict[Device, list[Terminal]] = {device: [] for device in devices}
    for terminal in register.terminals.values():
        found[terminal.device].append(terminal)
    return {device: tuple(terminals) for device, terminals in found.items()}


def _landing_on(laid: runs.Laid) -> dict[Point, tuple[End, ...]]:
    """The ends of runs on each point; those on a fuse in the run itself land nowhere."""
    found: dict[Point, list[End]] = {}
    for ends in laid.ends.values():
        for end in ends:
            if not isinstance(end.point, Fuse):
                found.setdefault(end.point, []).append(end)
    return {point: tuple(ends) for point, ends in found.items()}


def _notes(statements: Sequence[Statement], fitout: Fitout) -> dict[str, tuple[str, ...]]:
    notes: dict[str, tuple[str, ...]] = {}
    for statement in statements:
        name = statement.name.text if statement.name else fitout.name
        for clause in statement.clauses:
            if clause.keyword.text == "note" and (said := plain(clause.parts.get("value"))):
                notes[name] = (*notes.get(name, ()), said)
    return notes
