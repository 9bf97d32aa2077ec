"""The day's course of the warmth, and the share of the time that something runs in it."""

from __future__ import annotations

from math import pi, sin

import pytest

from loomwright.analysis.ambient import at_hour, duty_at, greatest_duty

COOLER = [(20.0, 0.3), (40.0, 0.6)]
HEATER = [(5.0, 0.6), (30.0, 0.2)]


def test_a_day_is_coolest_at_night_hottest_in_the_afternoon_and_has_the_mean_of_fao_56() -> None:
    """FAO Irrigation and Drainage Paper 56, eq. 9: the mean of a day is (Tmax + Tmin) / 2."""
    assert at_hour(14, 34, 3) == pytest.approx(14)
    assert at_hour(14, 34, 15) == pytest.approx(34)
    assert at_hour(14, 34, 9) == pytest.approx(24)
    assert sum(at_hour(14, 34, hour) for hour in range(24)) / 24 == pytest.approx((14 + 34) / 2)


@pytest.mark.parametrize(
    ("points", "celsius", "share"),
    [
        (COOLER, 20, 0.3),
        (COOLER, 40, 0.6),
        (COOLER, 30, 0.45),
        (COOLER, 10, 0.3),  # not seen to run less
        (COOLER, 50, 0.75),  # the slope goes on
        (COOLER, 90, 1.0),
        (HEATER, -5, 0.76),
        (HEATER, 45, 0.2),
        ([(25.0, 0.35)], -40, 0.35),
        ([(0.0, 0.2), (20.0, 0.2), (30.0, 0.8)], 25, 0.5),
    ],
)
def test_between_two_temperatures_the_duty_is_on_a_line_and_beyond_them_never_less(
    points: list[tuple[float, float]], celsius: float, share: float
) -> None:
    assert duty_at(points, celsius) == pytest.approx(share)


def test_the_greatest_duty_in_a_range_is_at_an_end_or_a_corner() -> None:
    assert greatest_duty(COOLER, -10, 35) == pytest.approx(0.525)
    assert greatest_duty(HEATER, -5, 45) == pytest.approx(0.76)
    assert greatest_duty([(0.0, 0.2), (20.0, 0.9), (30.0, 0.4)], 0, 30) == pytest.approx(0.9)


def test_the_mean_duty_of_a_day_is_that_of_the_integral_by_hand() -> None:
    """15 °C to 35 °C: T = 25 + 10 cos x, above 20 °C for |x| < 2π/3; there the share is 0.3 + 0.015 (T − 20), else 0.3. So the mean is
    0.3 + 0.015 / 2π · ∫(5 + 10 cos x) dx = 0.3 + 0.015 / 2π · (5 · 4π/3 + 20 sin 2π/3) = 0.39135."""
    by_hand = 0.3 + 0.015 / (2 * pi) * (5 * 4 * pi / 3 + 20 * sin(2 * pi / 3))
    assert by_hand == pytest.approx(0.39135, abs=1e-5)
    steps = 24 * 12
    mean = sum(duty_at(COOLER, at_hour(15, 35, (n + 0.5) / 12)) for n in range(steps)) / steps
    assert mean == pytest.approx(by_hand, rel=1e-4)
