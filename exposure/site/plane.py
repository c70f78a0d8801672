"""Metres east and north of a place, with true north up, from and to any coordinate system."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from pyproj import CRS, Geod, Transformer
from pyproj.exceptions import CRSError, ProjError

from exposure.checks import RefusalError, check_between

DEGREES = "EPSG:4326"  # longitude and latitude, in this order here
EARTH = Geod(ellps="WGS84")
MANY, POLAR, NEAR = (
    2000,
    80.0,
    20_000.0,
)  # points, degrees and metres: where a polynomial stands in for each point
_DEGREE = 6  # of that polynomial
_NODES = np.cos(np.pi * (np.arange(9) + 0.5) / 9)


@dataclass(frozen=True)
class LocalPlane:
    """A plane that touches the earth at ``latitude``, ``longitude``.

    An azimuthal equidistant projection: bearings at its middle are true and distances from it exact, so a
    footprint in any grid comes out with the grid's convergence and scale already undone.

    Examples
    --------
    >>> plane = LocalPlane(latitude=50.0, longitude=8.0)
    >>> east, north = plane.to_metres(*[8.0, 50.001], crs=DEGREES)
    >>> round(float(east), 3), round(float(north), 1)
    (0.0, 111.2)
    """

    latitude: float
    longitude: float

    def __post_init__(self) -> None:
        check_between(self.latitude, "latitude", -90, 90, "degrees")
        check_between(self.longitude, "longitude", -180, 360, "degrees")

    @property
    def definition(self) -> str:
        """The plane as PROJ spells it."""
        return f"+proj=aeqd +lat_0={self.latitude:.9f} +lon_0={self.longitude:.9f} +datum=WGS84 +units=m +no_defs"

    def to_metres(
        self, x: np.ndarray | float, y: np.ndarray | float, *, crs: str
    ) -> tuple[np.ndarray, np.ndarray]:
        """Metres east and north of points given in ``crs`` (x first: longitude or easting)."""
        longitude, latitude = to_degrees(x, y, crs=crs)
        return metres_from(longitude, latitude, middle=(self.longitude, self.latitude))

    def to_crs(
        self, east: np.ndarray | float, north: np.ndarray | float, *, crs: str
    ) -> tuple[np.ndarray, np.ndarray]:
        """Points of the plane in ``crs`` (x first)."""
        if np.size(east) > MANY and abs(self.latitude) < POLAR:
            return from_degrees(*self._many(np.asarray(east), np.asarray(north)), crs=crs)
        return from_degrees(*degrees_from(east, north, middle=(self.longitude, self.latitude)), crs=crs)

    def _many(self, east: np.ndarray, north: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """As :func:`degrees_from` for many points, by a polynomial through a few: the same to a millionth of a metre."""
        reach = float(max(np.abs(east).max(), np.abs(north).max(), 1.0))
        if reach > NEAR:
            return degrees_from(east, north, middle=(self.longitude, self.latitude))
        x, y = (part.ravel() for part in np.meshgrid(_NODES, _NODES))
        longitude, latitude = degrees_from(x * reach, y * reach, middle=(self.longitude, self.latitude))
        off = (longitude - self.longitude + 180.0) % 360.0 - 180.0
        over, up = np.linalg.lstsq(_powers(x, y), np.column_stack([off, latitude]), rcond=None)[0].T
        u, v = east / reach, north / reach
        return self.longitude + _horner(over, u, v), _horner(up, u, v)


def _powers(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return np.column_stack([x**i * y**j for j in range(_DEGREE + 1) for i in range(_DEGREE + 1 - j)])


def _horner(factors: np.ndarray, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """The polynomial whose ``factors`` stand in the order of :func:`_powers`."""
    rows, first = [], 0
    for j in range(_DEGREE + 1):
        rows.append(factors[first : first + _DEGREE + 1 - j])
        first += _DEGREE + 1 - j
    found = np.zeros(np.shape(x))
    for row in reversed(rows):
        inner = np.full(np.shape(x), row[-1])
        for factor in row[-2::-1]:
            inner *= x
            inner += factor
        found *= y
        found += inner
    return found


Middle = tuple[np.ndarray | float, np.ndarray | float]  # longitude and latitude of one plane, or one a point


def metres_from(
    longitude: np.ndarray | float, latitude: np.ndarray | float, *, middle: Middle
) -> tuple[np.ndarray, np.ndarray]:
    """Metres east and north of points in degrees, each in the :class:`LocalPlane` of its ``middle``.

    The line of shortest way from the middle gives bearing and distance, as the projection asks.

    Examples
    --------
    >>> east, north = metres_from([8.001, 9.0], [50.0, 60.001], middle=([8.0, 9.0], [50.0, 60.0]))
    >>> east.round(1).tolist(), north.round(1).tolist()
    ([71.7, 0.0], [0.0, 111.4])
    """
    to_x, to_y, x, y = np.broadcast_arrays(longitude, latitude, *middle)
    bearing, _, distance = EARTH.inv(x, y, to_x, to_y)
    return offset(bearing=bearing, distance=distance)


def degrees_from(
    east: np.ndarray | float, north: np.ndarray | float, *, middle: Middle
) -> tuple[np.ndarray, np.ndarray]:
    """Longitude and latitude of points of a plane, the reverse of :func:`metres_from`. [degree]"""
    right, up, x, y = np.broadcast_arrays(east, north, *middle)
    longitude, latitude, _ = EARTH.fwd(x, y, np.rad2deg(np.arctan2(right, up)), np.hypot(right, up))
    return np.asarray(longitude), np.asarray(latitude)


def to_degrees(x: np.ndarray | float, y: np.ndarray | float, *, crs: str) -> tuple[np.ndarray, np.ndarray]:
    """Longitude and latitude of points given in ``crs`` (x first). [degree]"""
    return (np.asarray(x), np.asarray(y)) if crs == DEGREES else _transformer(crs, DEGREES).transform(x, y)


def from_degrees(longitude: np.ndarray, latitude: np.ndarray, *, crs: str) -> tuple[np.ndarray, np.ndarray]:
    """Points given in degrees in ``crs`` (x first)."""
    return (
        (longitude, latitude) if crs == DEGREES else _transformer(DEGREES, crs).transform(longitude, latitude)
    )


@lru_cache(maxsize=64)
def _transformer(source: str, target: str) -> Transformer:
    try:
        return Transformer.from_crs(readable_crs(source), readable_crs(target), always_xy=True)
    except ProjError as error:
        other = readable_crs(target if source == DEGREES else source).name
        raise RefusalError(
            f"coordinates of a system of its own, {other[:60]!r}",
            "coordinates that say where on the earth they lie",
            "Export the file in degrees or on a national grid.",
        ) from error


def readable_crs(text: object) -> CRS:
    """The coordinate system that ``text`` names, or a refusal.

    Raises
    ------
    RefusalError
        When it is missing or PROJ does not know it.
    """
    if text is None or text == "":
        raise RefusalError(
            "the file says nothing of its coordinate system",
            "a CRS, such as EPSG:4326 for degrees or a national grid",
            "Write it into the file with the program it came from.",
        )
    try:
        return CRS.from_user_input(text)
    except CRSError as error:
        raise RefusalError(
            f"the coordinate system {str(text)[:60]!r}", "one that PROJ knows", "Correct the file's CRS."
        ) from error


def offset(*, bearing: np.ndarray | float, distance: np.ndarray | float) -> tuple[np.ndarray, np.ndarray]:
    """East and north of a point at ``distance`` [m] in the direction ``bearing`` [degree].

    Examples
    --------
    >>> [round(float(part), 6) for part in offset(bearing=90, distance=10)]
    [10.0, 0.0]
    """
    turn = np.deg2rad(bearing)
    return np.multiply(distance, np.sin(turn)), np.multiply(distance, np.cos(turn))
