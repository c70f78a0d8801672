"""The pictures of one assessed building: its plan, rose and months."""

import numpy as np

from exposure.assess import Assessment
from exposure.draw.building_plan import SPELL_UNIT, building_plan
from exposure.draw.months import months
from exposure.draw.outline import wall_codes
from exposure.draw.rose import YEAR_UNIT, RoseCurves, rose
from exposure.rain.uncertainty import band_of, has_band, resample_years
from exposure.wall import WallExposure


def codes_of(assessment: Assessment) -> dict[str, str]:
    """Short code of each elevation, the worst lettered first."""
    return wall_codes([(one.wall.name, one.wall.orientation) for one in assessment.elevations])


def rain_directions(assessment: Assessment) -> list[float]:
    """Yearly driving rain from each of twelve sectors, as a wall squarely facing the sector gets it. [L m-2]"""
    by_sector = assessment.rose["airfield_annual_index_by_sector"].transpose("terrain_sector", "orientation")
    sectors, facing = by_sector["terrain_sector"].values, assessment.rose["orientation"].values
    values = by_sector.values
    apart = np.abs((facing[None, :] - sectors[:, None] + 180) % 360 - 180)
    return [float(row[at]) for row, at in zip(values, apart.argmin(axis=1), strict=True)]


def plan_of(
    assessment: Assessment,
    *,
    chosen: str | None = None,
    size: int = 520,
    callouts: bool = True,
    prefix: str = "plan",
) -> str:
    """Building plan of an assessed building."""
    return building_plan(
        assessment.elevations,
        rain_directions(assessment),
        chosen=chosen,
        size=size,
        callouts=callouts,
        prefix=prefix,
    )


def rose_curves(assessment: Assessment, *, spell: bool = False) -> RoseCurves:
    """Open-field index at the rose's orientations and its 90 % band, None where one year cannot tell. [L m-2]"""
    index = assessment.rose
    yearly = index["yearly_annual_index"].transpose("year", "orientation").values
    maxima = index["yearly_spell_maximum"].transpose("year", "orientation").values
    curve = index["airfield_spell_index" if spell else "airfield_annual_index"].values.astype(float)
    if not has_band(yearly.shape[0]):
        return RoseCurves(curve.tolist())
    drawn = resample_years(yearly, maxima)
    low, high = band_of(drawn.spell if spell else drawn.annual, curve, drawn.years)
    return RoseCurves(curve.tolist(), np.maximum(low, 0).tolist(), high.tolist())


def rose_of(assessment: Assessment, *, spell: bool = False, size: int = 420, prefix: str = "rose") -> str:
    """Driving-rain rose of the place, with the building's walls marked."""
    return rose(
        rose_curves(assessment, spell=spell),
        rain_from=rain_directions(assessment),
        elevations=assessment.elevations,
        unit=SPELL_UNIT if spell else YEAR_UNIT,
        size=size,
        prefix=prefix,
    )


def months_of(one: WallExposure, *, width: int = 520, prefix: str = "months") -> str | None:
    """The months of one elevation; None where no month is known."""
    if one.monthly_share is None:
        return None
    return months(
        one.monthly_share,
        width=width,
        title=f"Driving rain on the {one.wall.name} by month, % of the year",
        prefix=prefix,
    )
