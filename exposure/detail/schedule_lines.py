"""One row of the ladder turned into a line of the schedule: what to build, why here, what one level lower asks."""

from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

from exposure.detail.cautions import caution_text
from exposure.detail.circumstances import Circumstances
from exposure.detail.ladder import (
    CORNERS,
    DAMS,
    DECK_STEP,
    DECK_UP,
    LIGHT_CAVITIES,
    NOTHING_ASKED,
    SADDLE,
    SNOW_ROWS,
    Row,
    cavity_for_flange,
    dam_floor,
    dam_height,
    for_flange,
    rank,
)
from exposure.detail.levels import Levels, pressure_step, too_short_for_the_lowest, wetness_level
from exposure.detail.schedule_parts import Ask, RuleResult, ScheduleLine
from exposure.detail.snow import CLEAR
from exposure.figures import NO_BREAK, amount, litres_with_band, millimetres, pascals
from exposure.rain.pressure import WallPressure
from exposure.rain.wind_pressure import head_words
from exposure.tables.standing import with_standing
from exposure.wall import WallExposure

AXIS_WORDS = {"W": "wetness", "P": "pressure", "M": "the harder of wetness and pressure at"}
STOP = "Do not build this elevation from a schedule: have it designed by someone licensed to do so."


class Taken(NamedTuple):
    """A rule that asked for more than the ladder."""

    said: str
    result: RuleResult
    ask: Ask


class Beside(NamedTuple):
    """What else settles a row: the rule that asked for its value, and what it would be one level lower under the same rules and snow."""

    rule: Taken | None = None
    lower: float | str | None = None  # None: the ladder's own step
    rows: Collection[str] = ()  # of the whole schedule, by key
    lower_rows: Collection[str] | None = None  # of the schedule one level lower; None: not known
    asked: float = 0.0  # of a tray's upstand and of a cavity, what rules ask at least
    by_flange: bool = False  # of a cavity: the flanges would keep it deeper than one level lower asks


ALONE = Beside()


def what_else(
    taken: Mapping[str, Taken],
    lower: Mapping[str, tuple[Row, float | str]],
    values: Mapping[str, tuple[Row, float | str]],
    results: Sequence[RuleResult],
    circumstances: Circumstances,
) -> dict[str, Beside]:
    """What else settles each row: the rules' ``results``, of which some are ``taken``, the rows of one level ``lower`` and the window's flange."""
    asks = [ask for result in results for ask in result.asks]
    found = {}
    for key in values:
        dams = DAMS[: DAMS.index(key) + 1] if key in DAMS else ()  # the ends never lower than the back
        of = (values[key][0].rule_key,) if key in LIGHT_CAVITIES else dams
        asked = max((ask.value for ask in asks if ask.row in of and ask.above is None), default=0.0)
        alone = lower[key][1] if key in lower else None
        by_flange = (
            key in LIGHT_CAVITIES
            and alone is not None
            and bool(cavity_for_flange({**values, key: lower[key]}, circumstances))
        )
        found[key] = Beside(taken.get(key), alone, values, lower, asked, by_flange)
    return found


