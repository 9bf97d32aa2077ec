"""The single-line system diagram: sources left, loads right, every run once, on as many sheets as it takes to be read."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from loomwright.facts.registry import Ledger
from loomwright.model import things as t
from loomwright.record import Record
from loomwright.sheets.drawings import symbols
from loomwright.sheets.drawings.layout import Edge, Plan, Wire, lay_out
from loomwright.sheets.drawings.lettering import LEADING, LEAST, SIZE, widest, wrapped
from loomwright.sheets.drawings.network import Line, Spot, View, resets, returned_to, two_legs, views_of
from loomwright.sheets.drawings.nodes import THICK, THIN, Context, Landing, Shape, reference, shape_of
from loomwright.sheets.drawings.parting import parted
from loomwright.sheets.drawings.svg import (
    COPPER,
    LANDSCAPE,
    PORTRAIT,
    SOFT,
    Drawing,
    course,
    dot,
    drawing,
    group,
    line,
    lines,
    of_run,
    path,
)

HEAVY_MM2 = 10.0
"""From this area on a conductor is drawn thick."""
ROOMS = (104.0, 62.0)
"""Room for the words on a run: where there is plenty, and where there is little."""


class Words(Record):
    """What stands along a run: its name over it, size, fuses and label under it."""

    over: tuple[str, ...]
    under: tuple[str, ...]
    room: float

    @property
    def above(self) -> float:
        return len(self.over) * LEADING + 4.5 if self.over else 4.0

    @property
    def below(self) -> float:
        return len(self.under) * LEADING + 5 if self.under else 4.0


class Leaf(Record):
    """One sheet of the diagram, laid out. `spots` and `shapes` go with the boxes of the plan, `lines` with its wires and with
    `ends`, the numbers of the boxes that each joins."""

    spots: tuple[Spot, ...]
    shapes: tuple[Shape, ...]
    lines: tuple[Line, ...]
    words: tuple[Words, ...]
    ends: tuple[tuple[int, int], ...]
    plan: Plan


def diagram(of: Ledger | t.Installation) -> tuple[Drawing, ...]:
    """The sheets of the diagram: supply side, returns and earths, signals; each in as many parts as it needs to be readable."""
    installation = of.installation if isinstance(of, Ledger) else of
    made: list[Drawing] = []
    for view in views_of(installation):
        parts = parted(view, partial(_fits_alone, installation, view))
        for index, _ in enumerate(parts):
            made.append(_sheet(installation, view, parts, index))
    return tuple(made)


def orientation(width: float, height: float) -> bool | None:
    """Whether a drawing goes on a page of A4 across (True) or upright (False), lettering of readable size; None: on neither."""
    scale = SIZE / LEAST
    for landscape, room in ((True, LANDSCAPE), (False, PORTRAIT)):
        if width <= room[0] * scale and height <= room[1] * scale:
            return landscape
    return None


def _fits_alone(installation: t.Installation, view: View, lines: Sequence[Line]) -> bool:
    return _fits(_leaf(installation, view, [lines], 0).plan)


def _fits(plan: Plan) -> bool:
    return orientation(plan.width, plan.height) is not None


# ---------------------------------------------------------------- one sheet


def _leaf(installation: t.Installation, view: View, parts: Sequence[Sequence[Line]], index: int) -> Leaf:
    """Laid out with ample words where they fit on the page, else with words in narrow lines."""
    leaf = _laid(installation, view, parts, index, ROOMS[0])
    return leaf if _fits(leaf.plan) else _laid(installation, view, parts, index, ROOMS[1])


def _laid(
    installation: t.Installation, view: View, parts: Sequence[Sequence[Line]], index: int, room: float
) -> Leaf:
    found = tuple(parts[index])
    at_home = _homes(parts)
    met = dict.fromkeys(spot for one in found for spot in (one.tail, one.head))
    joined = {spot for one in view.lines for spot in (one.tail, one.head)}
    spots = tuple(s for s in view.spots if s in met or (index == 0 and s not in joined))
    shapes = [_shape(installation, view, parts, index, spot, at_home.get(spot, index)) for spot in spots]
    number = {spot: n for n, spot in enumerate(spots)}
    ends = []
    for one in found:
        if one.head is one.tail:  # from a thing to itself: it is drawn there a second time, as a mark
            spots = (*spots, one.head)
            shapes.append(reference(one.head, one.end))
        ends.append((number[one.tail], len(spots) - 1 if one.head is one.tail else number[one.head]))
    crowded = {spot for spot in spots if sum(one.tail is spot for one in found) > 2}
    words = tuple(_words(installation, one, ROOMS[0] if one.tail in crowded else room) for one in found)
    edges = [
        Edge(
            tail,
            head,
            said.above,
            said.below,
            said.room,
            shapes[tail].rows.get(one.start),
        )
        for one, said, (tail, head) in zip(found, words, ends, strict=True)
    ]
    plan = lay_out([each.node for each in shapes], edges)
    return Leaf(spots, tuple(shapes), found, words, tuple(ends), plan)


def _shape(
    installation: t.Installation,
    view: View,
    parts: Sequence[Sequence[Line]],
    index: int,
    spot: Spot,
    home: int,
) -> Shape:
    """A thing in full on its own sheet, on others as a mark that says where it is; a hub shows on each sheet what it feeds there."""
    found = parts[index]
    left = tuple(one.end for one in found if one.head is spot)
    right = tuple(one.start for one in found if one.tail is spot)
    if home != index and not (isinstance(spot, t.Hub) and right):
        return reference(spot, f"sheet {home + 1}")
    others = [
        n + 1 for n, part in enumerate(parts) if n != index and any(spot in (o.tail, o.head) for o in part)
    ]
    notes = [f"also sheet {', '.join(map(str, others))}"] if others else []
    if view.name == "returns" and not isinstance(spot, t.Hub):
        notes += [f"and from {', '.join(circuits)}"] if (circuits := returned_to(installation, spot)) else []
    note = "; ".join(notes)
    spare: frozenset[str] = frozenset()
    if isinstance(spot, t.Hub) and home == index:
        used = {label for o in view.lines for on, label in ((o.tail, o.start), (o.head, o.end)) if on is spot}
        spare = frozenset(way.name.rpartition(".")[2] for way in installation.ways_of[spot]) - used
    return shape_of(spot, installation, Context(left, right, note, view.name == "returns", spare))


def _homes(parts: Sequence[Sequence[Line]]) -> dict[Spot, int]:
    """The sheet on which each thing is drawn in full: the one with most of its lines, that it feeds counting double."""
    counts: dict[Spot, list[int]] = {}
    for index, part in enumerate(parts):
        for one in part:
            counts.setdefault(one.tail, [0] * len(parts))[index] += 2
            counts.setdefault(one.head, [0] * len(parts))[index] += 1
    return {spot: count.index(max(count)) for spot, count in counts.items()}


def _sheet(installation: t.Installation, view: View, parts: Sequence[Sequence[Line]], index: int) -> Drawing:
    leaf = _leaf(installation, view, parts, index)
    name = f"diagram-{view.name}" + (f"-{index + 1}" if len(parts) > 1 else "")
    title = view.title + (f", sheet {index + 1} of {len(parts)}" if len(parts) > 1 else "")
    plan = leaf.plan
    body = "".join(
        _run(installation, one, said, wire)
        for one, said, wire in zip(leaf.lines, leaf.words, plan.wires, strict=True)
    )
    for number, (shape, box, spot) in enumerate(zip(leaf.shapes, plan.boxes, leaf.spots, strict=True)):
        left, right = _landings(leaf, number)
        body += group(shape.draw(box, left, right), spot.name)
    landscape = orientation(plan.width, plan.height)
    return drawing(name, title, _told(leaf), body, plan.width, plan.height, landscape is not False)


def _landings(leaf: Leaf, number: int) -> tuple[list[Landing], list[Landing]]:
    """The wires on the left and right side of a box."""
    box = leaf.plan.boxes[number]
    left: list[Landing] = []
    right: list[Landing] = []
    for one, ends, wire in zip(leaf.lines, leaf.ends, leaf.plan.wires, strict=True):
        heavy = one.run is not None and _is_heavy(one.run)
        for on, label, point in zip(
            ends, (one.start, one.end), (wire.points[0], wire.points[-1]), strict=True
        ):
            if on == number:
                side = left if abs(point[0] - box.x) < 0.05 else right
                side.append(Landing(point[1], label, heavy))
    return sorted(left, key=lambda each: each.y), sorted(right, key=lambda each: each.y)


# ---------------------------------------------------------------- one run


def _words(installation: t.Installation, one: Line, room: float) -> Words:
    run = one.run
    if run is None:
        return Words((), (), 8.0)
    over = wrapped(run.name, room, 2, bold=True)
    parts = [size_words(run), *_fuse_words(installation, run)]
    back = two_legs(installation, run)
    if back is not None and _elsewhere(one, back):
        parts.append(f"return {back.end.name}")
    parts += [f"joint at {joint.at.text}" for joint in _joints(installation, run)]
    if run.maker:
        parts.append("by the maker")
    under = _joined(parts, room)
    if run.label and run.label != run.name:
        under += _label(run.label, room, widest([*over, *under]))
    strokes = 12 if back else 0
    signs = len(fuses_of(installation, run)) * 18
    return Words(over, tuple(under), max(widest(over, bold=True), widest(under), signs) + strokes + 6)


def _label(label: str, room: float, taken: float) -> tuple[str, ...]:
    """What is printed at a run's ends, whole; where there is little room it makes the run no longer than it is."""
    quoted = f"“{label}”"
    least = widest(quoted.split())
    return wrapped(quoted, max(least, room if room == ROOMS[0] else taken), most=9)


