"""A building's details as plain words and numbers: JSON for programs, CSV for spreadsheets."""

import json
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from exposure import __version__
from exposure.assess.costs import ElevationCost, not_in_it
from exposure.assess.details_parts import BuildingDetails, ElevationDetails
from exposure.assess.one_build import OneBuild
from exposure.assess.table_text import csv_text, plain, plain_text
from exposure.detail.inside_layer import CAUTION, InsideLayer
from exposure.detail.materials import ITEMS, Item
from exposure.detail.schedule_parts import RuleResult, Schedule, ScheduleLine
from exposure.detail.take_off import NOT_LISTED, SEVERAL, TakeOff
from exposure.detail.wetting_result import WettingResult
from exposure.detail.window_class import WindowOrder
from exposure.rain.pressure import WallPressure
from exposure.tables.standing import standing_words

CSV_COLUMNS = (
    "elevation",
    "wetness level",
    "pressure level",
    "decided by",
    "where",
    "build",
    "why",
    "one level lower",
    "source",
    "standing",
    "verified",
    "caution",
    "local rule",
)
UNITS = {
    "pressure": "Pa",
    "head": "mm of water",
    "index": "L/m2",
    "membrane": "m2",
    "tape, trays, flashings, battens": "m",
    "stores, water inside the wall": "g/m2",
    "membrane_permeance": "microgram/(N s)",
}


def details_csv(details: BuildingDetails) -> str:
    """Every line of every elevation's schedule, one row each, with a heading row."""
    return csv_text(
        [CSV_COLUMNS, *(_line_row(one, line) for one in details.elevations for line in one.schedule.lines)]
    )


def take_off_csv(details: BuildingDetails) -> str:
    """Amounts by elevation and in all, one row each; "not listed" where they hang on openings nobody listed."""
    names = [
        "elevation",
        "wall area from the ground m2",
        "openings m2",
        "membrane and battens counted from m above ground",
        *(one.head for one in ITEMS),
        "openings",
        "by kind",
        "not counted",
    ]
    parts = [*(one.take_off for one in details.elevations), details.total]
    rows = [
        [
            part.elevation,
            *(_cell_of(amount) for amount in (part.wall_area, part.opening_area)),
            _cell_of(part.counted_from, decimals=2),
            *(_item_cell(part, one) for one in ITEMS),
            _cell_of(part.openings, decimals=0),
            part.kinds_in_words,
            ", ".join(part.not_counted),
        ]
        for part in parts
    ]
    return csv_text([names, *rows])


def costs_csv(details: BuildingDetails) -> str:
    """Material of each elevation as scheduled, at each level and of the next step, by the office's prices."""
    names = ["elevation", "currency", "level", "as scheduled", "level 1", "level 2", "level 3", "level 4"]
    rows = [
        [
            one.elevation,
            one.currency,
            one.level,
            *(f"{cost.cost:.2f}" for cost in (one.scheduled, *one.by_level)),
            *(
                "" if more is None else f"{more:.2f}"
                for more in (one.next_step, one.next_wetness, one.next_pressure)
            ),
            f"{one.in_words} {not_in_it([one.scheduled])}",
        ]
        for one in details.costs or ()
    ]
    return csv_text(
        [[*names, "next step adds", "wetness alone adds", "pressure alone adds", "in words"], *rows]
    )


def _item_cell(part: TakeOff, one: Item) -> str:
    if len(part.by_kind.get(one.name, {})) > 1:
        return SEVERAL
    return _cell_of(getattr(part, one.field), decimals=0 if one.unit == "piece" else 1)


def _cell_of(amount: float | None, *, decimals: int = 1) -> str:
    """An amount for a spreadsheet, without commas; words where it is not known."""
    return NOT_LISTED if amount is None else f"{amount:.{decimals}f}"