def line_of(
    row: Row,
    value: float | str,
    found: Levels,
    exposure: WallExposure,
    pressure: WallPressure,
    circumstances: Circumstances,
    beside: Beside = ALONE,
) -> ScheduleLine:
    """Line of the schedule for ``row`` with its ``value``."""
    rule = beside.rule
    level = found.on(row.axis)
    shown = amount(value, row.unit)
    step = int(rank(row, value)) if row.direction == "ordered" else level - 1
    by_formula = rule is None and row.key in DAMS and float(value) > dam_floor(row, found)
    for_rod = rule is None and row.key in DAMS and not by_formula and value != row.values[level - 1]
    source, standing = row.source_at(step), row.standings[step]
    if by_formula:
        standing = "worked out"
    elif for_rod:
        source, standing = "Steps of this tool, for backing rod and sealant", "ours"
    elif rule is None and row.key in SNOW_ROWS and value != row.values[level - 1]:
        source, standing = "Depth of snow as told, and 100\u00a0mm over it", "ours"
    elif rule is None and row.key == DECK_STEP and value != row.values[level - 1]:
        source, standing = "Steps of this tool, for the front of the tray", "ours"
    elif rule is None and row.key in (SADDLE, DECK_UP) and value != row.values[level - 1]:
        source, standing = "Steps of this tool, for the lap of the wall membrane behind the cladding", "ours"
    elif rule is None and row.key in CORNERS and value != row.values[level - 1]:
        source, standing = "Steps of this tool, for the lap of the next sheet", "ours"
    elif rule is None and for_flange(row, value, found, circumstances):
        source, standing = "Steps of this tool, for the flange of a frame that stands back", "ours"
    elif rule is not None:
        source, standing = rule.ask.source, rule.ask.standing
    build = row.build_for(value, level, circumstances, rows=beside.rows)
    caution = caution_text(row.words_for("caution", circumstances, value) or row.caution)
    decided = _decided_by(row, value, found, by_formula=by_formula, by_rule=rule is not None)
    here, more = _here(row, found, exposure, pressure, circumstances, beside, by_formula=by_formula)
    if row.key == "photo" and rule is None and value != row.values[level - 1]:
        here, more = f"Here the order of work has {shown.split(NO_BREAK)[0]} hold points for a photo.", True
    if rule is None and for_flange(row, value, found, circumstances):
        own = max(float(row.values[level - 1]), beside.asked)
        without = amount(own, row.unit) if own else "no cavity"
        here = f"Here a frame whose flange lies on the boards stands back only so; with straps this wall takes {without}."
        more = True
    one_lower, short = _one_lower(row, level, value, build, circumstances, beside)
    if level > 1 and short and found.one_lower.on(row.axis) == level:
        one_lower = f"No level is lower here: {found.least_cause} asks wetness {found.least_wetness}."
        short = ""
    return ScheduleLine(
        key=row.key,
        where=row.where,
        build=build.replace("{v}", shown),
        why=f"{row.reason} {here}",
        one_lower=one_lower,
        source=with_standing(source, standing),
        standing=standing,
        caution=caution,
        axis=row.axis,
        decided_by=decided,
        value=value,
        unit=row.unit,
        rule="" if rule is None else rule.said,
        reason="" if more else row.reason,
        lower=short,
    )


def _decided_by(row: Row, value: float | str, found: Levels, *, by_formula: bool, by_rule: bool) -> str:
    """What settles the row's figure, in a word."""
    if by_rule:
        return "a local rule"
    if by_formula:
        return "pressure"
    if value != row.values[found.on(row.axis) - 1]:
        return "this wall"
    if row.axis == "M" and found.wetness == found.pressure:
        return "wetness and pressure"
    harder = "pressure" if found.pressure > found.wetness else "wetness"
    return {"W": "wetness", "P": "pressure", "M": harder}.get(row.axis, "")


def _here(
    row: Row,
    found: Levels,
    exposure: WallExposure,
    pressure: WallPressure,
    circumstances: Circumstances,
    beside: Beside,
    *,
    by_formula: bool,
) -> tuple[str, bool]:
    """What this elevation's own figures say for the row, and whether that is more than its two figures."""
    snow = circumstances.snow_depth
    if row.key in SNOW_ROWS and snow and snow + CLEAR > float(row.values[found.on(row.axis) - 1]):
        return f"Here snow lies {millimetres(snow)} deep, and {millimetres(CLEAR)} over it stay clear.", True
    if row.axis == "-":
        return "The same at every level.", False
    design = found.pressure_for_details
    if by_formula and not circumstances.air_seal_tested:
        gust = design * pressure.gust_factor
        tested = amount(max(dam_height(dam_floor(row, found), pressure=design), beside.asked), row.unit)
        return (
            f"{_push(found, pressure)}; in a gust {pascals(gust)}, {head_words(gust)}, "
            f"and 5\u00a0mm for splash, since no tested inner seal is counted on; with one, {tested} would do.",
            True,
        )
    if by_formula:
        push = _push(found, pressure)
        return f"{push}; a tenth of the pascals in millimetres, and 5\u00a0mm for splash.", True
    by_rule = beside.rule is not None
    if not by_rule and row.key in DAMS and dam_floor(row, found) > float(row.values[found.on(row.axis) - 1]):
        push = _push(found, pressure)
        return f"{push}; backing rod and sealant, asked here, need an upstand to seal against.", True
    if row.axis == "P" or (row.axis == "M" and found.pressure > found.wetness):
        low = pressure_step(design) == 1 and too_short_for_the_lowest(pressure)
        push = _push(found, pressure)
        more, said = low, f"{push}; counted as level 2, since the record is short" if low else push
    else:
        more = False
        said = f"Here {litres_with_band(exposure.wall_spell_index, None)} {exposure.spell_label}, {exposure.exposure_class}"
        if exposure.class_for_details != exposure.exposure_class:
            said += f", counted as {exposure.class_for_details}"
        if found.house:
            said += ", built as the hardest elevation of the house"
        taken = taken_to_words(found, exposure)
        said += f", {taken}" if taken else ""
    if by_rule:
        return f"{said}; a local rule decides.", more
    said += f"; {step_words(row.axis, found)}"
    return (f"{said}, raised one level." if found.raised else f"{said}."), more


