"""From what the parser has read to the values of `tree.py`.

Each completed rule of the grammar comes here once (`build`). What its label names become the parts of a clause or head; a value
that means nothing is a problem at its own place.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Mapping
from typing import Any

from loomwright.quantity import QuantityError, clipped, convert, number_of, read
from loomwright.source import Source, Span
from loomwright.syntax.hints import nearest, quoted
from loomwright.syntax.lexer import Token
from loomwright.syntax.tables import Reduction, Tables
from loomwright.syntax.tree import Date, Measure, Number, Size, Text, Word

Report = Callable[[Span, str, str], None]
PLURALS = frozenset(("values", "stretches", "items"))
SEVERAL: Mapping[str, tuple[str, ...]] = {
    "draw": ("power", "current", "resistance"),
    "use": ("ratio", "current", "power"),
    "brightness": ("irradiance", "ratio"),
    "temperature_coefficient": ("temperature-coefficient",),
}
"""Rules of quantities whose name is not their dimension."""

GAUGE = re.compile(r"[1-4]/0|0{1,4}|[1-9]|[1-3][0-9]|40")
AREAS_MM2 = (0.05, 1000.0)  # vehicle cable begins at 0.13 mm² (ISO 19642, from memory), ribbon cable at 0.05
OUTSIDES_MM = (1.0, 40.0)
AREA_OR_OUTSIDE = "write an area (6 mm2), a gauge (8 B&S), or 6 mm auto for auto cable, whose millimetres are the outside of the insulation"


class Builder:
    """Makes the values of one file. `failed` is set when a value was wrong, so that its clause is left out."""

    def __init__(self, source: Source, tables: Tables, report: Report) -> None:
        self.source = source
        self.length = len(source.text)
        self.tables = tables
        self.report = report
        self.failed = False
        self.taken: Mapping[str, Callable[[Any], Any]] = {
            "STRING": self._text,
            "DATE": self._date,
            "NUMBER": self._number,
            "TRACER": self._colour,
            "UNIT": lambda token: token,
        }

    def build(self, reduction: Reduction, children: list[Any]) -> Any:
        """The value of a completed rule."""
        origin, _, builds, labels, plan, after = reduction
        if builds == "word":
            return self.word(children[0])
        if builds == "same" and plan[0][1] == "one":
            return children[0]
        if builds == "value":
            return self._measure(origin, children)
        values: list[Any] = []
        if builds == "list" and plan[0][1] == "all":
            # It goes on with the list itself: a copy each time would be quadratic.
            values, plan = children[0], plan[1:]
        for index, taken, before in plan:
            if before:
                values.extend([None] * before)
            child = children[index]
            if taken == "one":
                values.append(child)
            elif taken == "all":
                values.extend(child)
            else:
                values.append(self.taken.get(taken, self.word)(child))
        if builds == "list":
            return values
        if builds == "same":
            return values[0]
        values.extend([None] * after)
        return self._parts(labels, values)

    def _parts(self, labels: tuple[str, ...], values: list[Any]) -> dict[str, Any]:
        if labels and labels[0] in PLURALS:
            return {labels[0]: tuple(values)}
        if not labels and len(values) == 1 and not isinstance(values[0], dict):
            return {} if values[0] is None else {"value": values[0]}
        parts = {label: value for label, value in zip(labels, values, strict=False) if value is not None}
        for more in values[len(labels) :]:
            for label, value in more.items():
                if label in parts:
                    self.wrong(
                        value.span,
                        f"{quoted(value.span.text)} stands beside {quoted(parts[label].span.text)}",
                        "one of them is enough",
                    )
                parts[label] = value
        return parts

    def wrong(self, span: Span, message: str, hint: str = "") -> None:
        self.failed = True
        self.report(span, message, hint)

    def word(self, token: Token) -> Word:
        return Word(token[1], self.span(token))

    def span(self, first: Token, last: Token | None = None) -> Span:
        _, text, at = last or first
        return Span(self.source, first[2], min(at + len(text), self.length))  # a mended word may be longer

    def _text(self, token: Token) -> Text:
        return Text(token[1][1:-1], self.span(token))

    def _date(self, token: Token) -> Date:
        try:
            return Date(datetime.date.fromisoformat(token[1]), self.span(token))
        except ValueError:
            self.wrong(
                self.span(token),
                f"{quoted(token[1])} is no day of the calendar",
                "a date is written year-month-day: 2026-11-18",
            )
            return Date(datetime.date.min, self.span(token))

    def _number(self, token: Token) -> Number:
        try:
            return Number(number_of(token[1]), token[1], self.span(token))
        except QuantityError as error:
            self.wrong(self.span(token), error.message, error.hint)
            return Number(1.0, token[1], self.span(token))

    def _colour(self, token: Token) -> Word:
        for hue in token[1].split("/"):
            if hue not in self.tables.lists["hue"]:
                near = nearest(hue, self.tables.lists["hue"])
                self.wrong(
                    self.span(token),
                    f"{quoted(hue)} is no colour of a cable" + (f": did you mean '{near}'?" if near else ""),
                    "" if near else "the colours: " + ", ".join(self.tables.lists["hue"]),
                )
        return self.word(token)

    def _measure(self, origin: str, children: list[Any]) -> Measure | Size | None:
        """A quantity of the dimension that the rule is named after, or the size of a conductor; None when it is wrong."""
        number, unit = children[:2]
        span = self.span(number, unit)
        try:
            if origin == "size":
                return self._size(number[1], unit[1], span.to(children[2].span) if children[2:] else span)
            quantity = read(number[1], unit[1], SEVERAL.get(origin) or origin)
        except QuantityError as error:
            if (
                len(unit[1]) > 1 and unit[1] in self.tables.vocabulary
            ):  # the next word of the clause, and no unit
                hint = AREA_OR_OUTSIDE if origin == "size" else error.hint
                self.wrong(self.span(number), f"{quoted(number[1])} has no unit", hint)
                return None
            self.wrong(span, error.message, error.hint)
            return None
        return Measure(quantity, span.text, span)

    def _size(self, number: str, unit: str, span: Span) -> Size:
        """Raises QuantityError for what is no size of a conductor."""
        auto = not span.text.endswith(unit)
        if auto and unit != "mm":
            raise QuantityError("auto cable is named by millimetres", "for example: 6 mm auto")
        if unit in ("AWG", "B&S"):
            if not GAUGE.fullmatch(number):
                raise QuantityError(
                    f"'{clipped(number)} {unit}' is no gauge",
                    f"gauges run from 4/0 to 1/0 and from 1 to 40: 8 {unit}",
                )
            return Size(
                "awg" if unit == "AWG" else "bs",
                f"{len(number)}/0" if number.strip("0") == "" else number,
                span.text,
                span,
            )
        if unit == "mm" and not auto:
            raise QuantityError(
                f"'{clipped(number)} mm' may be an area or the outside of the insulation", AREA_OR_OUTSIDE
            )
        value = number_of(number) if auto else convert(read(number, unit, "area").si, "mm2")
        least, most = OUTSIDES_MM if auto else AREAS_MM2
        if not least <= value <= most:
            raise QuantityError(f"no cable is {clipped(number)} {unit}", AREA_OR_OUTSIDE)
        return Size("auto" if auto else "area", f"{value:.6g}", span.text, span)
