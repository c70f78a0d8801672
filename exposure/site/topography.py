"""Topography coefficient: how a hill, ridge, escarpment or cliff speeds the wind up."""

from math import exp, log10

from exposure.tables.standing import with_standing

LEAST_SLOPE = 0.05  # ISO 15927-3 / EN 1991-1-4 Annex A.3 (from memory, not checked)
STEEP_SLOPE = 0.3  # the same
STANDING = "from memory"
SOURCE = with_standing("ISO 15927-3:2009 and EN 1991-1-4:2005, Annex A.3", STANDING)


def topography_coefficient(*, slope: float, shape_factor: float) -> float:
    r"""Wind over a hill against wind over flat ground.

    :math:`C_T = 1` below a slope of 0.05; :math:`1 + 2 s \Phi` up to 0.3; :math:`1 + 0.6 s` above.

    Parameters
    ----------
    slope
        Upwind slope, rise over run. [1]
    shape_factor
        Position on the hill, 0 to 1, from :func:`shape_factor`. [1]

    Examples
    --------
    >>> topography_coefficient(slope=0.2, shape_factor=0.5)
    1.2
    """
    if slope < LEAST_SLOPE:
        return 1.0
    return 1.0 + 2.0 * shape_factor * min(slope, STEEP_SLOPE)


def effective_length(*, rise: float, upwind_length: float) -> float:
    """Length that scales the hill's effect: the upwind length, or rise / 0.3 where it is steep. [m]

    Examples
    --------
    >>> effective_length(rise=60, upwind_length=100)
    200.0
    """
    return upwind_length if rise / upwind_length < STEEP_SLOPE else rise / STEEP_SLOPE


def shape_factor(
    *,
    position: float,
    height: float,
    rise: float,
    upwind_length: float,
    downwind_length: float,
    cliff: bool,
) -> float:
    """How much of the hill's speed-up is felt here, 0 to 1.

    Parameters
    ----------
    position
        Distance downwind of the crest, negative before it. [m]
    height
        Height above the ground. [m]
    rise, upwind_length, downwind_length
        Height of the crest above the upwind foot, and the lengths of both slopes. [m]
    cliff
        True for a cliff or escarpment (ground beyond the crest falls by less than 0.05).

    Notes
    -----
    Printed formulas of EN 1991-1-4:2005, Annex A.3 (from memory). Between the crest of a cliff and a
    tenth of the effective length behind it the two formulas are joined by a straight line (our choice).

    Examples
    --------
    >>> round(shape_factor(position=0, height=10, rise=20, upwind_length=100, downwind_length=100, cliff=False), 4)
    0.8385
    """
    scale = effective_length(rise=rise, upwind_length=upwind_length)
    if height / scale > 2:
        return 0.0
    if position <= 0:
        value = _upwind(position / upwind_length, height / scale)
    elif cliff:
        value = _behind_cliff(position / scale, height / scale)
    else:
        value = _behind_hill(position / downwind_length, height / scale)
    return min(max(value, 0.0), 1.0)


def _crest(z: float) -> float:
    return 0.1552 * z**4 - 0.8575 * z**3 + 1.8133 * z**2 - 1.9115 * z + 1.0124


def _upwind(x: float, z: float) -> float:
    if x < -1.5:
        return 0.0
    return _crest(z) * exp((0.3542 * z**2 - 1.0577 * z + 2.6456) * x)


def _behind_hill(x: float, z: float) -> float:
    if x > 2:
        return 0.0
    return _crest(z) * exp((-0.3056 * z**2 + 1.0212 * z - 1.7637) * x)


def _behind_cliff(x: float, z: float) -> float:
    if x > 3.5:
        return 0.0
    if x < 0.1:
        return _upwind(0.0, z) + (_behind_cliff(0.1, z) - _upwind(0.0, z)) * x / 0.1
    level, away = log10(max(z, 0.1)), log10(x)
    a = -1.3420 * level**3 - 0.8222 * level**2 + 0.4609 * level - 0.0791
    b = -1.0196 * level**3 - 0.8910 * level**2 + 0.5343 * level - 0.1156
    c = 0.8030 * level**3 + 0.4236 * level**2 - 0.5738 * level + 0.1606
    return a * away**2 + b * away + c
