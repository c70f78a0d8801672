"""Terrain category of each sector from a land-cover raster, with the coast recognised."""

from collections.abc import Mapping

import numpy as np

from exposure.checks import RefusalError
from exposure.rain.hour import TERRAIN_SECTORS
from exposure.site.plane import LocalPlane, offset
from exposure.site.raster import Raster
from exposure.site.sector import SectorGround
from exposure.tables import load_table

FETCH = 1000.0  # m upwind that decide, EN 1991-1-4 A.2
SEA_FETCH = 2000.0  # m, the same for the sea
LEAST_PATCH = 0.10  # of the sector's ground; smaller patches are ignored, the same
OPEN_WATER = 5000.0  # m of water that make it open, ISO 15927-3 (from memory, not checked)
FAR_SEA = 10_000.0  # m out to which the sea is looked for; our choice
STEP = 25.0  # m along a ray
RAYS = np.arange(-14.0, 15.0, 2.0)  # degrees off the middle of a sector
BUILT, TREES, WATER = 50, 10, 80  # codes of ESA WorldCover
COVER_REACH = FAR_SEA + OPEN_WATER
CATEGORIES = ("I", "II", "III", "IV")  # smoothest first


def terrain_by_sector(
    cover: Raster,
    plane: LocalPlane,
    *,
    towns: Mapping[int, bool] | None = None,
    instead: Mapping[int, int] | None = None,
) -> tuple[SectorGround, ...]:
    """Category of the twelve sectors centred on 0, 30, ... 330 degrees.

    Within 1 km upwind the smoothest ground that makes up a tenth of the sector wins; open water wins when
    it makes up a tenth of the sector within 2 km. Water is open when it goes on for 5 km along a ray, or
    runs off the raster. Nearer the building counts no more than farther away: shares are shares of area.

    Parameters
    ----------
    cover
        ESA WorldCover class codes around the site, to 15 km where the sea's distance matters.
    towns
        By sector number: True where buildings prove a town (category IV instead of III for built-up ground).
    instead
        Codes to be read as others, for what-ifs: ``{10: 30}`` fells the trees.

    Raises
    ------
    RefusalError
        When the raster holds codes that are no WorldCover classes.
    """
    radius = np.arange(STEP / 2, COVER_REACH, STEP)
    bearing = np.arange(TERRAIN_SECTORS)[:, None] * 360.0 / TERRAIN_SECTORS + RAYS
    east, north = offset(bearing=bearing[..., None], distance=radius)
    code = cover.sample(plane, east.ravel(), north.ravel(), nearest=True).reshape(east.shape)
    _check_codes(code, cover.source)
    for old, new in (instead or {}).items():
        code = np.where(code == old, new, code)
    water = code == WATER
    open_water = _open_water(water, np.isfinite(code))
    return tuple(
        _sector(
            k * 360.0 / TERRAIN_SECTORS,
            code[k],
            open_water[k],
            radius,
            town=bool((towns or {}).get(k, False)),
        )
        for k in range(TERRAIN_SECTORS)
    )


def _open_water(water: np.ndarray, known: np.ndarray) -> np.ndarray:
    """Where the water of a ray goes on for 5 km, or to the end of what the raster tells; radius last."""
    steps = np.arange(water.shape[-1])
    before = np.concatenate([np.zeros((*water.shape[:-1], 1), dtype=bool), water[..., :-1]], axis=-1)
    began = np.maximum.accumulate(np.where(water & ~before, steps, 0), axis=-1)
    dry = np.where(water, steps.size, steps)
    ends = np.minimum.accumulate(dry[..., ::-1], axis=-1)[..., ::-1]  # first step without water from here on
    told = np.concatenate([known, np.zeros((*known.shape[:-1], 1), dtype=bool)], axis=-1)
    runs_off = ~np.take_along_axis(told, ends, axis=-1)
    return water & ((ends - began >= OPEN_WATER / STEP) | runs_off)


def _sector(
    bearing: float, code: np.ndarray, open_water: np.ndarray, radius: np.ndarray, *, town: bool
) -> SectorGround:
    """Judge one sector; ``code`` and ``open_water`` have shape (ray, radius)."""
    near, sea = radius < FETCH, radius < SEA_FETCH
    area = np.broadcast_to(radius, code.shape)
    known = np.isfinite(code) & near
    told = float(area[known].sum() / area[:, near].sum())
    rows = {row["code"]: row for row in load_table("land_cover")["row"]}
    shares: dict[str, float] = {}
    by_category = dict.fromkeys(CATEGORIES, 0.0)
    for value in np.unique(code[known]):
        here = known & (code == value)
        for place, words, category in (
            (here & open_water, "open water", "I"),
            (here & ~open_water, *_land(rows[int(value)], town=town)),
        ):
            share = float(area[place].sum() / area[known].sum())
            if share > 0:
                shares[words] = share
                by_category[category] += share
    wide = np.isfinite(code) & sea
    water_share = float(area[wide & open_water].sum() / area[wide].sum()) if wide.any() else 0.0
    found = np.flatnonzero(open_water.any(axis=0) & (radius <= FAR_SEA))
    shore = float(radius[found[0]] - STEP / 2) if found.size else None
    category, reason = _judge(by_category, shares, water_share, told)
    untold = np.flatnonzero(~np.isfinite(code[RAYS.size // 2]))
    reach = float(radius[untold[0]] - STEP / 2) if untold.size else float("inf")
    return SectorGround(bearing, category, shares, water_share, shore, told, reason, reach)


def _land(row: Mapping, *, town: bool) -> tuple[str, str]:
    """Words and category of ground that is not open water."""
    if row["code"] == WATER:
        return "pond or river", "II"
    if row["code"] == BUILT and town:
        return "town", "IV"
    return row["meaning"], row["category"]


def _judge(
    by_category: Mapping[str, float], shares: Mapping[str, float], water: float, known: float
) -> tuple[str, str]:
    """Category and the sentence that says why."""
    if water >= LEAST_PATCH:
        return "I", f"open water makes up {water:.0%} of the ground within {SEA_FETCH / 1000:.0f} km"
    if known == 0:
        return "I", "the land-cover raster says nothing here, so the hardest ground is taken"
    most = sorted(shares.items(), key=lambda item: -item[1])[:3]
    ground = ", ".join(f"{words} {share:.0%}" for words, share in most)
    for category in CATEGORIES:
        if by_category[category] >= LEAST_PATCH:
            return (
                category,
                f"{ground} within {FETCH / 1000:.0f} km; the smoothest that makes up a tenth wins",
            )
    return max(by_category, key=by_category.__getitem__), f"{ground} within {FETCH / 1000:.0f} km"


def _check_codes(code: np.ndarray, source: str) -> None:
    known = {row["code"] for row in load_table("land_cover")["row"]}
    strange = sorted({float(value) for value in np.unique(code[np.isfinite(code)])} - known)
    if strange:
        raise RefusalError(
            f"{source} holds land-cover codes {', '.join(f'{value:g}' for value in strange[:5])}",
            f"ESA WorldCover classes {', '.join(str(value) for value in sorted(known))}",
            "Reclassify the raster to these codes, and mark gaps as nodata.",
        )
