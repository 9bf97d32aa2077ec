"""Before any cable is laid: isolate and prove dead, take out what goes, fix the devices."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.model import things as t
from loomwright.sheets.cautions import HOT, may_have, worked_places
from loomwright.sheets.cords import bundles, cords
from loomwright.sheets.document import Step
from loomwright.sheets.job import Job
from loomwright.sheets.laying import laying_order
from loomwright.sheets.order.section import (
    APPRENTICE,
    ELECTRICIAN,
    TESTER,
    Cautioner,
    Section,
    fuse_key,
    step,
)
from loomwright.sheets.owner_card import fuses_of
from loomwright.sheets.rework import Rework, what, where
from loomwright.sheets.terms import fuse_title
from loomwright.sheets.words import (
    describe,
    ended,
    known,
    listed,
    measured_from,
    of_vehicle,
    place_name,
    places_met,
    said,
)
from loomwright.stock import fuses as stock
from loomwright.stock import making


def there_already(job: Job) -> t.Installation:
    """The installation that is on the vehicle when work starts: what was found, else the vehicle's own part of the spec."""
    return job.predecessor.installation if job.predecessor else job.installation


def is_there(device: t.Device, job: Job) -> bool:
    return job.predecessor is not None or of_vehicle(device)


def isolate(job: Job) -> Section:
    """Make the vehicle safe, part every source, prove it dead."""
    tell = Cautioner(job)
    present = [device for device in there_already(job).devices if is_there(device, job)]
    steps = [
        step(
            "isolate-park",
            "Park the vehicle and make it safe to work on.",
            cautions=tell.before("isolate.park"),
        ),
        step(
            "isolate-record",
            "Write down what is lost with the power, before it is lost: codes, settings, fault memory.",
            cautions=tell.before("isolate.record"),
        ),
        *_mains_and_sun(present, job, tell),
        *_leads_off(present, tell),
        step(
            "isolate-dead",
            "Prove it dead.",
            "Prove the meter on a source that is known to be live, measure, and prove the meter again.",
            _dead_points(present),
            person=TESTER,
            cautions=tell.before("isolate.dead"),
        ),
    ]
    says = "Nothing is undone or cut before the last step of this part is ticked."
    return Section("Isolate and prove dead", says, tuple(steps), always=True)


def _mains_and_sun(present: list[t.Device], job: Job, tell: Cautioner) -> Iterator[Step]:
    ledger = job.predecessor or job.ledger
    mains = [device.name for device in present if known(ledger, device, "mains")]
    if mains:
        yield step(
            "isolate-mains",
            f"Switch off and unplug mains, and keep the plug where nobody else can put it back ({listed(mains)}).",
            cautions=tell.before("isolate.mains"),
        )
    for device in present:
        if isinstance(device, t.Solar):
            yield step(
                f"isolate-{device.name}",
                f"Cover {device.name} and part its plug at the panel.",
                place=device.place.name,
                cautions=tell.before("isolate.solar"),
            )


def _leads_off(present: list[t.Device], tell: Cautioner) -> Iterator[Step]:
    batteries = [device for device in present if isinstance(device, t.Battery)]
    if not batteries:
        yield step(
            "isolate-batteries",
            "Take the negative lead off every battery of the vehicle, tie it back and cover the posts.",
            cautions=tell.before("isolate.lead-off"),
        )
    for battery in batteries:
        yield step(
            f"isolate-{battery.name}",
            f"Take the negative lead off {battery.name} ({describe(battery)}, {place_name(battery.place)}), then the positive.",
            "Tie both leads back and cover the posts.",
            place=battery.place.name,
            cautions=tell.before("isolate.lead-off"),
        )


def _dead_points(present: list[t.Device]) -> str:
    """Where to measure: the leads that came off, and what sources feed."""
    names = [device.name for device in present if isinstance(device, (t.Battery, t.Hub, t.Charger, t.Busbar))]
    return f"Less than 0.5 V between the positive and the negative leads of {listed(names) if names else 'every battery'}."


# ---------------------------------------------------------------- strip out


def strip_out(job: Job, change: Rework | None) -> Section | None:
    """What comes out of the old system: cables from the top of each place down, then devices."""
    if change is None or job.predecessor is None or not change.remove:
        return None
    old = job.predecessor.installation
    gone = {part for part in change.remove if isinstance(part, t.Run)}
    doomed = [run for run in old.runs if run in gone or (run.circuit and old.legs_of[run.circuit][0] in gone)]
    order = reversed(laying_order(cords(job.predecessor, doomed), old.places))
    lifted = [
        step(
            f"out-{cord.name}",
            f"Take out the old {cord.name}: {what(cord.run, old)}.",
            f"It lies in {where(cord.run, old)}.",
            person=APPRENTICE,
            place=places_met(cord.stretches),
        )
        for cord in order
    ]
    devices = [part for part in change.remove if not isinstance(part, t.Run)]
    taken = [
        step(
            f"out-{part.name}",
            f"Take out {'the earth point' if isinstance(part, t.Earthpoint) else 'the old'} {part.name}: {what(part, old)}.",
            place=part.place.name,
        )
        for part in devices
    ]
    says = (
        "Cables come out from the top of each place down: the shortest way first, the long ones that lie beneath last. Close what"
        " each leaves open: holes, clips, terminals."
    )
    return Section("Take out the old system", says, (*lifted, *taken))


# ---------------------------------------------------------------- fix


