"""The safety cautions, and which of them a job needs.

A caution stays away only where the spec says that its condition is not there: what the spec leaves open keeps it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from loomwright.model import things as t
from loomwright.record import Record
from loomwright.sheets.document import Caution
from loomwright.sheets.job import Job
from loomwright.sheets.words import data, known, of_vehicle


class Entry(Record):
    """One caution of the data file: `stands` are the steps and places of sheets that it stands before."""

    caution: Caution
    group: str
    when: str
    stands: tuple[str, ...]


def entries() -> tuple[Entry, ...]:
    """All cautions there are, in the order of the file."""
    return tuple(
        Entry(Caution(row["id"], row["text"], row["source"]), row["group"], row["when"], tuple(row["stands"]))
        for row in data("cautions")["caution"]
    )


def applying(job: Job) -> tuple[Entry, ...]:
    """The cautions whose condition is met, or not ruled out."""
    found: tuple[Entry, ...] = job.ledger.index("cautions that apply", lambda: _applying(job))
    return found


def _applying(job: Job) -> tuple[Entry, ...]:
    kept: dict[str, bool] = {}
    return tuple(each for each in entries() if kept.setdefault(each.when, CONDITIONS[each.when](job)))


def standing(job: Job, *stands: str) -> tuple[Caution, ...]:
    """The cautions that apply and stand at any of these steps."""
    return tuple(each.caution for each in applying(job) if set(stands) & set(each.stands))


# ---------------------------------------------------------------- conditions

LEAD = ("lead-acid", "agm", "gel")


def _batteries(job: Job) -> list[t.Battery]:
    return [device for device in job.installation.devices if isinstance(device, t.Battery)]


def _chemistry(job: Job, *names: str) -> bool:
    return any(isinstance(one.chemistry, t.Unknown) or one.chemistry in names for one in _batteries(job))


def _lead_inside(job: Job) -> bool:
    """A lead-acid battery in a vehicle that people stay in, or may stay in for all that is said."""
    stays = any(
        place.side in ("inside", "habitable") or isinstance(place.side, t.Unknown)
        for place in job.installation.places
    )
    return _chemistry(job, *LEAD) and stays


def _has(job: Job, kind: type[t.Device] | tuple[type[t.Device], ...]) -> bool:
    return any(isinstance(device, kind) for device in job.installation.devices)


def _sources(job: Job) -> int:
    return sum(isinstance(device, (t.Battery, t.Solar, t.Charger)) for device in job.installation.devices)


def worked_places(job: Job) -> dict[t.Place, None]:
    """The places where there is work to do: those of devices that are fitted and of runs that are laid."""
    found: dict[t.Place, None] = {}
    for device in job.installation.devices:
        if not of_vehicle(device):
            found[device.place] = None
    for run in job.installation.runs:
        stretches = job.installation.stretches_of[run]
        if not run.maker and not isinstance(stretches, t.Unknown):
            found |= dict.fromkeys(stretch.place for stretch in stretches)
    return found


def may_have(place: t.Place, *hazards: str) -> bool:
    """Whether a place has one of these hazards, or may have for all that is said of it."""
    return isinstance(place.hazards, t.Unknown) or not place.hazards.isdisjoint(hazards)


HOT = ("heat", "moving", "exhaust")


def _hazard(*hazards: str) -> Callable[[Job], bool]:
    return lambda job: any(may_have(place, *hazards) for place in worked_places(job))


def _cabin(job: Job) -> bool:
    return any(
        place.side != "outside" or may_have(place, "airbag", "occupants") for place in worked_places(job)
    )


def _holes(job: Job) -> bool:
    installation = job.installation
    return bool(installation.earthpoints) or any(place.opening is not None for place in installation.places)


def _ends(job: Job) -> Iterable[t.End]:
    return (end for run in job.installation.runs if not run.maker for end in job.installation.ends_of[run])


def _mains(job: Job) -> bool:
    return any(known(job.ledger, device, "mains") for device in job.installation.devices)


def _shore_power(job: Job) -> bool:
    chargers = [device for device in job.installation.devices if isinstance(device, t.Charger)]
    return any(known(job.ledger, one, "mains") for one in chargers) or any(
        mode.mains for mode in job.installation.modes
    )


CONDITIONS: Mapping[str, Callable[[Job], bool]] = {
    "always": lambda _job: True,
    "several-sources": lambda job: _sources(job) > 1,
    "solar": lambda job: _has(job, t.Solar),
    "charger": lambda job: _has(job, t.Charger),
    "lead-acid": lambda job: _chemistry(job, *LEAD),
    "lead-acid-inside": _lead_inside,
    "lithium": lambda job: _chemistry(job, "lifepo4"),
    "battery-fitted": lambda job: any(not of_vehicle(battery) for battery in _batteries(job)),
    "cabin": _cabin,
    "under-floor": _hazard("wheel", "driveline", "stones", "exhaust", "brake-line", "fuel"),
    "engine-bay": _hazard(*HOT),
    "gas": _hazard("gas"),
    "fuel": _hazard("fuel"),
    "holes": _holes,
    "heat-shrink": lambda job: any(end.cover != "bare" for end in _ends(job)),
    "studs": lambda job: any(end.fitting == "lug" for end in _ends(job)),
    "mains": _mains,
    "inverter": lambda job: _has(job, t.Inverter),
    "shore-power": _shore_power,
}
