"""Wall index with the ground of the sector each hour's wind comes from, beside the standard's product."""

from typing import NamedTuple

import numpy as np
import xarray as xr

from exposure.rain.hour import TERRAIN_SECTORS
from exposure.rain.index import airfield_index
from exposure.rain.record import Record
from exposure.site.roughness import terrain_roughness_coefficient
from exposure.tables import find_row
from exposure.wall import Site, WallExposure
from exposure.wall.building import compass_name
from exposure.wall.index import ground_by_sector

WORTH_SAYING = 0.10  # difference from the product that is explained in words; our choice


class BySector(NamedTuple):
    """Wall indices with each sector's own ground, shelter and wall factor applied."""

    annual: float  # L m-2 year-1
    spell: float  # L m-2
    weight: np.ndarray  # roughness times topography by sector


def sector_products(
    climate: xr.Dataset | Record,
    index: xr.Dataset,
    site: Site,
    plain: list[WallExposure],
    *,
    wet_hour: float | None = None,
) -> list[BySector]:
    """Sector-resolved annual and spell index of each elevation; with equal sectors the standard's product.

    Walls of one height share one pass over the record.
    """
    found: dict[int, BySector] = {}
    for height in {one.wall.height for one in plain}:
        weight = ground_by_sector(site, height)
        mine = [i for i, one in enumerate(plain) if one.wall.height == height]
        if np.ptp(weight) == 0:
            resolved, weight_left = index, weight[0]
        else:
            facing = np.unique([plain[i].wall.orientation for i in mine])
            resolved = airfield_index(climate, orientation=facing, wet_hour=wet_hour, sector_weight=weight)
            weight_left = 1.0
        for i in mine:
            at = resolved.sel(orientation=plain[i].wall.orientation)
            rest = plain[i].factors[2].value * plain[i].factors[3].value * weight_left
            spell = float(at["airfield_spell_index"])
            found[i] = BySector(float(at["airfield_annual_index"]) * rest, spell * rest, weight)
    return [found[i] for i in range(len(plain))]


def difference_in_words(one: WallExposure, resolved: BySector, index: xr.Dataset, site: Site) -> str | None:
    """Why the sector-resolved index differs from the product, in one sentence; None when it hardly does.

    Names the sectors that lift and lower the elevation most, by their rain and their ground.
    """
    if one.wall_annual_index <= 0 or abs(resolved.annual / one.wall_annual_index - 1) < WORTH_SAYING:
        return None
    rain = index.sel(orientation=one.wall.orientation)["airfield_annual_index_by_sector"].values
    ground, hill = one.factors[0].value, one.factors[1].value
    effect = rain * (resolved.weight - ground * hill)
    less = resolved.annual < one.wall_annual_index
    at = int(np.argmin(effect) if less else np.argmax(effect))
    return (
        f"Taken wind by wind, each over its own ground, the {one.wall.name} elevation gets {resolved.annual:.0f} L/m2 "
        f"a year instead of {one.wall_annual_index:.0f}: the product of factors takes one ground and one hill for all its winds, and "
        f"the part of its rain that comes from the {_way(at)} crosses {_crossed(site, at, one, less=less)}."
    )


def _crossed(site: Site, sector: int, one: WallExposure, *, less: bool) -> str:
    """What a sector has otherwise than the product, ground or hill or both, as far as it makes less, or more, of its rain."""
    way = -1 if less else 1
    ground, hill = one.factors[0].value, one.factors[1].value
    own = terrain_roughness_coefficient(category=site.categories[sector], height=one.wall.height)
    rise = site.hill_coefficients[sector]
    over = way * (rise - hill) > 0
    crossed = []
    if way * (own - ground) > 0 or not over:
        crossed.append(find_row("terrain", "category", site.categories[sector])["in_short"])
    if over:
        crossed.append(
            "no hill" if rise == 1 else "a hill" if hill == 1 else f"a {'lower' if less else 'higher'} hill"
        )
    does = "where it blows harder" if not less else "so it blows less hard" if over else "which slows it more"
    return f"{' and '.join(crossed)}, {does}"


def _way(sector: int) -> str:
    return compass_name(sector * 360 / TERRAIN_SECTORS)