def fix(job: Job, kept: frozenset[str]) -> Section:
    """Openings, earth points and devices, place by place through the vehicle; batteries last in their place."""
    tell = Cautioner(job)
    worked = worked_places(job)
    steps = [
        each
        for place in job.installation.places
        if place in worked or any(point.place is place for point in job.installation.earthpoints)
        for each in _in_place(place, job, kept, tell)
    ]
    says = "Place by place. Every device is fixed with its terminals covered; nothing is connected yet."
    return Section("Fix the devices", says, tuple(steps), by_place=True)


def _in_place(place: t.Place, job: Job, kept: frozenset[str], tell: Cautioner) -> Iterator[Step]:
    installation = job.installation
    if place.opening is not None:
        yield _opening(place, job, tell)
    for point in installation.earthpoints:
        if point.place is place and point.name not in kept and not known(job.ledger, point, "maker"):
            yield _earthpoint(point, tell)
    new = [
        device
        for device in installation.devices
        if device.place is place
        and device.name not in kept
        and not of_vehicle(device)
        and not isinstance(device, t.Splice)
    ]
    for fuse in fuses_of(job):
        if fuse.run is not None and fuse.place is place and fuse.run.name not in kept:
            yield _holder(fuse, job, tell)
    for device in sorted(new, key=lambda device: isinstance(device, t.Battery)):
        yield from _device(device, job, tell)


def _holder(fuse: t.Fuse, job: Job, tell: Cautioner) -> Step:
    """The holder of a fuse in a run: bolted to the vehicle, or hung in the cable by its tails."""
    stud, where = stock.kind(fuse.kind).stud, f"{said(fuse.at)} from {measured_from(fuse)}" if fuse.at else ""
    built = f"studs {stud}" if stud else "with tails"
    return step(
        fuse_key(fuse, job, "fix-fuse"),
        ended(f"Fix the holder of {fuse.name}: {', '.join(filter(None, (fuse_title(fuse), built, where)))}"),
        "Bolt it down where its cover can be opened; no fuse in it."
        if stud
        else "Clip it beside where its cable will lie, where its cap can be opened; no fuse in it.",
        place=fuse.place.name if fuse.place else "",
        run=fuse.name,
        cautions=tell.before("fix"),
    )


def _opening(place: t.Place, job: Job, tell: Cautioner) -> Step:
    name = place_name(place)
    through = [bundle for bundle in bundles(cords(job.ledger)) if bundle.place is place]
    over = making.bundle_mm(bundle.outside_mm for bundle in through)
    passing = listed(dict.fromkeys(cord.name for bundle in through for cord in bundle.cords))
    guard = _guard(place, over)
    return step(
        f"fix-{place.name}",
        f"Make ready the opening {name}: {guard}.",
        f"{passing} go through it, {over:.0f} mm together with their sleeves." if over else "",
        "Deburr the edge and prime it before the guard goes in.",
        place=place.name,
        cautions=tell.before("fix", "fix.holes"),
    )


def _guard(place: t.Place, over: float) -> str:
    match place.opening:
        case "grommet":
            bore = making.grommet_mm(over) if over else None
            return f"grommet of {bore:g} mm bore" if bore else "grommet to fit the cables"
        case "gland":
            thread = making.gland(over) if over else None
            return f"gland {thread}" if thread else "gland to fit the cables"
        case "bare":
            return "its edge is drawn bare; fit a grommet or gland before a cable goes in"
    return "grommet or gland; the spec does not say which"


def _earthpoint(point: t.Earthpoint, tell: Cautioner) -> Step:
    return step(
        f"fix-{point.name}",
        f"Make the earth point {point.name}: {said(point.thread)} bolt on {point.structure.name} in the {place_name(point.place)}.",
        "Take the face to bright metal as wide as the lug, bolt up metal to metal, seal it against water when the lug is on.",
        "No more than 3 mΩ across the joint (AC 43.13-1B 11-189).",
        place=point.place.name,
        cautions=tell.before("fix", "fix.holes"),
    )


def _device(device: t.Device, job: Job, tell: Cautioner) -> Iterator[Step]:
    stands = ["fix"]
    if isinstance(device, t.Battery):
        stands += ["fix.battery", *([] if device.chemistry == "lifepo4" else ["fix.lead-acid"])]
    stands += ["fix.roof"] if isinstance(device, t.Solar) else []
    stands += ["fix.engine-bay"] if may_have(device.place, *HOT) else []
    yield step(
        f"fix-{device.name}",
        f"Fix {device.name}: {describe(device)}, in the {place_name(device.place)}.",
        f"Part: {device.part}." if device.part else "",
        f"Spaced {said(device.spaced)} apart." if device.spaced else "",
        *_for_kind(device),
        *job.installation.notes.get(device.name, ()),
        place=device.place.name,
        cautions=tell.before(*stands),
    )
    mains = known(job.ledger, device, "mains")
    if mains:
        yield step(
            f"fix-{device.name}-mains",
            f"Mains side of {device.name}: {mains}.",
            "Licensed electrician only, with a certificate. These papers do not design it.",
            person=ELECTRICIAN,
            place=device.place.name,
            cautions=tell.before("fix.mains"),
        )


def _for_kind(device: t.Device) -> Iterator[str]:
    match device:
        case t.Battery():
            yield "Clamp or strap it so that it does not move under twice its weight in any direction. Cover both posts."
            if device.chemistry != "lifepo4" and device.sealed is not True:
                yield "Lead its gas to the open."
        case t.Solar():
            yield "Keep the face covered and the plug open until the panels are joined."
        case t.Contact() if device.kind in ("isolator", "switch"):
            yield "Leave it off. Mark what it switches."
        case t.Hub():
            yield "Leave all fuses out."
