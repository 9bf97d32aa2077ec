"""The warmth around a thing through a day, and how much of the time it runs in it. Temperatures in °C, hours solar."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, pi

HOTTEST = 15.0
"""The hour at which a usual day is hottest (common practice, no source)."""


def at_hour(low: float, high: float, hour: float) -> float:
    """The temperature of a day between `low` and `high`: a cosine about their mean, hottest at `HOTTEST`, coolest twelve hours from it.

    The course is common practice, no source; its mean is that of FAO Irrigation and Drainage Paper 56, eq. 9: (low + high) / 2.
    """
    return (low + high) / 2 + (high - low) / 2 * cos(2 * pi * (hour - HOTTEST) / 24)


def duty_at(points: Sequence[tuple[float, float]], celsius: float) -> float:
    """The share of the time, 0 to 1, that something draws at a temperature, from its (temperature, share) pairs, coolest first.

    Straight lines between the pairs. Beyond the first and the last, where nobody measured: the end's own share, or what its slope
    leads to where that is more, and never above 1; so it is not taken to run less than it was seen to.
    """
    first, last = points[0], points[-1]
    if celsius <= first[0]:
        return _beyond(points[:2], first, celsius)
    if celsius >= last[0]:
        return _beyond(points[-2:], last, celsius)
    place = next(index for index, (at, _) in enumerate(points) if at >= celsius)
    return _line(points[place - 1], points[place], celsius)


def greatest_duty(points: Sequence[tuple[float, float]], low: float, high: float) -> float:
    """The greatest share within two temperatures: straight lines have it at an end or at a corner."""
    inside = [at for at, _ in points if low < at < high]
    return max(duty_at(points, celsius) for celsius in (low, *inside, high))


def _line(one: tuple[float, float], other: tuple[float, float], celsius: float) -> float:
    return one[1] + (other[1] - one[1]) * (celsius - one[0]) / (other[0] - one[0])


def _beyond(points: Sequence[tuple[float, float]], end: tuple[float, float], celsius: float) -> float:
    led = _line(points[0], points[1], celsius) if len(points) == 2 else end[1]
    return min(1.0, max(end[1], led))
