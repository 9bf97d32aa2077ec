"""The protection curve of a fuse: when it opens against what its cable stands, what its load asks, and what a fault drives."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from itertools import pairwise
from math import ceil, floor, inf, log10
from typing import Any

from loomwright.analysis import opening
from loomwright.facts.gates import gates
from loomwright.facts.registry import Ledger, Missing
from loomwright.model import things as t
from loomwright.quantity import written
from loomwright.record import Record
from loomwright.sheets.drawings.chart import Frame, Scale, Words, flags, log_grid, traced
from loomwright.sheets.drawings.svg import COPPER, INK, Drawing, circle, course, drawing, line, of_run, path
from loomwright.sheets.far_faults import far_fault

SHORTEST, LONGEST = 1e-3, 1e4
"""Seconds: the same on every curve, so that two can be laid side by side."""
LEFT, TOP, WIDE, HIGH = 44.0, 40.0, 440.0, 215.0
BAND = "#e8d6c2"
DASHES = ("6 2.5", "2 2", "8 2 2 2")
"""How the lines of cables are told apart; no more cables are drawn than there are dashes."""


class Surge(Record):
    """What a load takes when it starts: amps for seconds."""

    name: str
    amps: float
    seconds: float


class Cable(Record):
    """A protected cable: how many seconds it stands a current of so many amps (infinite: for ever)."""

    name: str
    stands: Callable[[float], float]


class Faults(Record):
    """The least and the greatest fault current (A) behind a fuse; None where it isn't known."""

    least: float | None = None
    greatest: float | None = None


def protection_curve(
    name: str,
    title: str,
    rating: float,
    opens_between: Callable[[float], tuple[float, float]],
    cables: Sequence[Cable] = (),
    surges: Sequence[Surge] = (),
    faults: Faults | None = None,
) -> Drawing:
    """Current (A) and time (s) on logarithmic axes. `opens_between` gives the band of the fuse at a current: the seconds for
    which it surely holds, and after which it has surely opened, as `analysis.opening.opens_between`."""
    faults = faults or Faults()
    frame = _frame(rating, faults, surges)
    fast = traced(lambda amps: opens_between(amps)[0], frame)
    slow = traced(lambda amps: opens_between(amps)[1], frame)
    stands = [(cable, traced(cable.stands, frame)) for cable in cables]
    words = Words(frame)
    for points in (fast, slow, *(points for _, points in stands)):
        words.avoid(points)
    body = _band(fast, slow, frame) + log_grid(frame, "current, A", "time, s")
    body += line(fast, f'stroke="{COPPER}"') + line(slow, f'stroke="{COPPER}" stroke-width="1.6"')
    bundles = _bundles(stands)
    for (names, points), dash in zip(bundles, DASHES, strict=False):
        for one in names:
            body += of_run(
                one, line(points, f'stroke="{INK}" stroke-width="1.4" stroke-dasharray="{dash}"'), one
            )
    marks = [(rating, f"rating {written(rating, 'A')}")]
    marks += [(amps, f"{which} fault {_amps(amps)}") for which, amps in _known(faults) if frame.x.holds(amps)]
    body += flags(marks, frame)
    body += _starts(surges, frame, words)
    for names, points in bundles[: len(DASHES)]:
        body += words.put(f"{', '.join(names)} stand{'s' if len(names) == 1 else ''}", _from_middle(points))
    body += words.put("has opened", _from_middle(slow), COPPER) + words.put(
        "may open", _from_middle(fast), COPPER
    )
    told = _told(rating, cables, surges, faults)
    return drawing(name, title, told, body, LEFT + WIDE + 16, TOP + HIGH + 28, False, 4 / 3)


def _starts(surges: Sequence[Surge], frame: Frame, words: Words) -> str:
    """A dot for each start of a load, all before the first word, so that no word lies on one."""
    body = ""
    for surge in surges:
        x, y = frame.point(surge.amps, surge.seconds)
        body += circle(x, y, 3, f'fill="{INK}"') + line(
            [(frame.x.start, y), (x, y), (x, frame.y.start)], 'stroke-dasharray="1 2"'
        )
        words.taken.append((x - 3.5, y - 3.5, x + 3.5, y + 3.5))
    for surge in surges:
        said = f"{surge.name} starts: {_amps(surge.amps)}, {written(surge.seconds, 's')}"
        down = [(frame.x.at(surge.amps), frame.y.at(surge.seconds) + 12.0 * step) for step in range(12)]
        body += words.put(said, down)
    return body


Line = list[tuple[float, float]]


def _bundles(stands: Sequence[tuple[Cable, Line]]) -> list[tuple[tuple[str, ...], Line]]:
    """Cables that stand the same, together."""
    found: list[tuple[tuple[str, ...], Line]] = []
    for cable, points in stands:
        if not points:
            continue
        same = next((n for n, (_, other) in enumerate(found) if other == points), None)
        if same is None:
            found.append(((cable.name,), points))
        else:
            found[same] = (*found[same][0], cable.name), points
    return found


