"""One building end to end: climate and site in, each elevation's exposure out, every intermediate kept."""

from dataclasses import dataclass

import numpy as np
import xarray as xr

from exposure.rain.index import airfield_index, compass_orientations
from exposure.wall import Building, Site, WallExposure
from exposure.wall.index import wall_exposure

ROSE_ORIENTATIONS = 36


@dataclass(frozen=True)
class Assessment:
    """What is known of one building's exposure, kept whole so that a report explains without recomputing."""

    building: Building
    site: Site
    elevations: tuple[WallExposure, ...]  # worst first, by wall spell index
    rose: xr.Dataset  # airfield index at 36 orientations
    index: xr.Dataset  # airfield index at the walls' own orientations
    flags: tuple[str, ...]

    @property
    def worst(self) -> WallExposure:
        """The elevation with the largest wall spell index."""
        return self.elevations[0]


def assess_building(
    climate: xr.Dataset, building: Building, site: Site, *, wet_hour: float | None = None
) -> Assessment:
    """Exposure of every elevation of ``building`` on ``site`` in ``climate``.

    Parameters
    ----------
    climate
        An hourly record as :func:`exposure.open_climate` returns it.
    building, site
        What stands where.
    wet_hour
        See :func:`exposure.rain.index.airfield_index`. [mm]
    """
    facing = np.unique([wall.orientation for wall in building.walls])
    index = airfield_index(climate, orientation=facing, wet_hour=wet_hour)
    rose = airfield_index(climate, orientation=compass_orientations(ROSE_ORIENTATIONS), wet_hour=wet_hour)
    elevations = sorted(
        (wall_exposure(index, site, wall) for wall in building.walls),
        key=lambda one: one.wall_spell_index,
        reverse=True,
    )
    flags = [*index.attrs["flags"], *site.flags]
    for one in elevations:
        flags.extend(one.flags)
    return Assessment(building, site, tuple(elevations), rose, index, tuple(dict.fromkeys(flags)))
