"""What each thing of a diagram looks like: how much room it takes, and how it is drawn once it has its place."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from loomwright.model import things as t
from loomwright.record import Record, made
from loomwright.sheets.drawings import symbols
from loomwright.sheets.drawings.layout import Box, Node
from loomwright.sheets.drawings.lettering import LEADING, SIZE, widest, width_of, wrapped
from loomwright.sheets.drawings.network import Spot, resets
from loomwright.sheets.drawings.svg import COPPER, PAPER, SOFT, circle, dot, line, lines, rect, text

NAME = 62.0
"""Room for a name under a symbol."""
LOAD = 84.0
"""Room for the words of a load."""
ROW = 29.0
"""Height of a way in a hub: that of a consumer with its words, so that the wires between them are straight."""
THIN, THICK = 0.8, 1.6
"""How broad the lines of small and of heavy conductors are."""


class Landing(Record):
    """A wire at a node: its height on the paper, the terminal's own name, and whether it is drawn thick."""

    y: float
    label: str
    heavy: bool = False


Drawn = Callable[[Box, Sequence[Landing], Sequence[Landing]], str]


class Shape(Record):
    """A thing ready to be placed. `rows` fixes the height of terminals, from its top."""

    node: Node
    draw: Drawn
    rows: dict[str, float] = made(factory=dict)


class Context(Record):
    """What a shape must know of the view: the terminals in use on each side, and what is to be said under the name."""

    left: tuple[str, ...]
    right: tuple[str, ...]
    note: str = ""
    back: bool = False  # the view of the returns
    spare: frozenset[str] = frozenset()  # terminals that no line of any sheet lands on, to be shown here

    @property
    def labels(self) -> frozenset[str]:
        return frozenset((*self.left, *self.right))


def shape_of(spot: Spot, installation: t.Installation, context: Context) -> Shape:
    if isinstance(spot, t.Hub) and context.labels & {
        way.name.rpartition(".")[2] for way in installation.ways_of[spot]
    }:
        return _hub(spot, installation, context)
    if isinstance(spot, t.Structure):
        return _hanging(spot.name, (_known(spot.metal),), 14.0, symbols.frame, context)
    if isinstance(spot, t.Earthpoint):
        return _hanging(spot.name, (), 14.0, symbols.earth, context)
    if isinstance(spot, t.Battery):
        hung = symbols.battery_from_below if context.back else symbols.battery
        return _hanging(spot.name, _battery(spot), 24.0, hung, context)
    if isinstance(spot, (t.Busbar, t.Splice)):
        return _bar(spot, context)
    if context.back and not isinstance(spot, (t.Contact, t.Plug)):
        return _words(spot.name, (), None, context)
    if isinstance(spot, (t.Load, t.Sensor)) and context.labels <= {"pos"}:
        return _words(spot.name, _draw_of(spot), _consumer(spot), context)
    symbol = _symbol(spot)
    if symbol is not None and context.labels <= {"pos", "in", "out"}:
        return _inline(spot.name, _figures(spot), symbol, context)
    return _boxed(spot, context)


def reference(spot: Spot, sheet: str) -> Shape:
    """A thing that stands on another sheet."""
    name = wrapped(spot.name, NAME, 2, bold=True)
    room = max(widest(name, bold=True), width_of(sheet)) + 8
    height = (len(name) + 1) * LEADING + 5

    def draw(box: Box, _left: Sequence[Landing], _right: Sequence[Landing]) -> str:
        frame = rect(box.x, box.y, box.width, box.height, 'stroke-dasharray="3 2"')
        middle = box.x + box.width / 2
        top = box.y + (box.height - height) / 2 + LEADING
        told = lines(middle, top, name, bold=True, anchor="middle")
        return frame + told + text(middle, top + len(name) * LEADING, sheet, anchor="middle", fill=COPPER)

    return Shape(Node(room, height / 2, height / 2), draw)


# ---------------------------------------------------------------- families of shapes

Symbol = Callable[[float, float], str]


def _under(
    name: str, details: Sequence[str], context: Context
) -> tuple[tuple[str, ...], tuple[str, ...], float]:
    """Name, details and their height, as they stand under a symbol."""
    told = wrapped(name, NAME, 2, bold=True)
    more = tuple(part for each in details if each for part in wrapped(each, NAME, 4))
    notes = wrapped(context.note, NAME, 5) if context.note else ()
    return told, (*more, *notes), (len(told) + len(more) + len(notes)) * LEADING + 3