def _joined(parts: Sequence[str], room: float) -> list[str]:
    """Parts on as few lines as the room allows, commas between them."""
    lines: list[str] = []
    for part in (piece for each in parts for piece in wrapped(each, room)):
        if lines and widest([f"{lines[-1]}, {part}"]) <= room:
            lines[-1] += f", {part}"
        else:
            lines.append(part)
    return lines


def size_words(run: t.Run) -> str:
    """The conductor as the trade says it."""
    cable = run.cable
    if run.multicore is not None:
        return f"core {run.core} of {run.multicore.name}"
    if isinstance(cable, t.Unknown):
        return "size to be chosen" if run.auto_cable else "size unknown"
    size = cable.size.text.replace("mm2", "mm²")
    return " ".join(each for each in ("twin" if cable.twin else "", size, cable.colour or "") if each)


def fuses_of(installation: t.Installation, run: t.Run) -> tuple[t.Fuse | t.Unknown, ...]:
    found = installation.fuses_of[run]
    return (found,) if isinstance(found, t.Unknown) else found


def _joints(installation: t.Installation, run: t.Run) -> tuple[t.Joint, ...]:
    """The joins in mid-run that are known."""
    found = installation.joints_of[run]
    return () if isinstance(found, t.Unknown) else found


def _fuse_words(installation: t.Installation, run: t.Run) -> list[str]:
    if isinstance(installation.fuses_of[run], t.Unknown):
        return ["fuse unknown"] if run.role == "feed" and not run.auto_fuse else []
    if installation.fitout.stage == "as-found" and "fuse" in run.clauses and not installation.fuses_of[run]:
        return ["no fuse"]
    return [
        f"{fuse.rating.text} {fuse.kind}" for fuse in fuses_of(installation, run) if isinstance(fuse, t.Fuse)
    ]


