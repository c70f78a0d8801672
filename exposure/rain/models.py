"""Other models of driving rain, beside the standard's: to show how far sound methods lie apart."""

import numpy as np
import xarray as xr

from exposure.checks import check_between
from exposure.rain.counted import CountedHours, counted_hours
from exposure.rain.hour import HOUR_COEFFICIENT, RAIN_EXPONENT
from exposure.rain.record import Record
from exposure.tables import load_table

SMALLEST_DROP, LARGEST_DROP = 0.3, 6.0  # mm; range of the fall-speed polynomial
ASHRAE_RAIN = 0.2  # kg s/(m3 mm); ANSI/ASHRAE 160 (from memory, not checked)
NEAR_SEA = 8.0  # km; within it the screening by means is lifted (from memory, not checked)
PER_KELVIN = 1.07  # rain intensity per kelvin of warming with wind unchanged; a hypothesis


def median_drop(rain: np.ndarray | float) -> np.ndarray:
    """Median diameter of the drops of rain falling at ``rain`` mm/h. [mm]

    The size distribution of raindrops, Q. J. R. Meteorol. Soc. 76 (1950): D50 = 1.105 r^0.232.

    Examples
    --------
    >>> float(median_drop(1.0))
    1.105
    """
    return 1.105 * np.asarray(rain, dtype=float) ** 0.232


def fall_speed(drop: np.ndarray | float) -> np.ndarray:
    """Speed at which drops of this diameter [mm] fall through still air. [m s-1]

    Polynomial fitted to the measurements in The terminal velocity of fall for water droplets in stagnant air,
    J. Meteorol. 6 (1949) (from memory), for 0.3 to 6 mm; drops outside take the nearer end (only drizzle
    below 0.004 mm/h has a smaller median drop).

    Examples
    --------
    >>> round(float(fall_speed(2.0)), 3)
    6.558
    """
    d = np.clip(drop, SMALLEST_DROP, LARGEST_DROP)
    return -0.166033 + 4.91844 * d - 0.888016 * d**2 + 0.054888 * d**3


def driving_rain_factor(rain: np.ndarray | float) -> np.ndarray:
    """Rain through a vertical plane for each metre a second of wind and mm/h of rain: 1 / fall speed. [s m-1]

    Examples
    --------
    >>> round(float(driving_rain_factor(1.0)), 4)
    0.2348
    """
    return 1.0 / fall_speed(median_drop(rain))


def free_field_on_wall(
    free_field: float, *, height_and_ground: float, shelter: float, admittance: float
) -> float:
    """Free-field driving rain brought to a wall by the three factors of the free-field method.

    Building Science Digest 148 (2010): height and ground, neighbours, and the share the wall's shape lets in.

    Examples
    --------
    >>> round(free_field_on_wall(170, height_and_ground=0.7, shelter=0.5, admittance=0.5), 2)
    29.75
    """
    return free_field * height_and_ground * shelter * admittance


def height_factor(height: float, *, exponent: float = 0.25) -> float:
    """Wind at ``height`` [m] against wind at 10 m by a power law.

    Examples
    --------
    >>> round(height_factor(50), 3)
    1.495
    """
    return (height / 10.0) ** exponent


def ashrae_exposure(*, height: float, exposure: str) -> float:
    """Exposure factor F_E of ANSI/ASHRAE 160 (from memory) for a building ``height`` m tall.

    Parameters
    ----------
    exposure
        ``severe`` (hilltop, coast, funnelled wind), ``medium`` or ``sheltered``.

    Examples
    --------
    >>> ashrae_exposure(height=10, exposure="severe"), ashrae_exposure(height=12, exposure="medium")
    (1.3, 1.1)
    """
    check_between(height, "height", 0, 1000, "m")
    rows = load_table("ashrae_exposure")["row"]
    return next(row[exposure] for row in rows if height <= row["to"])


def ashrae_deposition(place: str) -> float:
    """Deposition factor F_D of ANSI/ASHRAE 160 (from memory): ``steep roof``, ``low-slope roof`` or ``runoff``.

    Examples
    --------
    >>> ashrae_deposition("steep roof")
    0.35
    """
    return next(row["factor"] for row in load_table("deposition")["row"] if row["place"] == place)


