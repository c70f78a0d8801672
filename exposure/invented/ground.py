"""Relief and land cover of the invented island."""

from collections.abc import Callable, Iterable, Iterator

import numpy as np

from exposure.invented.geography import CELLS, PIXELS, SEED, inland_share, pixel_metres, places

TREES, SHRUBS, GRASS, CROPS, BUILT, BARE, WATER, WETLAND = 10, 20, 30, 40, 50, 60, 80, 90  # ESA WorldCover
_RIDGES = (  # middle east, north [m]; half length, half width [m]; turn [degree]; rise [m]
    (-13000.0, 500.0, 12500.0, 5000.0, 108.0, 560.0),
    (-24500.0, -5500.0, 7000.0, 3200.0, 140.0, 250.0),
    (9500.0, 6500.0, 9500.0, 4200.0, 25.0, 190.0),
    (14000.0, -11000.0, 8000.0, 3000.0, -12.0, 130.0),
)
_CLIFFS = ((176.0, 22.0, 52.0), (95.0, 30.0, 38.0), (262.0, 13.0, 34.0), (345.0, 12.0, 22.0))


def _noise(rng: np.random.Generator, size: int, fall: float, longest: float) -> np.ndarray:
    """A smooth random surface of mean 0 and spread 1 whose waves fall off with their number."""
    waves = np.fft.rfft2(rng.standard_normal((size, size), dtype=np.float32))
    along = np.fft.fftfreq(size)[:, None] * size
    across = np.fft.rfftfreq(size)[None, :] * size
    number = np.hypot(along, across)
    strength = (number**2 + longest**2) ** (-fall / 2)
    strength[0, 0] = 0
    surface = np.fft.irfft2(waves * strength, s=(size, size))
    return (surface / surface.std()).astype(np.float32)


def relief(each: Callable[[Callable, Iterable], Iterator] = map) -> np.ndarray:
    """Ground height on the pixels of the island, north to south, 0 at sea. [m]

    Parameters
    ----------
    each
        As ``map``: how ridges and cliffs are worked out; that of a pool does several at a time.
    """
    rng = np.random.default_rng(SEED + 1)
    east, north = np.meshgrid(*(axis.astype(np.float32) for axis in pixel_metres()))
    inland, angle = inland_share(east, north)
    size = CELLS * PIXELS
    rough, folds = _noise(rng, size, 2.1, 12.0), _noise(rng, size, 2.0, 18.0)

    rising = np.clip(inland, 0, None)
    height = 175.0 * (1 - np.exp(-rising / 0.30))

    def ridge(one: tuple[float, ...]) -> np.ndarray:
        middle_east, middle_north, length, width, turn, rise = one
        x, y = east - middle_east, north - middle_north
        along = x * np.cos(np.radians(turn)) + y * np.sin(np.radians(turn))
        across = -x * np.sin(np.radians(turn)) + y * np.cos(np.radians(turn))
        return rise * np.exp(-((along / length) ** 4) / 2 - (across / width) ** 2 / 2)

    for rising_there in each(ridge, _RIDGES):
        height += rising_there
    shore = np.clip(rising / 0.16, 0, 1)
    shore = shore * shore * (3 - 2 * shore)
    valleys = 1 - np.abs(folds) / 1.1
    height = shore * height * (1 + 0.20 * rough - 0.32 * np.clip(valleys, 0, 1) ** 2)
    height += 9.0 * shore * rough
    degrees = np.degrees(angle)

    def cliff(one: tuple[float, ...]) -> np.ndarray:
        towards, width, metres = one
        off = (degrees - towards + 180) % 360 - 180
        return metres * np.exp(-((off / width) ** 4)) * np.clip(rising / 0.012, 0, 1)

    for edge in each(cliff, _CLIFFS):
        height += edge
    height += 5.0 * np.clip(rising / 0.02, 0, 1)
    for place in places():
        near = np.exp(-((east - place.east) ** 2 + (north - place.north) ** 2) / (2 * place.reach**2))
        spot = np.unravel_index(np.argmax(near), near.shape)
        height += near * (place.ground - height[spot])
    return np.where(inland > 0, np.maximum(height, 0.6), 0.0).astype(np.float32)


def land_cover(height: np.ndarray) -> np.ndarray:
    """Land cover on the same pixels, as ESA WorldCover class codes."""
    rng = np.random.default_rng(SEED + 2)
    east, north = np.meshgrid(*(axis.astype(np.float32) for axis in pixel_metres()))
    inland, _ = inland_share(east, north)
    size = CELLS * PIXELS
    patches, fields = _noise(rng, size, 1.6, 30.0), _noise(rng, size, 1.2, 60.0)
    slope = np.hypot(*np.gradient(height, 55.6))

    cover = np.full(height.shape, GRASS, dtype=np.uint8)
    cover[(height < 130) & (slope < 0.09) & (fields > 0.15)] = CROPS
    cover[(height > 260 + 40 * patches)] = SHRUBS
    cover[(height > 190) & (slope < 0.05) & (patches > 0.5)] = WETLAND
    cover[(height > 430 + 50 * fields)] = BARE
    sheltered = (east + 4500 * fields > -6000) & (height > 15) & (height < 230)
    cover[sheltered & (patches > 0.75)] = TREES
    for name, code, reach in (
        ("Hestwick", TREES, 1700),
        ("Hestwick", GRASS, 260),
        ("Ullin Fold", CROPS, 1300),
    ):
        cover[_near(name, east, north, reach * (1 + 0.15 * patches)) & (height > 0)] = code
    for name, reach in (("Quern Bay", 330), ("Saltmar", 1500), ("Purlin Haven", 520), ("Tavisk Strand", 150)):
        built = _near(name, east, north, reach * (1 + 0.2 * fields))
        cover[built & (height > 0)] = BUILT
    cover[(height < 4) & (inland > 0) & (cover != BUILT)] = BARE  # beaches and rocks
    cover[inland <= 0] = WATER
    return cover


def _near(name: str, east: np.ndarray, north: np.ndarray, reach: np.ndarray | float) -> np.ndarray:
    place = next(place for place in places() if place.name == name)
    return np.hypot(east - place.east, north - place.north) < reach


def cell_means(pixels: np.ndarray) -> np.ndarray:
    """Mean of the pixels of each climate cell, south to north. Shape (cells, cells)."""
    blocks = pixels.reshape(CELLS, PIXELS, CELLS, PIXELS).mean(axis=(1, 3))
    return blocks[::-1]