def _elsewhere(one: Line, back: t.Run) -> bool:
    """Whether a circuit comes back to another device than the one that feeds it."""
    return not (isinstance(back.end, t.Terminal) and back.end.device is one.tail)


def _run(installation: t.Installation, one: Line, said: Words, wire: Wire) -> str:
    """A wire with its fuses and words."""
    run = one.run
    if run is None:
        return group(path(course(wire.points), f'stroke="{SOFT}" stroke-dasharray="1 2"'), "joined by metal")
    thick = THICK if _is_heavy(run) else THIN
    dash = ' stroke-dasharray="5 2.5"' if run.role == "signal" else ""
    drawn = line(wire.points, f'stroke-width="{thick}"{dash}')
    for fuse in fuses_of(installation, run):
        if isinstance(fuse, t.Unknown):
            if run.role == "feed":
                drawn += symbols.fuse(_along(wire, None, one, run), wire.label_y, unsure=True)
            continue
        drawn += symbols.fuse(
            _along(wire, share_of(installation, fuse), one, run), wire.label_y, resets=resets(fuse)
        )
    if _joints(installation, run):
        drawn += dot((wire.label_x + wire.label_end) / 2, wire.label_y)
    if run.circuit is not None:
        drawn += symbols.conductors(wire.label_end - 7, wire.label_y)
    drawn += lines(
        wire.label_x + 2,
        wire.label_y - 5.5 - (len(said.over) - 1) * LEADING,
        said.over,
        bold=True,
        fill=COPPER,
    )
    drawn += lines(wire.label_x + 2, wire.label_y + SIZE + 3.5, said.under)
    return of_run(run.name, drawn, _tip(installation, run))


