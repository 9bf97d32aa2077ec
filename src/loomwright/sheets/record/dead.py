"""What the dead tests should show: predicted values from the facts, limits from them or from the test."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from loomwright.model import things as t
from loomwright.sheets.job import Job
from loomwright.sheets.making import made_up
from loomwright.sheets.owner_card import fuses_of
from loomwright.sheets.record.reading import (
    Reading,
    devices,
    fuse_place,
    of_device,
    of_fuse,
    of_run,
    own_ends,
    own_runs,
)
from loomwright.sheets.terms import fuse_title, reach, size_words
from loomwright.sheets.words import (
    counted,
    fuse_name,
    known,
    listed,
    of_vehicle,
    place_name,
    place_of,
    said,
    shown,
)
from loomwright.stock import lugs

CONTINUITY = 1.1  # times the predicted resistance that T3 bears


def once(_job: Job) -> Iterator[Reading]:
    yield Reading("the whole system")


def dead_batteries(job: Job) -> Iterator[Reading]:
    return (of_device(battery, "0 V", "< 0.5 V", ", across its leads") for battery in devices(job, t.Battery))


def resistances(job: Job) -> Iterator[Reading]:
    for run in own_runs(job):
        ohm = known(job.ledger, run, "resistance")
        yield of_run(run, shown(ohm, "ohm"), f"≤ {shown(ohm * CONTINUITY, 'ohm')}" if ohm else "")


def cavities(job: Job) -> Iterator[Reading]:
    for plug in devices(job, t.Plug):
        for label in sorted({point.label.rsplit("-", 1)[0] for point in job.installation.terminals_of[plug]}):
            yield of_device(plug, f"{label}-a joins {label}-b and nothing else", what=f", pole {label}")


def polarities(job: Job) -> Iterator[Reading]:
    return (of_device(load, "+ to pos, − to neg") for load in devices(job, t.Load) if not load.maker)


def bonds(job: Job) -> Iterator[Reading]:
    for point in job.installation.earthpoints:
        yield Reading(f"{point.name} to {point.structure.name}", limit="≤ 3 mΩ", place=point.place.name)
    for structure in job.installation.structures:
        if not known(job.ledger, structure, "island"):
            yield Reading(f"{structure.name} to battery negative", limit="≤ 10 mΩ")


def insulation(job: Job) -> Iterator[Reading]:
    return (of_run(run, limit="≥ 0.5 MΩ") for run in own_runs(job, "feed", "signal"))


def branches(job: Job) -> Iterator[Reading]:
    for fuse in fuses_of(job):
        yield Reading(f"behind {fuse_name(fuse)}", limit="> 100 kΩ", place=fuse_place(fuse))


def crimps(job: Job) -> Iterator[Reading]:
    pressed = [made_up(end, job.ledger) for end in own_ends(job) if end.made == "crimped"]
    for fitting, group in groupby(sorted(pressed, key=lambda made: made.fitting), lambda made: made.fitting):
        yield Reading(f"{fitting}: {counted(sum(1 for _ in group), 'end')}")


def pulls(job: Job) -> Iterator[Reading]:
    sizes: dict[str, float] = {}
    for end in own_ends(job):
        area = known(job.ledger, end.run, "area")
        if area and end.made == "crimped":
            sizes[size_words(end.run.cable).removeprefix("twin ")] = area * 1e6
    for words, area in sizes.items():
        pull = lugs.crimp_pull_newton(area)
        holds = f"holds {pull.value:g} N" if pull else "below the table: tug by hand"
        yield Reading(f"sample crimp on {words}", holds)


def pins(job: Job) -> Iterator[Reading]:
    counts: dict[str, int] = {}
    for end in own_ends(job):
        place = place_of(end.point)
        if place:
            counts[place.name] = counts.get(place.name, 0) + 1
    return (
        Reading(f"{counted(count, 'end')} in the {place_name(name)}", place=name)
        for name, count in counts.items()
    )


def studs(job: Job) -> Iterator[Reading]:
    """Those that are tight when the ends are made."""
    return _studs(job, late=False)


def late_studs(job: Job) -> Iterator[Reading]:
    """Battery posts and the studs of fuses: they are tightened when the battery is joined and the fuse goes in."""
    return _studs(job, late=True)


def _is_late(end: t.End) -> bool:
    on_battery = isinstance(end.point, t.Terminal) and isinstance(end.point.device, t.Battery)
    return on_battery or isinstance(end.point, t.Fuse)


def _studs(job: Job, *, late: bool) -> Iterator[Reading]:
    found: dict[str, tuple[int, str, str]] = {}
    for end in own_ends(job):
        made = made_up(end, job.ledger)
        if made.torque and _is_late(end) == late:
            count = found.get(made.at, (0, "", ""))[0] + 1
            place = place_of(end.point)
            found[made.at] = (
                count,
                f"{reach(made.torque.low, made.torque.high)} N m",
                place.name if place else "",
            )
    for at, (count, torque, where) in found.items():
        yield Reading(f"{at}, {counted(count, 'lug')}", torque, place=where)


def fuses(job: Job) -> Iterator[Reading]:
    for fuse in fuses_of(job):
        carried = [known(job.ledger, run, "carries") for run in known(job.ledger, fuse, "protects") or ()]
        least = min((amps for amps in carried if amps), default=None)
        yield of_fuse(
            fuse, fuse_title(fuse), f"≤ {shown(least, 'A')}, what its cable carries" if least else ""
        )


def restraints(job: Job) -> Iterator[Reading]:
    return (of_device(one, limit="≤ 10 mm") for one in devices(job, t.Battery) if not of_vehicle(one))


def movers(job: Job) -> Iterator[Reading]:
    for run in own_runs(job):
        clear = [f"≥ {said(one.distance)} to {one.hazard}" for one in run.clearances]
        stretches = job.installation.stretches_of[run]
        loops = [] if isinstance(stretches, t.Unknown) else [each for each in stretches if each.slack]
        if clear or loops:
            slack = (
                listed(f"{said(each.slack)} of slack in the {place_name(each.place)}" for each in loops)
                if loops
                else ""
            )
            yield of_run(run, slack, "; ".join(clear))