def details_json(details: BuildingDetails) -> str:
    """The details as JSON; what is not known is null."""
    return json.dumps(details_summary(details), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def details_summary(details: BuildingDetails) -> dict[str, Any]:
    """The details as plain numbers, words and lists.

    ``elevations`` is worst first; each has ``orientation``, ``class``, ``level`` 1 to 4 and ``lines``.
    """
    index = details.assessment.index
    summary = {
        "program": f"driving-rain-exposure {__version__}",
        "building": details.assessment.building.name,
        "site": details.assessment.site.name,
        "record": {
            "source": index.attrs["source"],
            "licence": index.attrs["licence"],
            "kind": index.attrs["kind"],
            "years": [int(year) for year in index["year"].values],
        },
        "elevations": [_elevation(one) for one in details.elevations],
        "clad_first": list(details.clad_first),
        "wetting": {
            "sentence": details.wetting.sentence,
            "sensitivity_sentence": details.sensitivity_in_words,
            "caution": details.wetting.caution,
            "sensitivity": [_wetting(one) for one in details.sensitivity],
        },
        "drying": details.drying,
        "take_off": asdict(details.total),
        "one_build": [_one_build(one) for one in details.one_build],
        "laboratory_brief": asdict(details.laboratory),
        "windows_of_the_house": {"class": details.window.to_order, "sentence": details.window.in_words},
        "costs": None if details.costs is None else [_cost(one) for one in details.costs],
        "cost_of_one_build": [
            {
                **asdict(one),
                "alone": sum(one.alone),
                "sentence": f"{one.in_words} {not_in_it([one.together])}",
            }
            for one in details.build_costs
        ],
        "flags": list(details.flags),
        "caution": "Local codes and licensed practice decide; this schedule informs, it does not prove.",
        "units": UNITS,
    }
    return plain(summary, words=plain_text)


def _elevation(one: ElevationDetails) -> dict[str, Any]:
    schedule = one.schedule
    bare = one.bare_wrap
    check = asdict(one.water_check)
    check["record_table"] = [list(one.water_check.record_columns)]
    check["pressure"] = one.water_check.pressure
    for name in ("pressures", "chamber"):
        check[name] = [each._asdict() for each in getattr(one.water_check, name)]
    return {
        "name": one.name,
        "orientation": one.exposure.wall.orientation,
        "class": one.exposure.exposure_class,
        "class_for_details": one.exposure.class_for_details,
        "wall_spell_index": one.exposure.wall_spell_index,
        "wall_annual_index": one.exposure.wall_annual_index,
        "level": schedule.level,
        "axes": schedule.axes,
        "wetness_level": schedule.wetness_level,
        "wetness_name": schedule.level_name,
        "pressure_level": schedule.pressure_level,
        "raised": list(schedule.raised),
        "specific_design": schedule.specific_design,
        "pressure": _pressure(one.pressure),
        "lines": [_line(line) for line in schedule.lines],
        "floor": [_line(line) for line in schedule.floor],
        "steps": [asdict(step) for step in schedule.steps],
        "look_first": [asdict(step) for step in schedule.look_first],
        "retrofit": [asdict(path) for path in schedule.retrofit],
        "rules": [_line(rule) for rule in schedule.rules],
        "cautions": list(schedule.cautions),
        "window": _line(one.window),
        "water_check": check,
        "bare_wrap": bare
        and {
            "start_week": bare.start + 1,
            "weeks": bare.weeks,
            "expected": bare.expected[bare.start],
            "one_year_in_ten": bare.tenth[bare.start],
            "wet_hours": bare.wet_hours[bare.start],
            "largest_spell_one_year_in_ten": bare.spell_tenth,
            "highest_pressure_one_year_in_ten": bare.pressure_tenth,
            "driest_start_weeks": [[first + 1, last + 1] for first, last in bare.driest],
            "driest_start_weeks_by_rain_alone": [
                [first + 1, last + 1] for first, last in bare.driest_by_rain
            ],
            "years": bare.years,
            "by_start_week": {"expected": bare.expected, "one_year_in_ten": bare.tenth},
            "sentence": bare.in_words,
        },
        "wetting": [_wetting(result) for result in one.wetting],
        "inside_layer": _inside(one.inside),
        "take_off": asdict(one.take_off),
        "flags": list(_own_flags(schedule, one)),
    }


def _one_build(one: OneBuild) -> dict[str, Any]:
    """One build with every row, who asks it and who gets more than it asks."""
    return {
        "wall_type": one.wall_type,
        "elevations": list(one.elevations),
        "sentences": list(one.in_words),
        "rows": [
            {
                **_line(row.line),
                "asked_by": list(row.asked_by),
                "more_for": list(row.more_for),
                "each_keeps_its_own": row.apart,
            }
            for row in one.lines
        ],
        "take_off_wall_by_wall": asdict(one.alone),
        "take_off": asdict(one.together),
        "corners": [asdict(corner) for corner in one.corners],
        "to_design": list(one.to_design),
    }


def _cost(one: ElevationCost) -> dict[str, Any]:
    return {**asdict(one), "sentence": f"{one.in_words} {not_in_it([one.scheduled])}"}


def _inside(one: InsideLayer) -> dict[str, Any]:
    """The inside layer with every layer compared; an open range ends in null."""
    return {
        "climate": one.climate,
        "by": one.by,
        "side": one.side,
        "membrane_permeance": [max(one.least, one.asked), one.most] if one.row else None,
        "humidity_class": one.humidity_class,
        "sentence": one.in_words,
        "ranked": [
            {
                "layer": option.name,
                "rank": option.rank,
                "result": option.water.in_words,
                "peak": option.water.peak,
                "kept_each_year": option.water.kept,
                "months_wet": option.water.months,
                "on_the_outer_side_of": option.water.where,
                "ordered": option is one.chosen and not one.is_wet,
            }
            for option in one.options
        ],
        "caution": CAUTION,
    }


def _line(one: ScheduleLine | RuleResult | WindowOrder) -> dict[str, Any]:
    """A line with its standing in words, and whether it was compared with the document."""
    return {**asdict(one), "standing": standing_words(one.standing), "verified": one.verified}


def _own_flags(schedule: Schedule, one: ElevationDetails) -> Sequence[str]:
    return tuple(
        dict.fromkeys(
            [
                *schedule.flags,
                *(one.bare_wrap.flags if one.bare_wrap else ()),
                *one.water_check.flags,
                *one.take_off.flags,
            ]
        )
    )


def _pressure(pressure: WallPressure) -> dict[str, Any]:
    names = (
        "airfield_any_direction",
        "airfield_facing",
        "airfield_range",
        "any_direction",
        "any_direction_range",
        "facing",
        "any_direction_gust",
        "facing_gust",
        "any_direction_head",
        "facing_head",
        "any_direction_gust_head",
        "facing_gust_head",
        "speed_factor",
        "gust_factor",
        "any_speed_factor",
        "any_gust_factor",
        "likelihood",
        "found_by",
        "grid_factor",
        "years_used",
        "years_left_out",
        "facing_years_used",
        "return_period",
        "heavy_rain",
        "air_density",
        "indicative",
    )
    return {name: getattr(pressure, name) for name in names}


def _wetting(one: WettingResult) -> dict[str, Any]:
    return {
        "way": one.way.name,
        "leak_share": one.way.leak_share,
        "lap_share": one.way.laps,
        "litres_behind_cladding": one.litres_behind_cladding,
        "litres_behind_membrane": one.litres_behind_membrane,
        "hours_wet": one.hours_wet,
        "longest_wet": one.longest_wet,
        "peak": one.peak,
        "outer_hours_wet": one.outer_hours_wet,
        "outer_longest_wet": one.outer_longest_wet,
        "outer_peak": one.outer_peak,
        "sentence": one.in_words,
    }


def _line_row(one: ElevationDetails, line: ScheduleLine) -> list[object]:
    return [
        one.name,
        one.schedule.wetness_level,
        one.schedule.pressure_level,
        line.decided_by or "the same at every level",
        line.where,
        line.build,
        line.why,
        line.one_lower,
        line.source,
        standing_words(line.standing),
        "yes" if line.verified else "no",
        line.caution,
        line.rule,
    ]