def share_of(installation: t.Installation, fuse: t.Fuse) -> float | None:
    """How far along its run a fuse stands, from 0 to 1."""
    run = fuse.run
    stretches = installation.stretches_of[run] if run else ()
    if (
        run is None
        or isinstance(stretches, t.Unknown)
        or not stretches
        or not isinstance(fuse.from_start_m, (int, float))
    ):
        return None
    return min(1.0, max(0.0, fuse.from_start_m / (stretches[-1].stop_m or 1.0)))


def _along(wire: Wire, share: float | None, one: Line, run: t.Run) -> float:
    """Where a fuse stands on the level piece of its wire: near the end that it is near to."""
    share = 0.0 if share is None else share
    if (one.tail is not _tail_spot(run)) != wire.turned:
        share = 1.0 - share
    start, end = wire.label_x + 9, max(wire.label_x + 9, wire.label_end - (20 if run.circuit else 9))
    return start + (end - start) * (0.0 if share <= 0.5 else 1.0)


def _tail_spot(run: t.Run) -> Spot:
    return run.start.device if isinstance(run.start, t.Terminal) else run.start


def _is_heavy(run: t.Run) -> bool:
    if isinstance(run.cable, t.Unknown) or run.cable.size.kind == "auto":
        return False
    size = run.cable.size
    if size.kind == "area":
        return float(size.number) >= HEAVY_MM2
    return "/" in size.number or float(size.number) <= 6


def _tip(installation: t.Installation, run: t.Run) -> str:
    """What a pointer over the run is told."""
    fuses = _fuse_words(installation, run)
    label = [f"labelled {run.label}"] if run.label else []
    return (
        f"{run.name}: {', '.join([f'{run.start.name} to {run.end.name}', size_words(run), *fuses, *label])}"
    )


def _told(leaf: Leaf) -> str:
    """The sheet in words: how much is on it, and from what to what."""
    count = sum(one.run is not None for one in leaf.lines)
    heads, tails = {one.head for one in leaf.lines}, {one.tail for one in leaf.lines}
    first = [spot.name for spot in dict.fromkeys(leaf.spots) if spot in tails and spot not in heads]
    last = [spot.name for spot in dict.fromkeys(leaf.spots) if spot in heads and spot not in tails]
    ends = f" from {', '.join(first)} on the left to {', '.join(last)} on the right" if first and last else ""
    return f"{count} run{'s' if count != 1 else ''}{ends}."
