"""The detail schedule of one elevation: levels, rules, lines with reasons, order of work, cautions."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import inf
from typing import Any

from exposure.checks import RefusalError
from exposure.detail.cautions import cautions
from exposure.detail.circumstances import Circumstances
from exposure.detail.corrosion import metal_line
from exposure.detail.inside_climate import OutsideMonths
from exposure.detail.inside_layer import inside_layer
from exposure.detail.inside_lines import MEMBRANE, permeance_doubts, with_inside
from exposure.detail.ladder import (
    RIGID_BOARDS,
    STUD_LAYERS,
    Row,
    dam_floor,
    dam_height,
    rank,
    row_values,
    stricter,
    under_the_tray,
)
from exposure.detail.levels import Levels, find_levels, is_framed, levels, pressure_for_details, wetness_level
from exposure.detail.order import look_first_steps, window_sequence, window_steps
from exposure.detail.retrofit import NOT_OPENED, retrofit_paths
from exposure.detail.rule_file import Rule, find_rule
from exposure.detail.rules import LEAST_WETNESS, evaluate_rule
from exposure.detail.schedule_lines import Beside, Taken, line_of, stop_line, taken_to_words
from exposure.detail.schedule_parts import RuleResult, Schedule, Step
from exposure.doubts import doubt
from exposure.figures import amount, listed, litres_with_band, pascals
from exposure.rain.pressure import WallPressure
from exposure.rain.wind_pressure import head_words
from exposure.tables.standing import standing_words
from exposure.wall import WallExposure

ORDER_WORDS = {  # whose order of work it is
    "sheathed": "a window at the boards",
    "over a cavity": "a window over the cavity",
    "masonry cavity": "a window behind an outer leaf",
}
CAVITY, MEMBRANE_CLASS, CAVITY_RUN = "cav_depth", "mem_class", "cav_run"


def detail_schedule(
    exposure: WallExposure,
    pressure: WallPressure,
    circumstances: Circumstances,
    *,
    office_rules: Sequence[Rule] = (),
    months: OutsideMonths | None = None,
    hardest: Levels | None = None,
) -> Schedule:
    """What to build on one elevation.

    Parameters
    ----------
    exposure
        The elevation's driving rain; its ``class_for_details`` sets wetness.
    pressure
        The elevation's driving-rain wind pressure at the wall.
    circumstances
        What else matters, see :func:`exposure.detail.questions`.
    office_rules
        Rules of the user's own, each from :func:`exposure.detail.rule_file.read_rule_text`.
    months
        Outdoor air by month (:func:`exposure.detail.inside_climate.outside_months`); None is not known.
    hardest
        Levels of the house's hardest elevation where one build is made of all; None builds wall by wall.

    Returns
    -------
    Schedule
        Exactly one for every input. Above the ladder it holds the order to stop and the floor for a designer.

    Notes
    -----
    Two axes: wetness follows the exposure class, pressure the 1-in-5-year pressure at the wall; a row follows
    one of them or the harder of both. Causes that make a mistake dear raise both by one level, once. Where a
    local rule asks for more than the ladder the rule is taken and said; it never lowers a line.

    Examples
    --------
    >>> import numpy as np, pandas as pd, xarray as xr
    >>> from exposure.rain.index import airfield_index
    >>> from exposure.rain.pressure import wall_pressures
    >>> from exposure.wall import Site, Wall
    >>> from exposure.wall.index import wall_exposure
    >>> time = pd.date_range("2010-01-01", "2011-12-31T23:00", freq="h")
    >>> rain = np.where(time.month == 1, 2.0, 0.0)  # it rains through January
    >>> climate = xr.Dataset(
    ...     {"rain": ("time", rain, {"units": "mm"}),
    ...      "wind_speed": ("time", np.full(time.size, 12.0), {"units": "m s-1"}),
    ...      "wind_from_direction": ("time", np.full(time.size, 240.0), {"units": "degree"})},
    ...     {"time": time}, {"kind": "gauge"})
    >>> wall = Wall(name="south-west", orientation=240, length=9, height=6)
    >>> exposure = wall_exposure(airfield_index(climate, orientation=[240]), Site("Field", 50, 0), wall)
    >>> pressure, = wall_pressures(climate, orientation=[240])
    >>> schedule = detail_schedule(exposure, pressure, Circumstances())
    >>> schedule.axes, schedule.level_name
    ('wetness 4 of 4, pressure 2 of 4', 'drain and vent')
    """
    facts = _facts(exposure, pressure, circumstances)
    rules = _rules(circumstances, office_rules)
    results = _what_rules_say(rules, facts, circumstances)
    floors = [(result.least_wetness, result.rule) for result in results]
    alone = find_levels(exposure.class_for_details, pressure, circumstances, floors=floors)
    found = alone if hardest is None else alone.lifted(hardest)
    inside = inside_layer(circumstances, months)

    if any(result.open for result in results):
        own = _by_itself(exposure, pressure, circumstances, inside.least)
        results = _what_rules_say(rules, facts, circumstances, own)
    values, taken = _held(found, pressure, circumstances, results, inside.least)
    lower, _ = _held(found.one_lower, pressure, circumstances, results, inside.least)
    values, lower = _needed(values, circumstances), _needed(lower, circumstances)
    taken = {key: one for key, one in taken.items() if key in values}
    boards = _boards(values)
    results = [_with_taken(result, taken) for result in results]
    shown = {key: amount(value, row.unit) for key, (row, value) in values.items()}
    steps = window_steps(circumstances, found.harder, shown, boards=boards)
    values |= _photos(values, steps)

    lines = tuple(
        line_of(row, value, found, exposure, pressure, circumstances, _beside(key, taken, lower))
        for key, (row, value) in values.items()
    )
    metal = metal_line(circumstances.sea_distance, [ask for result in results for ask in result.asks])
    lines = (metal, *with_inside(lines, inside, by_rule=MEMBRANE in taken))
    stop = _specific_design(found, results, circumstances, pressure)
    standing = circumstances.work == "standing wall"
    return Schedule(
        elevation=exposure.wall.name,
        level=found.harder,
        level_name=levels()[found.wetness - 1].name,
        wetness_level=found.wetness,
        pressure_level=found.pressure,
        lines=lines if stop is None else (stop_line(stop),),
        steps=steps if stop is None else (),
        rules=tuple(results),
        cautions=(*cautions("every"), *(cautions("standing wall") if standing else ())),
        flags=(
            *_flags(
                exposure, pressure, circumstances, found, results, boards=boards, metals=str(lines[0].value)
            ),
            *_lifted(exposure.wall.name, alone, found),
            *_counts_on_a_tested_seal(exposure.wall.name, values, found, pressure, circumstances),
            *_left_details(exposure.wall.name, values, results),
            *inside.flags,
            *permeance_doubts(exposure.wall.name, inside, values[MEMBRANE][1] if MEMBRANE in values else 0),
        ),
        raised=found.raised,
        taken_to=taken_to_words(found, exposure),
        specific_design=stop,
        floor=lines if stop is not None else (),
        look_first=look_first_steps(circumstances, found.harder, {**shown, **_figures_shown(exposure, found)})
        if standing
        else (),
        retrofit=retrofit_paths(circumstances, found.wetness, shown),
        below={key: value for key, (_, value) in lower.items()},
        least_wetness=found.least_wetness,
    )


def _held(
    at: Levels,
    pressure: WallPressure,
    circumstances: Circumstances,
    results: Sequence[RuleResult],
    permeance: float,
) -> tuple[dict[str, tuple[Row, float | str]], dict[str, Taken]]:
    """The rows at these levels, with what snow, the place of the window and the rules hold at any; ``permeance`` of the membrane."""
    asked = {ask.row for result in results for ask in result.asks if ask.value > 0}
    values = row_values(at, pressure, circumstances, asked=asked)
    if MEMBRANE in values:
        values[MEMBRANE] = (values[MEMBRANE][0], permeance)
    return _with_rules(values, results)


def _what_rules_say(
    rules: Sequence[Rule],
    facts: Mapping[str, Any],
    circumstances: Circumstances,
    own: Mapping[str, float] | None = None,
) -> list[RuleResult]:
    """Results of the rules; with what rows ask by themselves, no answer relaxes what no rule asked for."""
    answers = circumstances.rule_answers
    return [evaluate_rule(rule, facts, answers.get(rule.key, {}), own=own) for rule in rules]


def _by_itself(
    exposure: WallExposure, pressure: WallPressure, circumstances: Circumstances, permeance: float
) -> dict[str, float]:
    """How strict each row and the wetness are without any rule, in the numbers a rule asks in; see :func:`evaluate_rule`."""
    levels_alone = find_levels(exposure.class_for_details, pressure, circumstances)
    held, _ = _held(levels_alone, pressure, circumstances, (), permeance)
    values = _needed(held, circumstances)
    found: dict[str, float] = {LEAST_WETNESS: wetness_level(exposure.class_for_details)}
    for row, value in values.values():
        if row.direction == "ordered":
            strict = rank(row, value) + 1  # levels are asked for from 1
        else:
            strict = inf if isinstance(value, str) else rank(row, value)  # no rule changes words
        found[row.rule_key] = min(found.get(row.rule_key, strict), strict)
    return found


def _beside(key: str, taken: Mapping[str, Taken], lower: Mapping[str, tuple[Row, float | str]]) -> Beside:
    return Beside(taken.get(key), lower[key][1] if key in lower else None)


def _boards(values: Mapping[str, tuple[Row, float | str]]) -> bool:
    return MEMBRANE_CLASS in values and values[MEMBRANE_CLASS][1] == RIGID_BOARDS


def _needed(
    values: Mapping[str, tuple[Row, float | str]], circumstances: Circumstances
) -> dict[str, tuple[Row, float | str]]:
    """Without rows that ask nothing here: layers over studs that boards close, a stop of the cavity where it ends before."""
    ends = CAVITY_RUN in values and float(values[CAVITY_RUN][1]) >= circumstances.storeys
    needless = [*([STUD_LAYERS] if _boards(values) else []), *([CAVITY_RUN] if ends else [])]
    return {key: cell for key, cell in values.items() if key not in needless}


def _photos(
    values: Mapping[str, tuple[Row, float | str]], steps: Sequence[Step]
) -> dict[str, tuple[Row, float | str]]:
    """The row of the photos, at least one for each hold point that asks for one."""
    row, photos = values["photo"]
    return {"photo": (row, max(float(photos), sum("Photograph" in step.hold for step in steps)))}


def _figures_shown(exposure: WallExposure, found: Levels) -> dict[str, str]:
    """The elevation's own figures, in words."""
    design = found.pressure_for_details
    return {
        "spell": litres_with_band(exposure.wall_spell_index, None),
        "push": pascals(design),
        "head": head_words(design),
        "when": exposure.spell_label,
    }


