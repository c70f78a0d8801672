"""What stands on each elevation's page, and how the schedule is fitted onto it."""

from collections.abc import Mapping, Sequence
from itertools import accumulate
from operator import mul

from markupsafe import Markup

from exposure.assess.details import BuildingDetails, ElevationDetails
from exposure.detail.schedule_parts import Schedule, ScheduleLine
from exposure.draw.assessment_pictures import (
    FACTOR_NAMES,
    plan_of,
)
from exposure.draw.lettering import clean
from exposure.draw.marked import dimensions, mark_letter, name, on_paper, say, tally_sign
from exposure.draw.printed_factors import start_words
from exposure.figures import litres
from exposure.paper.paper import INNER_WIDE, PAGE_TALL, lines_needed, share_out
from exposure.paper.sheet_words import (
    details_class_words,
    figures_words,
    joined,
    level_words,
    limit_words,
    own_flags,
    pressure_words,
    printed_factors,
    rank_words,
    shared_flags,
    wall_inputs,
)
from exposure.tables.standing import asks_to_confirm, standing_words
from exposure.wall import WallExposure

PLAN_WIDE = 140
SMALL, LEADING = 11.0, 1.27
SLACK = 16  # what the reckoning of a page may be short of what a printer makes
CHECK_LINES = ("chk_", "smoke", "photo")  # schedule lines that stand on the page of the water check
FRONT_DOUBTS = 3  # the widest; all stand on the sheets of figures
FRONT_CAUTIONS = 4  # all stand with the order of work
MARKS_ROOM = (
    " Marks. R read, S second hand, M from memory, W worked out, O our choice, T trade practice. "
    "Order of work: sheet 99. Water check: sheet 99. Reasons and sources: sheet 99."
)


def elevation_pages(details: BuildingDetails, one: ElevationDetails, *, behind: bool) -> list[dict]:
    """The page of one elevation; where the schedule is longer than the page, a second one with its rest."""
    exposure, schedule = one.exposure, one.schedule
    shown = [line for line in (schedule.floor or schedule.lines) if not line.key.startswith(CHECK_LINES)]
    groups: dict[str, list] = {}
    for line in shown:
        groups.setdefault(line.where, []).append(line)
    cautions = joined(schedule.cautions[:FRONT_CAUTIONS])
    shared = shared_flags(details)
    own = [flag for flag in own_flags(one) if flag not in shared]
    sentences = [*(on_paper(doubt.sentence) for doubt in exposure.doubts[:FRONT_DOUBTS]), *own]
    inputs = f"{wall_inputs(exposure)} Place, weather and what holds for every elevation: sheet 1."
    lead = (
        f"{figures_words(exposure)}.{limit_words(exposure)} {rank_words(details.assessment, exposure)} "
        f"{level_words(schedule)}{details_class_words(exposure)}"
    )
    stop = schedule.specific_design
    pressure = pressure_words(one.pressure, one.design_pressure) + _window_words(one)
    raised = " ".join(schedule.raised) if not stop else "No level applies."
    title = clean(exposure.wall.name, most=28)
    title = title.capitalize() if title.islower() else title
    block = block_room(details, f"{clean(exposure.wall.name, most=26)} elevation")
    for most in (
        0,
        2,
        1,
    ):  # where the page is a line or two short, the lesser doubts stand on the sheets of figures
        doubts = joined(sentences, most=most, behind=behind)
        cuts = _schedule_cuts(
            groups,
            title=f"{title} elevation: {exposure.exposure_class}",
            lead=lead,
            beside=(pressure, raised),
            stop=stop or "",
            foot=(cautions, doubts, inputs),
            block=block,
        )
        if len(cuts) == 1:
            break
    else:
        doubts = joined(sentences)
    whole = [
        {
            "where": say(where, most=60),
            "lines": [
                {"build": dimensions(line.build), "mark": mark_letter(line.standing), "rule": say(line.rule)}
                for line in lines
            ],
        }
        for where, lines in groups.items()
    ]
    title = name(title)
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
        "pressure": say(pressure),
        "level_names": _levels(schedule),
        "levels_words": say(raised),
        "stop": say(stop) if stop else "",
        "stop_order": say(schedule.lines[0].build) if stop else "",
        "schedule_head": "Floor for the designer, not to build from"
        if stop
        else "What to build, in order of work",
        "caution": say(cautions),
        "doubts": say(doubts),
        "inputs": say(inputs, most=1200),
        "work_sheet": 0,
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


