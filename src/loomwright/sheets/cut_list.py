"""The cut list: every piece of cable with its end allowance, nested onto reels so that the least cable is opened."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from loomwright.analysis.nesting import Nesting, Reel, nest
from loomwright.model import things as t
from loomwright.record import Record
from loomwright.sheets.cords import NOT_STATED, Cord, cords
from loomwright.sheets.document import Block, Column, Note, Paragraph, Piece, Row, Sheet, Table, Tick
from loomwright.sheets.job import Job
from loomwright.sheets.lists import StockedReel, key_of, reels_in
from loomwright.sheets.revision import spec_name
from loomwright.sheets.rework import kept_names
from loomwright.sheets.spreadsheet import as_csv
from loomwright.sheets.terms import DASH, conductor_of, metres
from loomwright.sheets.words import point_name
from loomwright.stock import making
from loomwright.stock.cited import mark_of

HEAD = (
    "cable",
    "colour",
    "class_degC",
    "reel",
    "reel_m",
    "piece",
    "run",
    "part",
    "route_m",
    "cut_m",
    "left_on_reel_m",
    "spec",
)


class Length(Record):
    """One piece of cable to cut. `part` says from where to where, when its run is cut by a fuse or a joint."""

    cord: Cord
    part: str
    route_m: float
    cut_mm: int


class Lot(Record):
    """All pieces of one kind of cable, and the reels that they come from; `stocked` when the workshop states its reels."""

    cable: str
    colour: str
    insulation: str
    pieces: tuple[Length, ...]
    nesting: Nesting
    stocked: bool

    @property
    def cut_m(self) -> float:
        return sum(piece.cut_mm for piece in self.pieces) / 1000

    @property
    def title(self) -> str:
        told = [self.cable]
        told += (
            [f"colour {self.colour}" if self.colour == NOT_STATED else self.colour]
            if self.colour != DASH
            else []
        )
        told += [f"{self.insulation} °C"] if self.insulation != DASH else []
        return ", ".join(told)


def sheet(job: Job) -> Sheet | None:
    """For what is to be built or was built; none for what came in."""
    found = lots(job)
    loose = uncut(job)
    if job.as_found or not (found or loose):
        return None
    blocks: list[Block] = [Paragraph(_rule()), reels(found)]
    if found:
        blocks.append(_cutting_table(found))
    if loose:
        rows = tuple(
            Row(((Piece(cord.name, run=cord.run.name),), cord.kind, _why(cord)), run=cord.run.name)
            for cord in loose
        )
        blocks.append(Table("Not to be cut yet", (Column("Run"), Column("Cable"), Column("Why")), rows))
    blocks += [Note(bad.text) for bad in reels_in(job.house.reels)[1]]
    return Sheet("cut-list", "Cut list", "bench", tuple(blocks))


def csv(job: Job) -> str:
    """The cut list as CSV, one piece a line."""
    return as_csv(HEAD, _csv_rows(job))


def _csv_rows(job: Job) -> Iterator[tuple[str, ...]]:
    for lot in () if job.as_found else lots(job):
        for reel, cut in enumerate(lot.nesting.cuts, 1):
            for index in cut.pieces:
                piece = lot.pieces[index]
                figures = (f"{piece.route_m:.2f}", f"{piece.cut_mm / 1000:.2f}", f"{cut.left / 1000:.2f}")
                where = (str(reel), f"{cut.length / 1000:g}", str(index + 1), piece.cord.name, piece.part)
                kind = (lot.cable, _bare(lot.colour), _bare(lot.insulation))
                yield *kind, *where, *figures, spec_name(job.path)


# ---------------------------------------------------------------- what is cut


def to_be_cut(job: Job) -> list[t.Run]:
    """The runs that are made: not the vehicle maker's, nor those that stay as they were found."""
    kept = kept_names(job)
    return [run for run in job.installation.runs if not run.maker and run.name not in kept]


def lots(job: Job) -> tuple[Lot, ...]:
    """The pieces by kind of cable, in the order in which the spec first uses it."""
    stock = reels_in(job.house.reels)[0]
    kinds: dict[tuple[str, str, str], list[Length]] = {}
    for cord in cords(job.ledger, to_be_cut(job)):
        for piece in pieces_of(cord, job):
            kinds.setdefault((cord.kind, cord.colour, cord.insulation), []).append(piece)
    return tuple(_lot(*kind, tuple(pieces), stock) for kind, pieces in kinds.items())


def pieces_of(cord: Cord, job: Job) -> Iterator[Length]:
    """The pieces of one cord: a single conductor is cut at its fuses and joints, a sheathed cable is left whole."""
    if isinstance(cord.cable, t.Unknown) or isinstance(cord.stretches, t.Unknown) or not cord.metres:
        return
    rule = making.cutting(conductor_of(cord.cable).area_mm2)
    for (here, start), (there, stop) in pairwise(_cuts(cord, job)):
        slack = sum(
            stretch.slack.quantity.si
            for stretch in cord.stretches
            if stretch.slack and start <= (stretch.start_m + stretch.stop_m) / 2 <= stop
        )
        yield Length(cord, f"{here} to {there}", stop - start, making.cut_mm(rule, stop - start, slack))