def _rules(circumstances: Circumstances, office_rules: Sequence[Rule]) -> list[Rule]:
    chosen = [find_rule(key) for key in circumstances.local_rules]
    keys = [rule.key for rule in (*chosen, *office_rules)]
    if len(set(keys)) != len(keys):
        raise RefusalError(
            f"rules named {', '.join(keys)}", "each rule once", "Rename the rule of your office."
        )
    for key in circumstances.rule_answers:
        if key not in keys:
            raise RefusalError(
                f"answers to the rule {key!r}, which was not chosen",
                f"answers to {listed(keys) if keys else 'no rule'}",
                "Add it to local_rules or take the answers out.",
            )
    return [*chosen, *office_rules]


def _facts(exposure: WallExposure, pressure: WallPressure, circumstances: Circumstances) -> dict[str, Any]:
    facts = {name: getattr(circumstances, name) for name in circumstances.__dataclass_fields__}
    facts.update(
        exposure_class=exposure.class_for_details,
        wall_spell_index=exposure.wall_spell_index,
        wall_annual_index=exposure.wall_annual_index,
        pressure=max(pressure.airfield_any_direction, pressure.any_direction),  # a code knows no site
        gust_pressure=pressure.any_direction_gust,
        height=exposure.wall.height,
    )
    return facts


