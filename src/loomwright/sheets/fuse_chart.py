"""The fuse chart for the lid of the box: way, rating, colour of the fuse, what it feeds and what it carries."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from loomwright.model import things as t
from loomwright.record import Record, replace
from loomwright.sheets.cautions import standing
from loomwright.sheets.document import Block, Cell, Column, Figure, Note, Piece, Row, Sheet, Swatch, Table
from loomwright.sheets.drawings.fuse_chart import fuse_chart, slots_of
from loomwright.sheets.job import Job
from loomwright.sheets.terms import DASH, amps, figure, size_words
from loomwright.sheets.words import distinct, known, listed, place_name, worst_mode
from loomwright.stock import fuses as stock

NOTHING = 0.0005  # A below which a fuse carries nothing
TITLES = {"switched": ", switched", "dimmed": ", dimmed"}


class Entry(Record):
    """One fuse, or a way without: where it sits, and the runs that it feeds first. `fuse` is None for a way with none."""

    where: str
    fuse: t.Fuse | None
    runs: tuple[t.Run, ...]
    place: t.Place | None
    control: str = ""


def sheet(job: Job) -> Sheet | None:
    """Every fuse and every way of the spec; the vehicle maker's fuses by themselves."""
    tables = list(_tables(job))
    if not tables:
        return None
    blocks: list[Block] = [*standing(job, "fuses"), *tables]
    blocks.append(
        Note("Normal: in the mode that lasts longest of those that use it. Greatest: in the mode named.")
    )
    if sources := _colour_sources(job):
        blocks.append(Note(f"Colours of the bodies: {'; '.join(sources)}."))
    return Sheet("fuse-chart", "Fuse chart", "the lid of the box", tuple(blocks))


def entries(job: Job) -> tuple[list[tuple[t.Hub, list[Entry]]], list[Entry]]:
    """The ways of each hub, and the fuses in runs, in the order of the text."""
    installation = job.installation
    hubs = [(hub, [_of_way(way, job) for way in ways]) for hub, ways in installation.ways_of.items() if ways]
    inline = []
    for run in installation.runs:
        fuses = installation.fuses_of[run]
        for fuse in () if isinstance(fuses, t.Unknown) else fuses:
            inline.append(Entry(run.name, fuse, (run,), known(job.ledger, fuse, "place")))
    return hubs, inline


def _of_way(way: t.Way, job: Job) -> Entry:
    fuse = job.installation.fuse_of_way.get(way)
    runs = known(job.ledger, way, "runs") or ()
    found = fuse if isinstance(fuse, t.Fuse) else None
    return Entry(str(way.number), found, tuple(runs), way.hub.place, TITLES.get(way.control or "", ""))


def _tables(job: Job) -> Iterator[Figure | Table]:
    hubs, inline = entries(job)
    for hub, ways in hubs:
        caption = f"{hub.name}, in {place_name(hub.place)}"
        yield _figure(hub, ways, job)
        yield Table(caption, _columns("Way"), tuple(_row(entry, job) for entry in ways))
    own = [entry for entry in inline if not entry.runs[0].maker]
    maker = [entry for entry in inline if entry.runs[0].maker]
    if own:
        yield Table("Fuses in the cables", _columns("Run"), tuple(_row(entry, job) for entry in own))
    if maker:
        yield Table(
            "Fuses of the vehicle's maker", _columns("Run"), tuple(_row(entry, job) for entry in maker)
        )


def _figure(hub: t.Hub, ways: Iterable[Entry], job: Job) -> Figure:
    """The box as it looks from the front, with the normal current of each way."""
    normal = {entry.where: _loads(entry.fuse, job)[0] for entry in ways}
    slots = [
        replace(slot, amps=f"{normal[slot.way]} A" if slot.amps and normal[slot.way] != DASH else "")
        for slot in slots_of(job.ledger, hub)
    ]
    made = fuse_chart(f"fuses-{hub.name}", f"{hub.name}: what is in which way", slots)
    return Figure(made.title, made.description, made.svg)


def _columns(first: str) -> tuple[Column, ...]:
    """Of the fuses in cables each has its place; that of a way is its box's."""
    where = () if first == "Way" else (Column("Where", narrow=True),)
    return (
        Column(first, number=first == "Way"),
        Column("Rating", "A", number=True),
        Column("Kind", narrow=True),
        Column("Colour", narrow=True),
        Column("Feeds"),
        Column("Protects cable"),
        *where,
        Column("Normal", "A", number=True),
        Column("Greatest", "A", number=True),
        Column("In mode", narrow=True),
    )


