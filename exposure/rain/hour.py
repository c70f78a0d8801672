"""One hour of driving rain on one wall, and which hours count at all."""

import numpy as np

HOUR_COEFFICIENT = 2 / 9  # ISO 15927-3:2009, clause 3 (second hand)
RAIN_EXPONENT = 8 / 9  # the same
LEAST_HEAD_ON = (
    0.001  # L/m2 in the hour, taken head-on; the tolerance of a published national study, ours here
)
WET_HOUR_SLACK = 1e-4  # mm; 0.1 mm kept as float32 metres reads 0.09999999747
EDGE_COSINE = 1e-5  # a wind this nearly along the wall does not hit it; our choice
TERRAIN_SECTORS = 12  # of 30 degrees, centred on 0, 30, ... 330
DEFAULT_WET_HOUR = {"gauge": 0.0}  # mm; a gauge has rounded already, every other kind drizzles
MODEL_WET_HOUR = 0.1  # mm; what a gauge would read


def head_on_rain(rain: np.ndarray, wind_speed: np.ndarray) -> np.ndarray:
    r"""Rain driven in an hour onto a wall that faces the wind, in an open airfield.

    Parameters
    ----------
    rain
        Rain fallen in the hour. [mm]
    wind_speed
        Hourly mean wind at 10 m. [m s-1]

    Returns
    -------
    numpy.ndarray
        :math:`\tfrac{2}{9} v r^{8/9}` [L m-2]; missing where either input is.

    References
    ----------
    ISO 15927-3:2009, clause 3 (constants from memory).

    Examples
    --------
    >>> float(head_on_rain(1.0, 9.0))  # 2/9 of 9 m/s on 1 mm
    2.0
    """
    return HOUR_COEFFICIENT * np.asarray(wind_speed) * np.asarray(rain) ** RAIN_EXPONENT


def facing_cosine(wind_from_direction: np.ndarray, orientation: np.ndarray | float) -> np.ndarray:
    """Cosine of the angle between the wind and the wall's outward normal, zero from behind.

    Examples
    --------
    >>> facing_cosine([240.0, 300.0, 60.0], 240.0).round(6).tolist()
    [1.0, 0.5, 0.0]
    """
    turn = np.deg2rad(np.subtract(wind_from_direction, orientation))
    return np.cos(turn).clip(min=0.0)


def hourly_driving_rain(
    *,
    rain: np.ndarray,
    wind_speed: np.ndarray,
    wind_from_direction: np.ndarray,
    orientation: np.ndarray | float,
) -> np.ndarray:
    r"""Rain driven in each hour onto a wall that faces ``orientation``, in an open airfield.

    :math:`I = \tfrac{2}{9}\, v\, r^{8/9} \cos(D - \theta)`, zero when the wind comes from behind
    (ISO 15927-3:2009, clause 3, constants from memory). Arrays broadcast; missing in, missing out.

    Examples
    --------
    >>> hour = hourly_driving_rain(rain=1.0, wind_speed=10.0, wind_from_direction=300.0, orientation=240.0)
    >>> round(float(hour), 4)  # 60 degrees off: half of 2/9 of 10
    1.1111
    """
    return head_on_rain(rain, wind_speed) * facing_cosine(wind_from_direction, orientation)


def is_driving(rain: np.ndarray, wind_speed: np.ndarray, *, wet_hour: float) -> np.ndarray:
    """True where an hour counts: enough rain for the threshold, and enough of it driven.

    The test is taken head-on, so that it is the same for every wall. Missing hours do not count.

    Examples
    --------
    >>> is_driving([0.0, 0.05, 0.1], [5.0, 5.0, 5.0], wet_hour=0.1).tolist()
    [False, False, True]
    """
    rain = np.asarray(rain)
    with np.errstate(invalid="ignore"):
        return is_driving_at(rain, head_on_rain(np.maximum(rain, 0), wind_speed), wet_hour=wet_hour)


def is_driving_at(rain: np.ndarray, head_on: np.ndarray, *, wet_hour: float) -> np.ndarray:
    """As :func:`is_driving`, where the hours' :func:`head_on_rain` is known already. [mm, L m-2]"""
    return (rain > 0) & (rain >= wet_hour - WET_HOUR_SLACK) & (head_on >= LEAST_HEAD_ON)


def wet_hour_threshold(kind: str) -> float:
    """Least rain in an hour that counts, by kind of record. [mm]

    Reanalysis and models rain a little in a third of all hours, which joins spells that a gauge would part.

    Examples
    --------
    >>> wet_hour_threshold("gauge"), wet_hour_threshold("reanalysis")
    (0.0, 0.1)
    """
    return DEFAULT_WET_HOUR.get(kind, MODEL_WET_HOUR)


def terrain_sector(wind_from_direction: np.ndarray) -> np.ndarray:
    """Number of the 30 degree sector the wind comes from: 0 is north (345 to 15), 3 is east.

    A sector owns its lower edge.

    Examples
    --------
    >>> terrain_sector([0.0, 14.9, 15.0, 359.0]).tolist()
    [0, 0, 1, 0]
    """
    width = 360 / TERRAIN_SECTORS
    return (np.floor((np.asarray(wind_from_direction) + width / 2) / width) % TERRAIN_SECTORS).astype(int)
