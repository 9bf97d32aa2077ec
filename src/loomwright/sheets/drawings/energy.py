"""The state of charge through a day, or several, as a line over the hours."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from loomwright.quantity import written
from loomwright.record import Record
from loomwright.sheets.drawings.chart import Frame, Scale, Words, thinned
from loomwright.sheets.drawings.lettering import SIZE, shortened, width_of
from loomwright.sheets.drawings.svg import (
    COPPER,
    HAIR,
    INK,
    SHADE,
    SOFT,
    Drawing,
    circle,
    course,
    drawing,
    group,
    line,
    path,
    rect,
    text,
)

LEFT, TOP, WIDE, HIGH = 40.0, 22.0, 440.0, 190.0
FILL = "#eee0cf"


class Spell(Record):
    """How long a mode lasts, in hours from the start of the chart."""

    name: str
    start: float
    stop: float


def energy_chart(
    name: str,
    title: str,
    hours: Sequence[float],
    state_percent: Sequence[float],
    reserve_percent: float | None = None,
    spells: Sequence[Spell] = (),
) -> Drawing:
    """State of charge in % over rising `hours`, with the reserve that must be left as a dashed line and the modes on top.
    Raises ValueError where the two sequences don't go together or have fewer than two figures."""
    if len(hours) != len(state_percent) or len(hours) < 2 or any(b < a for a, b in itertools.pairwise(hours)):
        raise ValueError("hours and states of charge must be as many, two at least, and hours must rise")
    frame = Frame(Scale(hours[0], hours[-1], LEFT, LEFT + WIDE), Scale(0.0, 100.0, TOP + HIGH, TOP))
    points = thinned([frame.point(x, y) for x, y in zip(hours, state_percent, strict=True)])
    least = min(range(len(hours)), key=lambda index: (state_percent[index], index))
    x, y = frame.point(hours[least], state_percent[least])
    words = Words(frame)
    words.avoid(points)
    area = [(LEFT, TOP + HIGH), *points, (LEFT + WIDE, TOP + HIGH)]
    body = path(course(area) + "Z", f'fill="{FILL}" stroke="none"') + _grid(frame)
    body += "".join(_spell(spell, frame, index) for index, spell in enumerate(spells))
    body += line(points, f'stroke="{INK}" stroke-width="1.6"') + circle(x, y, 2.6, f'fill="{INK}"')
    words.taken.append((x - 3, y - 3, x + 3, y + 3))
    if reserve_percent is not None:
        level = frame.y.at(reserve_percent)
        body += line([(LEFT, level), (LEFT + WIDE, level)], f'stroke="{COPPER}" stroke-dasharray="5 3"')
        words.avoid([(LEFT, level), (LEFT + WIDE, level)])
        spots = [(LEFT + 10 + 30.0 * step, level) for step in range(12)]
        body += words.put(f"reserve {_percent(reserve_percent)}", spots, COPPER)
    lowest = f"lowest {_percent(state_percent[least])} at {written(hours[least], 'h', 3)}"
    body += words.put(
        lowest, [(x + dx, y + dy) for dy in (0.0, -14.0, 14.0, -28.0) for dx in (0.0, -60.0, 60.0)]
    )
    told = f"From {_percent(state_percent[0])} to {_percent(state_percent[-1])}; {lowest}" + (
        f"; reserve {_percent(reserve_percent)}." if reserve_percent is not None else "."
    )
    return drawing(name, title, told, body, LEFT + WIDE + 14, TOP + HIGH + 28, False)


def _percent(value: float) -> str:
    return f"{value:.0f} %"


def _step(long: float) -> float:
    """Hours between two marks of the axis: at most twelve marks."""
    return next((step for step in (1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0) if long / step <= 12), 96.0)


def _grid(frame: Frame) -> str:
    left, top, right, bottom = frame.box
    drawn = ""
    for share in range(0, 101, 20):
        y = frame.y.at(share)
        drawn += line([(left, y), (right, y)], f'stroke="{HAIR}" stroke-width="0.5"')
        drawn += text(left - 4, y + 2.6, str(share), anchor="end", fill=SOFT)
    step = _step(frame.x.high - frame.x.low)
    hour = frame.x.low
    while hour <= frame.x.high + 1e-9:
        x = frame.x.at(hour)
        drawn += line([(x, top), (x, bottom)], f'stroke="{HAIR}" stroke-width="0.5"')
        drawn += text(x, bottom + SIZE + 3, f"{hour:g}", anchor="middle", fill=SOFT)
        hour += step
    drawn += rect(left, top, right - left, bottom - top)
    drawn += text((left + right) / 2, bottom + 2 * SIZE + 6, "hours", anchor="middle")
    return drawn + text(2, top - 12, "charge, %")


def _spell(spell: Spell, frame: Frame, index: int) -> str:
    """A mode as a strip over the frame, with its name where there is room."""
    x1, x2 = frame.x.at(spell.start), frame.x.at(spell.stop)
    top = frame.box[1]
    fill = SHADE if index % 2 else "none"
    drawn = rect(x1, top - 9, x2 - x1, 9, f'fill="{fill}" stroke="{SOFT}" stroke-width="0.4"')
    named = shortened(spell.name, x2 - x1 - 4)
    if width_of(named) <= x2 - x1 - 2 and len(named) > 1:
        drawn += text((x1 + x2) / 2, top - 2, named, anchor="middle")
    return group(drawn, f"{spell.name}: {spell.start:g} h to {spell.stop:g} h")
