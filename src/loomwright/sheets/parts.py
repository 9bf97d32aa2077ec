"""The parts list: what the job takes, by part, with prices from the workshop's own list where it has them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from loomwright.record import Record
from loomwright.sheets.cut_list import lots, reels
from loomwright.sheets.document import Block, Column, Note, Paragraph, Row, Sheet, Table
from loomwright.sheets.job import Job
from loomwright.sheets.lists import Price, Prices, prices_in
from loomwright.sheets.making import all_made_up, odd_lugs
from loomwright.sheets.quantities import Part, parts_of
from loomwright.sheets.revision import spec_name
from loomwright.sheets.spreadsheet import as_csv
from loomwright.sheets.terms import DASH
from loomwright.sheets.words import counted, describe, of_vehicle, place_name

HEAD = ("group", "code", "description", "quantity", "unit", "price", "total", "currency", "for", "spec")
NO_PRICE = "no price"
OTHER_UNIT = "other unit"


class Line(Record):
    """One part with its price; `trouble` says why a price that is in the list was not used."""

    part: Part
    price: Price | None
    trouble: str = ""

    @property
    def total(self) -> Decimal | None:
        """Quantity × price, to hundredths."""
        if self.price is None:
            return None
        return (Decimal(str(self.part.quantity)) * self.price.price).quantize(Decimal("0.01"))


def sheet(job: Job) -> Sheet | None:
    """For what is to be built or was built; none for what came in."""
    if job.as_found:
        return None
    prices = prices_in(job.house.prices)
    lines = priced(job, prices)
    if not lines:
        return None
    has_list = job.house.prices is not None
    blocks: list[Block] = [Paragraph(_heading(has_list, prices.currency))]
    for group in dict.fromkeys(line.part.group for line in lines):
        blocks.append(
            _table(group, [line for line in lines if line.part.group == group], has_list, prices.currency)
        )
    if has_list:
        blocks += _totals(lines, prices.currency)
    blocks += [Note(bad.text) for bad in prices.bad]
    if odd := odd_lugs(all_made_up(job.ledger, (run for run in job.installation.runs if not run.maker))):
        blocks.append(Note(odd))
    if found := lots(job):
        blocks.append(reels(found))
    blocks += _vehicle(job)
    return Sheet("parts", "Parts list", "storeman, quote", tuple(blocks), landscape=has_list)


def csv(job: Job) -> str:
    """The parts list as CSV, one part a line; a price that is not known is empty."""
    prices = prices_in(job.house.prices)
    lines = () if job.as_found else priced(job, prices)
    return as_csv(HEAD, ((*_csv_row(line, prices), spec_name(job.path)) for line in lines))


def _csv_row(line: Line, prices: Prices) -> tuple[str, ...]:
    part = line.part
    cost = ("", "", "") if line.price is None else (str(line.price.price), str(line.total), prices.currency)
    return part.group, part.code, part.description, part.amount, part.unit, *cost, part.used_for


def priced(job: Job, prices: Prices) -> tuple[Line, ...]:
    """Every part with its price, if the list has one in the same unit."""
    return tuple(_line(part, prices) for part in parts_of(job))


def _line(part: Part, prices: Prices) -> Line:
    found = prices.of(part.code, part.description)
    if found is None:
        return Line(part, None)
    if found.unit.casefold() != part.unit:
        return Line(
            part, None, f"the list's price is for '{found.unit}', and this is counted in '{part.unit}'"
        )
    return Line(part, found)


# ---------------------------------------------------------------- on paper


def _heading(has_list: bool, currency: str) -> str:
    told = "Quantities follow from the spec. Cable counts as cut, with its ends; what a reel leaves over is not in it."
    if not has_list:
        return f"{told} No price list is named in the project file."
    money = f"in {currency}" if currency else "in money that it does not name"
    return f"{told} Prices are of the list named in the project file, {money}."


def _table(group: str, lines: Iterable[Line], has_list: bool, currency: str) -> Table:
    columns: tuple[Column, ...] = (
        Column("Code", narrow=True), Column("Part"), Column("Quantity", number=True), Column("Unit", narrow=True),
    )  # fmt: skip
    if has_list:
        columns += (Column("Price", currency, number=True), Column("Total", currency, number=True))
    columns += (Column("For"),)
    return Table(group, columns, tuple(_row(line, has_list) for line in lines))


def _row(line: Line, has_list: bool) -> Row:
    part = line.part
    cells: tuple[str, ...] = (part.code or DASH, part.description, part.amount, part.unit)
    if has_list:
        cost = OTHER_UNIT if line.trouble else NO_PRICE
        cells += (
            (f"{line.price.price:f}", f"{line.total:,f}".replace(",", " ")) if line.price else (cost, DASH)
        )
    return Row((*cells, part.used_for))


def _totals(lines: Iterable[Line], currency: str) -> Iterator[Block]:
    lines = list(lines)
    known = [line.total for line in lines if line.total is not None]
    without = [line for line in lines if line.price is None]
    total = f"{sum(known, Decimal('0.00')):,f}".replace(",", " ")
    row = Row(
        (
            f"Total of the {counted(len(known), 'part')} that {'has' if len(known) == 1 else 'have'} a price",
            total,
        ),
        strong=True,
    )
    yield Table("Total", (Column("What"), Column("Total", currency, number=True)), (row,))
    for line in lines:
        if line.trouble:
            yield Note(f"{line.part.description}: {line.trouble}. The price was not used.")
    if without:
        listed = "; ".join(line.part.description for line in without)
        yield Note(f"No price in the list, and not in the total ({len(without)}): {listed}.")


def _vehicle(job: Job) -> Iterator[Table]:
    """What the vehicle has already."""
    own = [device for device in job.installation.devices if of_vehicle(device)]
    if own:
        rows = tuple(Row((device.name, describe(device), place_name(device.place))) for device in own)
        yield Table(
            "Of the vehicle, not to be bought", (Column("Name"), Column("What"), Column("Where")), rows
        )