def _print(x: float, y: float, told: Sequence[str], more: Sequence[str]) -> str:
    named = lines(x, y, told, bold=True, anchor="middle")
    return named + lines(x, y + len(told) * LEADING, more, anchor="middle", fill=SOFT)


def _stubs(landings: Sequence[Landing], edge: float, x: float) -> str:
    """Wires of one side, led on from the edge of their box as broad as they come."""
    return "".join(
        line([(edge, each.y), (x, each.y)], f'stroke-width="{THICK}"' if each.heavy else "")
        for each in landings
    )


def _bars(landings: Sequence[Landing], x: float, edge: float, y: float) -> str:
    """Wires of one side brought together at (x, y): level pieces to an upright one, dotted where three meet."""
    if not landings:
        return ""
    heights = [each.y for each in landings]
    drawn = _stubs(landings, edge, x)
    top, bottom = min(*heights, y), max(*heights, y)
    if bottom - top > 0.05:
        drawn += line([(x, top), (x, bottom)])
    inner = [height for height in heights if top < height < bottom]
    return drawn + "".join(dot(x, height) for height in inner)


def _hanging(name: str, details: Sequence[str], tall: float, symbol: Symbol, context: Context) -> Shape:
    """A symbol that hangs from its one node: a battery, an earth."""
    told, more, under = _under(name, details, context)
    room = max(widest(told, bold=True), widest(more), 34.0) + 4

    def draw(box: Box, left: Sequence[Landing], right: Sequence[Landing]) -> str:
        x = box.x + box.width / 2
        heights = [each.y for each in (*left, *right)] or [box.y + 4]
        bottom = box.y + box.height - under - tall
        wires = _stubs(left, box.x, x) + _stubs(right, box.x + box.width, x)
        wires += line([(x, min(heights)), (x, bottom)])
        dots = "".join(dot(x, height) for height in sorted(set(heights)))
        return wires + dots + symbol(x, bottom) + _print(x, bottom + tall + SIZE + 1, told, more)

    return Shape(Node(room, 4.0, tall + under + 4.0), draw)


def _inline(name: str, details: Sequence[str], symbol: Symbol, context: Context) -> Shape:
    """A symbol with a pin on each side."""
    told, more, under = _under(name, details, context)
    room = max(widest(told, bold=True), widest(more), 2 * symbols.HALF + 16) + 4

    def draw(box: Box, left: Sequence[Landing], right: Sequence[Landing]) -> str:
        x = box.x + box.width / 2
        bottom = box.y + box.height - under
        every = [each.y for each in (*left, *right)] or [bottom - 12]
        y = left[0].y if len(left) == 1 else right[0].y if len(right) == 1 else sum(every) / len(every)
        wires = _bars(left, x - symbols.HALF, box.x, y) + _bars(right, x + symbols.HALF, box.x + box.width, y)
        return wires + symbol(x, y) + _print(x, bottom + SIZE + 1, told, more)

    return Shape(Node(room, 15.0, 13.0 + under), draw)


def _bar(spot: t.Device, context: Context) -> Shape:
    """All studs of a busbar, or the wires of a splice, are one."""
    thick = isinstance(spot, t.Busbar)
    details = (_known(spot.rated),) if isinstance(spot, t.Busbar) else ()
    told, more, under = _under(spot.name, details, context)
    room = max(widest(told, bold=True), widest(more), 24.0) + 4

    def draw(box: Box, left: Sequence[Landing], right: Sequence[Landing]) -> str:
        x = box.x + box.width / 2
        heights = [each.y for each in (*left, *right)] or [box.y + 8]
        top, bottom = min(heights) - (6 if thick else 0), max(heights) + (6 if thick else 0)
        drawn = _stubs(left, box.x, x) + _stubs(right, box.x + box.width, x)
        drawn += line([(x, top), (x, bottom)], 'stroke-width="3"' if thick else "")
        marks = symbols.terminal if thick else dot
        drawn += "".join(marks(x, height) for height in sorted(set(heights)))
        return drawn + _print(x, box.y + box.height - under + SIZE, told, more)

    return Shape(Node(room, 9.0, 9.0 + under), draw)


