"""Which way walls face: as numbers, as names of the compass, or as a DataArray."""

from collections.abc import Iterable

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.units import conversion

COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
POINTS = (  # sixteen, from north, clockwise
    "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW",
)  # fmt: skip
_LETTERS = {"N": "north", "E": "east", "S": "south", "W": "west"}
_DEGREES = {
    written: number * 360.0 / len(POINTS)
    for number, point in enumerate(POINTS)
    for written in (point.lower(), "".join(_LETTERS[letter] for letter in point))
}
Orientations = float | str | Iterable[float | str] | np.ndarray | xr.DataArray


def compass_orientations(number: int) -> np.ndarray:
    """``number`` orientations evenly round the compass from north. [degree]

    Examples
    --------
    >>> compass_orientations(4).tolist()
    [0.0, 90.0, 180.0, 270.0]
    """
    return np.arange(number) * 360.0 / number


def orientations_of(given: Orientations) -> np.ndarray:
    """The directions walls face as numbers, clockwise from north, shape (walls,). [degree]

    Parameters
    ----------
    given
        Any angles; names of the sixteen points of the compass, whole or in letters; or a DataArray of either along
        at most one dimension, in the unit it declares (degrees where it declares none).

    Raises
    ------
    RefusalError
        For a name that is no point of the compass, a number that is not finite, none at all, or several dimensions.

    Examples
    --------
    >>> orientations_of(["north", "south-west", "NNE", 123.5]).tolist()
    [0.0, 225.0, 22.5, 123.5]
    >>> orientations_of(["up"])
    Traceback (most recent call last):
    exposure.checks.RefusalError: a wall faces 'up'; expected degrees clockwise from north, or a point of the compass such as 'north', 'south-west' or 'NNE'. Correct the orientation.
    """
    convert = None
    if isinstance(given, xr.DataArray):
        if given.attrs.get("units") is not None:
            convert = conversion(str(given.attrs["units"]), "direction", name="orientation")
        given = given.values
    if isinstance(given, str | bytes) or not isinstance(given, Iterable):
        walls = [given]
    else:
        listed = np.asarray(given) if isinstance(given, np.ndarray) else list(given)
        if np.ndim(listed) > 1:
            raise RefusalError(
                f"orientations along {np.ndim(listed)} dimensions",
                "one orientation a wall, in one row",
                "Give a list of them; the same walls are taken for every place.",
            )
        walls = list(np.atleast_1d(np.asarray(listed, dtype=object)))
    if not walls:
        raise RefusalError("no orientation", "one a wall", "Give the way each wall faces, such as 240.")
    degrees = np.array([_degrees(one) for one in walls])
    return degrees if convert is None else np.asarray(convert.apply(degrees))


def _degrees(one: object) -> float:
    known = (
        _DEGREES.get("".join(one.lower().replace("-", " ").replace("_", " ").split()))
        if isinstance(one, str)
        else None
    )
    if known is not None:
        return known
    try:
        number = np.nan if isinstance(one, bool | np.bool_) else float(one)  # type: ignore[arg-type]  # what is no number is refused below
    except (TypeError, ValueError):
        number = np.nan
    if not np.isfinite(number):
        raise RefusalError(
            f"a wall faces {str(one)[:40]!r}",
            "degrees clockwise from north, or a point of the compass such as 'north', 'south-west' or 'NNE'",
            "Correct the orientation.",
        )
    return number
