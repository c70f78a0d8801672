"""Ground heights that scatter from pixel to pixel: which of the hills found in them may be errors of the raster."""

from collections.abc import Sequence

import numpy as np

from exposure.doubts import Doubt, doubt
from exposure.rain.hour import TERRAIN_SECTORS
from exposure.site.plane import LocalPlane
from exposure.site.raster import Raster
from exposure.site.relief import Lines, hardest_hill
from exposure.site.sector import SectorHill

LEAST_SCATTER = 0.3  # m between pixels; less is no matter; our choice
SURE = 4.0  # times the scatter; a lower rise may be an error of the raster; our choice
WORTH_SAYING = 0.05  # of a coefficient; our choice


def scatter_doubt(
    raster: Raster,
    plane: LocalPlane,
    hills: Sequence[SectorHill],
    *,
    height: float,
    lines: Lines | None = None,
) -> list[Doubt]:
    """That hills may be errors of the raster, where leaving out what they could be would change a coefficient.

    Parameters
    ----------
    hills
        As :func:`exposure.site.relief.hills_by_sector` found them, for walls of ``height`` [m], on the same ``lines`` where given.
    """
    wide = raster.scatter
    if wide < LEAST_SCATTER:
        return []
    least = SURE * wide
    taken = lines or Lines(raster, plane, height=height)
    found = [hill.coefficient for hill in hills]

    def without(sector: int) -> float:
        """The sector's coefficient with rises below ``least`` left out; nothing to find where hills add little."""
        if found[sector] < 1 + WORTH_SAYING:
            return found[sector]
        return max(hardest_hill(each, least_rise=least).coefficient for _, each in taken.of_sector(sector))

    sure = [without(k) for k in range(TERRAIN_SECTORS)]
    apart = np.array(found) - np.array(sure)
    at = int(np.argmax(apart))
    if apart[at] < WORTH_SAYING:
        return []
    return [
        doubt(
            "site.scattered_heights",
            raster.source,
            scatter=f"{wide:.1f}",
            least=f"{least:.0f}",
            bearing=f"{at * 360 // TERRAIN_SECTORS}",
            assumed=f"{found[at]:.2f}",
            would_be=f"{sure[at]:.2f}",
        )
    ]