def _frame(rating: float, faults: Faults, surges: Sequence[Surge]) -> Frame:
    """Whole decades of current that hold the rating, the surges and the faults."""
    amps = [
        rating * 0.9,
        rating * 12,
        *(amps for _, amps in _known(faults)),
        *(surge.amps for surge in surges),
    ]
    low, high = 10.0 ** floor(log10(min(amps))), 10.0 ** ceil(log10(max(amps) * 1.05))
    return Frame(
        Scale(low, high, LEFT, LEFT + WIDE, log=True), Scale(SHORTEST, LONGEST, TOP + HIGH, TOP, log=True)
    )


def _known(faults: Faults) -> list[tuple[str, float]]:
    both = (("least", faults.least), ("greatest", faults.greatest))
    return [(which, amps) for which, amps in both if amps is not None and 0.0 < amps < inf]


def _amps(value: float) -> str:
    """Three figures are all that a reader can use."""
    return written(float(f"{value:.3g}"), "A")


def _band(fast: Sequence[tuple[float, float]], slow: Sequence[tuple[float, float]], frame: Frame) -> str:
    """The field between the edges, closed along the top of the frame where the slow edge has not come down yet."""
    if not fast:
        return ""
    start = [(slow[0][0], frame.y.end)] if slow else []
    end: list[tuple[float, float]] = [] if slow else [(frame.x.end, frame.y.end)]
    if slow and fast[-1][1] > frame.y.start - 0.1 > slow[-1][1]:
        end = [(frame.x.end, frame.y.start)]
    outline = [(fast[0][0], frame.y.end), *fast, *end, *reversed(slow), *start]
    return path(course(outline) + "Z", f'fill="{BAND}" stroke="none"')


def _from_middle(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Places along a line for its words: from its middle outwards."""
    dense: list[tuple[float, float]] = []
    for (x1, y1), (x2, y2) in pairwise(points):
        steps = max(1, int(max(abs(x2 - x1), abs(y2 - y1)) / 6))
        dense += [(x1 + (x2 - x1) * n / steps, y1 + (y2 - y1) * n / steps) for n in range(steps)]
    middle = len(dense) / 2
    return [point for _, point in sorted(enumerate(dense), key=lambda each: abs(each[0] - middle))]


def _told(rating: float, cables: Sequence[Cable], surges: Sequence[Surge], faults: Faults) -> str:
    parts = [f"Current from left to right, time upwards, both logarithmic; rating {written(rating, 'A')}"]
    parts += [f"cable {cable.name}" for cable in cables]
    parts += [
        f"{surge.name} starts with {_amps(surge.amps)} for {written(surge.seconds, 's')}" for surge in surges
    ]
    parts += [f"{which} fault {_amps(amps)}" for which, amps in _known(faults)]
    return "; ".join(parts) + "."


# ---------------------------------------------------------------- of an installation's fuse


def curve_of(ledger: Ledger, fuse: t.Fuse) -> Drawing:
    """The curve of one fuse of an installation, from its facts. What isn't known is left out. Raises Missing where the
    temperature of the fuse's place isn't known, for then its band isn't either."""
    hot, cold = ledger.get(fuse, "rating-hot"), ledger.get(fuse, "rating-cold")
    steps = gates(fuse, ledger)
    said = f"{fuse.rating.text} {fuse.kind} in {fuse.name}"
    protected = sorted(_or(ledger, fuse, "protects", ()), key=lambda run: _or(ledger, run, "carries", inf))
    cables = [
        Cable(run.name, partial(ledger.get, run, "withstands"))
        for run in protected
        if _or(ledger, run, "withstands", None, fuse.rating.quantity.si * 100) is not None
    ]
    surges = []
    for load in _or(ledger, fuse, "loads", ()):
        amps, seconds = _or(ledger, load, "surge", None), _or(ledger, load, "surge-time", None)
        if amps and seconds:
            surges.append(Surge(load.name, amps, seconds))
    far = far_fault(ledger, fuse)
    return protection_curve(
        f"curve-{fuse.name.replace('.', '-')}-{fuse.kind}-{_order(ledger, fuse)}",
        f"Protection curve of {said}",
        fuse.rating.quantity.si,
        lambda amps: (opening.holds_for(steps, hot, amps), opening.opens_by(steps, cold, amps)),
        cables,
        surges,
        Faults(far[1] if far else None, _or(ledger, fuse, "fault", None)),
    )


def _order(ledger: Ledger, fuse: t.Fuse) -> int:
    """Which fuse of its run it is, so that two have two names."""
    own = ledger.installation.fuses_of[fuse.run] if fuse.run else (fuse,)
    return own.index(fuse) + 1 if isinstance(own, tuple) else 1


def _or(ledger: Ledger, thing: Any, name: str, otherwise: Any, *arguments: Any) -> Any:
    """A fact, or something else where it isn't known."""
    try:
        return ledger.get(thing, name, *arguments)
    except Missing:
        return otherwise
