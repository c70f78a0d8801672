"""Ground height and land cover read around a site from a GeoTIFF."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from exposure.checks import RefusalError
from exposure.doubts import doubt
from exposure.site.plane import DEGREES, LocalPlane, readable_crs

FOOT = 0.3048  # m
MOST_PIXELS = 4096  # each way; a finer raster is thinned while read
FINE_ENOUGH = 30.0  # m; a raster thinned to pixels no larger than this is as good as whole; our choice
HAIR = 1e-7  # of a pixel
LOWEST, HIGHEST = -12_000.0, 9_000.0  # m; nothing on earth lies outside


@dataclass(frozen=True)
class Raster:
    """A cut of a raster, in memory.

    Parameters
    ----------
    values
        Rows and columns as stored; missing is NaN. [m, or class codes]
    transform
        ``(a, b, c, d, e, f)``: x = a column + b row + c, y = d column + e row + f, at pixel corners.
    crs
        As text.
    source
        File name, for the sheet.
    flags
        Doubts, as sentences.
    """

    values: np.ndarray
    transform: tuple[float, float, float, float, float, float]
    crs: str
    source: str
    flags: tuple[str, ...] = ()

    def sample(
        self, plane: LocalPlane, east: np.ndarray, north: np.ndarray, *, nearest: bool = False
    ) -> np.ndarray:
        """Values at points of ``plane`` [m]; between pixels linearly, or the nearest one. Outside: NaN."""
        x, y = plane.to_crs(np.asarray(east, dtype=float), np.asarray(north, dtype=float), crs=self.crs)
        a, b, c, d, e, f = self.transform
        x = _aligned(x, plane, left=c, crs=self.crs)
        spread = a * e - b * d
        column = (e * (x - c) - b * (y - f)) / spread
        row = (a * (y - f) - d * (x - c)) / spread
        rows, columns = self.values.shape
        inside = (
            (column >= -HAIR) & (column < columns - HAIR) & (row >= -HAIR) & (row < rows - HAIR)
        )  # the hair is what projecting leaves over
        if nearest:
            found = self.values[
                np.where(inside, row, 0).astype(int), np.where(inside, column, 0).astype(int)
            ].astype(float)
            return np.where(inside, found, np.nan)
        at_row = np.clip(np.where(inside, row, 0.5) - 0.5, 0, rows - 1)
        at_column = np.clip(np.where(inside, column, 0.5) - 0.5, 0, columns - 1)
        top, left = (
            np.minimum(at_row.astype(int), max(rows - 2, 0)),
            np.minimum(at_column.astype(int), max(columns - 2, 0)),
        )
        low, right = np.minimum(top + 1, rows - 1), np.minimum(left + 1, columns - 1)
        down, across = at_row - top, at_column - left
        upper = self.values[top, left] * (1 - across) + self.values[top, right] * across
        lower = self.values[low, left] * (1 - across) + self.values[low, right] * across
        return np.where(inside, upper * (1 - down) + lower * down, np.nan)

    @cached_property
    def scatter(self) -> float:
        """How far values scatter from pixel to pixel round a smooth surface, the smaller of both ways. [m]

        By differences of the fourth order, which a smooth slope, hill or cliff hardly has; their median is that of
        independent errors times the root of 70.
        """
        ways = [np.abs(np.diff(self.values.astype(float), n=4, axis=axis)) for axis in (0, 1)]
        known = [way[np.isfinite(way)] for way in ways]
        return min((1.4826 * float(np.median(one)) / 70**0.5 for one in known if one.size), default=0.0)

    def pixel(self, plane: LocalPlane) -> float:
        """Size of a pixel at the middle of ``plane``. [m]"""
        a, b, _, d, e, _ = self.transform
        x, y = plane.to_crs(0.0, 0.0, crs=self.crs)
        east, north = plane.to_metres(np.array([x, x + a, x + b]), np.array([y, y + d, y + e]), crs=self.crs)
        size = float(max(np.hypot(east[1:] - east[0], north[1:] - north[0])))
        return round(size, 6)  # steps of whole metres, not of what projecting leaves over


def grid_raster(values: np.ndarray, *, latitude: np.ndarray, longitude: np.ndarray, source: str) -> Raster:
    """A raster from pixel middles on a regular grid of degrees, latitudes in either order.

    Examples
    --------
    >>> slope = grid_raster([[1.0, 2.0], [3.0, 4.0]], latitude=[1, 0], longitude=[10, 11], source="made up")
    >>> slope.transform
    (1.0, 0.0, 9.5, 0.0, -1.0, 1.5)
    """
    latitude, longitude = np.asarray(latitude, dtype=float), np.asarray(longitude, dtype=float)
    across = float(longitude[-1] - longitude[0]) / (longitude.size - 1)
    down = float(latitude[-1] - latitude[0]) / (latitude.size - 1)
    transform = (
        across,
        0.0,
        float(longitude[0]) - across / 2,
        0.0,
        down,
        float(latitude[0]) - down / 2,
    )
    return Raster(np.asarray(values, dtype=float), transform, DEGREES, source)


def read_ground(path: str | Path, *, plane: LocalPlane, reach: float) -> Raster:
    """Ground height within ``reach`` [m] of the middle of ``plane``, in metres above the sea.

    Feet are turned to metres where the raster declares them. Raises :class:`RefusalError` when the raster
    has no CRS, does not cover the site (saying how far short it is), or holds heights that cannot be.
    """
    raster, unit = _read(path, plane, reach, thin="average")
    flags = list(raster.flags)
    values = raster.values
    if unit.lower() in ("ft", "feet", "foot", "us survey foot", "ftus"):
        values = values * FOOT
        flags.append(doubt("site.heights_in_feet", raster.source))
    known = values[np.isfinite(values)]
    if known.size and (known.min() < LOWEST or known.max() > HIGHEST):
        wrong = known.min() if known.min() < LOWEST else known.max()
        raise RefusalError(
            f"{raster.source} holds a ground height of {wrong:g} m",
            f"heights from {LOWEST:g} to {HIGHEST:g} m, and gaps marked as nodata",
            "Declare that value as nodata in the raster.",
        )
    return Raster(values, raster.transform, raster.crs, raster.source, tuple(flags))


def covering(path: str | Path, raster: Raster, plane: LocalPlane) -> Raster | None:
    """``raster``, a cut of the file ``path`` for several places, where it serves the middle of ``plane`` as its own cut would.

    None where it was thinned: a cut of its own may be finer.

    Raises
    ------
    RefusalError
        When the file does not cover the place.
    """
    bounds, crs, transform = _frame(str(Path(path).resolve()))
    _check_covers(bounds, crs, plane, raster.source)
    whole = np.allclose(raster.transform[:2] + raster.transform[3:5], transform, rtol=1e-9, atol=0)
    return raster if whole else None


@contextmanager
def opened_raster(path: str | Path, *, holds: str = "a GeoTIFF", parameter: str = "") -> Iterator[Any]:
    """A GeoTIFF, open for reading; what its pixels turn out to be is refused here as well.

    Raises
    ------
    RefusalError
        When it cannot be opened, or is damaged where it is read.
    """
    import rasterio
    from affine import TransformNotInvertibleError
    from rasterio.errors import RasterioError

    name, opened = Path(path).name, False
    try:
        # under the one driver a description of another file opens none
        with rasterio.open(Path(path).resolve(), driver="GTiff") as source:
            opened = True
            yield source
    except (RasterioError, TransformNotInvertibleError) as error:
        raise RefusalError(
            f"{name} is damaged: it opens, but cannot be read to its end" if opened else f"{name} cannot be opened as a raster",
            holds, "Check the file, or export it so.", parameter=parameter,
        ) from error  # fmt: skip


@lru_cache(maxsize=8)
def _frame(path: str) -> tuple[tuple[float, float, float, float], str, tuple[float, ...]]:
    """Bounds, coordinate system, and size and turn of the pixels of a raster file."""
    with opened_raster(path) as source:
        told = source.transform
        return tuple(source.bounds), source.crs.to_wkt(), (told.a, told.b, told.d, told.e)


def read_cover(path: str | Path, *, plane: LocalPlane, reach: float) -> Raster:
    """Land-cover class codes within ``reach`` [m] of the middle of ``plane``. Raises as :func:`read_ground`."""
    return _read(path, plane, reach, thin="nearest")[0]


def _aligned(x: np.ndarray | float, plane: LocalPlane, *, left: float, crs: str) -> np.ndarray:
    """Longitudes counted as the raster counts them (-180 to 180, or 0 to 360), round the site; metres stay."""
    if not _in_degrees(crs):
        return np.asarray(x)
    middle = (plane.longitude - left) % 360 + left
    return middle + (np.asarray(x) - middle + 180) % 360 - 180


@lru_cache(maxsize=64)
def _in_degrees(crs: str) -> bool:
    return bool(readable_crs(crs).is_geographic)


def _read(path: str | Path, plane: LocalPlane, reach: float, *, thin: str) -> tuple[Raster, str]:
    from rasterio.enums import Resampling
    from rasterio.windows import Window

    name = Path(path).name
    with opened_raster(path) as source:
        if source.crs is None:
            readable_crs(None)
        crs = source.crs.to_wkt()
        _check_covers(source.bounds, crs, plane, name)
        around = np.linspace(-reach, reach, 9)
        east, north = np.meshgrid(around, around)
        x, y = plane.to_crs(east.ravel(), north.ravel(), crs=crs)
        x = _aligned(x, plane, left=source.bounds.left, crs=crs)
        back = ~source.transform
        y = np.asarray(y)
        columns, rows = back.a * x + back.b * y + back.c, back.d * x + back.e * y + back.f
        left, top = max(int(np.floor(columns.min())) - 1, 0), max(int(np.floor(rows.min())) - 1, 0)
        right = min(int(np.ceil(columns.max())) + 2, source.width)
        low = min(int(np.ceil(rows.max())) + 2, source.height)
        window = Window(left, top, right - left, low - top)
        coarser = max(1, int(np.ceil(max(right - left, low - top) / MOST_PIXELS)))
        shape = (max((low - top) // coarser, 1), max((right - left) // coarser, 1))
        read = source.read(
            1, window=window, out_shape=shape, masked=True, resampling=Resampling[thin]
        ).astype(np.float32)
        scale, shift = source.scales[0], source.offsets[0]
        values = np.where(np.ma.getmaskarray(read), np.nan, read.data * scale + shift)
        cut = source.window_transform(window)
        stretch_x, stretch_y = (right - left) / shape[1], (low - top) / shape[0]
        flags = []
        if source.count > 1:
            flags.append(doubt("site.several_bands", name, count=source.count))
        unit = source.units[0] or ""
    transform = (
        cut.a * stretch_x,
        cut.b * stretch_y,
        cut.c,
        cut.d * stretch_x,
        cut.e * stretch_y,
        cut.f,
    )
    cut_out = Raster(values, transform, crs, name, tuple(flags))
    if coarser > 1 and cut_out.pixel(plane) > FINE_ENOUGH:
        note = doubt("site.thinned_raster", name, times=coarser, pixel=cut_out.pixel(plane))
        cut_out = Raster(values, transform, crs, name, (*flags, note))
    return cut_out, unit


def _check_covers(bounds: tuple[float, float, float, float], crs: str, plane: LocalPlane, name: str) -> None:
    """Stop when the site lies outside the raster, and say how far."""
    x, y = plane.to_crs(0.0, 0.0, crs=crs)
    left, low, right, top = bounds
    across = float(_aligned(x, plane, left=left, crs=crs))
    if left <= across <= right and low <= y <= top:
        return
    edges = np.clip([across, across - 360.0] if _in_degrees(crs) else [across], left, right)
    east, north = plane.to_metres(edges, np.full(edges.size, np.clip(y, low, top)), crs=crs)
    short = float(np.hypot(east, north).min()) / 1000
    way = "" if not np.isfinite(short) else f", {short:.1f} km from its nearest edge"
    raise RefusalError(
        f"{name} does not reach the site{way}",
        f"a raster that covers latitude {plane.latitude:.4f}, longitude {plane.longitude:.4f}",
        "Use the tile of this place, or check the site's position.",
    )
