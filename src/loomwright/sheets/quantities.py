"""How many of what a job takes: counted from the installation, part by part."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from loomwright.model import things as t
from loomwright.record import Record
from loomwright.sheets.cords import Bundle, bundles, cords
from loomwright.sheets.cut_list import lots, to_be_cut
from loomwright.sheets.job import Job
from loomwright.sheets.making import MadeUp, all_made_up
from loomwright.sheets.rework import is_new, kept_names
from loomwright.sheets.terms import fuse_title
from loomwright.sheets.words import describe, distinct, place_name, said
from loomwright.stock import making
from loomwright.stock.fuses import kind as fuse_kind

EACH, METRE = "each", "m"
USES_SHOWN = 6


class Part(Record):
    """`code` is the workshop's own stock code, where the spec states one; `uses` are the names of what it is for."""

    group: str
    code: str
    description: str
    quantity: float
    unit: str
    uses: tuple[str, ...]

    @property
    def amount(self) -> str:
        return f"{self.quantity:.2f}" if self.unit == METRE else f"{self.quantity:g}"

    @property
    def used_for(self) -> str:
        """The first few names, and how many more."""
        names = distinct(self.uses)
        more = len(names) - USES_SHOWN
        return ", ".join(names[:USES_SHOWN]) + (f" and {more} more" if more > 0 else "")


Counted = Iterator[Part]


def parts_of(job: Job) -> tuple[Part, ...]:
    """All parts but the vehicle maker's and those that stay as they were found, alike ones together, group by group."""
    made = all_made_up(job.ledger, _own_runs(job))
    around = bundles(cords(job.ledger, _own_runs(job)))
    counted = [
        *_devices(job),
        *_fuses(job),
        *_cable(job),
        *_fittings(job, made),
        *_tubes(made),
        *_around(around),
        *_openings(around),
        *_labels(job),
    ]
    together: dict[tuple[str, str, str, str], Part] = {}
    for part in counted:
        key = part.group, part.code, part.description, part.unit
        have = together.get(key)
        together[key] = part if have is None else _added(have, part)
    return tuple(together.values())


def _added(one: Part, other: Part) -> Part:
    quantity = round(one.quantity + other.quantity, 6)
    return Part(one.group, one.code, one.description, quantity, one.unit, one.uses + other.uses)


def _own_runs(job: Job) -> list[t.Run]:
    return to_be_cut(job)


def _devices(job: Job) -> Counted:
    for device in job.installation.devices:
        if not is_new(device, job) or isinstance(device, t.Splice):
            continue
        words = describe(device).removeprefix(f"{device.count} × ")
        named = f"{words} ({device.part or device.name})" if isinstance(device, (t.Load, t.Sensor)) else words
        yield Part("Devices", device.order or "", named, device.count, EACH, (device.name,))


def _fuses(job: Job) -> Counted:
    """Those in runs with their holders, those in the ways of hubs without."""
    inline = [
        (run, fuse)
        for run in _own_runs(job)
        if not isinstance(fuses := job.installation.fuses_of[run], t.Unknown)
        for fuse in fuses
    ]
    for run, fuse in inline:
        yield Part("Fuses", "", fuse_title(fuse), 1, EACH, (run.name,))
    kept = kept_names(job)
    for way, found in job.installation.fuse_of_way.items():
        stays = way.hub.maker or way.hub.name in kept
        if isinstance(found, t.Fuse) and not stays and found.kind != "electronic":
            yield Part("Fuses", "", fuse_title(found), 1, EACH, (f"{way.hub.name} way {way.number}",))
    for run, fuse in inline:
        kind = fuse_kind(fuse.kind)
        if not kind.resets:
            stud = f", stud {kind.stud}" if kind.stud else ""
            yield Part("Fuses", "", f"holder for a {kind.title}{stud}", 1, EACH, (run.name,))


def _cable(job: Job) -> Counted:
    for lot in lots(job):
        for piece in lot.pieces:
            code = piece.cord.run.order or ""
            yield Part("Cable", code, lot.title, piece.cut_mm / 1000, METRE, (piece.cord.name,))


def _fittings(job: Job, made: Iterable[MadeUp]) -> Counted:
    for each in made:
        if each.first_in_barrel and each.strip is not None:
            yield Part("Lugs and terminals", "", each.fitting, 1, EACH, (each.end.run.name,))
    for run in _own_runs(job):
        joints = job.installation.joints_of[run]
        for joint in () if isinstance(joints, t.Unknown) else joints:
            how = f"splice, {said(joint.made)}, {said(joint.cover)}"
            yield Part("Lugs and terminals", "", how, 1, EACH, (run.name,))
    for device in job.installation.devices:
        if isinstance(device, t.Splice) and is_new(device, job):
            how = f"splice, {said(device.made)}, {said(device.cover)}"
            yield Part("Lugs and terminals", device.order or "", how, device.count, EACH, (device.name,))


def _tubes(made: Iterable[MadeUp]) -> Counted:
    for each in made:
        if each.first_in_barrel and each.tube and each.tube_mm:
            words = f"heat-shrink, {each.tube_words}, adhesive-lined"
            yield Part("Sleeve and tube", "", words, each.tube_mm / 1000, METRE, (each.end.run.name,))


def _around(around: Iterable[Bundle]) -> Counted:
    for bundle in around:
        if bundle.bore_mm and bundle.length_m:
            yield Part("Sleeve and tube", "", bundle.sleeve_words, bundle.length_m, METRE, (bundle.name,))
        if bundle.clip_count and bundle.clip_mm:
            words = f"lined clip {bundle.clip_mm:g} mm"
            yield Part("Clips and openings", "", words, bundle.clip_count, EACH, (bundle.name,))


def _openings(around: Iterable[Bundle]) -> Counted:
    """One grommet or gland for each hole, for all that passes it together."""
    passing: dict[t.Place, list[Bundle]] = {}
    for bundle in around:
        passing.setdefault(bundle.place, []).append(bundle)
    for place, through in passing.items():
        over = making.bundle_mm(bundle.outside_mm for bundle in through)
        names = (place_name(place),)
        if place.opening == "grommet":
            bore = making.grommet_mm(over)
            yield Part(
                "Clips and openings",
                "",
                f"grommet {bore:g} mm" if bore else "grommet, made to fit",
                1,
                EACH,
                names,
            )
        elif place.opening == "gland":
            thread = making.gland(over)
            yield Part(
                "Clips and openings",
                "",
                f"gland {thread}" if thread else "gland, made to fit",
                1,
                EACH,
                names,
            )


def _labels(job: Job) -> Counted:
    runs = _own_runs(job)
    if runs:
        yield Part("Labels", "", "label for a run's end", 2 * len(runs), EACH, ("every run",))
    fuses = sum(part.quantity for part in _fuses(job) if not part.description.startswith("holder"))
    if fuses:
        yield Part("Labels", "", "label for a fuse", fuses, EACH, ("every fuse",))
