"""Terrain roughness coefficient: how the ground upwind slows the wind at the height of a wall."""

import numpy as np

from exposure.checks import check_between
from exposure.tables import find_row, load_table


def terrain_roughness_coefficient(*, category: str, height: float) -> float:
    r"""Ratio of the wind at ``height`` over this ground to that at 10 m over open country.

    :math:`C_R = K_R \ln(z / z_0)` for :math:`z \ge z_\mathrm{min}`, else :math:`C_R(z_\mathrm{min})`
    (ISO 15927-3:2009, table from memory).

    Parameters
    ----------
    category
        Terrain category, I (open sea) to IV (town).
    height
        Height above the ground at the wall. [m]

    Raises
    ------
    LookupError
        For a category the table does not hold.
    RefusalError
        For a height that is no number from 0 to 200 m.

    Examples
    --------
    >>> round(terrain_roughness_coefficient(category="II", height=10), 4)
    1.0067
    """
    find_row("terrain", "category", category)
    z = check_between(height, "height of the wall", 0, 200, "m")
    return float(roughness_coefficients(np.array(category), np.array(z)))


def roughness_coefficients(categories: np.ndarray, heights: np.ndarray) -> np.ndarray:
    """As :func:`terrain_roughness_coefficient` of many walls at once; arrays broadcast, missing where not known.

    Examples
    --------
    >>> roughness_coefficients(np.array(["I", "II"]), np.array([10.0, 10.0])).round(4).tolist()
    [1.1743, 1.0067]
    """
    ground, height = np.broadcast_arrays(categories, np.asarray(heights, dtype=float))
    found = np.full(ground.shape, np.nan)
    for row in load_table("terrain")["row"]:
        here = ground == row["category"]
        z = np.maximum(height[here], row["least_height"])
        found[here] = row["terrain_factor"] * np.log(z / row["roughness_length"])
    return found
