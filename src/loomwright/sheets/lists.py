"""The workshop's own lists as CSV: prices, and the reels in stock. A line that can't be used is told with its number."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING

from loomwright.model.files import FileTrouble, read_file
from loomwright.record import Record

if TYPE_CHECKING:
    import _csv

    from loomwright.rulebook.house import House

PRICE_HEAD = ("code", "description", "unit", "price")
REEL_HEAD = ("cable", "colour", "metres", "count")


class Bad(Record):
    """A line of a list that was left out; `line` counts from 1."""

    path: str
    line: int
    message: str

    @property
    def text(self) -> str:
        return f"{self.path}, line {self.line}: {self.message}"


class Price(Record):
    """What one unit of a part costs, in the workshop's own money."""

    code: str
    description: str
    unit: str
    price: Decimal
    line: int


class Prices(Record):
    """A price list by code and by description key; `currency` is what the head of its price column names beside the word."""

    by_code: dict[str, Price]
    by_key: dict[str, Price]
    bad: tuple[Bad, ...] = ()
    currency: str = ""

    def of(self, code: str, description: str) -> Price | None:
        """The price of a part: by its code where it has one, else by its description."""
        return self.by_code.get(code.casefold()) if code else self.by_key.get(key_of(description))


class StockedReel(Record):
    """A reel on the shelf: `cable` and `colour` as the cut list prints them (an empty colour fits any); `count` None for no end."""

    cable: str
    colour: str
    length_mm: int
    count: int | None


NO_PRICES = Prices({}, {})


def key_of(description: str) -> str:
    """What descriptions are compared by: letters, digits and signs without case, spaces or the writing of a square or a cross."""
    folded = description.casefold().replace("²", "2").replace("×", "x").replace(",", " ")
    return "".join(folded.split())


def prices_in(path: str | None) -> Prices:
    """The price list at a path; an empty one without. A file that can't be read is one bad line."""
    if path is None:
        return NO_PRICES
    rows, bad, currency = _rows(path, PRICE_HEAD)
    by_code: dict[str, Price] = {}
    by_key: dict[str, Price] = {}
    for line, row in rows:
        try:
            price = Price(row["code"], row["description"], row["unit"], _money(row["price"]), line)
            if not price.code and not price.description:
                raise ValueError("neither a code nor a description stands here")
            _once(by_code, price.code.casefold(), price)
            if key_of(price.description) not in by_key or not price.code:
                _once(by_key, key_of(price.description), price)
        except ValueError as error:
            bad.append(Bad(path, line, str(error)))
    return Prices(by_code, by_key, tuple(sorted(bad, key=lambda each: each.line)), currency)


def reels_in(path: str | None) -> tuple[tuple[StockedReel, ...], tuple[Bad, ...]]:
    """The reels in stock at a path, and the lines that could not be used; none without a path."""
    if path is None:
        return (), ()
    rows, bad, _ = _rows(path, REEL_HEAD)
    reels: list[StockedReel] = []
    for line, row in rows:
        try:
            reels.append(
                StockedReel(row["cable"], row["colour"], _millimetres(row["metres"]), _count(row["count"]))
            )
        except ValueError as error:
            bad.append(Bad(path, line, str(error)))
    return tuple(reels), tuple(sorted(bad, key=lambda each: each.line))


def _once(known: dict[str, Price], key: str, price: Price) -> None:
    if not key:
        return
    if key in known:
        raise ValueError(f"'{price.code or price.description}' stands on line {known[key].line} already")
    known[key] = price


def troubles(house: House) -> tuple[str, ...]:
    """What can't be used of the lists that a project file names, a sentence each."""
    bad = (*prices_in(house.prices).bad, *reels_in(house.reels)[1])
    return tuple(f"{each.text}; it was left out" for each in bad)


def _rows(path: str, head: tuple[str, ...]) -> tuple[list[tuple[int, dict[str, str]]], list[Bad], str]:
    """The rows of a list with their line numbers, what can't be used, and the currency after `price` in the head. Commas or semicolons part the columns, whichever the first line has."""
    try:
        text = read_file(path)
    except FileTrouble as trouble:
        return [], [Bad(path, 1, str(trouble))], ""
    lines = text.lstrip("\ufeff").splitlines()
    first = lines[0] if lines else ""
    reader = csv.reader(
        io.StringIO("\n".join(lines)), delimiter=";" if first.count(";") > first.count(",") else ","
    )
    found: list[tuple[int, dict[str, str]]] = []
    bad: list[Bad] = []
    columns: list[str] | None = None
    currency = ""
    for row in _readable(reader, path, bad):
        cells = [cell.strip() for cell in row]
        if not any(cells):
            continue
        if columns is None:
            columns, currency = _head(cells)
            lacking = [name for name in head if name not in columns]
            if lacking:
                said = f"the first line names no column {' and no '.join(lacking)}"
                return [], [Bad(path, reader.line_num, said)], ""
        elif len(cells) != len(columns):
            bad.append(
                Bad(
                    path,
                    reader.line_num,
                    f"{len(cells)} columns stand here, and {len(columns)} in the first line",
                )
            )
        else:
            found.append((reader.line_num, dict(zip(columns, cells, strict=True))))
    return found, bad, currency


def _head(cells: list[str]) -> tuple[list[str], str]:
    """The names of the columns, and the currency of `price AUD` or `price (AUD)`."""
    names, currency = [], ""
    for cell in cells:
        word, _, rest = cell.partition(" ")
        if word.casefold() == "price" and rest:
            currency, cell = rest.strip("() "), word
        names.append(cell.casefold())
    return names, currency


def _readable(reader: _csv.Reader, path: str, bad: list[Bad]) -> Iterator[list[str]]:
    """The rows up to the first that is no CSV."""
    try:
        yield from reader
    except csv.Error as error:
        bad.append(Bad(path, reader.line_num, f"no row of a list ({error})"))


def _money(text: str) -> Decimal:
    """A price, with a point or a comma before its decimals; thousands are not parted."""
    try:
        value = Decimal(text.replace(",", "."))
    except InvalidOperation:
        raise ValueError(f"'{text[:40]}' is no price: write 12.50") from None
    if not value.is_finite() or value < 0:
        raise ValueError(f"'{text[:40]}' is no price: it is 0 or more")
    return value


def _millimetres(text: str) -> int:
    value = _number(text, "a length in metres")
    if not 0 < value <= 10_000:
        raise ValueError(f"'{text[:40]}' is no length of a reel: between 0 and 10 000 m")
    return round(value * 1000)


def _count(text: str) -> int | None:
    """How many; nothing means as many as are wanted."""
    if not text:
        return None
    if not text.isascii() or not text.isdigit():
        raise ValueError(f"'{text[:40]}' is no count: write 2, or nothing for as many as are wanted")
    return int(text)


def _number(text: str, what: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise ValueError(f"'{text[:40]}' is not {what}") from None
