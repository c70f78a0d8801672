"""What stands on the building's page and on each elevation's page, and how the schedule is fitted onto it."""

from itertools import accumulate
from operator import mul
from typing import Any

from markupsafe import Markup

from exposure.show.assessment_pictures import (
    FACTOR_NAMES,
    airfield_spell,
    codes_of,
    plan_of,
    plan_walls,
    rose_of,
)
from exposure.show.building_plan import plan_caption
from exposure.show.contour_map import RegionField, contour_caption, contour_map
from exposure.show.ground_ring import ground_caption, ground_ring
from exposure.show.marked import dimensions, mark, mark_letter, name, on_paper, say, tally_sign
from exposure.show.numbers import factor_words, litres, litres_with_band, share_words, start_words
from exposure.show.paper import INNER_WIDE, PAGE_TALL, lines_needed, share_out
from exposure.show.provenance import in_order, record_words, sources_of
from exposure.show.sheet_words import (
    class_words,
    details_class_words,
    figures_words,
    joined,
    level_words,
    limit_words,
    place_inputs,
    pressure_words,
    rank_words,
    wall_inputs,
)
from exposure.wall import WallExposure

PLAN_WIDE = 168
SMALL, LEADING = 11.0, 1.28
CHECK_LINES = ("chk_", "smoke", "photo")  # schedule lines that stand on the page of the water check
FRONT_DOUBTS = 4  # the widest; all stand on the sheet of figures
BUILDING_DOUBTS = 6


def building_page(details: Any, *, region: RegionField | None) -> dict:
    """The building's own page."""
    assessment = details.assessment
    worst = assessment.worst
    codes = codes_of(assessment)
    rows = [
        {
            "code": codes[one.exposure.wall.name],
            "name": name(one.exposure.wall.name, most=40),
            "spell": litres_with_band(one.exposure.wall_spell_index, one.exposure.spell_band, unit=False),
            "annual": litres_with_band(one.exposure.wall_annual_index, one.exposure.annual_band, unit=False),
            "words": class_words(one.exposure),
            "tally": tally_sign(one.exposure.exposure_class, size=7),
            "level": "design" if one.schedule.specific_design else one.schedule.level,
        }
        for one in details.elevations
    ]
    if region is None:
        site = assessment.site
        terrain, hills = site.categories, site.hill_coefficients
        map_svg = ground_ring(terrain, hills, size=270, prefix="b-ground")
        map_caption, map_width = ground_caption(terrain), 270
    else:
        map_svg = contour_map(
            region, chosen=(assessment.site.latitude, assessment.site.longitude), width=380, prefix="b-map"
        )
        map_caption, map_width = contour_caption(region), 380
    first = details.elevations[0]
    return {
        "kind": "building",
        "short": "building",
        "head": Markup("{}: worst is {}, {}").format(
            name(assessment.building.name, most=34), name(worst.wall.name, most=30), worst.exposure_class
        ),
        "tally": tally_sign(worst.exposure_class, size=11),
        "lead": say(
            f"The {worst.wall.name} elevation takes {figures_words(worst)}: {class_words(worst)}.{limit_words(worst)} "
            f"{level_words(first.schedule)}"
        ),
        "plan": Markup(plan_of(assessment, size=300, callouts=False, prefix="b-plan")),
        "plan_caption": plan_caption(plan_walls(assessment), ring=True),
        "elevations": rows,
        "rank": say(_rank(assessment)),
        "map": Markup(map_svg),
        "map_caption": map_caption,
        "map_width": map_width + 14,
        "rose": Markup(
            rose_of(assessment, size=INNER_WIDE - map_width - 24 if region else 270, prefix="b-rose")
        ),
        "rose_caption": "Rose: rain in a year on a wall in an open field, L/m², by the way it faces; shaded the 90 % band. "
        "No class is read here: classes belong to walls.",
        "caution": say(joined(first.schedule.cautions)),
        "doubts": say(
            joined(in_order([*assessment.flags, assessment.band_statement]), most=BUILDING_DOUBTS), most=4000
        ),
        "inputs": say(f"{place_inputs(assessment)} Weather: {record_words(assessment)}.", most=900),
        "sources": [
            {
                "what": say(one.what, most=60),
                "source": say(one.source.replace(" (from memory, not checked)", ""), most=160),
                "mark": "" if one.what == "weather" else mark("published" if one.verified else "not checked"),
            }
            for one in sources_of(assessment)
        ],
    }


def _rank(assessment: Any) -> str:
    shares = [
        f"{one.wall.name} in {share_words(one.worst_share)}"
        for one in assessment.elevations
        if one.worst_share
    ]
    if not shares:
        return "How sure the order is cannot be told from one year."
    return f"Worst when whole years are drawn again: {', '.join(shares)}. Trust the order before the litres."


