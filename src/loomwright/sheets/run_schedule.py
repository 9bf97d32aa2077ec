"""The run schedule: each run from where to where, of what, how long, by which way, protected how."""

from __future__ import annotations

from loomwright.model import things as t
from loomwright.sheets.cords import Bundle, Cord, bundles, bundles_of, cords
from loomwright.sheets.document import Cell, Column, Note, Piece, Row, Sheet, Swatch, Table
from loomwright.sheets.job import Job
from loomwright.sheets.making import leg_name, made_up
from loomwright.sheets.terms import DASH, class_words, fuse_words, made_words, metres, size_words
from loomwright.sheets.words import distinct, known, place_name, places_met, point_name
from loomwright.syntax.tree import Measure

COLUMNS = (
    Column("Run, its label"),
    Column("From", narrow=True),
    Column("To", narrow=True),
    Column("Cable", narrow=True),
    Column("Colour", narrow=True),
    Column("Route", "m", number=True),
    Column("Path", "m in each place"),
    Column("Sleeve", narrow=True),
    Column("Clips", "mm", number=True),
    Column("Bend", "mm", number=True),
    Column("Fuse"),
    Column("Ends"),
)


def sheet(job: Job) -> Sheet | None:
    """Every run of the spec, those of the vehicle's maker apart."""
    runs = job.installation.runs
    if not runs:
        return None
    laid = cords(job.ledger, runs)
    around = bundles(laid)
    of_run = {run: cord for cord in laid for run in cord.runs}
    own = tuple(_row(run, of_run[run], around, job) for run in runs if not run.maker)
    maker = tuple(_row(run, of_run[run], around, job) for run in runs if run.maker)
    blocks: list[Table | Note] = [Table("Runs", COLUMNS, own)]
    if maker:
        blocks.append(Table("Runs of the vehicle's maker, left as they are", COLUMNS, maker))
    blocks.append(
        Note(
            "Lengths are of the route, clips the widest spacing, bends the radius that was measured or (≥) the tightest that the cable may"
            " take; the cut list adds what goes into ends and loops. + and − are the two legs of one circuit."
        )
    )
    return Sheet("run-schedule", "Run schedule", "fitter", tuple(blocks), landscape=True)


def _row(run: t.Run, cord: Cord, around: tuple[Bundle, ...], job: Job) -> Row:
    mine = bundles_of(cord, around)
    cells: tuple[Cell, ...] = (
        _name(run),
        point_name(run.start),
        point_name(run.end),
        _cable(run, cord),
        _colour(run),
        metres(cord.metres),
        _path(run, job),
        _sleeve(run, mine),
        _by_place([(bundle.place, _spacing(bundle)) for bundle in mine if bundle.length_m]),
        _bend(run, job),
        _fuse(run, job),
        _ends(run, job),
    )
    return Row(cells, run=run.name, place=places_met(cord.stretches))


def _name(run: t.Run) -> tuple[Piece, ...]:
    name = Piece(leg_name(run), run=run.name)
    return (name, Piece(f", “{run.label}”")) if run.label else (name,)


def _cable(run: t.Run, cord: Cord) -> str:
    """What it is, its insulation class, and which core of a multicore."""
    core = f", {run.core} core of {run.multicore.name}" if run.multicore and run.core else ""
    degrees = class_words(run.cable)
    insulation = f", {degrees} °C" if degrees != DASH else ""
    return (cord.kind if run.multicore else size_words(run.cable) + made_words(run)) + insulation + core


def _colour(run: t.Run) -> Cell:
    colour = None if isinstance(run.cable, t.Unknown) else run.cable.colour
    return Swatch(colour) if colour else DASH


def _path(run: t.Run, job: Job) -> str:
    stretches = job.installation.stretches_of[run]
    if isinstance(stretches, t.Unknown):
        return "not known"
    return ", ".join(_stretch(each) for each in stretches)


def _stretch(stretch: t.Stretch) -> str:
    name = place_name(stretch.place)
    if stretch.length is None:
        opening = stretch.place.opening
        return f"{name} ({opening})" if isinstance(opening, str) else name
    slack = f" + {stretch.slack.quantity.text} of slack" if stretch.slack else ""
    return f"{name} {stretch.length.quantity.si:g}{slack}"


def _sleeve(run: t.Run, mine: list[Bundle]) -> str:
    """The sleeve by place; a loom's is shared."""
    told = _by_place([(bundle.place, bundle.sleeve_words) for bundle in mine if bundle.length_m])
    return f"{told}, with all of {run.loom.name}" if run.loom else told


def _by_place(said: list[tuple[t.Place, str]]) -> str:
    """One word where it is the same everywhere, else each with its places."""
    words = distinct(word for _, word in said)
    if len(words) < 2:
        return words[0] if words else DASH
    return "; ".join(
        f"{word} in {', '.join(distinct(place_name(place) for place, other in said if other == word))}"
        for word in words
    )


def _spacing(bundle: Bundle) -> str:
    if isinstance(bundle.clips_m, t.Unknown):
        return "not known"
    return "none" if bundle.clips_m is None else f"{bundle.clips_m * 1000:g}"


def _bend(run: t.Run, job: Job) -> str:
    """How tightly it is bent where that was measured; else how tightly it may be."""
    if isinstance(run.bend, Measure):
        return f"{run.bend.quantity.si * 1000:g}"
    least = known(job.ledger, run, "least-bend")
    return f"≥ {least * 1000:g}" if least else DASH


def _fuse(run: t.Run, job: Job) -> str:
    fuses = job.installation.fuses_of[run]
    if isinstance(fuses, t.Unknown):
        return "not known"
    told = [f"{fuse_words(fuse)}{_standing(fuse)}" for fuse in fuses]
    way = known(job.ledger, run, "way")
    if way is not None and not told and run.role != "earth":
        there = job.installation.fuse_of_way.get(way)
        told = (
            [f"{fuse_words(there)} in way {way.number} of {way.hub.name}"]
            if isinstance(there, t.Fuse)
            else []
        )
    return "; ".join(told) or DASH


def _standing(fuse: t.Fuse) -> str:
    return f", {fuse.at.quantity.text} from {_measured(fuse)}" if fuse.at else ""


def _measured(fuse: t.Fuse) -> str:
    """The end that its distance is measured from: the one that the distance along the run agrees with."""
    run = fuse.run
    if run is None or fuse.at is None:
        return ""
    from_start = isinstance(fuse.from_start_m, float) and abs(fuse.from_start_m - fuse.at.quantity.si) < 1e-9
    return point_name(run.start if from_start else run.end)


def _ends(run: t.Run, job: Job) -> str:
    """Both ends as they are made; once where they are alike."""
    made = [
        made_up(end, job.ledger) for end in job.installation.ends_of[run] if not isinstance(end.point, t.Fuse)
    ]
    return "; ".join(distinct(each.fitting for each in made))
