"""The sun: daylength, where it stands, and what falls on a tilted pane.

Instants are seconds since 1970-01-01 00:00 UTC. Latitude is positive north, longitude
positive east, azimuth is counted clockwise from true (not magnetic) north, all in
degrees. Arrays broadcast against each other; not a number stays not a number.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

HORIZON_DEG = -0.83
"""Altitude of the sun's centre at sunrise and sunset: half a disc of 0.27° and 0.57° of
refraction, rounded as almanacs do. From memory."""

J2000_S = 946_728_000
"""1 January 2000, 12:00 UTC."""

SUN_RADIUS_DEG, HORIZON_REFRACTION_DEG = 0.26667, 0.5667
"""Reda & Andreas 2004, Solar Energy 76:577-589 (from memory)."""

GLASS_INDEX = 1.526
GLASS_ABSORBS_PER_M, GLASS_THICK_M = 4.0, 0.003
"""Clear glass: De Soto, Klein & Beckman 2006, Solar Energy 80:78-88 (from memory).
Common window glass, 16 to 32 per metre, lowers the angle factor by under 0.02."""


def _day_angle(day_of_year: ArrayLike) -> NDArray[np.float64]:
    days = np.asarray(day_of_year, dtype=np.float64)
    angle: NDArray[np.float64] = 2 * np.pi * (days - 1) / 365
    return angle


def declination_rad(day_of_year: ArrayLike) -> NDArray[np.float64]:
    """Declination of the sun on a day of the year, 1 January = 1 [rad].

    Spencer 1971, Search 2(5):172, as transcribed in the sundial list's msg01050. A
    mean over leap years: within 0.6° of noon in Greenwich, most at the equinoxes,
    within 0.2° in June and December.
    """
    g = _day_angle(day_of_year)
    value: NDArray[np.float64] = (
        0.006918
        - 0.399912 * np.cos(g)
        + 0.070257 * np.sin(g)
        - 0.006758 * np.cos(2 * g)
        + 0.000907 * np.sin(2 * g)
        - 0.002697 * np.cos(3 * g)
        + 0.00148 * np.sin(3 * g)
    )
    return value


def equation_of_time_min(day_of_year: ArrayLike) -> NDArray[np.float64]:
    """Minutes by which sundials are ahead of the mean sun on a day of the year.

    Spencer 1971, as for the declination. Within 1 minute.
    """
    g = _day_angle(day_of_year)
    value: NDArray[np.float64] = 229.18 * (
        0.000075
        + 0.001868 * np.cos(g)
        - 0.032077 * np.sin(g)
        - 0.014615 * np.cos(2 * g)
        - 0.040849 * np.sin(2 * g)
    )
    return value


def daylength_h(
    latitude_deg: ArrayLike,
    day_of_year: ArrayLike,
    *,
    horizon_deg: float = HORIZON_DEG,
) -> NDArray[np.float64]:
    """Hours from sunrise to sunset; 0 in the polar night and 24 in the polar day.

    horizon_deg  true altitude of the sun's centre that begins and ends the day

    Within 0.1 h of an ephemeris up to 52° of latitude, 0.13 h up to 60°.
    """
    latitude = np.radians(_latitude(latitude_deg))
    declination = declination_rad(day_of_year)
    # at the poles the cosine is tiny, not zero, and the clamp decides
    cos_half = (
        np.sin(np.radians(horizon_deg)) - np.sin(latitude) * np.sin(declination)
    ) / (np.cos(latitude) * np.cos(declination))
    hours: NDArray[np.float64] = 24 / np.pi * np.arccos(np.clip(cos_half, -1.0, 1.0))
    return hours


def _latitude(latitude_deg: ArrayLike) -> NDArray[np.float64]:
    latitude = np.asarray(latitude_deg, dtype=np.float64)
    if np.any(np.abs(latitude) > 90):
        raise ValueError("Latitude runs from -90 (south) to 90 degrees (north).")
    return latitude


@dataclass(frozen=True, eq=False)
class SunPosition:
    """Where the sun's centre is seen [°].

    elevation_deg  above the level horizon, below zero when the sun is down
    azimuth_deg    clockwise from true north, 0 to 360
    """

    elevation_deg: NDArray[np.float64]
    azimuth_deg: NDArray[np.float64]


def sun_position(
    seconds: ArrayLike,
    latitude_deg: ArrayLike,
    longitude_deg: ArrayLike,
    *,
    pressure_hpa: float = 1013.25,
    air_c: float = 10.0,
) -> SunPosition:
    """Where the sun stands at some instants, lifted by refraction.

    pressure_hpa, air_c  of the air that refracts, not reduced to sea level

    Low-precision formulas of the Astronomical Almanac: Michalsky 1988, Solar Energy
    40:227-235 (from memory). Against NREL's algorithm, from 1950 to 2050, within
    0.013° in elevation, and in azimuth times the cosine of elevation. Refraction near
    the horizon wanders by some tenths of a degree with the weather.
    """
    days = (np.asarray(seconds, dtype=np.float64) - J2000_S) / 86_400
    right_ascension, declination = _equatorial_rad(days)
    latitude = np.radians(_latitude(latitude_deg))
    # sidereal angle of Greenwich, then of the place
    sidereal_deg = 15 * (18.697375 + 24.0657098242 * days)
    hour_angle = np.radians(sidereal_deg + np.asarray(longitude_deg)) - right_ascension
    up = np.sin(declination) * np.sin(latitude)
    up = up + np.cos(declination) * np.cos(latitude) * np.cos(hour_angle)
    north = np.sin(declination) * np.cos(latitude)
    north = north - np.cos(declination) * np.sin(latitude) * np.cos(hour_angle)
    east = -np.cos(declination) * np.sin(hour_angle)
    elevation = np.degrees(np.arcsin(np.clip(up, -1.0, 1.0)))
    lifted = elevation + _refraction_deg(elevation, pressure_hpa, air_c)
    return SunPosition(lifted, np.degrees(np.arctan2(east, north)) % 360)


def _equatorial_rad(
    days: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Right ascension and declination, by days since J2000 [rad]."""
    mean_longitude = 280.460 + 0.9856474 * days
    anomaly = np.radians(357.528 + 0.9856003 * days)
    longitude = np.radians(
        mean_longitude + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2 * anomaly)
    )
    obliquity = np.radians(23.439 - 0.0000004 * days)
    ascension = np.arctan2(np.cos(obliquity) * np.sin(longitude), np.cos(longitude))
    return ascension, np.arcsin(np.sin(obliquity) * np.sin(longitude))


