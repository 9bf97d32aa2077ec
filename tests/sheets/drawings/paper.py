"""Reads a drawing back: where its words and lines are, so that tests can see what an eye would."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, pairwise

from loomwright.sheets.drawings.lettering import SIZE, width_of
from loomwright.sheets.drawings.svg import Drawing

SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True, slots=True)
class Word:
    """The box that a line of text takes, from the top of its capitals to the foot of its descenders."""

    text: str
    left: float
    top: float
    right: float
    bottom: float
    run: str


def root_of(drawing: Drawing) -> ET.Element:
    return ET.fromstring(drawing.svg)


def runs_of(drawing: Drawing) -> list[str]:
    """The names of the runs that have a group of their own."""
    return [each.attrib["data-run"] for each in root_of(drawing).iter() if "data-run" in each.attrib]


def words_of(drawing: Drawing) -> list[Word]:
    return list(_words(root_of(drawing), ""))


def _words(element: ET.Element, run: str) -> Iterator[Word]:
    run = element.attrib.get("data-run", run)
    if element.tag == SVG + "text" and "transform" not in element.attrib:
        x, y = float(element.attrib["x"]), float(element.attrib["y"])
        wide = width_of(element.text or "", "font-weight" in element.attrib)
        share = {"middle": 0.5, "end": 1.0}.get(element.attrib.get("text-anchor", ""), 0.0)
        yield Word(
            element.text or "", x - share * wide, y - 0.72 * SIZE, x + (1 - share) * wide, y + 0.2 * SIZE, run
        )
    for child in element:
        yield from _words(child, run)


def overlapping(drawing: Drawing, slack: float = 0.3) -> list[tuple[str, str]]:
    """Pairs of words that lie on one another."""
    return [
        (a.text, b.text)
        for a, b in combinations(words_of(drawing), 2)
        if a.left + slack < b.right
        and b.left + slack < a.right
        and a.top + slack < b.bottom
        and b.top + slack < a.bottom
    ]


def outside(drawing: Drawing) -> list[str]:
    """Words that stick out of the drawing."""
    return [
        word.text
        for word in words_of(drawing)
        if word.left < -0.1
        or word.top < -0.1
        or word.right > drawing.width + 0.1
        or word.bottom > drawing.height + 0.1
    ]


def struck(drawing: Drawing, slack: float = 0.3) -> list[tuple[str, str]]:
    """Words that a line of a run goes through: the run, the words. The ? in the symbol of a fuse is meant to stand on its line."""
    found = []
    for group in (each for each in root_of(drawing).iter() if "data-run" in each.attrib):
        for path in group.iter(SVG + "path"):
            points = [
                (float(x), float(y))
                for x, y in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)(?=[ML]|$)", path.attrib["d"])
            ]
            for (x1, y1), (x2, y2) in pairwise(points):
                for word in (each for each in words_of(drawing) if each.text != "?"):
                    across = max(x1, x2) > word.left + slack and min(x1, x2) < word.right - slack
                    through = max(y1, y2) > word.top + slack and min(y1, y2) < word.bottom - slack
                    if across and through:
                        found.append((group.attrib["data-run"], word.text))
    return found