def uncut(job: Job) -> tuple[Cord, ...]:
    """The cords whose cable or path the spec leaves open."""
    return tuple(
        cord for cord in cords(job.ledger, to_be_cut(job)) if not any(True for _ in pieces_of(cord, job))
    )


def _cuts(cord: Cord, job: Job) -> list[tuple[str, float]]:
    """Where a cord begins, is cut and ends: what stands there, and m from its start."""
    run, places = cord.run, []
    if cord.cores == 1:
        fuses, joints = job.installation.fuses_of[run], job.installation.joints_of[run]
        places += [("fuse", each.from_start_m) for each in (() if isinstance(fuses, t.Unknown) else fuses)]
        places += [
            ("joint", each.at.quantity.si) for each in (() if isinstance(joints, t.Unknown) else joints)
        ]
    length = cord.metres or 0.0
    inside = [(what, at) for what, at in places if isinstance(at, float) and 0 < at < length]
    return [
        (point_name(run.start), 0.0),
        *sorted(inside, key=lambda place: place[1]),
        (point_name(run.end), length),
    ]


def _why(cord: Cord) -> str:
    return "its cable is not known" if isinstance(cord.cable, t.Unknown) else "its path is not known"


# ---------------------------------------------------------------- from which reels


def _lot(
    cable: str, colour: str, insulation: str, pieces: tuple[Length, ...], stock: Iterable[StockedReel]
) -> Lot:
    """Reels of the stock first, as it holds any of this cable; what it does not hold comes from reels to be bought."""
    own = [reel for reel in stock if _is_of(reel, cable, colour)]
    lengths = [piece.cut_mm for piece in pieces]
    choice = [Reel(reel.length_mm, reel.count) for reel in own]
    if not any(reel.count is None for reel in choice):
        choice += [Reel(round(length * 1000)) for length in making.reel_lengths_m()]
    longest = max(lengths)
    if longest > max(reel.length for reel in choice):
        choice.append(Reel(longest))  # no reel holds it: bought by the metre
    return Lot(cable, colour, insulation, pieces, nest(lengths, choice), bool(own))


def _is_of(reel: StockedReel, cable: str, colour: str) -> bool:
    return key_of(reel.cable) == key_of(cable) and reel.colour.casefold() in ("", colour)


# ---------------------------------------------------------------- on paper


def _rule() -> str:
    thin, thick = making.cutting(0.0), making.cutting(1000.0)
    limit = making.source("cutting")
    return (
        f"Each piece is its route × {thin.route:g} and two ends of {thin.end_m * 1000:g} mm (over 6 mm² {thick.end_m * 1000:g} mm),"
        f" with its service loop, rounded up to {thin.step_m * 1000:g} mm ({limit.source})."
        f" Reels are chosen so that the least cable is opened; where the workshop lists none, of {_reel_words()}."
    )


def _reel_words() -> str:
    lengths = " or ".join(f"{length:g} m" for length in making.reel_lengths_m())
    return f"{lengths} ({mark_of(making.source('reels').basis)})"


def reels(found: Iterable[Lot]) -> Table:
    """The reels to open for each kind of cable, and what they leave."""
    columns = (
        Column("Cable"), Column("Colour", narrow=True), Column("Class", "°C", number=True), Column("Pieces", number=True),
        Column("Cut", "m", number=True), Column("Reels to open"), Column("Left", "m", number=True), Column("Least possible", narrow=True),
    )  # fmt: skip
    rows = tuple(
        Row(
            (
                lot.cable,
                lot.colour,
                lot.insulation,
                str(len(lot.pieces)),
                metres(lot.cut_m),
                _opened(lot),
                metres(lot.nesting.waste / 1000),
                "yes" if lot.nesting.proven else "not proven",
            )
        )
        for lot in found
    )
    return Table("Reels to open, by kind of cable", columns, rows)


def _opened(lot: Lot) -> str:
    lengths = sorted({cut.length for cut in lot.nesting.cuts}, reverse=True)
    told = [
        f"{sum(cut.length == length for cut in lot.nesting.cuts)} × {length / 1000:g} m" for length in lengths
    ]
    return f"{', '.join(told)}{' from stock' if lot.stocked else ''}"


def _cutting_table(found: Iterable[Lot]) -> Table:
    columns = (
        Column("Cable"), Column("Reel", narrow=True), Column("Piece of", narrow=True), Column("Part"), Column("Route", "m", number=True),
        Column("Cut", "m", number=True), Column("Cut and marked", narrow=True),
    )  # fmt: skip
    rows: list[Row] = []
    for number, lot in enumerate(found, 1):
        for reel, cut in enumerate(lot.nesting.cuts, 1):
            name = f"{reel} of {cut.length / 1000:g} m"
            for index in cut.pieces:
                piece = lot.pieces[index]
                cord = (Piece(piece.cord.name, run=piece.cord.run.name),)
                figures = (
                    metres(piece.route_m),
                    metres(piece.cut_mm / 1000),
                    Tick(f"cut-{number}-{index + 1}"),
                )
                rows.append(Row((lot.title, name, cord, piece.part, *figures), run=piece.cord.run.name))
            rows.append(Row((lot.title, name, "left over", "", "", metres(cut.left / 1000), ""), strong=True))
    return Table("What to cut from which reel", columns, tuple(rows))


def _bare(words: str) -> str:
    return "" if words == DASH else words