def _row(entry: Entry, job: Job) -> Row:
    fuse = entry.fuse
    where: Cell = entry.where
    if fuse is not None and fuse.run is not None:
        where = (Piece(entry.where, run=fuse.run.name),)
    place, in_box = entry.place, fuse is None or fuse.way is not None
    run = entry.runs[0].name if entry.runs else ""
    usual, greatest, mode = _loads(fuse, job)
    cells: tuple[Cell, ...] = (
        where,
        f"{fuse.rating.quantity.si:g}" if fuse else DASH,
        stock.kind(fuse.kind).title if fuse else "none",
        _colour(fuse),
        _feeds(entry, job),
        _cables(entry, job),
        *([] if in_box else [place_name(place) if place else "not known"]),
        usual,
        greatest,
        mode,
    )
    return Row(cells, run=run, place=place.name if place else "")


def _colour(fuse: t.Fuse | None) -> Cell:
    """The colour of the body, where the kind has colours."""
    found = stock.colour(stock.kind(fuse.kind), fuse.rating.quantity.si) if fuse else None
    return Swatch(found.value[0]) if found else DASH


def _feeds(entry: Entry, job: Job) -> str:
    """The circuits by their labels and the loads behind them; a spare way says so."""
    if not entry.runs:
        return "spare"
    labels = distinct(run.label or run.name for run in entry.runs)
    behind = [name for name in fed_by(entry.fuse, job) if name not in labels] if entry.fuse else []
    told = listed(behind) if behind else _between(entry.runs[0], labels)
    return f"{listed(labels)}{': ' if told else ''}{told}{entry.control}"


def fed_by(fuse: t.Fuse, job: Job) -> list[str]:
    """The loads behind a fuse, and the sensors and inverters that its cables lead to."""
    found = [load.name for load in known(job.ledger, fuse, "loads") or ()]
    for run in known(job.ledger, fuse, "protects") or ():
        for point in (run.start, run.end):
            if isinstance(point, t.Terminal) and isinstance(point.device, (t.Sensor, t.Inverter)):
                found.append(point.device.name)
    return distinct(found)


def _between(run: t.Run, labels: list[str]) -> str:
    """What a cable that feeds no load joins: `crank to dcdc`."""
    ends = [point.device.name for point in (run.start, run.end) if isinstance(point, t.Terminal)]
    return " to ".join(ends) if len(ends) == 2 and labels else ""


def _cables(entry: Entry, job: Job) -> str:
    """The cables up to the next fuse, the first ones first."""
    protected = known(job.ledger, entry.fuse, "protects") if entry.fuse else None
    return ", ".join(distinct(size_words(run.cable) for run in (protected or entry.runs))) or DASH


def _loads(fuse: t.Fuse | None, job: Job) -> tuple[str, str, str]:
    """Current in the most usual mode, the greatest, and in which mode."""
    worst = worst_mode(job.ledger, fuse, "load-current") if fuse else None
    if worst is None:
        return DASH, DASH, DASH
    mode, greatest = worst
    if greatest < NOTHING:
        return "0", "0", DASH
    usual = next((value for value in _by_use(fuse, job) if value >= NOTHING), greatest)
    return _amps(usual), _amps(greatest), mode.name


def _amps(value: float) -> str:
    """To a tenth; what a sensor takes to a milliampere."""
    return amps(value) if value >= 0.095 else figure(value, 3)


def _by_use(fuse: t.Fuse | None, job: Job) -> Iterator[float]:
    """The currents mode by mode, the mode that lasts longest in the days first."""
    hours = dict.fromkeys(job.installation.modes, 0.0)
    for day in job.installation.days:
        for mode, time in day.hours:
            hours[mode] = hours.get(mode, 0.0) + time.quantity.si
    for mode in sorted(hours, key=lambda mode: -hours[mode]):
        value = known(job.ledger, fuse, "load-current", mode)
        if value is not None:
            yield value


def _colour_sources(job: Job) -> list[str]:
    hubs, inline = entries(job)
    every: Iterable[Entry] = [*(entry for _, ways in hubs for entry in ways), *inline]
    found = [
        stock.colour(stock.kind(fuse.kind), fuse.rating.quantity.si)
        for entry in every
        if (fuse := entry.fuse)
    ]
    marks: dict[str, set[str]] = {}
    for each in found:
        if each:
            marks.setdefault(each.source.rpartition(", ")[0], set()).add(each.mark)
    return [_cited(source, some) for source, some in marks.items()]


def _cited(source: str, marks: set[str]) -> str:
    """A source with how firm its colours are, all of them or some."""
    told = " and ".join(sorted(marks - {""}))
    return f"{source} ({'some ' if '' in marks else ''}{told})" if told else source