def _words(name: str, details: Sequence[str], symbol: Symbol | None, context: Context) -> Shape:
    """A consumer: its name in a box, or beside the symbol of a lamp or a motor."""
    aside = 2 * symbols.RADIUS + 4 if symbol else 4.0
    told = wrapped(name, LOAD - aside, 2, bold=True)
    more = tuple(part for each in (*details, context.note) if each for part in wrapped(each, LOAD - aside))
    room = aside + max(widest(told, bold=True), widest(more)) + 4
    height = max((len(told) + len(more)) * LEADING + 3, 2 * symbols.RADIUS + 1)

    def draw(box: Box, left: Sequence[Landing], right: Sequence[Landing]) -> str:
        top = box.y + (box.height - (len(told) + len(more)) * LEADING - 3) / 2
        every = [each.y for each in (*left, *right)]
        drawn = rect(box.x, box.y, box.width, box.height)
        if symbol:
            y = left[0].y if len(left) == 1 else box.y + box.height / 2
            x = box.x + symbols.RADIUS
            drawn = symbol(x, y)
            if len(every) > 1:
                drawn += line([(box.x, min(every)), (box.x, max(every))])
        drawn += lines(box.x + aside, top + LEADING - 0.5, told, bold=True)
        return drawn + lines(box.x + aside, top + LEADING - 0.5 + len(told) * LEADING, more, fill=SOFT)

    return Shape(Node(room, height / 2, height / 2), draw)


def _boxed(spot: Spot, context: Context) -> Shape:
    """A box with its terminals named at its sides, its symbol between them and its name underneath."""
    told, more, under = _under(spot.name, _figures(spot) if isinstance(spot, t.Device) else (), context)
    symbol = _symbol(spot)
    sides = widest(context.left), widest(context.right)
    inner = sides[0] + sides[1] + (2 * symbols.HALF + 12 if symbol else 8) + 6
    room = max(widest(told, bold=True), widest(more), inner)

    def draw(box: Box, left: Sequence[Landing], right: Sequence[Landing]) -> str:
        drawn = rect(box.x, box.y, box.width, box.height - under)
        drawn += "".join(text(box.x + 3, each.y + 2.6, each.label) for each in left)
        drawn += "".join(
            text(box.x + box.width - 3, each.y + 2.6, each.label, anchor="end") for each in right
        )
        if symbol:
            x = box.x + (box.width - sum(sides)) / 2 + sides[0]
            drawn += symbol(x, box.y + (box.height - under) / 2)
        return drawn + _print(box.x + box.width / 2, box.y + box.height - under + SIZE + 1, told, more)

    return Shape(Node(room, 14.0, 14.0 + under), draw)


def _hub(hub: t.Hub, installation: t.Installation, context: Context) -> Shape:
    """A tall box with a row for each way: its number, its fuse and the rating."""
    shown = context.labels | context.spare
    ways = tuple(way for way in installation.ways_of[hub] if way.name.rpartition(".")[2] in shown)
    words = [_way_words(installation, way) for way in ways]
    told = (hub.name, *(each for each in (_known(hub.rated), context.note) if each))
    top = len(told) * LEADING + 6
    rows = {way.name.rpartition(".")[2]: top + index * ROW + ROW / 2 for index, way in enumerate(ways)}
    height = top + len(ways) * ROW
    back_fed = widest([each for each in context.left if each in rows])
    aside = back_fed + 5 if back_fed else 0.0
    room = max(58 + aside + widest(each for pair in words for each in pair), widest(told, bold=True) + 10)

    def draw(box: Box, left: Sequence[Landing], right: Sequence[Landing]) -> str:
        drawn = rect(box.x, box.y, box.width, box.height, f'fill="{PAPER}"')
        drawn += text(box.x + 5, box.y + LEADING + 1, told[0], bold=True)
        drawn += lines(box.x + 5, box.y + 2 * LEADING + 1, told[1:], fill=SOFT)
        bus = box.x + 9 + aside
        fed = [each for each in left if each.label not in rows]
        into = [each.y for each in fed]
        drawn += "".join(text(box.x + 3, each.y + 2.6, each.label) for each in left if each not in fed)
        levels = [box.y + rows[way.name.rpartition(".")[2]] for way in ways]
        drawn += line([(bus, min([*into, *levels])), (bus, max([*into, *levels]))], 'stroke-width="1.6"')
        drawn += _stubs(fed, box.x, bus) + "".join(dot(bus, y) for y in into)
        for way, y, said in zip(ways, levels, words, strict=True):
            drawn += _way(
                installation, way, box, bus, y, said, any(abs(each.y - y) < ROW / 2 for each in right)
            )
        return drawn

    return Shape(Node(room, top + ROW / 2, ROW / 2, max(0.0, height - top - ROW)), draw, rows)


