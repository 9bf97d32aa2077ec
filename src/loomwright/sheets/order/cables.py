"""Laying the cables in an order in which none is lifted again, and making their ends."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.facts.laying import has_inside
from loomwright.model import things as t
from loomwright.quantity import show
from loomwright.sheets.cautions import HOT, may_have
from loomwright.sheets.cords import Bundle, Cord, bundles, bundles_of, cords
from loomwright.sheets.cut_list import pieces_of
from loomwright.sheets.document import Piece, Step, Words
from loomwright.sheets.job import Job
from loomwright.sheets.labels import label_of
from loomwright.sheets.laying import Closing, laying_order, with_closings
from loomwright.sheets.making import MadeUp, leg_name, made_up
from loomwright.sheets.order.section import APPRENTICE, FITTER, Cautioner, Section, step
from loomwright.sheets.terms import fuse_title, metres, reach, size_words
from loomwright.sheets.words import (
    distinct,
    fuse_name,
    known,
    listed,
    measured_from,
    place_name,
    place_of,
    places_met,
    point_name,
    said,
    sentence,
)
from loomwright.stock.cited import CitedRange
from loomwright.syntax.tree import Measure

BEFORE = ("conduit", "braid")
"""Sleeves that do not open: they cannot go on when the cable lies and its ends are made."""

WHY = (
    "In this order no cable is lifted again: where cables share a place, the one that goes on through the most places is laid"
    " first and lies at the bottom, of two on the same way the longer. A place is closed with its sleeves and clips once, when"
    " the last of its cables lies in. Cut lengths are those of the cut list, with what goes into the ends."
)


def fitted_runs(job: Job, kept: frozenset[str]) -> list[t.Run]:
    """The runs that are to be laid and made: not the maker's, nor those that stay as they were found."""
    return [run for run in job.installation.runs if not run.maker and run.name not in kept]


def lay(job: Job, kept: frozenset[str]) -> Section:
    """One step a cable, and one to close each place."""
    tell = Cautioner(job)
    laid = cords(job.ledger, fitted_runs(job, kept))
    around = bundles(laid)
    places = job.installation.places
    steps: list[Step] = []
    sleeved: set[int] = set()
    for each in with_closings(laying_order(laid, places), places):
        if isinstance(each, Closing):
            steps.append(_closing(each, around))
            continue
        first = [one for one in bundles_of(each, around) if one.sleeve in BEFORE and id(one) not in sleeved]
        sleeved |= {id(one) for one in first}
        steps += [_sleeve_first(one) for one in first if one.length_m]
        steps.append(_laying(each, job, tell))
    clip = show(job.ledger.limit("first-clip"), "length")
    return Section("Lay the cables", f"{WHY} The first clip sits within {clip} of each end.", tuple(steps))


def _sleeve_first(bundle: Bundle) -> Step:
    """A sleeve that does not open: the cables are drawn through it as they are laid, so it is there before them."""
    name, place = listed(cord.name for cord in bundle.cords), place_name(bundle.place)
    return step(
        f"sleeve-{bundle.name}-{bundle.place.name}",
        f"Lay ready the {bundle.sleeve_words} in the {place}: {bundle.length_m:.2f} m, for {name}.",
        f"It does not open: {name} {'is' if len(bundle.cords) == 1 else 'are'} drawn through it before any end is made.",
        person=APPRENTICE,
        place=bundle.place.name,
    )


def _laying(cord: Cord, job: Job, tell: Cautioner) -> Step:
    run = cord.run
    colour = f" {cord.colour}".replace(" not stated", ", colour not stated") if cord.cores == 1 else ""
    words: Words = (
        Piece("Lay "),
        Piece(cord.name, run=run.name),
        Piece(f": {cord.kind}{colour}, {_cut(cord, job)}."),
    )
    return step(
        f"lay-{cord.name}",
        words,
        _way(cord),
        *_cores(cord),
        *_fuse_gaps(cord, job),
        *_slack(cord),
        *_clearances(cord),
        *_bend(cord, job),
        _marks(cord),
        person=APPRENTICE,
        place=places_met(cord.stretches),
        run=run.name,
        cautions=tell.before("lay", *(["fix.engine-bay"] if _passes_heat(cord) else [])),
    )


def _passes_heat(cord: Cord) -> bool:
    return any(may_have(stretch.place, *HOT) for stretch in _stretches(cord))


def _cut(cord: Cord, job: Job) -> str:
    """The pieces of the cut list; where there are several, each with its part."""
    pieces = list(pieces_of(cord, job))
    if not pieces:
        return "length to be measured on the vehicle"
    if len(pieces) == 1:
        return f"cut {metres(pieces[0].cut_mm / 1000)} m"
    return f"cut {listed(f'{metres(piece.cut_mm / 1000)} m ({piece.part})' for piece in pieces)}"


def _stretches(cord: Cord) -> tuple[t.Stretch, ...]:
    return () if isinstance(cord.stretches, t.Unknown) else cord.stretches