def _with_rules(
    values: Mapping[str, tuple[Row, float | str]], results: Sequence[RuleResult]
) -> tuple[dict[str, tuple[Row, float | str]], dict[str, Taken]]:
    """Rows with the stricter of ladder and rules, and where a rule won."""
    merged: dict[str, tuple[Row, float | str]] = dict(values)
    taken: dict[str, Taken] = {}
    for result in results:
        for ask in result.asks:
            for own in [name for name, (row, _) in merged.items() if row.rule_key == ask.row]:
                row, before = merged[own]
                after = stricter(row, before, way=ask.way, asked=ask.value)
                if after != before:
                    merged[own] = (row, after)
                    said = (
                        f"{result.rule} asks {amount(after, row.unit)}, this tool "
                        f"{amount(values[own][1], row.unit)}: the rule is taken."
                    )
                    taken[own] = Taken(said, result, ask)
    back, end = merged["back_dam"][1], merged["end_dam"]
    if float(end[1]) < float(back):
        merged["end_dam"] = (end[0], back)
        taken["end_dam"] = Taken(
            "The ends stand as high as the back that a rule asks.",
            taken["back_dam"].result,
            taken["back_dam"].ask,
        )
    lower = under_the_tray(merged)
    return lower, {key: one for key, one in taken.items() if lower[key] == merged[key]}


