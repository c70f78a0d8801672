"""Relative humidity from air temperature and dew point, over water at all temperatures, as weather services report it."""

import numpy as np


def saturation_pressure(temperature: np.ndarray) -> np.ndarray:
    """Saturation vapour pressure over water [Pa] at ``temperature`` [degC] (ISO 13788, over water at all times).

    Examples
    --------
    >>> float(round(saturation_pressure(20.0)))
    2337.0
    """
    return 610.5 * np.exp(17.269 * temperature / (237.3 + temperature))


def relative_humidity(*, air_temperature: np.ndarray, dew_point_temperature: np.ndarray) -> np.ndarray:
    """Relative humidity [%], at most 100, from air temperature and dew point [degC].

    Examples
    --------
    >>> float(relative_humidity(air_temperature=20.0, dew_point_temperature=20.0))
    100.0
    """
    share = saturation_pressure(dew_point_temperature) / saturation_pressure(air_temperature)
    return np.minimum(100.0 * share, 100.0)
