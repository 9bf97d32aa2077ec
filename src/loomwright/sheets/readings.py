"""The commissioning tests that a job needs, each with what it is made on and what it should show."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from loomwright.sheets import expected
from loomwright.sheets.expected import Reading
from loomwright.sheets.job import Job
from loomwright.sheets.words import data

DEAD, ENERGISE, SOAK = "dead", "energise", "soak"
LIVE = (ENERGISE, "load", "charge")

PER: Mapping[str, Callable[[Job], Iterable[Reading]]] = {
    "once": expected.once,
    "batteries": expected.dead_batteries,
    "runs": expected.resistances,
    "plugs": expected.cavities,
    "loads": expected.polarities,
    "bonds": expected.bonds,
    "feeds": expected.insulation,
    "branches": expected.branches,
    "sizes": expected.crimps,
    "pulls": expected.pulls,
    "places": expected.pins,
    "studs": expected.studs,
    "fuses": expected.fuses,
    "new-batteries": expected.restraints,
    "movers": expected.movers,
    "main-fuses": expected.main_fuses,
    "rest": expected.at_rest,
    "branch-amps": expected.branch_amps,
    "outlets": expected.outlets,
    "set-points": expected.set_points,
    "isolators": expected.isolators,
    "feed-drop": expected.feed_drops,
    "return-drop": expected.return_drops,
    "joints": expected.joints,
    "load-volts": expected.load_volts,
    "starts": expected.starts,
    "heat": expected.heat,
    "inverters": expected.inverters,
    "main-load": expected.main_loads,
    "clearance": expected.clearances,
    "house-volts": expected.house_volts,
    "charge-line": expected.charge_lines,
    "charge-amps": expected.charge_amps,
    "alternators": expected.alternators,
    "parting": expected.parting,
    "solar": expected.solar,
    "mains": expected.mains,
    "starter-side": expected.starter_side,
    "standby": expected.standby,
    "wet": expected.wet,
}


@dataclass(frozen=True, slots=True)
class Test:
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


def tests(job: Job) -> tuple[Test, ...]:
    """The tests that have something to be made on, in the order of the record."""
    made: tuple[Test, ...] = job.ledger.index("commissioning tests", lambda: tuple(_made(job)))
    return made


def _made(job: Job) -> Iterator[Test]:
    for row in data("commissioning")["test"]:
        rows = tuple(PER[row["per"]](job))
        if rows:
            yield Test(
                row["id"], row["section"], row["name"], row["method"], row["limit"], row["source"], rows
            )
