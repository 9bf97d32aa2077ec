"""SVG as text: numbers rounded, user text escaped, nothing that a plain renderer doesn't know."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from loomwright.record import Record
from loomwright.sheets.drawings.lettering import FACES, LEADING, SIZE

INK = "#1b201e"
SOFT = "#55605b"
HAIR = "#b9bdb4"
COPPER = "#7f4312"
PAPER = "#ffffff"
SHADE = "#efede4"

Point = tuple[float, float]

PORTRAIT = (516.0, 620.0)
LANDSCAPE = (760.0, 380.0)
"""What of a page of A4 is free for a drawing under the sheet's title and over its caption, in points: width, height."""
LARGEST = 1.5
"""How many pixels a point takes on a screen at the most: a little more than on paper."""


class Drawing(Record):
    """A drawing to be put on a sheet. `width` and `height` are what it takes on paper at its full size, in points; `title` is
    its caption, `description` tells what it shows to those who can't see it."""

    name: str
    title: str
    description: str
    svg: str
    width: float
    height: float
    landscape: bool = False


def number(value: float) -> str:
    """Rounded to a tenth, without a needless zero."""
    text = f"{value:.1f}"
    return "0" if text == "-0.0" else text.removesuffix(".0")


def escaped(text: str) -> str:
    """Text as XML shows it. What XML 1.0 can't hold at all becomes U+FFFD."""
    legal = re.sub("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "\ufffd", text)
    return legal.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;")


def path(data: str, extra: str = "") -> str:
    return f'<path d="{data}"{_space(extra)}/>'


def line(points: Sequence[Point], extra: str = "") -> str:
    return path(course(points), extra)


def course(points: Sequence[Point]) -> str:
    """A path through points; those in the middle of a straight piece are left out."""
    kept: list[Point] = []
    for point in points:
        if kept and _same(kept[-1], point):
            continue
        while len(kept) > 1 and (
            (_level(kept[-2], kept[-1]) and _level(kept[-1], point))
            or (_upright(kept[-2], kept[-1]) and _upright(kept[-1], point))
        ):
            kept.pop()
        kept.append(point)
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in kept)


def _same(one: Point, other: Point) -> bool:
    return _level(one, other) and _upright(one, other)


def _level(one: Point, other: Point) -> bool:
    return abs(one[1] - other[1]) < 0.05


def _upright(one: Point, other: Point) -> bool:
    return abs(one[0] - other[0]) < 0.05


def rect(x: float, y: float, width: float, height: float, extra: str = "") -> str:
    return f'<rect x="{number(x)}" y="{number(y)}" width="{number(width)}" height="{number(height)}"{_space(extra)}/>'


def circle(x: float, y: float, radius: float, extra: str = "") -> str:
    return f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(radius)}"{_space(extra)}/>'


def dot(x: float, y: float) -> str:
    """A joint."""
    return circle(x, y, 1.7, f'fill="{INK}" stroke="none"')


def text(
    x: float,
    y: float,
    words: str,
    *,
    bold: bool = False,
    anchor: str = "start",
    fill: str = INK,
    extra: str = "",
) -> str:
    """One line of text with its base line at `y`."""
    weight = ' font-weight="bold"' if bold else ""
    where = "" if anchor == "start" else f' text-anchor="{anchor}"'
    return (
        f'<text x="{number(x)}" y="{number(y)}" fill="{fill}" stroke="none"{where}{weight}{_space(extra)}>'
        f"{escaped(words)}</text>"
    )


def lines(
    x: float, y: float, words: Iterable[str], *, bold: bool = False, anchor: str = "start", fill: str = INK
) -> str:
    """Lines under one another, the first with its base line at `y`."""
    return "".join(
        text(x, y + index * LEADING, each, bold=bold, anchor=anchor, fill=fill)
        for index, each in enumerate(words)
    )


def group(body: str, title: str = "", extra: str = "") -> str:
    told = f"<title>{escaped(title)}</title>" if title else ""
    return f"<g{_space(extra)}>{told}{body}</g>"


def of_run(name: str, body: str, title: str) -> str:
    """What belongs to a run, marked so that a screen can show the run wherever it stands."""
    return group(body, title, f'data-run="{escaped(name)}"')


def _space(extra: str) -> str:
    return f" {extra}" if extra else ""


def drawing(
    name: str,
    title: str,
    description: str,
    body: str,
    width: float,
    height: float,
    landscape: bool,
    largest: float = LARGEST,
) -> Drawing:
    """The finished drawing, as large as it may be on its page, but at most `largest` pixels a point."""
    room = LANDSCAPE if landscape else PORTRAIT
    scale = min(largest, 4 / 3 * room[1] / height) if height else 1.0
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {number(width)} {number(height)}"'
        f' width="{number(width * scale)}" height="{number(height * scale)}" role="img"'
        f' aria-labelledby="{name}-title {name}-desc" font-family="{FACES}" font-size="{number(SIZE)}"'
        f' fill="{INK}">'
        f'<title id="{name}-title">{escaped(title)}</title><desc id="{name}-desc">{escaped(description)}</desc>'
        f'<rect width="{number(width)}" height="{number(height)}" fill="{PAPER}"/>'
        f'<g fill="none" stroke="{INK}" stroke-width="0.8" stroke-linejoin="round">{body}</g></svg>'
    )
    return Drawing(name, title, description, svg, width, height, landscape)


def stacked(drawings: Sequence[Drawing], gap: float = 18.0) -> str:
    """Drawings one under the other in one picture, each with its title over it; one alone is left as it is."""
    if len(drawings) == 1:
        return drawings[0].svg
    body, top = "", 0.0
    for each in drawings:
        body += text(2, top + SIZE + 3, each.title, bold=True)
        size = f'width="{number(each.width)}" height="{number(each.height)}"'
        inner = re.sub(
            r' width="[^"]*" height="[^"]*"', f' y="{number(top + gap)}" {size}', each.svg, count=1
        )
        body += inner
        top += gap + each.height
    wide = max(each.width for each in drawings)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {number(wide)} {number(top)}"'
        f' width="{number(wide * LARGEST)}" height="{number(top * LARGEST)}" font-family="{FACES}"'
        f' font-size="{number(SIZE)}" fill="{INK}"><rect width="{number(wide)}" height="{number(top)}" fill="{PAPER}"/>{body}</svg>'
    )
