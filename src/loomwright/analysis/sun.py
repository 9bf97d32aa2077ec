"""Where the sun stands, and what a clear sky sends down onto a surface.

Angles are in degrees, hours are solar (the sun is highest at 12), days of the year count from 1. Azimuths count from
north over east. The sky is taken at sea level, of one usual haze.
"""

from __future__ import annotations

from math import acos, asin, atan2, cos, degrees, exp, pi, radians, sin, tan

SOLAR_CONSTANT = 0.0820
"""MJ/(m² min), FAO Irrigation and Drainage Paper 56, eq. 21."""

WATTS = 1e6 / 60
"""W for each MJ/min."""

TURBIDITY = 3.0
"""Linke turbidity of a usual clear sky inland (from memory: 2 in mountains, 3 in the country, 4 to 5 in towns)."""

GROUND = 0.2
"""Share of the sun that usual ground throws back (from memory)."""


def distance_factor(day: int) -> float:
    """How much nearer than on average the sun is, as a factor on its strength (FAO-56 eq. 23)."""
    return 1 + 0.033 * cos(2 * pi * day / 365)


def declination(day: int) -> float:
    """The sun's declination (FAO-56 eq. 24)."""
    return degrees(0.409 * sin(2 * pi * day / 365 - 1.39))


MIDDLE_OF_LEAPS = 9497
"""Days from the epoch J2000.0 to noon of 1 January 2026: two years from a leap day on either side, so that the calendar, which drifts
by a day in the four years, is least off in all of them (±0.2° at the equinoxes)."""


def declination_by_almanac(day: float) -> float:
    """The same within 0.01° of its year, 2026 (low-precision formulas of the Astronomical Almanac, 1950 to 2050, from memory); whole
    days are at noon. FAO's sine is up to 1.3° off, which tells where the sun is low."""
    passed = MIDDLE_OF_LEAPS + day - 1
    anomaly = radians(357.528 + 0.9856003 * passed)
    longitude = 280.460 + 0.9856474 * passed + 1.915 * sin(anomaly) + 0.020 * sin(2 * anomaly)
    obliquity = 23.439 - 4e-7 * passed
    return degrees(asin(sin(radians(obliquity)) * sin(radians(longitude))))


def day_length(latitude: float, day: int) -> float:
    """Hours from sunrise to sunset (FAO-56 eq. 25 and 34)."""
    return 24 / pi * _sunset(latitude, day)


def extraterrestrial(latitude: float, day: int) -> float:
    """Radiation on a flat surface above the air, MJ/(m² day) (FAO-56 eq. 21)."""
    phi, delta, sunset = radians(latitude), radians(declination(day)), _sunset(latitude, day)
    turned = sunset * sin(phi) * sin(delta) + cos(phi) * cos(delta) * sin(sunset)
    return 24 * 60 / pi * SOLAR_CONSTANT * distance_factor(day) * turned


CLOUDED, SUNNY = 0.25, 0.50
"""Angström's a_s and b_s: what of the light above the air comes down on a day without sunshine, and what all of its sunshine adds
(FAO-56 eq. 35, its values where none are measured; from memory)."""


def sky_share(sunshine: float) -> float:
    """What comes down of a clear day's light when the sun shines for a share of the hours of daylight from 0 to 1.

    Rs / Rso of FAO Irrigation and Drainage Paper 56, eq. 35 over eq. 37 at sea level: (a_s + b_s n/N) / (a_s + b_s).
    """
    return (CLOUDED + SUNNY * sunshine) / (CLOUDED + SUNNY)


def _sunset(latitude: float, day: int) -> float:
    """The sunset hour angle in radians (FAO-56 eq. 25); 0 in the polar night, π in the polar day."""
    return acos(max(-1.0, min(1.0, -tan(radians(latitude)) * tan(radians(declination(day))))))


def position(latitude: float, day: int, hour: float) -> tuple[float, float]:
    """Altitude and azimuth of the sun."""
    return seen(latitude, declination_by_almanac(day + (hour - 12) / 24), hour)


def seen(latitude: float, declined: float, hour: float) -> tuple[float, float]:
    """Altitude and azimuth of the sun from its declination, by spherical trigonometry."""
    phi, delta, turned = radians(latitude), radians(declined), radians(15 * (hour - 12))
    altitude = asin(sin(phi) * sin(delta) + cos(phi) * cos(delta) * cos(turned))
    east, north = -cos(delta) * sin(turned), cos(phi) * sin(delta) - sin(phi) * cos(delta) * cos(turned)
    return degrees(altitude), degrees(atan2(east, north)) % 360


def lifted(altitude: float) -> float:
    """The altitude that the sun seems to have, bent up by the air (Sæmundsson 1986, from memory); as it is below −1°."""
    if altitude < -1.0:
        return altitude
    return altitude + 1.02 / 60 / tan(radians(altitude + 10.3 / (altitude + 5.11)))


def air_mass(altitude: float) -> float:
    """How much more air a ray from this altitude passes than one from the zenith (Kasten and Young 1989, from memory)."""
    return float(1 / (sin(radians(altitude)) + 0.50572 * (altitude + 6.07995) ** -1.6364))


def clear_sky(altitude: float, day: int, turbidity: float = TURBIDITY) -> tuple[float, float]:
    """Beam, on a surface that faces it, and diffuse light on flat ground under a clear sky at sea level, W/m².

    Ineichen and Perez, A new airmass independent formulation for the Linke turbidity coefficient, 2002 (from memory).
    """
    if altitude <= 0:
        return 0.0, 0.0
    high, mass = sin(radians(altitude)), air_mass(altitude)
    above = SOLAR_CONSTANT * WATTS * distance_factor(day)
    flat = 0.868 * above * high * exp(-0.0387 * mass * turbidity)
    beam = above * (0.664 + 0.163) * exp(-0.09 * mass * (turbidity - 1))
    most = flat * max(0.0, 1 - (0.1 - 0.2 * exp(-turbidity)) / (0.1 + 0.882)) / high
    beam = max(0.0, min(beam, most))
    return beam, flat - beam * high


def on_surface(latitude: float, day: int, hour: float, tilt: float = 0.0, facing: float = 0.0) -> float:
    """Clear-sky light on a surface tilted towards `facing`, W/m²: beam by its angle, diffuse light alike from all of the sky,
    and what the ground throws back (Liu and Jordan 1960, from memory)."""
    true, azimuth = position(latitude, day, hour)
    altitude = lifted(true)
    beam, diffuse = clear_sky(altitude, day)
    if not beam and not diffuse:
        return 0.0
    slope, up = radians(tilt), sin(radians(altitude))
    across = cos(radians(altitude)) * cos(radians(azimuth - facing))
    straight = max(0.0, up * cos(slope) + across * sin(slope))
    sky, ground = (1 + cos(slope)) / 2, GROUND * (1 - cos(slope)) / 2
    return beam * straight + diffuse * sky + (beam * up + diffuse) * ground


def day_sum(latitude: float, day: int, tilt: float = 0.0, facing: float = 0.0, minutes: int = 5) -> float:
    """Clear-sky light on a surface through a day, Wh/m², by the middles of its steps."""
    steps = 24 * 60 // minutes
    hours = ((index + 0.5) * minutes / 60 for index in range(steps))
    return sum(on_surface(latitude, day, hour, tilt, facing) for hour in hours) * minutes / 60


MIDDLES = (17, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344)
"""The day of each month whose radiation is nearest to the month's mean (Klein 1977, from memory)."""
