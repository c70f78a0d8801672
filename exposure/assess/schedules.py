"""The detail schedule of every elevation of an assessed building, with the pressures and circumstances it rests on."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Any, NamedTuple

import numpy as np
import xarray as xr

from exposure.assess.assessment import Assessment
from exposure.assess.one_ring import one_ring
from exposure.checks import RefusalError
from exposure.detail import Circumstances, Schedule, detail_schedule
from exposure.detail.air import Air, drying_in_words, outdoor_air
from exposure.detail.beside import ALL_LEVEL, LEVEL, NO_DOOR
from exposure.detail.inside_climate import OutsideMonths, outside_months, warmth_by_week
from exposure.detail.levels import Levels, pressure_for_details
from exposure.detail.openings import Opening
from exposure.detail.rule_file import Rule
from exposure.detail.snow import why_snow_may_lie
from exposure.detail.step_numbers import numbered
from exposure.doubts import doubt
from exposure.junction.catalogue import clashes, door_floor
from exposure.junction.numbers import numbers_of
from exposure.rain.pressure import WallPressure, wall_pressures
from exposure.rain.record import Record, record_of
from exposure.rain.wind_pressure import AIR_DENSITY, gust_factor
from exposure.tables import find_row
from exposure.wall import Building, Site, WallExposure
from exposure.wall.index import ground_by_sector, hardest_ground, rainy_sectors
from exposure.wall.name_list import names_listed


class Scheduled(NamedTuple):
    """What :func:`elevation_schedules` gives, in the order of the assessment's elevations."""

    circumstances: tuple[Circumstances, ...]
    pressures: tuple[WallPressure, ...]
    schedules: tuple[Schedule, ...]


class RecordRead(NamedTuple):
    """A record as the details take it, checked once."""

    record: Record
    air: Air
    drying: str  # how well walls dry in it, as the circumstances' word
    drying_words: str
    months: OutsideMonths | None  # outdoor air by month, where the record has it
    weeks: np.ndarray | None  # its mean by week of the year, where the record has it [degC]


def record_read(climate: xr.Dataset) -> RecordRead:
    """Rain, wind and outdoor air of a climate Dataset, as the details take them."""
    air = outdoor_air(climate)
    drying = drying_in_words(air)
    return RecordRead(record_of(climate), air, *drying, outside_months(climate), warmth_by_week(climate))


def elevation_schedules(
    assessment: Assessment,
    read: RecordRead,
    circumstances: Circumstances | Mapping[str, Any] | None = None,
    *,
    office_rules: Sequence[Rule] = (),
    air_density: float = AIR_DENSITY,
    as_one: bool = False,
    openings: Sequence[Opening] = (),
) -> Scheduled:
    """Circumstances, pressures and schedules of every elevation.

    Parameters
    ----------
    read
        :func:`record_read` of the climate the assessment was made from.
    circumstances, office_rules, air_density, as_one
        As :func:`exposure.assess.details.detail_building`.
    openings
        The building's whole list, which says what doors a wall has; empty means that nobody listed them.
    """
    walls = assessment.elevations
    given = assessment.building.details if circumstances is None else circumstances
    own = tuple(
        mine.changed(threshold=_threshold(mine.threshold, one.wall.name, openings))
        for one in walls
        for mine in [_circumstances(given, one, assessment, read.drying)]
    )
    pressures = elevation_pressures(read.record, assessment, air_density=air_density)
    months = read.months
    ground = assessment.site.ground_height
    told = read.record.attrs.get("ground_height")
    snow = why_snow_may_lie(months, told if ground is None else ground)
    scheduled = partial(_scheduled, office_rules=office_rules, months=months, snow=snow)
    schedules = tuple(map(scheduled, walls, pressures, own))
    if as_one:
        hardest = _hardest(own, pressures, schedules)
        gusts = max(pressure.gust_factor for pressure in pressures)

        def lifted(
            one: WallExposure, pressure: WallPressure, mine: Circumstances, schedule: Schedule
        ) -> Schedule:
            if schedule.specific_design:
                return schedule
            strongest = replace(pressure, gust_factor=gusts)
            return scheduled(one, strongest, mine, hardest=hardest[mine.wall_type])

        schedules = tuple(map(lifted, walls, pressures, own, schedules))
    schedules = one_ring(schedules, as_one=as_one)
    steps = numbered([schedule.steps for schedule in schedules])
    floor = door_floor(map(numbers_of, schedules, own, pressures))
    schedules = tuple(
        replace(schedule, steps=mine, door_floor=floor)
        for schedule, mine in zip(schedules, steps, strict=True)
    )
    return Scheduled(own, pressures, schedules)