def elevation_pages(details: Any, one: Any) -> list[dict]:
    """The page of one elevation; where the schedule is longer than the page, a second one with its rest."""
    exposure, schedule = one.exposure, one.schedule
    shown = [line for line in (schedule.floor or schedule.lines) if not line.key.startswith(CHECK_LINES)]
    groups: dict[str, list] = {}
    for line in shown:
        groups.setdefault(line.where, []).append(line)
    cautions = joined(schedule.cautions)
    doubts = joined(
        [on_paper(doubt.sentence) for doubt in exposure.doubts[:FRONT_DOUBTS]] + list(_own_flags(one))
    )
    inputs = f"{wall_inputs(exposure)} {place_inputs(details.assessment)} Weather: {record_words(details.assessment)}."
    lead = (
        f"{figures_words(exposure)}.{limit_words(exposure)} {rank_words(details.assessment, exposure)} "
        f"{level_words(schedule)}{details_class_words(exposure)}"
    )
    stop = schedule.specific_design
    heights = [
        lines_needed(
            f"{where}. " + " ".join(f"{line.build} [WM] {line.rule}" for line in lines),
            width=INNER_WIDE,
            size=SMALL,
        )
        * SMALL
        * LEADING
        + 5
        for where, lines in groups.items()
    ]
    tail = (
        lines_needed(cautions, width=INNER_WIDE - 80, size=SMALL) * 14.1
        + lines_needed(doubts + " " * 10, width=INNER_WIDE, size=SMALL) * 14.1
        + lines_needed(
            inputs + " " * 40 + "published not checked worked out our choice", width=INNER_WIDE, size=SMALL
        )
        * 14.1
        + 30
    )
    above = 30 + lines_needed(lead, width=INNER_WIDE, size=14) * 18.5 + PLAN_WIDE + 8 + 34
    if stop:
        above += lines_needed(stop, width=INNER_WIDE - 60, size=11.5, bold=True) * 15.2 + 36
    body = PAGE_TALL - 26 - 92
    if sum(heights) + above + tail <= body:
        cuts = [slice(0, len(heights))]
    else:
        cuts = share_out(heights, first=body - above - 24, rest=body - tail - 90)
    whole = [
        {
            "where": say(where, most=60),
            "lines": [
                {"build": dimensions(line.build), "mark": mark_letter(line.mark), "rule": say(line.rule)}
                for line in lines
            ],
        }
        for where, lines in groups.items()
    ]
    title = name(
        exposure.wall.name.capitalize() if exposure.wall.name.islower() else exposure.wall.name, most=44
    )
    base = {
        "kind": "elevation",
        "elevation": exposure.wall.name,
        "short": Markup("{} elevation").format(name(exposure.wall.name, most=26)),
        "tally": tally_sign(exposure.exposure_class, size=11),
        "lead": say(lead),
        "plan": Markup(
            plan_of(
                details.assessment,
                chosen=exposure.wall.name,
                size=PLAN_WIDE,
                callouts=False,
                prefix=f"e{details.elevations.index(one)}-plan",
            )
        ),
        "plan_width": PLAN_WIDE,
        **_chain_table(exposure),
        "pressure": say(pressure_words(one.pressure) + _window_words(one)),
        "level_names": _levels(schedule),
        "levels_words": say(
            "Each level keeps what the one before asks. " + " ".join(schedule.raised)
            if not stop
            else "The level strip does not apply: the order below is the least a designer starts from."
        ),
        "stop": say(stop) if stop else "",
        "stop_order": say(schedule.lines[0].build) if stop else "",
        "schedule_head": "Floor for the designer, not to build from"
        if stop
        else "What to build, in order of work",
        "caution": say(cautions),
        "doubts": say(doubts),
        "inputs": say(inputs, most=1200),
    }
    pages = []
    for place, cut in enumerate(cuts):
        page = dict(base)
        page["head"] = Markup("{} elevation: {}").format(title, exposure.exposure_class)
        page["groups"] = whole[cut]
        page["continued"] = place < len(cuts) - 1
        if place:
            page["head"] = Markup("{} elevation, continued: {}").format(title, exposure.exposure_class)
            page["kind"] = "rest"
        pages.append(page)
    return pages


def _own_flags(one: Any) -> list[str]:
    return in_order([*one.exposure.flags, *one.pressure.flags, *one.schedule.flags])


def _window_words(one: Any) -> str:
    order = getattr(one, "window", None)
    if order is None:
        return ""
    unsure = "" if order.verified else " (not checked)"
    return f" Windows: order class {order.to_order}, never below {order.never_below}; {order.source}{unsure}."


def _levels(schedule: Any) -> list[dict]:
    from exposure.detail.ladder import levels

    return [
        {
            "words": f"{level.level} {level.name}",
            "on": level.level == schedule.level and not schedule.specific_design,
        }
        for level in levels()
    ]


def _chain_table(exposure: WallExposure) -> dict:
    """The chain as a small table of figures that multiply back."""
    values = [factor.value for factor in exposure.factors]
    starts = [exposure.airfield_annual_index, airfield_spell(exposure)]
    shown = [start_words(start, values) for start in starts]
    factors = factor_words(values, [(typed, start) for (_, typed), start in zip(shown, starts, strict=True)])
    rows = [
        {"name": "factor", "cells": ["", *(f"× {words}" for words in factors)], "answer": ""},
    ]
    for label, start, (words, _) in zip(("a year", "worst spell"), starts, shown, strict=True):
        running = list(accumulate([start, *values], mul))
        rows.append(
            {
                "name": label,
                "cells": [words, *(litres(value) for value in running[1:-1]), ""],
                "answer": litres(running[-1]),
            }
        )
    heads = [
        "airfield",
        *(FACTOR_NAMES.get(factor.name, factor.name) for factor in exposure.factors),
        "this wall",
    ]
    return {"chain_heads": heads, "chain_rows": rows}
