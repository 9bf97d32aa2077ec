"""The commissioning tests that a job needs, each with what it is made on and what it should show."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping

from loomwright.record import Record
from loomwright.sheets.job import Job
from loomwright.sheets.record import charge, dead, live
from loomwright.sheets.record.reading import Reading
from loomwright.sheets.words import data

DEAD, ENERGISE, CHARGE, SOAK = "dead", "energise", "charge", "soak"
LIVE = (ENERGISE, "load", CHARGE)

PER: Mapping[str, Callable[[Job], Iterable[Reading]]] = {
    "once": dead.once,
    "batteries": dead.dead_batteries,
    "runs": dead.resistances,
    "plugs": dead.cavities,
    "loads": dead.polarities,
    "bonds": dead.bonds,
    "feeds": dead.insulation,
    "branches": dead.branches,
    "sizes": dead.crimps,
    "pulls": dead.pulls,
    "places": dead.pins,
    "studs": dead.studs,
    "late-studs": dead.late_studs,
    "fuses": dead.fuses,
    "new-batteries": dead.restraints,
    "movers": dead.movers,
    "main-fuses": live.main_fuses,
    "rest": live.at_rest,
    "branch-amps": live.branch_amps,
    "outlets": live.outlets,
    "set-points": live.set_points,
    "isolators": live.isolators,
    "feed-drop": live.feed_drops,
    "return-drop": live.return_drops,
    "joints": live.joints,
    "load-volts": live.load_volts,
    "starts": live.starts,
    "heat": live.heat,
    "inverters": live.inverters,
    "main-load": live.main_loads,
    "clearance": live.clearances,
    "house-volts": charge.house_volts,
    "charge-line": charge.charge_lines,
    "charge-amps": charge.charge_amps,
    "alternators": charge.alternators,
    "parting": charge.parting,
    "solar": charge.solar,
    "mains": charge.mains,
    "starter-side": charge.starter_side,
    "standby": charge.standby,
    "wet": charge.wet,
}


class Trial(Record):
    """One test with all that it is made on."""

    id: str
    section: str
    name: str
    method: str
    limit: str
    source: str
    rows: tuple[Reading, ...]


def sections() -> Mapping[str, str]:
    """The sections of the record in their order: name, and what stands over it."""
    found: Mapping[str, str] = data("commissioning")["sections"]
    return found


def trials(job: Job) -> tuple[Trial, ...]:
    """The tests that have something to be made on, in the order of the record."""
    made: tuple[Trial, ...] = job.ledger.index("commissioning tests", lambda: tuple(_made(job)))
    return made


def _made(job: Job) -> Iterator[Trial]:
    for row in data("commissioning")["test"]:
        rows = tuple(PER[row["per"]](job))
        if rows:
            yield Trial(
                row["id"], row["section"], row["name"], row["method"], row["limit"], row["source"], rows
            )
