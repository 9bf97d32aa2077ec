"""Batteries and the sun against worked examples and another program: Peukert, days of autonomy, FAO-56, and pvlib's geometry and sky."""

from __future__ import annotations

import datetime
from math import radians, sin

import pandas
import pvlib
import pytest

from loomwright.analysis import sun
from loomwright.analysis.energy import Bank, Spell, autonomy_ah, hours_until, peukert_hours

pytestmark = pytest.mark.filterwarnings("ignore:DatetimeIndex.dayofyear")
LATITUDES = (-54.8, -33.4, 0.0, 35.0, 60.0)


def test_peukert_s_time_from_the_one_ampere_capacity() -> None:
    """Public electrical engineering text on Peukert's law: 100 Ah at 1 A, exponent 1.2, 5 A: 14.5 h."""
    assert peukert_hours(100, 100, 1.2, 5) == pytest.approx(14.5, rel=0.002)


def test_the_simulated_bank_empties_in_peukert_s_time() -> None:
    bank = Bank(100, 50, 1.0, exponent=1.2, rated_hours=20)
    emptied = hours_until(bank, (Spell("on", 24, {"load": 25.0}),), (), 1.0, 1e-9, 1)
    assert emptied == pytest.approx(peukert_hours(100, 20, 1.2, 25), abs=0.09)  # one step of 5 min


def test_the_autonomy_of_a_battery_in_the_cold() -> None:
    """Public article on simplified sizing in the way of IEEE 1013: 1000 Wh a day, 2.5 days, half used, 1.3 for 4.4 °C: 541.7 Ah."""
    assert autonomy_ah(1000, 2.5, 0.5, 12, 1.3) == pytest.approx(541.7, rel=0.001)


def test_radiation_above_the_air_is_that_of_the_worked_example() -> None:
    """FAO Irrigation and Drainage Paper 56, example 8 (from memory): 20° S on 3 September, 32.2 MJ/(m² day)."""
    assert sun.extraterrestrial(-20.0, 246) == pytest.approx(32.2, abs=0.1)


def test_the_sun_of_a_day_adds_up_to_fao_s_daily_sum() -> None:
    """FAO-56 eq. 21 against the sun's altitude added up over the day: within 7 % of the year's mean of the latitude."""
    for latitude in LATITUDES:
        mean = sum(sun.extraterrestrial(latitude, day) for day in sun.MIDDLES) / 12
        for day in sun.MIDDLES:
            above = sun.SOLAR_CONSTANT * 60 * sun.distance_factor(day)
            high = (sin(radians(sun.position(latitude, day, (n + 0.5) / 12)[0])) for n in range(24 * 12))
            assert above * sum(max(0.0, each) for each in high) / 12 == pytest.approx(
                sun.extraterrestrial(latitude, day), abs=0.07 * mean
            )


def test_there_is_no_day_in_the_polar_night_and_no_night_in_the_polar_day() -> None:
    """FAO-56 eq. 34 at its ends."""
    assert sun.day_length(80.0, 355) == 0.0
    assert sun.day_length(80.0, 172) == pytest.approx(24.0)
    assert sun.extraterrestrial(80.0, 355) == pytest.approx(0.0, abs=1e-9)
    assert sun.day_length(0.0, 80) == pytest.approx(12.0, abs=0.01)


# ---------------------------------------------------------------- pvlib


def times(day: int) -> pandas.DatetimeIndex:
    start = pandas.Timestamp("2025-01-01", tz="UTC") + datetime.timedelta(days=day - 1)
    return pandas.date_range(start + datetime.timedelta(minutes=5), periods=144, freq="10min")


@pytest.mark.parametrize("latitude", LATITUDES)
def test_a_clear_day_s_light_is_pvlib_s_in_every_month(latitude: float) -> None:
    """Day sums on the flat and tilted at latitude towards the equator, Ineichen's sky of Linke turbidity 3 at sea level: within 4 %, or
    20 Wh/m² where the sun hardly rises. The sun's place there is by the NREL algorithm, here by Spencer's declination."""
    tilt, facing = abs(latitude), 180.0 if latitude > 0 else 0.0
    for day in sun.MIDDLES:
        when = times(day)
        place = pvlib.solarposition.get_solarposition(when, latitude, 0.0)
        zenith = place["apparent_zenith"]
        mass = pvlib.atmosphere.get_relative_airmass(zenith)
        extra = pvlib.irradiance.get_extra_radiation(when)
        sky = pvlib.clearsky.ineichen(zenith, mass, 3.0, altitude=0, dni_extra=extra)
        flat = sky["ghi"].sum() / 6
        tilted = pvlib.irradiance.get_total_irradiance(
            tilt, facing, zenith, place["azimuth"], sky["dni"], sky["ghi"], sky["dhi"], albedo=0.2
        )["poa_global"].fillna(0.0).sum() / 6  # fmt: skip
        assert sun.day_sum(latitude, day) == pytest.approx(flat, rel=0.04, abs=20)
        assert sun.day_sum(latitude, day, tilt, facing) == pytest.approx(tilted, rel=0.04, abs=20)


def test_the_sun_stands_where_pvlib_has_it() -> None:
    """Altitude within 0.5° and azimuth within 1° where the sun is 10° to 70° high, by solar time (the equation of time set aside)."""
    for latitude in LATITUDES:
        for day in sun.MIDDLES:
            when = times(day)
            place = pvlib.solarposition.get_solarposition(when, latitude, 0.0)
            for moment, row in place.iloc[::12].iterrows():
                hour = moment.hour + moment.minute / 60 + row["equation_of_time"] / 60
                altitude, azimuth = sun.position(latitude, day, hour)
                if 10 < row["elevation"] < 70:
                    assert altitude == pytest.approx(row["elevation"], abs=0.5)
                    assert abs((azimuth - row["azimuth"] + 180) % 360 - 180) < 1.0


def test_air_mass_is_one_overhead_and_near_forty_at_the_horizon() -> None:
    """Kasten and Young 1989 (from memory): 38 at the horizon; 2 at an altitude of 30°."""
    assert sun.air_mass(90) == pytest.approx(1.0, abs=0.001)
    assert sun.air_mass(30) == pytest.approx(2.0, abs=0.01)
    assert sun.air_mass(0.001) == pytest.approx(38, abs=1)