def _with_taken(result: RuleResult, taken: Mapping[str, Taken]) -> RuleResult:
    return replace(result, taken=tuple(one.said for one in taken.values() if one.result is result))


def _specific_design(
    found: Levels, results: Sequence[RuleResult], circumstances: Circumstances, pressure: WallPressure
) -> str | None:
    """Why no schedule may be printed, or None."""
    reasons = []
    if found.beyond:
        reasons.append(
            f"The driving-rain wind pressure of {pascals(found.pressure_for_details)} is above this tool's limit of "
            f"{pascals(levels()[-1].pressure_to)}."
        )
        if found.pressure_for_details / pressure.grid_factor <= levels()[-1].pressure_to:
            reasons.append("The wind of a grid was lifted to get there; a local gauge may bring it below.")
    if is_framed(circumstances) and circumstances.storeys > 2 and not circumstances.cavity_break:
        reasons.append(
            f"The cavity runs over {circumstances.storeys} storeys without a break; two is the most."
        )
    reasons.extend(f"{result.rule}: {result.result}" for result in results if result.specific_design)
    return " ".join(reasons) or None


def _flags(
    exposure: WallExposure,
    pressure: WallPressure,
    circumstances: Circumstances,
    found: Levels,
    results: Sequence[RuleResult],
    *,
    boards: bool,
    metals: str,
) -> tuple[str, ...]:
    flags = [*exposure.flags, *pressure.flags]
    name = exposure.wall.name
    lowest = [
        word
        for word, level, short in (
            ("wetness", found.wetness, exposure.indicative),
            ("pressure", found.pressure, pressure.short),
        )
        if level == 1 and short
    ]
    if lowest:
        flags.append(doubt("detail.short_lowest", name, axes=listed(lowest)))
    if found.raised:
        flags.append(doubt("detail.raised_one_level", name, because=listed(list(found.raised))))
    if boards and circumstances.sheathing == "open studs":
        order = ORDER_WORDS[window_sequence(circumstances, boards=True)]
        flags.append(doubt("detail.boards_on_studs", name, order=order))
    if exposure.light_rain_class:
        flags.append(
            doubt(
                "detail.light_rain_class",
                name,
                could_be=exposure.light_rain_class,
                found=exposure.exposure_class,
            )
        )
    top = exposure.class_band[1] if exposure.class_band else exposure.exposure_class
    by_band = find_levels(top, pressure, circumstances, floors=[(found.least_wetness, found.least_cause)])
    if by_band.wetness > found.wetness:  # not where a rule asks as much already
        flags.append(doubt("detail.class_by_band", name, could_be=top, level=by_band.wetness))
    used = pressure_for_details(facing=pressure.facing, any_direction=pressure.any_direction)
    if used > pressure.facing + 0.5:
        flags.append(
            doubt(
                "detail.wind_seldom_square",
                name,
                facing=pascals(pressure.facing),
                used=pascals(used),
                any_direction=pascals(pressure.any_direction),
            )
        )
    if is_framed(circumstances) and circumstances.bare_limit is None:
        flags.append(doubt("detail.bare_limit_unknown"))
    if circumstances.frame_type == "not said" and circumstances.wall_type != "cavity masonry":
        flags.append(doubt("detail.frame_not_said", circumstances.frame))
    if (
        circumstances.cladding_fixing == "not said"
        and circumstances.wall_type == "timber frame with cladding"
    ):
        flags.append(doubt("detail.fixing_not_said", circumstances.fixing))
    if circumstances.work == "standing wall" and circumstances.opened == NOT_OPENED:
        flags.append(doubt("detail.wall_not_opened"))
    if circumstances.sea_distance is None:
        flags.append(doubt("detail.sea_distance_unknown", metals))
    if not circumstances.local_rules:
        flags.append(doubt("detail.no_local_rules"))
    flags.extend(sentence for result in results for sentence in result.open)
    for result in results:
        key = "detail.rule_read" if result.verified else "detail.rule_not_read"
        if result.look_again or result.standing in ("second hand", "from memory"):
            standing, by = standing_words(result.standing), result.look_again or "the next job"
            flags.append(doubt(key, result.rule, standing=standing, by=by))
    return tuple(dict.fromkeys(flags))


