"""The first sheet, for builder and designer alike: plan, worst wall, every junction by elevation, and what it rests on."""

from collections.abc import Sequence
from dataclasses import replace

from markupsafe import Markup

from exposure.assess.one_build import as_scheduled
from exposure.detail.levels import pressure_for_details
from exposure.draw.assessment_pictures import plan_of
from exposure.draw.building_plan import plan_caption
from exposure.draw.marked import name, say, tally_sign
from exposure.figures import listed, litres_with_band
from exposure.junction.catalogue import JUNCTIONS, drawings_of
from exposure.junction.numbers import numbers_of
from exposure.paper.compared_drawings import own_drawings
from exposure.paper.provenance import in_order, record_words
from exposure.paper.sheet_columns import CORNERS
from exposure.paper.sheet_corners import corner_sheets
from exposure.paper.sheet_figures import Doubts, all_doubts
from exposure.paper.sheet_plan import MAIN_SIZE, Cell, ElevationSheet, SheetPlan
from exposure.paper.sheet_words import (
    class_words,
    figures_words,
    joined,
    level_words,
    limit_words,
    place_inputs,
)
from exposure.paper.site_drawings import ONLY_AT
from exposure.rain.pressure import WallPressure

FIRST_DOUBTS = 2
PLAN = 215
MANY = 7  # elevations from which the plan stands alone over its table
KIND_NAMES = {
    "junctions": "shared junctions, other orders",
    "work": "order of work",
    "check": "water check",
    "figures": "figures, doubts",
    "openings": "openings",
}


def building_sheet(plan: SheetPlan) -> dict:
    """The building's own sheet."""
    details = plan.details
    assessment = details.assessment
    worst = assessment.worst
    sheet_of = {one.name: sheet.number for sheet in plan.fronts for one in sheet.elevations}
    first = details.elevations[0]
    doubts = all_doubts(plan)
    return {
        "kind": "building",
        "number": 1,
        "short": "building",
        "head": Markup("{}: worst is {}, {}").format(
            name(assessment.building.name, most=34), name(worst.wall.name, most=30), worst.exposure_class
        ),
        "tally": tally_sign(worst.exposure_class, size=11),
        "lead": say(f"{figures_words(worst)}.{limit_words(worst)} {level_words(first.schedule)}"),
        "plan": Markup(plan_of(assessment, size=PLAN, callouts=False, prefix="b-plan")),
        "plan_caption": say(plan_caption(assessment.elevations, ring=True, callouts=False)),
        "plan_wide": PLAN + 14,
        "banded": any(one.exposure.spell_band for one in details.elevations),
        "many": len(details.elevations) >= MANY,
        "elevations": [
            {
                "code": plan.codes[one.name],
                "name": name(one.name, most=34),
                "spell": litres_with_band(one.exposure.wall_spell_index, one.exposure.spell_band, unit=False),
                "annual": litres_with_band(
                    one.exposure.wall_annual_index, one.exposure.annual_band, unit=False
                ),
                "words": class_words(one.exposure),
                "tally": tally_sign(one.exposure.exposure_class, size=7),
                "level": "design"
                if one.schedule.specific_design
                else f"{one.schedule.wetness_level}\u00a0/\u00a0{one.schedule.pressure_level}",
                "sheet": sheet_of[one.name],
            }
            for one in details.elevations
        ],
        "columns": _columns(plan),
        "matrix": _matrix(plan),
        "window": say(details.window.in_words, most=600),
        "build": say(
            " ".join(
                [
                    *(words for one in details.one_build for words in one.in_brief),
                    *_clashing(plan),
                    *_costs(plan),
                    *_priced(plan),
                ]
            ),
            most=2000,
        ),
        "sheets": say(sheets_listed(plan), most=600),
        "caution": say(
            joined(in_order(c for one in details.elevations for c in one.schedule.cautions)), most=4000
        ),
        "doubts": Markup(" ").join([*doubts.shared[:FIRST_DOUBTS], say(_rest(plan, doubts))]),
        "inputs": [
            ("Place", say(place_inputs(assessment), most=300)),
            ("Weather", say(f"{record_words(assessment)}.", most=500)),
            ("Local rules", say(_rules(plan), most=400)),
        ],
    }


def _rest(plan: SheetPlan, doubts: Doubts) -> str:
    """How many doubts the sheet of figures has beside those that stand here, by their numbers there."""
    sheet, first = plan.numbers["figures"], len(doubts.shared[:FIRST_DOUBTS])
    if doubts.many == first:
        return ""
    numbers = f"{first + 1} to {doubts.many}" if doubts.many > first + 1 else f"number {doubts.many}"
    return f"And {doubts.many - first} more, {numbers} on sheet {sheet}."


