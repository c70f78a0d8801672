"""One sheet an elevation: its drawings, ten orders to tick off, the local rules and cautions that belong to them."""

from markupsafe import Markup

from exposure.assess.details_parts import ElevationDetails
from exposure.detail.window_class import WindowOrder
from exposure.draw.marked import dimensions, mark_letter, name, say, tally_sign
from exposure.figures import listed, litres_with_band, pascals
from exposure.paper.provenance import in_order
from exposure.paper.sheet_columns import column_height, in_columns
from exposure.paper.sheet_corners import corners_elsewhere
from exposure.paper.sheet_orders import drawn
from exposure.paper.sheet_plan import ElevationSheet, SheetPlan, ticked_lines
from exposure.paper.sheet_words import (
    class_words,
    details_class_words,
    followed_words,
    joined,
    level_words,
    limit_words,
    raised_words,
)
from exposure.wall.classes import class_names


def elevation_sheet(plan: SheetPlan, sheet: ElevationSheet) -> dict:
    """The sheet of one elevation, or of several that are built alike."""
    first = sheet.elevations[0]
    schedule = first.schedule
    lines = ticked_lines(first)
    stop = schedule.specific_design
    several = len(sheet.names) > 2  # their names stand in the table below
    title = Markup("Elevations {}" if several else "{}").format(
        Markup(", ").join(
            plan.codes[one.name] if several else name(_capital(one.name), most=34) for one in sheet.elevations
        )
    )
    classes = in_order(one.exposure.exposure_class for one in sheet.elevations)
    cautions = [one for one in in_order(line.caution for line in lines) if one not in schedule.cautions]
    drawings = [
        drawn(one, plan, prefix=f"s{sheet.number}-{one.stem}", of=sheet.names) for one in sheet.drawings
    ]
    columns = in_columns(drawings)
    return {
        "kind": "elevation",
        "number": sheet.number,
        "short": Markup("elevation {}").format(", ".join(plan.codes[one] for one in sheet.names)),
        "head": Markup("{}: {}").format(title, listed(classes)),
        "tally": tally_sign(max(classes, key=class_names().index), size=11),
        "walls": [_wall(plan, one) for one in sheet.elevations],
        "level": say(level_words(schedule), most=600),
        "raised": say(" ".join(raised_words(schedule)), most=600),
        "stop": say(stop) if stop else "",
        "stop_order": say(schedule.lines[0].build) if stop else "",
        "lines_head": "Floor for the designer, not to build from"
        if stop
        else "Check each before it is covered",
        "drawings": drawings,
        "columns": columns,
        "corners": say(corners_elsewhere(plan, sheet)),
        "corners_under": min(range(len(columns)), key=lambda at: column_height(columns[at]), default=0),
        "undrawn": _undrawn(plan, sheet),
        "lines": [
            {
                "where": say(line.where, most=60),
                "build": dimensions(line.build),
                "mark": mark_letter(line.standing),
                "rule": say(line.rule),
            }
            for line in lines
        ],
        "rules": say(_rules(plan, sheet), most=400),
        "cautions": [say(joined(cautions))] if cautions else [],
        "pointers": say(_pointers(plan)),
    }


def _rules(plan: SheetPlan, sheet: ElevationSheet) -> str:
    """Which local and office rules the orders follow, and where their text stands."""
    rules = in_order(rule.rule for one in sheet.elevations for rule in one.schedule.rules)
    return f"Rules: {joined(rules)} What they ask: sheet {plan.numbers['junctions']}." if rules else ""


def _wall(plan: SheetPlan, one: ElevationDetails) -> dict:
    exposure = one.exposure
    design = one.design_pressure
    return {
        "code": plan.codes[one.name],
        "name": name(one.name, most=34),
        "class": say(
            class_words(exposure) + "." + limit_words(exposure) + details_class_words(exposure), most=400
        ),
        "spell": litres_with_band(exposure.wall_spell_index, exposure.spell_band),
        "pressure": followed_words(one.pressure, design, tested=one.circumstances.air_seal_tested),
        "window": window_words(one.window),
    }


def window_words(order: WindowOrder) -> str:
    """The house's class and the gust it is ordered for; the gust here where that is another."""
    said, here = f"{order.to_order}, gust {pascals(order.pressure)}", pascals(order.own_pressure)
    return said if here == pascals(order.pressure) else f"{said} on the hardest elevation; here {here}"


def _undrawn(plan: SheetPlan, sheet: ElevationSheet) -> list[Markup]:
    """What the elevations of this sheet have and no drawing shows, each reason once with all it holds for."""
    why: dict[str, list[str]] = {}
    for one in plan.left_out:
        if one.junction != "every" and set(one.elevations) & set(sheet.names):
            mine = [name for name in sheet.names if name in one.elevations]
            only = (
                f" on {listed([plan.codes[name] for name in mine])}" if len(mine) < len(sheet.names) else ""
            )
            why.setdefault(one.why, []).append(f"{one.title}{only}")
    return [say(f"{listed(titles)}: {words}.", most=400) for words, titles in why.items()]


def _pointers(plan: SheetPlan) -> str:
    work = f"Order of work: sheet {plan.numbers['work']}. " if "work" in plan.numbers else ""
    return f"Other junctions and orders: sheet {plan.numbers['junctions']}. {work}Every sheet: sheet 1."


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:] if words.islower() else words