def _counts_on_a_tested_seal(
    elevation: str,
    values: Mapping[str, tuple[Row, float | str]],
    found: Levels,
    pressure: WallPressure,
    circumstances: Circumstances,
) -> tuple[str, ...]:
    """What the tray's back would be if the test that was promised is not made."""
    if not circumstances.air_seal_tested or "back_dam" not in values:
        return ()
    row, value = values["back_dam"]
    design = found.pressure_for_details
    untested = dam_height(dam_floor(row, found), pressure=design, gust_pressure=design * pressure.gust_factor)
    if untested <= float(value):
        return ()
    return (doubt("detail.seal_to_be_tested", elevation, height=amount(untested, row.unit)),)


def _lifted(elevation: str, alone: Levels, found: Levels) -> tuple[str, ...]:
    """What the elevation would ask by itself, where it is built as the hardest of the house."""
    if (alone.wetness, alone.pressure) == (found.wetness, found.pressure):
        return ()
    return (doubt("detail.one_build", elevation, wetness=alone.wetness, pressure=alone.pressure),)


def _left_details(
    elevation: str, values: Mapping[str, tuple[Row, float | str]], results: Sequence[RuleResult]
) -> tuple[str, ...]:
    """A doubt for each row that stands beyond the figure a code draws its own details for."""
    found = []
    for result in results:
        for ask in result.asks:
            for row, value in values.values():
                if row.rule_key != ask.row or ask.drawn is None or isinstance(value, str):
                    continue
                if value < ask.drawn if ask.way == "at most" else value > ask.drawn:
                    drawn, built = amount(ask.drawn, row.unit), amount(value, row.unit)
                    part, by = row.where.lower(), result.rule
                    found.append(
                        doubt("detail.left_details", elevation, rule=by, part=part, drawn=drawn, built=built)
                    )
    return tuple(dict.fromkeys(found))
