"""Wind speed as a pressure, a pressure as a head of water, and what a gust adds."""

from functools import lru_cache
from math import ceil

import numpy as np

from exposure.checks import RefusalError
from exposure.figures import millimetres, shown_pascals

AIR_DENSITY = 1.225  # kg/m3, dry air at 15 degC and sea level; Canadian tables use 1.2929 (from memory)
WATER_DENSITY = 1000.0  # kg/m3
GRAVITY = 9.80665  # m/s2, standard
GUST_CONSTANT = 7.0  # in 1 + 7 / ln(z / z0); EN 1991-1-4:2005, 4.8 form (second hand)


def velocity_pressure(wind_speed: np.ndarray | float, *, air_density: float = AIR_DENSITY) -> np.ndarray:
    """Pressure of a wind brought to rest, half of density times speed squared. [Pa]

    Examples
    --------
    >>> round(float(velocity_pressure(10.0)), 2), round(float(velocity_pressure(30 / 3.6)), 1)
    (61.25, 42.5)
    """
    return 0.5 * air_density * np.square(wind_speed)


def wind_of_pressure(pressure: float, *, air_density: float = AIR_DENSITY) -> float:
    """Wind speed whose :func:`velocity_pressure` is ``pressure`` [Pa]. [m s-1]

    A test pressure is a static difference across a part; it is not the wind that would cause it on a real wall.

    Examples
    --------
    >>> round(wind_of_pressure(50), 2)
    9.04
    """
    return float(np.sqrt(2 * pressure / air_density))


def head_of_water(pressure: np.ndarray | float) -> np.ndarray:
    """Height to which ``pressure`` [Pa] pushes standing water. [mm]

    Examples
    --------
    >>> round(float(head_of_water(200)), 2)
    20.39
    """
    return 1000 * np.asarray(pressure) / (WATER_DENSITY * GRAVITY)


def head_told(pressure: float) -> int:
    """Head of water as it is told beside a pressure [Pa]: that of the pressure as told, up to the next whole mm. [mm]

    Examples
    --------
    >>> head_told(308.2), head_told(310.0), head_told(4.0)
    (32, 32, 1)
    """
    return ceil(round(float(head_of_water(shown_pascals(pressure))), 6))


@lru_cache(maxsize=1024)  # each line of a schedule tells it
def head_words(pressure: float) -> str:
    r"""A pressure [Pa] as a head of water, in words; see :func:`head_told`.

    Examples
    --------
    >>> head_words(200.0)
    '21\xa0mm'
    """
    return millimetres(head_told(pressure))


def gust_factor(*, height: float, roughness_length: float, least_height: float = 0.0) -> float:
    """Pressure of a gust against that of the hourly mean, 1 + 7 / ln(z / z0). [1]

    EN 1991-1-4:2005, 4.8 form, without its hill term (second hand).

    Parameters
    ----------
    height
        Above the ground; below ``least_height`` that height is used. [m]
    roughness_length
        Of the ground upwind. [m]

    Examples
    --------
    >>> round(gust_factor(height=10, roughness_length=0.05), 3)
    2.321
    """
    z = max(height, least_height)
    if z <= roughness_length:
        raise RefusalError(
            f"a height of {z:g} m over ground of roughness {roughness_length:g} m",
            "a height above the roughness length",
            "Give the height of the top of the wall and its ground.",
        )
    return float(1 + GUST_CONSTANT / np.log(z / roughness_length))
