"""Water vapour: saturation, density, what passes through a membrane, what moving air takes away."""

import numpy as np

from exposure.climate.humidity import saturation_pressure as saturation_over_water
from exposure.tables import load_table

GAS_CONSTANT = 461.5  # J/(kg K), of water vapour
NANOGRAMS_PER_PERM = 57.2135  # ng/(Pa s m2) in one US perm


def saturation_pressure(air_temperature: np.ndarray | float) -> np.ndarray:
    """Vapour pressure of saturated air, over water from 0 degC up and over ice below. [Pa]

    ISO 13788, annex E (over ice from memory).

    Parameters
    ----------
    air_temperature
        [degC]

    Examples
    --------
    >>> saturation_pressure([-10.0, 10.0, 20.0]).round(1).tolist()
    [259.3, 1227.3, 2337.0]
    """
    temperature = np.asarray(air_temperature, dtype=float)
    ice = 610.5 * np.exp(21.875 * temperature / (265.5 + temperature))
    return np.where(temperature >= 0, saturation_over_water(temperature), ice)


def vapour_density(vapour_pressure: np.ndarray | float, air_temperature: np.ndarray | float) -> np.ndarray:
    """Vapour in air. [g m-3]

    Parameters
    ----------
    vapour_pressure
        [Pa]
    air_temperature
        [degC]

    Examples
    --------
    >>> round(float(vapour_density(2337.0, 20.0)), 2)
    17.27
    """
    kelvin = np.asarray(air_temperature, dtype=float) + 273.15
    return 1000 * np.asarray(vapour_pressure) / (GAS_CONSTANT * kelvin)


def diffusion(permeance: float, pressure_difference: np.ndarray | float) -> np.ndarray:
    """Vapour through a membrane in an hour. [g m-2 h-1]

    Parameters
    ----------
    permeance
        [microgram/(N s)]
    pressure_difference
        Of vapour, [Pa]

    Examples
    --------
    >>> round(24 * float(diffusion(1.14, 500)), 2)  # a day
    49.25
    """
    return permeance * 1e-6 * np.asarray(pressure_difference) * 3600


def venting(air_changes: float, depth: float, density_difference: np.ndarray | float) -> np.ndarray:
    """Vapour that moving air takes out of a cavity in an hour. [g m-2 h-1]

    Parameters
    ----------
    air_changes
        [h-1]
    depth
        Of the cavity. [mm]
    density_difference
        Of vapour, wet surface less outdoor air. [g m-3]

    Examples
    --------
    >>> round(24 * float(venting(50, 20, 2)), 6)  # a day
    48.0
    """
    return air_changes * depth / 1000 * np.asarray(density_difference)


def permeance_in_perm(permeance: float) -> float:
    """Permeance [microgram/(N s)] in US perm.

    Examples
    --------
    >>> round(permeance_in_perm(0.143), 2)
    2.5
    """
    return permeance * 1000 / NANOGRAMS_PER_PERM


def permeance_class(permeance: float) -> int:
    """Class of a wall membrane by its permeance [microgram/(N s)], AS/NZS 4200.1 (second-hand).

    Examples
    --------
    >>> [permeance_class(value) for value in (0.002, 0.1, 0.5, 2.0)]
    [1, 2, 3, 4]
    """
    return next(row["class"] for row in load_table("permeance_class")["row"] if permeance <= row["up_to"])


def critical_humidity(air_temperature: np.ndarray | float) -> np.ndarray:
    """Relative humidity above which mould may grow on wood. [%]

    Wood Sci. Technol. 33 (1999), 475 (from memory): a cubic up to 20 degC, 80 % above;
    100 % at and below freezing.

    Parameters
    ----------
    air_temperature
        [degC]

    Examples
    --------
    >>> critical_humidity([5.0, 10.0, 25.0]).round(2).tolist()
    [88.02, 82.03, 80.0]
    """
    t = np.asarray(air_temperature, dtype=float)
    cubic = -0.00267 * t**3 + 0.160 * t**2 - 3.13 * t + 100
    return np.where(t <= 0, 100.0, np.where(t <= 20, cubic, 80.0))