def _way(cord: Cord) -> str:
    ends = f"From {point_name(cord.run.start)} to {point_name(cord.run.end)}"
    if not _stretches(cord):
        return f"{ends}. Its path is not written down: settle it before it is cut."
    stops = [
        f"{place_name(each.place)} {said(each.length)}"
        if each.length
        else f"through {place_name(each.place)}"
        for each in _stretches(cord)
    ]
    return f"{ends}: {', '.join(stops)}."


def _cores(cord: Cord) -> Iterator[str]:
    """What each core of a multicore is for; both ends of a twin's other leg."""
    if cord.run.multicore:
        for run in cord.runs:
            yield f"Core {run.core or 'not named'}: {run.name}, {point_name(run.start)} to {point_name(run.end)}."
    elif len(cord.runs) > 1:
        other = cord.runs[1]
        yield f"Its other core is the return, {point_name(other.start)} to {point_name(other.end)}."


def _fuse_gaps(cord: Cord, job: Job) -> Iterator[str]:
    for run in cord.runs:
        fuses = job.installation.fuses_of[run]
        for fuse in () if isinstance(fuses, t.Unknown) else fuses:
            if fuse.at:
                where = f"{said(fuse.at)} from {measured_from(fuse)}"
                if run.multicore or cord.cores > 1:
                    core = run.core or leg_name(run)
                    yield f"Cut its {core} core for the {fuse_title(fuse)}, {where}; the fuse stays out."
                else:
                    yield f"The pieces meet at the holder of the {fuse_title(fuse)}, {where}; the fuse stays out."


def _marks(cord: Cord) -> str:
    """The labels of both ends, word for word as the labels are printed."""
    multicore = cord.run.multicore
    words = [f"“{multicore.label or multicore.name}” on the sheath"] if multicore else []
    words += [f"“{label_of(run)}”" for run in cord.runs]
    return f"Mark both ends {listed(words)}{', each on its core' if len(cord.runs) > 1 else ''}."


def _slack(cord: Cord) -> Iterator[str]:
    for each in _stretches(cord):
        if each.slack:
            yield f"Leave {said(each.slack)} of slack in the {place_name(each.place)}."


def _clearances(cord: Cord) -> Iterator[str]:
    for each in cord.run.clearances:
        yield f"Keep it {said(each.distance)} clear of {each.hazard.replace('-', ' ')}."


def _bend(cord: Cord, job: Job) -> Iterator[str]:
    least = known(job.ledger, cord.run, "least-bend")
    if least:
        yield f"Bend it no tighter than {least * 1000:g} mm radius."


def _closing(closing: Closing, around: tuple[Bundle, ...]) -> Step:
    place, name = closing.place, place_name(closing.place)
    mine = [bundle for bundle in around if bundle.place is place]
    held = [f"{listed(cord.name for cord in closing.cords)} lie in it; nothing more is laid through it."]
    if place.opening is not None:
        return step(
            f"close-{place.name}", f"Seat the {place.opening} of the {name}.", *held, place=place.name
        )
    opens = any(one.sleeve and one.sleeve not in BEFORE for one in mine if one.length_m)
    return step(
        f"close-{place.name}",
        f"Close the {name}: {'sleeves on, ' if opens else ''}clips shut.",
        *held,
        *_held(mine),
        place=place.name,
    )


def _held(mine: list[Bundle]) -> Iterator[str]:
    """Sleeves and clips of one place, bundles that are alike together."""
    groups: dict[str, list[Bundle]] = {}
    for bundle in mine:
        if bundle.length_m:
            groups.setdefault(f"{_sleeve(bundle)} over {bundle.length_m:.2f} m; {_clips(bundle)}", []).append(
                bundle
            )
    for words, alike in groups.items():
        each = ", each" if len(alike) > 1 else ""
        yield f"{listed(bundle.name for bundle in alike)}{each}: {words}."


def _sleeve(bundle: Bundle) -> str:
    if bundle.sleeve is None:
        return "no sleeve"
    there = ", on since it was laid," if bundle.sleeve in BEFORE else ""
    return f"sleeve {bundle.sleeve_words}{there}"


def _clips(bundle: Bundle) -> str:
    if isinstance(bundle.clips_m, t.Unknown):
        return "clip spacing not known"
    if bundle.clips_m is None:
        return "no clips"
    size = f"of {bundle.clip_mm:g} mm, " if bundle.clip_mm else ""
    return f"{bundle.clip_count} clips {size}every {bundle.clips_m * 1000:.0f} mm"


# ---------------------------------------------------------------- ends


def terminate(job: Job, kept: frozenset[str]) -> Section:
    """One step an end, place by place."""
    tell = Cautioner(job)
    made = [
        made_up(end, job.ledger) for run in fitted_runs(job, kept) for end in job.installation.ends_of[run]
    ]
    rank = {place: number for number, place in enumerate(job.installation.places)}
    made.sort(key=lambda each: rank[place] if (place := _place(each)) else len(rank))
    sources = distinct(f"{each.torque.source}{_mark(each.torque)}" for each in made if each.torque)
    says = (
        "Place by place. Slide the tube on first, strip, look for cut strands, crimp once with the die named, shrink the tube."
        " Leads to a battery are made here and left off it. The equipment maker's figure wins over any torque given here"
        + (f"; those given are from {listed(sources)}." if sources else ".")
    )
    return Section("Make the ends", says, tuple(_end(each, job, kept, tell) for each in made), by_place=True)