def sheets_listed(plan: SheetPlan) -> str:
    """What the sheets are, in one line."""
    last = plan.fronts[-1].number
    fronts = "2 elevation" if last == 2 else f"2 to {last} elevations"
    behind = "; ".join(f"{number} {KIND_NAMES[kind]}" for kind, number in plan.numbers.items())
    return f"Sheets: {fronts}; {behind}. Reasons: annex."


def _clashing(plan: SheetPlan) -> list[str]:
    """What cannot be built together, or drawn, with the sizes of one build: asked of these, not of wall by wall."""
    numbers = []
    for build in (one for one in plan.details.one_build if one.is_needed):
        served = [
            one
            for one in plan.details.elevations
            if one.name in build.elevations and not one.schedule.specific_design
        ]
        if not served:
            continue
        hardest = _hardest([one.pressure for one in served])
        for one in served:
            built = as_scheduled(one.schedule, build.lines_of(one.schedule.lines))
            numbers.append((one.name, numbers_of(built, one.circumstances, hardest)))
    drawings, left = drawings_of(numbers)
    told = []
    for head, parts in (
        (
            "these cannot be built together",
            [
                (one.section.title, _with_such(plan, one.section.key, one.elevations))
                for one in drawings
                if one.section.conflicts
            ],
        ),
        ("these are not drawn", [(one.title, one.elevations) for one in left]),
    ):
        where: dict[str, set[str]] = {}
        for title, names in parts:
            if names:
                where.setdefault(title.split(",")[0].lower(), set()).update(names)
        said = [
            f"{title} on {listed([code for name, code in plan.codes.items() if name in names])}"
            for title, names in where.items()
        ]
        told += [f"Built so, {head}: {'; '.join(said)}."] if said else []
    return told


def _with_such(plan: SheetPlan, key: str, names: Sequence[str]) -> Sequence[str]:
    """Of some elevations those that have what a drawing is of, a window or a door, by the list of openings; all without a list."""
    there, kind = plan.details.openings, ONLY_AT.get(key)
    return [
        name
        for name in names
        if not (there and kind)
        or any(one.elevation == name and one.door == (kind == "door") for one in there)
    ]


def _hardest(pressures: Sequence[WallPressure]) -> WallPressure:
    """The pressure that one build for all these walls holds out."""
    worst = max(
        pressures, key=lambda one: pressure_for_details(facing=one.facing, any_direction=one.any_direction)
    )
    return replace(worst, gust_factor=max(one.gust_factor for one in pressures))


def _costs(plan: SheetPlan) -> list[str]:
    """What each build costs; the only one there is needs no name."""
    costs = plan.details.build_costs
    return [f"Its {one.material_in_words}." if len(costs) == 1 else one.in_words for one in costs]


def _priced(plan: SheetPlan) -> list[str]:
    """Where the table of prices stands, where there is one."""
    return [f"Prices: sheet {plan.numbers['figures']}."] if plan.details.costs else []


def _columns(plan: SheetPlan) -> list[dict]:
    """One column an elevation's sheet: elevations built alike share it."""
    return [
        {"number": sheet.number, "codes": ", ".join(plan.codes[one] for one in sheet.names)}
        for sheet in plan.fronts
    ]


def _matrix(plan: SheetPlan) -> list[dict]:
    """Junctions by elevation, with level, main size and sheet."""
    rows = []
    for junction in JUNCTIONS:
        if junction.key in plan.cells:
            cells = plan.cells[junction.key]
            taken = {cell.row for cell in cells.values() if cell}
            words = [words for row, words in MAIN_SIZE[junction.key].items() if row in taken]
            rows.append(
                {
                    "key": junction.key,
                    "title": junction.title,
                    "what": " or ".join(dict.fromkeys(words)),
                    "cells": [_cell(junction.key, plan, sheet) for sheet in plan.fronts],
                }
            )
    return rows


def _cell(key: str, plan: SheetPlan, sheet: ElevationSheet) -> Cell | None:
    cell = plan.cell_of(key, sheet)
    if cell is None:
        return None
    if key not in CORNERS:
        own = own_drawings(key, plan.drawings)
        return replace(cell, drawn=any(name in own for name in sheet.names))
    return replace(
        cell, also=tuple(one for one in corner_sheets(key, plan, sheet.names) if one != cell.sheet)
    )


def _rules(plan: SheetPlan) -> str:
    names = in_order(rule.rule for one in plan.details.elevations for rule in one.schedule.rules)
    return (
        f"{'; '.join(names)}." if names else "None chosen: what the local code asks is not in these sheets."
    )
