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
    """FAO-56 eq. 21 is the integral of the sine of the altitude at FAO's own declination (eq. 24): the sum of five-minute steps is
    within 0.1 % of it, and so is the spherical trigonometry of the altitude."""
    for latitude in LATITUDES:
        for day in sun.MIDDLES:
            above = sun.SOLAR_CONSTANT * 60 * sun.distance_factor(day)
            high = (
                sin(radians(sun.seen(latitude, sun.declination(day), (n + 0.5) / 12)[0]))
                for n in range(24 * 12)
            )
            summed = above * sum(max(0.0, each) for each in high) / 12
            assert summed == pytest.approx(sun.extraterrestrial(latitude, day), rel=0.001)


def test_fao_s_declination_is_a_rough_sine_and_the_almanac_s_is_the_sun_s() -> None:
    """Against the NREL algorithm (pvlib, on the meridian at 60° N: 60° less the zenith angle): FAO-56 eq. 24 is off by up to 1.1°, which is
    why a day of FAO's differs from one of the hours by up to 7 % of the year's mean; the almanac's formula within 0.01° of its year."""
    noons = pandas.date_range("2026-01-01 12:00", periods=365, freq="D", tz="UTC")
    late = pvlib.solarposition.get_solarposition(noons, 0.0, 0.0)["equation_of_time"]
    highest = noons - pandas.to_timedelta(late.to_numpy(), unit="min")
    there = 60.0 - pvlib.solarposition.get_solarposition(highest, 60.0, 0.0)["zenith"].to_numpy()
    rough = [abs(sun.declination(day) - true) for day, true in enumerate(there, 1)]
    fine = [
        abs(sun.declination_by_almanac(day - minutes / 1440) - true)
        for day, (minutes, true) in enumerate(zip(late, there, strict=True), 1)
    ]
    assert 1.0 < max(rough) < 1.1
    assert max(fine) < 0.01


def test_the_light_of_a_month_is_that_of_the_worked_example() -> None:
    """FAO-56, example 10 (from memory): Rio de Janeiro, 22.9° S in May (Ra of the 15th, 25.1 MJ/(m² day)), 220 h of sunshine in 31 days:
    n = 7.1 h, N = 10.9 h, Rs = 14.5, and by eq. 37 Rso = 0.75 Ra = 18.8 MJ/(m² day) (example 11)."""
    above, hours = sun.extraterrestrial(-22.9, 135), sun.day_length(-22.9, 135)
    assert above == pytest.approx(25.1, abs=0.1)
    assert hours == pytest.approx(10.9, abs=0.05)
    clear = (sun.CLOUDED + sun.SUNNY) * above
    assert clear == pytest.approx(18.8, abs=0.1)
    assert sun.sky_share(7.1 / hours) * clear == pytest.approx(14.5, abs=0.1)


def test_there_is_no_day_in_the_polar_night_and_no_night_in_the_polar_day() -> None:
    """FAO-56 eq. 34 at its ends."""
    assert sun.day_length(80.0, 355) == 0.0
    assert sun.day_length(80.0, 172) == pytest.approx(24.0)
    assert sun.extraterrestrial(80.0, 355) == pytest.approx(0.0, abs=1e-9)
    assert sun.day_length(0.0, 80) == pytest.approx(12.0, abs=0.01)


# ---------------------------------------------------------------- pvlib


def times(day: int, year: int = 2026) -> pandas.DatetimeIndex:
    start = pandas.Timestamp(f"{year}-01-01", tz="UTC") + datetime.timedelta(days=day - 1, minutes=2.5)
    return pandas.date_range(start, periods=288, freq="5min")


def clear_day(latitude: float, day: int, year: int) -> tuple[float, float]:
    """pvlib's Wh/m² of a clear day on the flat and tilted at latitude towards the equator: the sun by the NREL algorithm, Ineichen's sky of
    Linke turbidity 3 at sea level, middles of five-minute steps."""
    when = times(day, year)
    place = pvlib.solarposition.get_solarposition(when, latitude, 0.0)
    zenith = place["apparent_zenith"]
    mass = pvlib.atmosphere.get_relative_airmass(zenith)
    extra = pvlib.irradiance.get_extra_radiation(when)
    sky = pvlib.clearsky.ineichen(zenith, mass, 3.0, altitude=0, dni_extra=extra)
    tilted = pvlib.irradiance.get_total_irradiance(
        abs(latitude), 180.0 if latitude > 0 else 0.0, zenith, place["azimuth"], sky["dni"], sky["ghi"], sky["dhi"], albedo=0.2
    )["poa_global"].fillna(0.0)  # fmt: skip
    return sky["ghi"].sum() / 12, tilted.sum() / 12


@pytest.mark.parametrize(
    ("year", "within"),
    [
        (
            2026,
            0.005,
        ),  # the almanac's year; what is left is FAO's distance of the sun (eq. 23), 0.35 % in September
        (
            2028,
            0.025,
        ),  # a leap day ahead: the same date is half a day off, 0.2° at the equinoxes; a spec names no year
    ],
)
@pytest.mark.parametrize("latitude", LATITUDES)
def test_a_clear_day_s_light_is_pvlib_s_in_every_month(latitude: float, year: int, within: float) -> None:
    tilt, facing = abs(latitude), 180.0 if latitude > 0 else 0.0
    for day in sun.MIDDLES:
        flat, tilted = clear_day(latitude, day, year)
        assert sun.day_sum(latitude, day) == pytest.approx(flat, rel=within)
        assert sun.day_sum(latitude, day, tilt, facing) == pytest.approx(tilted, rel=within)


def test_the_sun_stands_where_pvlib_has_it() -> None:
    """Altitude within 0.05° and azimuth within 0.1° where the sun is 10° to 70° high, by solar time (the equation of time set aside)."""
    for latitude in LATITUDES:
        for day in sun.MIDDLES:
            when = times(day)
            place = pvlib.solarposition.get_solarposition(when, latitude, 0.0)
            for moment, row in place.iloc[::24].iterrows():
                hour = moment.hour + moment.minute / 60 + moment.second / 3600 + row["equation_of_time"] / 60
                altitude, azimuth = sun.position(latitude, day, hour)
                if 10 < row["elevation"] < 70:
                    assert altitude == pytest.approx(row["elevation"], abs=0.05)
                    assert abs((azimuth - row["azimuth"] + 180) % 360 - 180) < 0.1


def test_air_mass_is_one_overhead_and_near_forty_at_the_horizon() -> None:
    """Kasten and Young 1989 (from memory): 38 at the horizon; 2 at an altitude of 30°."""
    assert sun.air_mass(90) == pytest.approx(1.0, abs=0.001)
    assert sun.air_mass(30) == pytest.approx(2.0, abs=0.01)
    assert sun.air_mass(0.001) == pytest.approx(38, abs=1)