def _refraction_deg(
    elevation_deg: NDArray[np.float64], pressure_hpa: float, air_c: float
) -> NDArray[np.float64]:
    """Saemundsson 1986, Sky & Telescope 72:70 (from memory); none with the sun down."""
    seen = elevation_deg >= -SUN_RADIUS_DEG - HORIZON_REFRACTION_DEG
    above = np.where(seen, elevation_deg, 0.0)
    minutes = 1.02 / np.tan(np.radians(above + 10.3 / (above + 5.11)))
    air = pressure_hpa / 1010 * 283 / (273 + air_c)
    lift: NDArray[np.float64] = np.where(seen, air * minutes / 60, 0.0)
    return lift


def incidence_deg(
    sun: SunPosition, tilt_deg: ArrayLike, faces_deg: ArrayLike
) -> NDArray[np.float64]:
    """Angle between the sun and the square-on line of a pane, 0 to 180 [°].

    tilt_deg   0 lies flat, 90 stands upright
    faces_deg  azimuth that the pane looks to; of no account for a flat one

    Above 90 the sun is behind the pane. A flat pane sees the sun at 90 - elevation.
    """
    elevation, tilt = np.radians(sun.elevation_deg), np.radians(tilt_deg)
    aside = np.radians(sun.azimuth_deg - np.asarray(faces_deg, dtype=np.float64))
    cosine = np.sin(elevation) * np.cos(tilt)
    cosine = cosine + np.cos(elevation) * np.sin(tilt) * np.cos(aside)
    angle: NDArray[np.float64] = np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0)))
    return angle


