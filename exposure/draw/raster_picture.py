"""A field on a latitude and longitude grid as a small picture for a map: 64 colours, rows bent to Mercator."""

import base64
import struct
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, log10

import numpy as np

from exposure.checks import RefusalError
from exposure.draw.palette import raster_colours

COLOURS = 64
MERCATOR_EDGE = 85.0  # the map's projection ends near here [degree]
MOST_ROWS = 2400
_CLEAR = COLOURS  # palette entry of cells without a figure


@dataclass(frozen=True)
class RasterPicture:
    """A picture as data URI and the box it covers: ((south, west), (north, east)). [degree]"""

    uri: str
    bounds: tuple[tuple[float, float], tuple[float, float]]


@dataclass(frozen=True)
class Scale:
    """Which figures the first and last colour stand for, and the round steps between that the legend names."""

    steps: tuple[float, ...]

    @property
    def low(self) -> float:
        """Figure of the first colour."""
        return self.steps[0]

    @property
    def high(self) -> float:
        """Figure of the last colour."""
        return self.steps[-1]


def round_scale(values: np.ndarray, *, most: int = 10) -> Scale:
    """Round steps that hold every finite figure of ``values``.

    Examples
    --------
    >>> round_scale(np.array([160.0, 742.0])).steps
    (100.0, 200.0, 300.0, 400.0, 500.0, 600.0, 700.0, 800.0)
    """
    known = values[np.isfinite(values)]
    if known.size == 0:
        return Scale((0.0, 1.0))
    low, high = float(known.min()), float(known.max())
    span = max(high - low, abs(high) * 1e-6, 1e-9)
    unit = 10.0 ** floor(log10(span / most))
    step = next(unit * times for times in (1, 2, 2.5, 5, 10, 20) if span / (unit * times) <= most)
    first = floor(low / step + 1e-9)
    last = max(int(np.ceil(high / step - 1e-9)), first + 1)
    return Scale(tuple(float(round(number * step, 10)) for number in range(first, last + 1)))


def raster_picture(
    field: np.ndarray,
    *,
    latitudes: np.ndarray,
    longitudes: np.ndarray,
    scale: Scale,
    colours: Sequence[str] = (),
) -> RasterPicture:
    """``field`` as a picture of cells, each in the colour of its figure; cells without one are clear.

    Parameters
    ----------
    field
        Figures, shape (latitude, longitude).
    latitudes, longitudes
        Middles of the cells, each ascending or descending, evenly spaced. [degree]
    scale
        Figures of the first and the last colour.
    colours
        64 of them; without any the ramp of rain.

    Raises
    ------
    RefusalError
        For axes that do not fit the field, or are not evenly spaced.
    """
    if field.shape != (latitudes.size, longitudes.size):
        raise RefusalError(
            f"a field of shape {field.shape} with {latitudes.size} latitudes and {longitudes.size} longitudes",
            "one figure for each latitude and longitude",
            "Put latitude first.",
        )
    if latitudes.size > 1 and latitudes[0] > latitudes[-1]:
        latitudes, field = latitudes[::-1], field[::-1]
    longitudes, field = _westward_first(np.asarray(longitudes, dtype=float), field)
    tall, wide = _spacing(latitudes, "latitude"), _spacing(longitudes, "longitude")
    south = max(float(latitudes[0]) - tall / 2, -MERCATOR_EDGE)
    north = min(float(latitudes[-1]) + tall / 2, MERCATOR_EDGE)
    rows = min(latitudes.size * (8 if latitudes.size <= 100 else 2), MOST_ROWS)
    top, bottom = _mercator(north), _mercator(south)
    middles = top - (np.arange(rows) + 0.5) / rows * (top - bottom)
    degrees = np.degrees(2 * np.arctan(np.exp(middles)) - np.pi / 2)
    nearest = np.clip(np.rint((degrees - latitudes[0]) / tall).astype(int), 0, latitudes.size - 1)
    indices = _colour_indices(field, scale)[nearest]
    return RasterPicture(
        "data:image/png;base64,"
        + base64.b64encode(palette_png(indices, colours or raster_colours(COLOURS))).decode(),
        ((south, float(longitudes[0]) - wide / 2), (north, float(longitudes[-1]) + wide / 2)),
    )


def _colour_indices(field: np.ndarray, scale: Scale) -> np.ndarray:
    share = (np.asarray(field, dtype=float) - scale.low) / (scale.high - scale.low)
    known = np.isfinite(share)
    numbers = np.clip(np.rint(np.where(known, share, 0) * (COLOURS - 1)), 0, COLOURS - 1)
    return np.where(known, numbers, _CLEAR).astype(np.uint8)


def _mercator(latitude: float) -> float:
    return float(np.log(np.tan(np.pi / 4 + np.radians(latitude) / 2)))


def _spacing(axis: np.ndarray, name: str) -> float:
    if axis.size < 2:
        return 0.25
    steps = np.diff(axis)
    if np.any(abs(steps - steps.mean()) > 0.02 * abs(steps.mean())):
        raise RefusalError(
            f"{name} steps from {steps.min():g} to {steps.max():g} degrees",
            "an evenly spaced grid",
            "Put the result on a regular grid before drawing it.",
        )
    return float(steps.mean())


def _westward_first(longitudes: np.ndarray, field: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Ascending longitudes from -180, split where 0 to 360 runs past 180; a piece across 180 stays whole."""
    turned = (longitudes + 180) % 360 - 180
    order = np.argsort(turned, kind="stable")
    steps = np.diff(turned[order])
    if steps.size and steps.max() > 1.5 * np.median(steps):  # a gap: the piece lies across 180
        cut = int(np.argmax(steps)) + 1
        order = np.concatenate([order[cut:], order[:cut]])
        turned = np.where(turned < turned[order[0]], turned + 360, turned)
    return turned[order], field[:, order]


def palette_png(indices: np.ndarray, colours: Sequence[str]) -> bytes:
    r"""A PNG of palette ``colours`` and one clear colour after them, from an array of palette numbers.

    Examples
    --------
    >>> palette_png(np.zeros((1, 1), np.uint8), ["#FF0000"])[:4]
    b'\x89PNG'
    """
    height, width = indices.shape
    palette = b"".join(bytes.fromhex(colour[1:]) for colour in colours) + b"\xff\xff\xff"
    clear = b"\xff" * len(colours) + b"\x00"
    rows = np.zeros((height, width + 1), dtype=np.uint8)  # each row starts with filter 0
    rows[:, 1:] = indices
    return b"".join(
        (
            b"\x89PNG\r\n\x1a\n",
            _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 3, 0, 0, 0)),
            _chunk(b"PLTE", palette),
            _chunk(b"tRNS", clear),
            _chunk(b"IDAT", zlib.compress(rows.tobytes(), 9)),
            _chunk(b"IEND", b""),
        )
    )


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
