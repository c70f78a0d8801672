"""Terrain roughness coefficient: how the ground upwind slows the wind at the height of a wall."""

from math import log

from exposure.checks import check_between
from exposure.tables import find_row


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
    ground = find_row("terrain", "category", category)
    z = max(check_between(height, "height of the wall", 0, 200, "m"), ground["least_height"])
    return ground["terrain_factor"] * log(z / ground["roughness_length"])
