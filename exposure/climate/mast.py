"""Wind measured on a mast that is not 10 m high, brought to 10 m."""

import math

from exposure.tables import find_row

STANDARD_HEIGHT = 10.0  # m, the height every formula takes the wind at


def open_ground_roughness() -> float:
    """Roughness length of farmland, assumed around a mast when nothing else is told. [m]"""
    return float(find_row("terrain", "category", "II")["roughness_length"])


def mast_factor(mast_height: float, *, roughness_length: float | None = None) -> float:
    r"""Factor that brings a wind speed from ``mast_height`` [m] to 10 m by the logarithmic law.

    Notes
    -----
    :math:`\ln(10/z_0) / \ln(z/z_0)` with mast height :math:`z` and roughness length :math:`z_0`.

    Examples
    --------
    >>> mast_factor(10.0), round(mast_factor(2.0, roughness_length=0.03), 3)
    (1.0, 1.383)
    """
    z0 = open_ground_roughness() if roughness_length is None else roughness_length
    if mast_height == STANDARD_HEIGHT:
        return 1.0
    return math.log(STANDARD_HEIGHT / z0) / math.log(mast_height / z0)
