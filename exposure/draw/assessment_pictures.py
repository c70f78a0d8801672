"""The pictures of one assessed building: what the assessment keeps, put into the arguments the pictures take."""

import numpy as np

from exposure.assess import Assessment
from exposure.draw.building_plan import PlanWall, building_plan
from exposure.draw.factor_chain import ChainStep, SecondRow, factor_chain
from exposure.draw.months import months
from exposure.draw.outline import wall_codes
from exposure.draw.rose import RoseWall, rose
from exposure.rain.uncertainty import band_of, has_band, resample_years
from exposure.wall import WallExposure
from exposure.wall.classes import class_label, with_way

FACTOR_NAMES = {
    "terrain_roughness_coefficient": "ground",
    "topography_coefficient": "hill",
    "obstruction_factor": "neighbours",
    "wall_factor": "wall shape",
}
MOST_MARKS = 6  # walls a small rose can mark before they hide the curve; beyond it marks the worst alone
SPELL_UNIT = "L/m² in the worst spell"
YEAR_UNIT = "L/m² a year"


def other_classes(one: WallExposure) -> str | None:
    """The classes besides its own that an elevation's band or light rain reaches, each with the way it lies."""
    return " or ".join(with_way(one.exposure_class, name) for name in one.could_be) or None


def codes_of(assessment: Assessment) -> dict[str, str]:
    """Short code of each elevation, the worst lettered first."""
    return wall_codes([(one.wall.name, one.wall.orientation) for one in assessment.elevations])


def plan_walls(assessment: Assessment) -> list[PlanWall]:
    """The elevations as the plan takes them, worst first."""
    return [
        PlanWall(
            name=one.wall.name,
            orientation=one.wall.orientation,
            value=one.wall_spell_index,
            band=one.spell_band,
            class_name=one.exposure_class,
            start=one.wall.start,
            end=one.wall.end,
            length=one.wall.length,
            could_be=other_classes(one),
            class_label=class_label(one.exposure_class, one.could_be),
        )
        for one in assessment.elevations
    ]


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
    walls = plan_walls(assessment)
    return building_plan(
        walls,
        rain_directions(assessment),
        worst=assessment.worst.wall.name,
        chosen=chosen,
        size=size,
        callouts=callouts,
        unit=SPELL_UNIT,
        prefix=prefix,
    )


def rose_curves(
    assessment: Assessment, *, spell: bool = False
) -> tuple[list[float], list[float] | None, list[float] | None]:
    """Open-field index at the rose's orientations and its 90 % band, None where one year cannot tell. [L m-2]"""
    index = assessment.rose
    yearly = index["yearly_annual_index"].transpose("year", "orientation").values
    maxima = index["yearly_spell_maximum"].transpose("year", "orientation").values
    curve = index["airfield_spell_index" if spell else "airfield_annual_index"].values.astype(float)
    if not has_band(yearly.shape[0]):
        return curve.tolist(), None, None
    drawn = resample_years(yearly, maxima)
    low, high = band_of(drawn.spell if spell else drawn.annual, curve, drawn.years)
    return curve.tolist(), np.maximum(low, 0).tolist(), high.tolist()


def rose_of(
    assessment: Assessment,
    *,
    spell: bool = False,
    size: int = 420,
    small: bool = False,
    top: float | None = None,
    step: float | None = None,
    walls: bool = True,
    prefix: str = "rose",
) -> str:
    """Driving-rain rose of the place, with the building's walls marked."""
    curve, low, high = rose_curves(assessment, spell=spell)
    codes = codes_of(assessment)
    shown = (
        assessment.elevations
        if size >= 260 or len(assessment.elevations) <= MOST_MARKS
        else assessment.elevations[:1]
    )
    marked = [RoseWall(one.wall.name, codes[one.wall.name], one.wall.orientation) for one in shown]
    return rose(
        curve,
        low=low,
        high=high,
        rain_from=rain_directions(assessment),
        walls=marked if walls else (),
        worst=assessment.worst.wall.name,
        size=size,
        small=small,
        top=top,
        step=step,
        unit=SPELL_UNIT if spell else YEAR_UNIT,
        prefix=prefix,
    )


def chain_of(
    one: WallExposure,
    *,
    width: int = 1180,
    deep: int = 104,
    notes: bool = True,
    narrow: bool = False,
    prefix: str = "chain",
) -> str:
    """From airfield to one elevation, the worst spell along the same factors below."""
    return factor_chain(
        one.airfield_annual_index,
        [ChainStep(FACTOR_NAMES.get(step.name, step.name), step.value, step.reason) for step in one.factors],
        end_name=f"{one.wall.name} wall",
        band=one.annual_band,
        unit=YEAR_UNIT,
        second=SecondRow("worst spell", one.airfield_spell_index, one.spell_band, one.exposure_class),
        width=width,
        deep=deep,
        notes=notes,
        narrow=narrow,
        title=f"From airfield to wall, {one.wall.name}",
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