def _mark(torque: CitedRange) -> str:
    return f" ({torque.mark})" if torque.mark else ""


def _place(made: MadeUp) -> t.Place | None:
    """Where an end is; of a fuse whose place is not told, that of the device it is nearest to."""
    return place_of(made.end.point) or place_of(made.end.run.start)


def _end(made: MadeUp, job: Job, kept: frozenset[str], tell: Cautioner) -> Step:
    run = made.end.run
    words: Words = (Piece(leg_name(run), run=run.name), Piece(f" at {made.at}: {made.fitting}."))
    place = _place(made)
    return step(
        f"end-{run.name}-{run.role}-{job.installation.ends_of[run].index(made.end) + 1}",
        words,
        _which_fuse(made.end, job),
        _strip_and_crimp(made),
        _covered(made),
        _tightened(made, _on_stud(made, job, kept)),
        _held_first(made.end),
        _brought_in(made.end, job),
        person=APPRENTICE if made.torque is None else FITTER,
        place=place.name if place else "",
        run=run.name,
        cautions=tell.before("terminate"),
    )


def _which_fuse(end: t.End, job: Job) -> str:
    """Which of a run's several fuses an end is at."""
    fuses = job.installation.fuses_of[end.run]
    if not isinstance(end.point, t.Fuse) or isinstance(fuses, t.Unknown) or len(fuses) < 2:
        return ""
    return f"At {fuse_name(end.point)}."


def _strip_and_crimp(made: MadeUp) -> str:
    if not made.first_in_barrel:
        return f"It goes into one barrel with {made.end.shares_with or 'another run'}."
    parts = [
        f"strip {made.strip.value:g} mm of {size_words(made.end.run.cable).removeprefix('twin ')}"
        if made.strip
        else ""
    ]
    parts.append(f"crimp: {made.crimp}" if made.crimp else "")
    return sentence("; ".join(filter(None, parts)))


def _covered(made: MadeUp) -> str:
    if made.tube and made.tube_mm:
        return f"Heat-shrink {made.tube_words}, cut {made.tube_mm:g} mm."
    return "" if made.end.cover in ("sealed", "bare") else f"Cover: {said(made.end.cover)}."


def _on_stud(made: MadeUp, job: Job, kept: frozenset[str]) -> tuple[MadeUp, ...]:
    """The lugs that are bolted to one stud with this one, in the order in which they are made; itself alone on a busbar's own
    studs, and where each circuit's return has a stud of its own. Ends without a torque have no nut, and are not waited for."""
    end = made.end
    if isinstance(end.point, t.Fuse) or (isinstance(end.point, t.Terminal) and not end.point.label):
        return (made,)
    if _has_own_stud(end):
        return (made,)
    runs = {run: number for number, run in enumerate(fitted_runs(job, kept))}
    landing = [each for each in job.installation.landing_on.get(end.point, ()) if each.run in runs]
    ends = sorted(landing, key=lambda each: runs[each.run])
    bolted = (made_up(each, job.ledger) for each in ends if not _has_own_stud(each))
    return tuple(each for each in bolted if each.torque)


def _has_own_stud(end: t.End) -> bool:
    """Whether it is the return of a circuit on a hub with a stud for each."""
    point = end.point
    if not isinstance(point, t.Terminal) or not isinstance(point.device, t.Hub):
        return False
    return point.label == "neg" and end.run.circuit is not None and point.device.negative_thread is not None


def _tightened(made: MadeUp, on_stud: tuple[MadeUp, ...]) -> str:
    if not made.torque:
        return ""
    torque = f"{reach(made.torque.low, made.torque.high)} N m, then mark nut and stud"
    if on_battery(made.end):
        return f"Leave it off the battery until the sources are joined; then {torque}."
    if isinstance(made.end.point, t.Fuse):
        return "Leave the nut loose: it is tightened when the fuse goes in."
    last = on_stud[-1].end
    if made.end is not last:
        return f"Leave the nut loose: {len(on_stud)} lugs go on this stud, the last with the run {leg_name(last.run)}."
    return f"Tighten to {torque}."


def _held_first(end: t.End) -> str:
    """Where the first clip goes where the spec says it of this end; what holds for all of them stands once over the laying."""
    return f"First clip {said(end.clip)} from the end." if isinstance(end.clip, Measure) else ""


def _brought_in(end: t.End, job: Job) -> str:
    """Of an end in the wet: how the cable comes in."""
    place = place_of(end.point)
    if place is None or not has_inside(end) or not known(job.ledger, place, "exposed"):
        return ""
    how = WAYS_IN.get(end.entry) if isinstance(end.entry, str) else None
    return how or "Bring it in from below, or hang a drip loop below the entry."


WAYS_IN = {
    "from-below": "Bring it in from below.",
    "looped": "Hang a drip loop below the entry.",
    "from-above": "It comes in from above.",
}


def on_battery(end: t.End) -> bool:
    return isinstance(end.point, t.Terminal) and isinstance(end.point.device, t.Battery)