def glass_angle_factor(incidence: ArrayLike, *, sheets: int = 1) -> NDArray[np.float64]:
    """Share that glass lets through at an incidence [°], of what it does square on.

    sheets  panes one behind the other, with air between

    1 at 0°, 0 from 90° on. Fresnel at both faces of every sheet with all reflections
    between them, and absorption on the longer way; Duffie & Beckman, Solar Engineering
    of Thermal Processes, ch. 5 (from memory). Multiply it with the transmittance that
    the maker states. Panes glued to a cell, as in photovoltaics, have one such face
    and let more of a slanting beam through.
    """
    if sheets < 1:
        raise ValueError("Glass has one sheet or more; without glass there is no loss.")
    angle = np.clip(np.abs(np.asarray(incidence, dtype=np.float64)), 0.0, 90.0)
    square_on = _glass_transmits(np.zeros(()), sheets)
    factor: NDArray[np.float64] = _glass_transmits(angle, sheets) / square_on
    return factor


def glass_reflects(
    incidence: ArrayLike,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Share that one face of glass reflects, across and along the plane of incidence.

    incidence  0 to 90 [°]. Fresnel's equations; unpolarised light reflects the mean.
    """
    outside = np.radians(np.asarray(incidence, dtype=np.float64))
    cos_out = np.cos(outside)
    cos_in = np.sqrt(1 - (np.sin(outside) / GLASS_INDEX) ** 2)
    across = (cos_out - GLASS_INDEX * cos_in) / (cos_out + GLASS_INDEX * cos_in)
    along = (GLASS_INDEX * cos_out - cos_in) / (GLASS_INDEX * cos_out + cos_in)
    return across**2, along**2


def _glass_transmits(
    incidence: NDArray[np.float64], sheets: int
) -> NDArray[np.float64]:
    cos_in = np.sqrt(1 - (np.sin(np.radians(incidence)) / GLASS_INDEX) ** 2)
    absorbed = np.exp(-GLASS_ABSORBS_PER_M * GLASS_THICK_M * sheets / cos_in)
    faces = 2 * sheets - 1
    passed = [(1 - r) / (1 + faces * r) for r in glass_reflects(incidence)]
    value: NDArray[np.float64] = absorbed * (passed[0] + passed[1]) / 2
    return value


@dataclass(frozen=True, eq=False)
class PlaneIrradiance:
    """Sunlight on a pane, by where it comes from [W/m² of pane]."""

    beam_wm2: NDArray[np.float64]
    sky_wm2: NDArray[np.float64]
    ground_wm2: NDArray[np.float64]

    @property
    def total_wm2(self) -> NDArray[np.float64]:
        return self.beam_wm2 + self.sky_wm2 + self.ground_wm2


def plane_irradiance(
    sun: SunPosition,
    tilt_deg: ArrayLike,
    faces_deg: ArrayLike,
    *,
    beam_wm2: ArrayLike,
    diffuse_wm2: ArrayLike,
    albedo: float = 0.2,
    glass_sheets: int = 0,
) -> PlaneIrradiance:
    """What falls on a pane, or comes through its glass by angle alone.

    beam_wm2      direct sun on a surface square to it [W/m²]
    diffuse_wm2   from the whole sky on level ground [W/m²]
    albedo        share that the ground throws back: 0.2, snow 0.6 to 0.8 (from memory)
    glass_sheets  0 on the outside; else the beam is multiplied by their angle factor

    The sky is taken as evenly bright (Liu & Jordan 1963, Solar Energy 7:53-74, from
    memory), which gives a pane to the sun somewhat too little. The light of sky and
    ground is not lessened by angle: behind one sheet that is some 8 % too much. No
    beam while the sun is down. Shade of walls and trees is the caller's to take away.
    """
    beam, diffuse = np.asarray(beam_wm2), np.asarray(diffuse_wm2)
    if np.any(beam < 0) or np.any(diffuse < 0) or not 0 <= albedo <= 1:
        raise ValueError(
            "Irradiance is not below 0 W/m² and albedo lies from 0 to 1: set the small "
            "negative values that sensors give at night to 0 first."
        )
    beam = np.where(sun.elevation_deg > 0, beam, 0.0)
    angle = incidence_deg(sun, tilt_deg, faces_deg)
    onto_pane = beam * np.maximum(np.cos(np.radians(angle)), 0.0)
    if glass_sheets:
        onto_pane = onto_pane * glass_angle_factor(angle, sheets=glass_sheets)
    level = beam * np.sin(np.radians(sun.elevation_deg)) + diffuse
    cos_tilt = np.cos(np.radians(tilt_deg))
    return PlaneIrradiance(
        onto_pane, diffuse * (1 + cos_tilt) / 2, level * albedo * (1 - cos_tilt) / 2
    )