def _threshold(told: str, elevation: str, openings: Sequence[Opening]) -> str:
    """What step the doors of an elevation have: as told, but for what the list of openings knows better."""
    doors = [one for one in openings if one.door and one.elevation == elevation]
    if any(one.level for one in doors):
        return ALL_LEVEL if all(one.level for one in doors) else LEVEL
    if openings and not doors:
        return NO_DOOR
    return "not said" if doors and told == NO_DOOR else told


def _scheduled(
    one: WallExposure,
    pressure: WallPressure,
    mine: Circumstances,
    *,
    office_rules: Sequence[Rule],
    months: OutsideMonths | None,
    snow: str,
    hardest: Levels | None = None,
) -> Schedule:
    """The schedule of an elevation, with what its drawings show cannot be built together among its doubts."""
    schedule = detail_schedule(one, pressure, mine, office_rules=office_rules, months=months, hardest=hardest)
    found = clashes(one.wall.name, numbers_of(schedule, mine, pressure))
    if snow and mine.snow_depth is None:
        found = (*found, doubt("detail.snow_not_told", one.wall.name, why=snow))
    return replace(schedule, flags=(*schedule.flags, *found)) if found else schedule


def _hardest(
    own: Sequence[Circumstances], pressures: Sequence[WallPressure], schedules: Sequence[Schedule]
) -> dict[str, Levels]:
    """Levels of the hardest elevation of each wall type; those that need a design of their own lift no other."""
    found: dict[str, Levels] = {}
    for mine, pressure, schedule in zip(own, pressures, schedules, strict=True):
        if schedule.specific_design is None:
            push = pressure_for_details(facing=pressure.facing, any_direction=pressure.any_direction)
            levels = Levels(
                schedule.wetness_level, schedule.pressure_level, push, beyond=False, raised=schedule.raised
            )
            found[mine.wall_type] = levels.lifted(found.get(mine.wall_type, levels))
    return found


def elevation_pressures(
    climate: xr.Dataset | Record, assessment: Assessment, *, air_density: float = AIR_DENSITY
) -> tuple[WallPressure, ...]:
    """Driving-rain wind pressure of each elevation: square on by the ground that governs its wall index, from any side
    by the hardest ground that rain comes over.
    """
    walls, site = assessment.elevations, assessment.site
    speeds = np.array([one.factors[0].value * one.factors[1].value for one in walls])
    ground = np.array([ground_by_sector(site, one.wall.height) for one in walls])
    gust = np.array([_gusts(site, one.wall.height) for one in walls])
    own = np.array([gust[wall, one.ground_sector] for wall, one in enumerate(walls)])
    rainy = rainy_sectors(assessment.rose)
    hardest = hardest_ground(ground, rainy, speeds)
    hardest_gust = hardest_ground(ground**2 * gust, rainy, speeds**2 * own)  # of the pressure itself
    found = wall_pressures(
        climate,
        orientation=[one.wall.orientation for one in walls],
        speed_factor=speeds,
        gust=own,
        air_density=air_density,
    )
    return tuple(
        replace(one, any_speed_factor=float(factor), any_gust_factor=float(strongest / factor**2))
        for one, factor, strongest in zip(found, hardest, hardest_gust, strict=True)
    )


def _gusts(site: Site, height: float) -> list[float]:
    """Gust factor over the ground of each sector. [1]"""
    grounds = [find_row("terrain", "category", category) for category in site.categories]
    return [
        gust_factor(height=height, roughness_length=one["roughness_length"], least_height=one["least_height"])
        for one in grounds
    ]


def told_circumstances(given: Mapping[str, Any], elevation: str, building: Building) -> Circumstances:
    """Circumstances of one elevation as the details of a building's file tell them.

    Raises
    ------
    RefusalError
        For a field, a word or an elevation that is not known.
    """
    words = dict(given)
    words.setdefault("storeys", building.storeys)
    names = [wall.name for wall in building.walls]
    by_elevation = words.get("elevations", {})
    unknown = (
        [name for name in by_elevation if name not in names] if isinstance(by_elevation, Mapping) else []
    )
    if unknown:
        raise RefusalError(
            f"details of an elevation called {str(unknown[0])[:60]!r}",
            f"one of {names_listed(names)}",
            "Correct the name.",
        )
    return Circumstances.from_mapping(words, elevation=elevation)


def _circumstances(
    given: Circumstances | Mapping[str, Any], one: WallExposure, assessment: Assessment, drying: str
) -> Circumstances:
    if isinstance(given, Circumstances):
        mine = given
    else:
        mine = told_circumstances(given, one.wall.name, assessment.building)
    if mine.sea_distance is None and assessment.site.sea_distance is not None:
        mine = mine.changed(sea_distance=assessment.site.sea_distance)
    return mine.changed(drying=drying) if mine.drying == "as the record says" else mine