def ashrae_rain(
    *,
    exposure_factor: float,
    deposition_factor: float,
    wind_speed: np.ndarray | float,
    rain: np.ndarray | float,
    turn: np.ndarray | float,
) -> np.ndarray:
    """Rain on a wall in an hour by ANSI/ASHRAE 160 (from memory). [kg m-2]

    Parameters
    ----------
    turn
        Angle between the wind and the wall's outward normal. [degree]

    Examples
    --------
    >>> round(float(ashrae_rain(exposure_factor=1.0, deposition_factor=0.35, wind_speed=5.0, rain=2.0, turn=0.0)), 3)
    0.7
    """
    facing = np.cos(np.deg2rad(turn)).clip(min=0.0)
    return (
        exposure_factor * deposition_factor * ASHRAE_RAIN * np.asarray(wind_speed) * facing * np.asarray(rain)
    )


def crossover_rain(coefficient: float = ASHRAE_RAIN) -> float:
    """Rain rate at which the standard's (2/9) r^(8/9) equals ``coefficient`` times r. [mm/h]

    Examples
    --------
    >>> round(crossover_rain(), 3)
    2.581
    """
    return float((HOUR_COEFFICIENT / coefficient) ** (1 / (1 - RAIN_EXPONENT)))


def screening_index(*, mean_wind_speed: float, annual_rain: float) -> float:
    """The screening index where only means exist: mean wind [m s-1] times annual rain [m]. [m2 s-1]

    It ignores whether wind and rain coincide.

    Examples
    --------
    >>> screening_index(mean_wind_speed=6, annual_rain=2.0)
    12.0
    """
    return mean_wind_speed * annual_rain


def screening_class(index: float, *, sea_distance: float | None = None) -> str:
    """Sheltered, moderate or severe by the screening index (limits from memory), lifted within 8 km of the sea.

    Parameters
    ----------
    index
        From :func:`screening_index`. [m2 s-1]
    sea_distance
        In metres; None when far or not known.

    Examples
    --------
    >>> screening_class(2.7), screening_class(2.7, sea_distance=5000), screening_class(5.0, sea_distance=5000)
    ('sheltered', 'moderate', 'severe')
    """
    at_sea = sea_distance is not None and sea_distance <= NEAR_SEA * 1000
    if index >= (5 if at_sea else 7):
        return "severe"
    return "sheltered" if index <= 3 and not at_sea else "moderate"


def warming_ratio(kelvin: float) -> float:
    """Index after warming by ``kelvin`` against before, if rain intensity rises 7 % a kelvin and wind stays.

    A hypothesis, not a result: better read a future climate grid through the same path.

    Examples
    --------
    >>> round(warming_ratio(2), 4)
    1.1278
    """
    return PER_KELVIN ** (RAIN_EXPONENT * kelvin)


def other_model_sums(
    climate: xr.Dataset | Record, index: xr.Dataset, *, hours: CountedHours | None = None
) -> xr.Dataset:
    """Mean yearly sums the other models need, over the same hours, years and orientations as ``index``.

    Returns
    -------
    xarray.Dataset
        Along ``orientation``: ``free_field_annual`` (sum of v r cos / fall speed) and ``wind_rain_annual``
        (sum of v r cos) [both per year; L m-2 and mm m s-1].
    """
    hours = counted_hours(climate, index) if hours is None else hours
    driven = hours.wind_speed * hours.rain * hours.scale / hours.years
    free = driven * driving_rain_factor(hours.rain)
    facing = index["orientation"].values
    sums = np.empty((facing.size, 2))
    for row, way in enumerate(facing):
        share = hours.share_facing(way)
        sums[row] = (free * share).sum(), (driven * share).sum()
    return xr.Dataset(
        {
            "free_field_annual": ("orientation", sums[:, 0], {"units": "L m-2 year-1"}),
            "wind_rain_annual": ("orientation", sums[:, 1], {"units": "mm m s-1 year-1"}),
        },
        {"orientation": facing},
    )