def block_room(details: BuildingDetails, sheet: str) -> float:
    """Height of the title block and the margin under it, by the lines its words take."""
    assessment = details.assessment
    who = clean(f"{assessment.building.name}, {assessment.site.name}", most=44)
    left = lines_needed(who, width=216, size=13.5) * 16 + 14
    middle = 16 + lines_needed(sheet, width=131, size=SMALL) * 14.1
    return 24 + 9 + 14 + max(left, middle) + 12


def _schedule_cuts(
    groups: Mapping[str, Sequence[ScheduleLine]],
    *,
    title: str,
    lead: str,
    beside: tuple[str, str],
    stop: str,
    foot: tuple[str, str, str],
    block: float,
) -> list[slice]:
    """Which places of the schedule stand on the page, and which on a second one when they do not all fit."""

    def tall(words: str, *, size: float = SMALL, width: float = INNER_WIDE, line: float = 14.1) -> float:
        return lines_needed(words, width=width, size=size) * line

    heights = [
        tall(
            f"{where}. " + " ".join(f"{line.build} [WM] {line.rule}" for line in lines), line=SMALL * LEADING
        )
        + 3.5
        for where, lines in groups.items()
    ]
    narrow = INNER_WIDE - PLAN_WIDE - 14
    pressure, raised = beside
    table = 84 + tall(f"Wind with rain. {pressure}", size=12, width=narrow, line=16.1) + 34
    table += tall(raised, width=narrow, line=14.3) + 3 if raised else 0
    above = 24 + tall(title + " mmm", size=24.5, line=26) + 9 + tall(lead, size=14, line=18.5)
    above += max(PLAN_WIDE + 15, table) + 26
    if stop:
        above += tall(f"Stop {stop} " + 90 * "x", width=INNER_WIDE - 30) + 12
    cautions, doubts, inputs = foot
    ends = [(cautions + 60 * "x", 12), (doubts + 12 * "x", 4), (inputs + MARKS_ROOM, 4)]
    below = sum(tall(words, width=INNER_WIDE - 2 * gap) + gap for words, gap in ends)
    room = PAGE_TALL - block - SLACK
    if above + sum(heights) + below <= room:
        return [slice(0, len(heights))]
    first = min(
        room - above - 24, sum(heights) - 1
    )  # something has to stand over the cautions on the second page
    return share_out(heights, first=first, rest=room - below - 90)


def _window_words(one: ElevationDetails) -> str:
    order = one.window
    unsure = f", {standing_words(order.standing)}" if asks_to_confirm(order.standing) else ""
    standard = order.source.split(",")[0]
    this = order.own_class == order.to_order and order.own_pressure == order.pressure
    words = f"order class {order.to_order} for this gust" if this else order.in_words
    return f" Windows: {words} ({standard}{unsure})."


def _levels(schedule: Schedule) -> list[dict]:
    from exposure.detail.axes import axis_steps

    stopped = bool(schedule.specific_design)
    return [{"words": words, "on": on and not stopped} for words, on in axis_steps(schedule)]


def _chain_table(exposure: WallExposure) -> dict:
    """The chain as a small table of figures that multiply back."""
    values = [factor.value for factor in exposure.factors]
    starts = [exposure.airfield_annual_index, exposure.airfield_spell_index]
    shown = [start_words(start, values) for start in starts]
    factors = printed_factors(exposure)
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
