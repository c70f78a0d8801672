"""What to build for an assessed building: each elevation's pressure, schedule, check, bare wrap, drying, take-off."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Any, NamedTuple

import xarray as xr

from exposure.assess.assessment import Assessment
from exposure.assess.assumptions import own_doubts
from exposure.assess.corners import corner_sheets
from exposure.assess.costs import BuildCost, ElevationCost, build_cost, elevation_cost
from exposure.assess.details_parts import BuildingDetails, BuildingOrders, ElevationDetails, ElevationOrders
from exposure.assess.one_build import ToBuild, one_build
from exposure.assess.prices import Prices
from exposure.assess.schedules import RecordRead, elevation_schedules, record_read
from exposure.checks import RefusalError
from exposure.detail import Circumstances, Schedule
from exposure.detail.air import Air
from exposure.detail.bare_wrap import BareWrap, bare_wrap, clad_first
from exposure.detail.inside_climate import OutsideMonths
from exposure.detail.inside_layer import inside_layer
from exposure.detail.inside_lines import MEMBRANE
from exposure.detail.levels import is_framed
from exposure.detail.openings import Opening, weakest_rating
from exposure.detail.rule_file import Rule
from exposure.detail.take_off import take_off, take_off_total
from exposure.detail.take_off_wall import on_boards
from exposure.detail.wall_hours import WallHours, wall_hours
from exposure.detail.water_check import water_check
from exposure.detail.ways_to_build import LEAK_RANGE, LEAK_SHARE, ways_to_build
from exposure.detail.wetting import wetting_and_drying
from exposure.detail.wetting_result import Wetting, WettingResult
from exposure.detail.window_class import window_order
from exposure.rain.wind_pressure import AIR_DENSITY
from exposure.wall import WallExposure

DEFAULT_START = 38  # week in which the membrane goes up when nobody says: the autumn half of the year
DEFAULT_WEEKS = 4  # the days a schedule lets a membrane stand bare, where its maker says nothing
LEAF_WALLS = ("masonry veneer", "cavity masonry")
SENSITIVE = ("unsealed, open", "taped, open", "drained, open", "vented, open")


def detail_building(
    assessment: Assessment,
    climate: xr.Dataset,
    circumstances: Circumstances | Mapping[str, Any] | None = None,
    *,
    openings: Sequence[Opening] = (),
    office_rules: Sequence[Rule] = (),
    rating: float | None = None,
    bare_start: int = DEFAULT_START,
    bare_weeks: int = DEFAULT_WEEKS,
    waste: Mapping[str, float] | None = None,
    leak_share: float = LEAK_SHARE,
    air_density: float = AIR_DENSITY,
    prices: Prices | None = None,
    as_one: bool = False,
) -> BuildingDetails:
    """What to build on every elevation of an assessed building.

    Parameters
    ----------
    assessment
        From :func:`exposure.assess.assess_building`.
    climate
        The record it was made from.
    circumstances
        For all elevations, or fields with ``elevations`` that differ (:meth:`exposure.detail.Circumstances.
        from_mapping`); by default what the building's file says. Storeys and distance to the sea come from
        building and site where nothing is said.
    openings
        Windows and doors, from :func:`exposure.detail.openings.read_openings`.
    office_rules
        From :func:`exposure.detail.rule_file.read_rule_text`.
    rating
        Pressure the windows were tested to, where known. [Pa]
    bare_start, bare_weeks
        Week of the year the membrane goes up (0 is that of 1 January), and weeks until it is clad.
    waste
        Shares on top of the take-off. [1]
    leak_share
        Share of the rain on the wall that gets behind the cladding. [1]
    air_density
        [kg m-3]
    prices
        Of the office, from :func:`exposure.assess.prices.read_prices`; costs are told by them alone.
    as_one
        Build every elevation of a wall type as the hardest of them, and not wall by wall.

    Raises
    ------
    RefusalError
        For circumstances or openings that name what is not known.
    """
    read = record_read(climate)
    orders = order_building(
        assessment,
        read,
        circumstances,
        openings=openings,
        office_rules=office_rules,
        air_density=air_density,
        as_one=as_one,
    )
    return detail_orders(
        orders,
        read,
        rating=rating,
        bare=(bare_start, bare_weeks),
        waste=waste,
        leak_share=leak_share,
        prices=prices,
    )


def order_building(
    assessment: Assessment,
    read: RecordRead,
    circumstances: Circumstances | Mapping[str, Any] | None = None,
    *,
    openings: Sequence[Opening] = (),
    office_rules: Sequence[Rule] = (),
    air_density: float = AIR_DENSITY,
    as_one: bool = False,
) -> BuildingOrders:
    """What is built on every elevation: the part of :func:`detail_building` that an answer is first read for.

    Parameters and refusals are those of :func:`detail_building`, but for the record, which is read already
    (:func:`exposure.assess.schedules.record_read`); :func:`detail_orders` makes the rest.
    """
    walls = assessment.elevations
    _check_openings(walls, openings)
    own, pressures, schedules = elevation_schedules(
        assessment,
        read,
        circumstances,
        office_rules=office_rules,
        air_density=air_density,
        as_one=as_one,
        openings=openings,
    )
    corners = corner_sheets([(one.wall, mine) for one, mine in zip(walls, schedules, strict=True)])
    each = tuple(map(ElevationOrders, walls, pressures, own, schedules, corners))
    return BuildingOrders(assessment, each, tuple(openings))


def detail_orders(
    orders: BuildingOrders,
    read: RecordRead,
    *,
    rating: float | None = None,
    bare: tuple[int, int] = (DEFAULT_START, DEFAULT_WEEKS),
    waste: Mapping[str, float] | None = None,
    leak_share: float = LEAK_SHARE,
    prices: Prices | None = None,
) -> BuildingDetails:
    """All details of a building whose orders are known, in the record they were made from.

    Parameters
    ----------
    bare
        Week the membrane goes up, and weeks until it is clad.
    rating, waste, leak_share, prices
        As of :func:`detail_building`.
    """
    assessment, openings = orders.assessment, orders.openings
    walls = assessment.elevations
    hours = wall_hours(
        read.record,
        orientation=[one.wall.orientation for one in walls],
        factor=[one.factor_product for one in walls],
        wet_hour=assessment.index.attrs["wet_hour_mm"],
    )
    names = [one.wall.name for one in walls]
    start, weeks = bare
    framed = [place for place, one in enumerate(orders.elevations) if is_framed(one.circumstances)]
    on_frames = [orders.elevations[place] for place in framed]  # no other wall has a membrane to stand bare
    found_bare = bare_wrap(
        _walls_of(hours, framed),
        elevations=[names[place] for place in framed],
        start=start,
        weeks=weeks,
        speed_factor=[one.pressure.speed_factor for one in on_frames],
        most_days=[_most_days(one.schedule) for one in on_frames],
        warmth=read.weeks,
    )
    by_place = dict(zip(framed, found_bare, strict=True))
    wraps = map(by_place.get, range(len(walls)))
    leaf = [one.circumstances.wall_type in LEAF_WALLS for one in orders.elevations]
    wetting = wetting_and_drying(
        hours, read.air, elevations=names, ways=ways_to_build(leak_share=leak_share), leaf=leaf
    )
    house = _House(
        wetting,
        openings,
        rating,
        waste,
        gust=max(one.pressure.any_direction_gust for one in orders.elevations),
        months=read.months,
    )
    found = tuple(map(partial(_elevation, house), orders.elevations, wraps))
    built = [one.to_build for one in found]
    builds = one_build(built, openings, waste=waste)
    costs: tuple[ElevationCost, ...] | None = None
    build_costs: tuple[BuildCost, ...] = ()
    if prices is not None:

        def cost(one: ElevationDetails, mine: ToBuild) -> ElevationCost:
            return elevation_cost(
                one.exposure, one.pressure, one.circumstances, mine, openings, prices, waste=waste
            )

        costs = tuple(map(cost, found, built))
        build_costs = tuple(build_cost(one, costs, prices) for one in builds)
    return BuildingDetails(
        assessment=assessment,
        elevations=found,
        clad_first=clad_first(one.bare_wrap for one in found if one.bare_wrap is not None),
        wetting=wetting,
        sensitivity=_sensitivity(hours, read.air, wetting, names[0], behind_leaf=leaf[0]),
        drying=read.drying_words,
        total=take_off_total([one.take_off for one in found]),
        flags=_flags(assessment, wetting, found),
        one_build=builds,
        costs=costs,
        build_costs=build_costs,
        openings=openings,
        rating=rating,
    )


def _flags(assessment: Assessment, wetting: Wetting, found: Sequence[ElevationDetails]) -> tuple[str, ...]:
    """Every doubt once; what was not told is said of all elevations together."""
    flags = [*assessment.flags, *wetting.flags]
    for one in found:
        for told in (one.pressure, one.schedule, one.bare_wrap, one.take_off, one.water_check):
            flags += told.flags if told is not None else ()
    said = {flag for one in found for flag in own_doubts(assessment.assumptions, one.name)}
    return tuple(flag for flag in dict.fromkeys(flags) if flag in assessment.flags or flag not in said)


class _House(NamedTuple):
    """What holds for every elevation of a building."""

    wetting: Wetting
    openings: Sequence[Opening]
    rating: float | None  # of the windows [Pa]
    waste: Mapping[str, float] | None
    gust: float  # highest of all elevations [Pa]
    months: OutsideMonths | None


def _elevation(house: _House, orders: ElevationOrders, bare: BareWrap | None) -> ElevationDetails:
    exposure, pressure = orders.exposure, orders.pressure
    circumstances, schedule = orders.circumstances, orders.schedule
    asked = {line.key: line for line in schedule.lines}
    mine = [one for one in house.openings if one.elevation == exposure.wall.name]
    counted = sum(one.count for one in mine)
    window = window_order(
        mean=pressure.any_direction,
        gust=pressure.any_direction_gust,
        house_gust=house.gust,
        indicative=pressure.indicative,
        hard_end=pressure.any_direction_range[1] * pressure.any_gust_factor,
        rating=weakest_rating(mine, house.rating),
    )
    return ElevationDetails(
        exposure=exposure,
        pressure=pressure,
        circumstances=circumstances,
        schedule=schedule,
        corners=orders.corners,
        window=window,
        water_check=water_check(
            schedule,
            pressure=orders.design_pressure,
            openings=counted if house.openings else None,
            rating=house.rating,
            sizes=mine,
            window=window,
        ),
        bare_wrap=bare,
        wetting=house.wetting.of(exposure.wall.name),
        take_off=take_off(
            exposure.wall,
            schedule,
            house.openings,
            boarded=circumstances.sheathing == "sheathed",
            corners=orders.corners,
            waste=house.waste,
        ),
        inside=replace(
            inside_layer(circumstances, house.months, boards=on_boards(asked)),
            asked=float(asked[MEMBRANE].value) if MEMBRANE in asked else 0.0,
        ),
    )


def _check_openings(walls: Sequence[WallExposure], openings: Sequence[Opening]) -> None:
    names = {one.wall.name for one in walls}
    for opening in openings:
        if opening.elevation not in names:
            raise RefusalError(
                f"an opening on an elevation called {opening.elevation[:60]!r}",
                f"one of {', '.join(sorted(names))}",
                "Correct the openings list.",
            )


def _most_days(schedule: Schedule) -> float:
    for line in (*schedule.lines, *schedule.floor):
        if line.key == "bare_max":
            return float(line.value)
    return float("inf")  # a wall without a membrane


def _walls_of(hours: WallHours, places: Sequence[int]) -> WallHours:
    """The hours of some walls alone."""
    if list(places) == [*range(len(hours.hits))]:
        return hours
    rain, hits, wind = (
        values[list(places)] for values in (hours.rain_on_wall, hours.hits, hours.wind_on_wall)
    )
    return replace(hours, rain_on_wall=rain, hits=hits, wind_on_wall=wind)


def _sensitivity(
    hours: WallHours, air: Air, wetting: Wetting, worst: str, *, behind_leaf: bool
) -> tuple[WettingResult, ...]:
    """The worst elevation with more and less leak, and more and less of it through the laps."""
    ways = [way for leak in LEAK_RANGE for way in ways_to_build(leak_share=leak)]
    ways += [way for laps in ("low", "high") for way in ways_to_build(laps=laps)]
    chosen = [way.behind_leaf() if behind_leaf else way for way in ways if way.key in SENSITIVE]
    found = {one.way: one for one in wetting.of(worst)}  # some of them are among what was run
    more = wetting_and_drying(
        _walls_of(hours, [0]),
        air,
        elevations=[worst],
        ways=[way for way in chosen if way not in found],
        leaf=[behind_leaf],
    )
    found |= {one.way: one for one in more.results}
    return tuple(found[way] for way in chosen)
