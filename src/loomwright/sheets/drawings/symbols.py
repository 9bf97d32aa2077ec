"""Graphical symbols in the manner of IEC 60617 (drawn from memory), each centred on a point, its pins level on both sides."""

from __future__ import annotations

from loomwright.sheets.drawings.svg import COPPER, INK, PAPER, circle, line, number, path, rect, text

RADIUS = 8.0
HALF = 10.0
"""Half the width of a symbol with two pins."""
SOLID = f'fill="{INK}"'
PAPER_FILL = f'fill="{PAPER}"'


def battery(x: float, y: float, signs: str = "+−") -> str:
    """Two cells hanging from (x, y) by their positive pole, which is the long plate. It is 24 high."""
    long, short = ((6, 14), (10, 18)) if signs == "+−" else ((10, 18), (6, 14))
    plates = "".join(f"M{number(x - 9)} {number(y + down)}h18" for down in long)
    stubs = f"M{number(x)} {number(y)}v6M{number(x)} {number(y + 18)}v6"
    thick = "".join(rect(x - 4.5, y + down - 0.9, 9, 1.8, f'{SOLID} stroke="none"') for down in short)
    return path(plates + stubs) + thick + text(x + 11, y + 8, signs[0]) + text(x + 11, y + 21.5, signs[1])


def battery_from_below(x: float, y: float) -> str:
    """The same, hanging by its negative pole."""
    return battery(x, y, "−+")


def coupling(x: float, y: float) -> str:
    """A plug in its socket: it parts here."""
    socket = f"M{number(x + 5)} {number(y - 4.5)}a4.5 4.5 0 0 0 0 9M{number(x + 0.5)} {number(y)}h-9.5"
    return (
        path(socket)
        + rect(x - 2, y - 1.4, 6, 2.8, f'{SOLID} stroke="none"')
        + path(f"M{number(x + 4)} {number(y)}h5")
    )


def lettered(x: float, y: float, letter: str, current: str = "") -> str:
    """A machine: G for a generator, M for a motor, the kind of current under the letter."""
    below = line([(x - 3, y + 5), (x + 3, y + 5)]) if current else ""
    return circle(x, y, RADIUS) + text(x, y + (2 if current else 2.8), letter, anchor="middle") + below


def lamp(x: float, y: float) -> str:
    reach = RADIUS * 0.7071
    cross = line([(x - reach, y - reach), (x + reach, y + reach)]) + line(
        [(x - reach, y + reach), (x + reach, y - reach)]
    )
    return circle(x, y, RADIUS) + cross


def panel(x: float, y: float) -> str:
    """A photovoltaic panel: a cell in a box, with light falling on it."""
    cell = f"M{number(x - 9)} {number(y)}h5m0 -5v10m3 -7.5v5m0 -2.5h10"
    light = "".join(
        f"M{number(x - 9 + shift)} {number(y - 13)}l4.5 4.5m-2.6 -0.4l2.6 0.4l-0.4 -2.6" for shift in (1, 7)
    )
    return rect(x - 9, y - 7, 18, 14) + path(cell) + path(light)


def contact(x: float, y: float, isolating: bool = False) -> str:
    """A make contact; an isolator has a bar across its fixed contact."""
    blade = f"M{number(x - HALF)} {number(y)}h4l9 -6.5M{number(x + 4)} {number(y)}h6"
    return path(blade + (f"M{number(x + 4)} {number(y - 3)}v6" if isolating else ""))


def relay(x: float, y: float) -> str:
    """A make contact worked by a coil."""
    coil = rect(x - 6, y + 5, 12, 6)
    return contact(x, y) + coil + line([(x - 1.5, y + 5), (x - 1.5, y - 3.5)], 'stroke-dasharray="1.5 1.5"')


def shunt(x: float, y: float) -> str:
    """A resistor with taps for measuring."""
    taps = f"M{number(x - 8.5)} {number(y)}v7M{number(x + 8.5)} {number(y)}v7"
    return path(f"M{number(x - HALF)} {number(y)}h4M{number(x + 6)} {number(y)}h4{taps}") + rect(
        x - 6, y - 3, 12, 6
    )


def converter(x: float, y: float, mains: bool = False) -> str:
    """A box parted by a diagonal: direct current to direct current, or to alternating current."""
    box = rect(x - 11, y - 9, 22, 18) + line([(x - 11, y + 9), (x + 11, y - 9)])
    direct = f"M{number(x - 9)} {number(y - 5.5)}h7m-7 2h2m1.5 0h2m1.5 0h0.1"
    other = (
        f"M{number(x + 2)} {number(y + 5)}q1.8 -4 3.5 0t3.5 0"
        if mains
        else f"M{number(x + 2)} {number(y + 4)}h7m-7 2h2m1.5 0h2m1.5 0h0.1"
    )
    return box + path(direct + other)


def fuse(x: float, y: float, *, unsure: bool = False, resets: bool = False) -> str:
    """A rectangle with the line through it; broken where it isn't known whether there is one. What resets shows its contact."""
    dash = ' stroke-dasharray="2 1.5"' if unsure else ""
    body = rect(x - 7, y - 3, 14, 6, f'{PAPER_FILL} stroke="{COPPER}"{dash}')
    if unsure:
        return body + text(x, y + 2.7, "?", anchor="middle", fill=COPPER)
    if resets:
        opening = f"M{number(x - 7)} {number(y)}h4l5.5 -2.4M{number(x + 3)} {number(y)}h4"
        return body + path(opening, f'stroke="{COPPER}"')
    return body + line([(x - 7, y), (x + 7, y)], f'stroke="{COPPER}"')


def frame(x: float, y: float) -> str:
    """The symbol of a frame or chassis, hanging from (x, y). It is 14 high."""
    return path(
        f"M{number(x)} {number(y)}v8m-9 0h18"
        + "".join(f"M{number(x + s)} {number(y + 8)}l-4 6" for s in (-8, 0, 8))
    )


def earth(x: float, y: float) -> str:
    """The symbol of an earth, hanging from (x, y). It is 14 high."""
    return path(f"M{number(x)} {number(y)}v7m-8 0h16m-13 3h10m-7 3h4")


def terminal(x: float, y: float) -> str:
    return circle(x, y, 1.9, PAPER_FILL)


def conductors(x: float, y: float) -> str:
    """Two strokes across a line: it stands for two conductors."""
    return path(f"M{number(x - 3.5)} {number(y + 3)}l3 -6m1 6l3 -6")