def _push(found: Levels, pressure: WallPressure) -> str:
    """The pressure of the elevation, and the water it holds up, in words."""
    design = found.pressure_for_details
    here = "Here, built as the hardest elevation of the house," if found.house else "Here"
    return f"{here} {pascals(design)} in heavy rain {pressure.likelihood}, {head_words(design)} of water"


def taken_to_words(found: Levels, exposure: WallExposure) -> str:
    """To which level of wetness a rule or slow drying took the elevation, and who; empty where its class asks as much."""
    if found.least_wetness <= wetness_level(exposure.class_for_details):
        return ""
    return f"taken to level {found.least_wetness} by {found.least_cause}"


def step_words(axis: str, found: Levels) -> str:
    """Which axis a row follows, by name, and its step.

    Examples
    --------
    >>> step_words("M", Levels(1, 4, 400.0, False, ())), step_words("W", Levels(1, 4, 400.0, False, ()))
    ('pressure 4 of 4 decides, the harder of both', 'wetness 1 of 4 decides')
    """
    if axis == "M" and found.wetness == found.pressure:
        return f"wetness and pressure decide, both {found.wetness} of 4"
    name = "pressure" if axis == "P" or (axis == "M" and found.pressure > found.wetness) else "wetness"
    return f"{name} {found.on(axis)} of 4 decides{', the harder of both' if axis == 'M' else ''}"


def _one_lower(
    row: Row, level: int, value: float | str, here: str, circumstances: Circumstances, beside: Beside
) -> tuple[str, str]:
    """What one level lower would ask, where the words ``here`` stand, and the same without that level's name, where it is named."""
    there, lower = beside.lower_rows, beside.lower
    own = row.axis in AXIS_WORDS and level > 1
    prefix = f"One level lower ({AXIS_WORDS[row.axis]} {level - 1})" if own else "One level lower"
    if beside.by_flange:
        own_step = amount(lower, row.unit) if lower else "no cavity"
        short = f"{own_step} by its own step; at this pressure the flanges decide."
        return f"{prefix}: {short}", short
    if there is not None:
        if row.key not in there and row.key not in NOTHING_ASKED:
            return f"{prefix}: not asked.", "Not asked."
        if lower == value and row.key not in DAMS:
            said = row.build_for(value, level, circumstances, rows=there)
            if said != here:
                said = said.replace("{v}", amount(value, row.unit))
                return f"{prefix}: {said}", said
    if row.key == "photo":
        return "At any level each hold point for a photo has one.", ""
    if lower in (None, value) or row.key in DAMS:
        if row.axis == "-" or len(set(row.values)) == 1:
            return "Every level asks the same.", ""
        if level == 1 and lower not in (None, value):  # a dam, raised for the rod that wetness asks
            short = f"{amount(lower, row.unit)}."
            return f"One level lower ({AXIS_WORDS['W']} 1): {short}", short
        if level == 1:
            return "This is the lowest level.", ""
    by_step = row.key in DAMS and value != row.values[level - 1]
    if lower is None or by_step:
        lower = row.values[level - 2]
    if lower == value:
        return f"{prefix} asks the same.", "The same."
    if row.direction == "ordered" or (row.key == "cav_depth" and lower == 0):
        build = row.build_for(lower, level - 1, circumstances, rows=beside.rows if there is None else there)
        return f"{prefix}: {build}", build
    if row.key in NOTHING_ASKED and lower == 0:
        short = "no count is asked."
    elif by_step:
        short = f"{amount(lower, row.unit)} by its own step; the pressure here decides."
    else:
        short = f"{amount(lower, row.unit)}."
    return f"{prefix}: {short}", short


def stop_line(stop: str) -> ScheduleLine:
    """The one line printed where no schedule may be."""
    return ScheduleLine(
        key="specific_design",
        where="Whole elevation",
        build=STOP,
        why=stop,
        one_lower="Below this limit the schedule would be printed.",
        source=with_standing("Limits of this tool", "ours"),
        standing="ours",
        caution=caution_text("code"),
        axis="-",
        decided_by="",
        value="specific design",
        unit="",
    )