def _way(
    installation: t.Installation,
    way: t.Way,
    box: Box,
    bus: float,
    y: float,
    said: tuple[str, str],
    used: bool,
) -> str:
    """One row of a hub."""
    fuse = installation.fuse_of_way[way]
    right = box.x + box.width
    drawn = line([(box.x, y - ROW / 2), (right, y - ROW / 2)], f'stroke="{SOFT}" stroke-width="0.3"')
    drawn += text(bus + 4, y - 4, way.name.rpartition(".")[2], bold=True)
    drawn += line([(bus, y), (right, y)]) if used else line([(bus, y), (bus + 34, y)])
    if fuse is not None:
        unsure = isinstance(fuse, t.Unknown)
        drawn += symbols.fuse(bus + 23, y, unsure=unsure, resets=isinstance(fuse, t.Fuse) and resets(fuse))
    drawn += text(right - 4, y - 4, said[0], anchor="end")
    return drawn + text(right - 4, y + 9, said[1], anchor="end", fill=SOFT)


def _way_words(installation: t.Installation, way: t.Way) -> tuple[str, str]:
    fuse = installation.fuse_of_way[way]
    terminal = installation.terminals.get(way.name)
    spare = terminal is None or not installation.landing_on.get(terminal)
    under = ", ".join(each for each in (way.control or "", "spare" if spare else "") if each)
    if isinstance(fuse, t.Unknown):
        return "fuse unknown", under
    return ("no fuse" if fuse is None else f"{fuse.rating.text} {fuse.kind}"), under


# ---------------------------------------------------------------- what things are called and drawn as


def _symbol(spot: Spot) -> Symbol | None:
    if isinstance(spot, t.Plug):
        return symbols.coupling
    if isinstance(spot, t.Alternator):
        return lambda x, y: symbols.lettered(x, y, "G", "direct") + _leads(x, y, symbols.RADIUS)
    if isinstance(spot, t.Solar):
        return lambda x, y: symbols.panel(x, y) + _leads(x, y, 9)
    if isinstance(spot, t.Supply):
        return lambda x, y: circle(x, y, 3, f'fill="{PAPER}"') + line([(x + 3, y), (x + symbols.HALF, y)])
    if isinstance(spot, t.Relay):
        return symbols.relay
    if isinstance(spot, t.Contact):
        return {"isolator": lambda x, y: symbols.contact(x, y, True), "shunt": symbols.shunt}.get(
            spot.kind, symbols.contact
        )
    if isinstance(spot, t.Charger):
        return symbols.converter
    if isinstance(spot, t.Inverter):
        return lambda x, y: symbols.converter(x, y, mains=True)
    return None


def _leads(x: float, y: float, half: float) -> str:
    return line([(x + half, y), (x + symbols.HALF, y)])


LAMPS = ("lamp", "lamps", "light", "lights", "beacon", "beacons")
MOTORS = ("pump", "fan", "motor", "winch", "blower", "compressor")


def _consumer(spot: Spot) -> Symbol | None:
    """Lamps and motors are known by the trade's words in their names; all others are boxes."""
    words = spot.name.split("-")
    if any(word in LAMPS for word in words):
        return symbols.lamp
    if any(word in MOTORS for word in words):
        return lambda x, y: symbols.lettered(x, y, "M")
    return None


def _known(value: object) -> str:
    """What was written, or "" where nothing was."""
    if value is None or isinstance(value, t.Unknown):
        return ""
    return str(getattr(value, "text", value))


def _battery(battery: t.Battery) -> tuple[str, ...]:
    return (
        " ".join(each for each in (_known(battery.capacity), _known(battery.chemistry)) if each),
        battery.serves,
    )


def _draw_of(spot: Spot) -> tuple[str, ...]:
    drawn = _known(spot.draws) if isinstance(spot, (t.Load, t.Sensor)) else ""
    many = f"{spot.count} × " if isinstance(spot, t.Load) and spot.count > 1 else ""
    return (many + drawn,) if drawn else ()


def _figures(spot: Spot) -> tuple[str, ...]:
    """The figures that a reader wants to see beside a symbol."""
    if isinstance(spot, t.Charger):
        made = _known(spot.output_amps)
        return (f"{made} at {_known(spot.output_volts)}",) if made else ()
    if isinstance(spot, t.Solar):
        many = f"{spot.count} × " if spot.count > 1 else ""
        return (many + _known(spot.peak) + (f" {spot.arrangement}" if many else ""),)
    if isinstance(spot, t.Inverter):
        return (_known(spot.rated), "mains side: licensed electrician only")
    if isinstance(spot, t.Supply):
        return (_known(spot.rated), f"live {_known(spot.live)}" if _known(spot.live) else "")
    if isinstance(spot, (t.Alternator, t.Contact, t.Relay, t.Plug)):
        return (_known(spot.rated),)
    return _draw_of(spot)
