"""The detail schedule of one elevation: levels, rules, lines with reasons, order of work, cautions."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from exposure.checks import RefusalError
from exposure.detail.cautions import caution_text, cautions
from exposure.detail.circumstances import Circumstances
from exposure.detail.corrosion import metal_line
from exposure.detail.ladder import (
    DAMS,
    Levels,
    Row,
    find_levels,
    is_framed,
    levels,
    row_values,
    stricter,
    wetness_level,
)
from exposure.detail.order import look_first_steps, window_steps
from exposure.detail.rule_file import Rule, find_rule
from exposure.detail.rules import evaluate_rule
from exposure.detail.schedule_parts import RuleResult, Schedule, ScheduleLine
from exposure.detail.wording import amount, listed, litres, millimetres, pascals
from exposure.rain.pressure import WallPressure, head_of_water
from exposure.wall import WallExposure

STOP = "Do not build this elevation from a schedule: have it designed by someone licensed to do so."
CONFIRM = {"not checked": " (not checked, confirm)", "our choice": " (our choice, confirm)"}
CAVITY = "cav_depth"
RIGID_BOARDS = "W1 on rigid boards"  # entry of the ladder's row mem_class


class _Taken(NamedTuple):
    """A rule that asked for more than the ladder."""

    said: str
    result: RuleResult


def detail_schedule(
    exposure: WallExposure,
    pressure: WallPressure,
    circumstances: Circumstances,
    *,
    office_rules: Sequence[Rule] = (),
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

    Returns
    -------
    Schedule
        Exactly one for every input. Above the ladder it holds the order to stop and the floor for a designer.

    Notes
    -----
    Two axes: wetness follows the exposure class, pressure the 1-in-5-year pressure at the wall; a row follows
    one of them or the harder of both. Causes that make a mistake dear raise both by one level, once. Where a
    local rule asks for more than the ladder the rule is taken and said; it never lowers a line.
    """
    facts = _facts(exposure, pressure, circumstances)
    results = [
        evaluate_rule(rule, facts, circumstances.rule_answers.get(rule.key, {}))
        for rule in _rules(circumstances, office_rules)
    ]
    floors = [(result.least_wetness, result.rule) for result in results]
    found = find_levels(exposure.class_for_details, pressure, circumstances, floors=floors)
    cavity = any(key == CAVITY and value > 0 for result in results for key, _, value in result.asks)
    values = row_values(found, pressure, circumstances, cavity_asked=cavity)
    values, taken = _with_rules(values, results)
    results = [_with_taken(result, taken) for result in results]

    lines = tuple(
        _line(row, value, found, exposure, pressure, circumstances, taken.get(key))
        for key, (row, value) in values.items()
    )
    lines = (metal_line(circumstances.sea_distance), *lines)
    shown = {key: amount(value, row.unit) for key, (row, value) in values.items()}
    level = found.harder
    boards = values["mem_class"][1] == RIGID_BOARDS if "mem_class" in values else False
    stop = _specific_design(found, results, circumstances)
    standing = circumstances.work == "standing wall"
    return Schedule(
        elevation=exposure.wall.name,
        level=level,
        level_name=levels()[level - 1].name,
        wetness_level=found.wetness,
        pressure_level=found.pressure,
        lines=lines if stop is None else (_stop_line(stop),),
        steps=window_steps(circumstances, level, shown, boards=boards) if stop is None else (),
        rules=tuple(results),
        cautions=(*cautions("every"), *(cautions("standing wall") if standing else ())),
        flags=_flags(exposure, pressure, circumstances, found, results, boards=boards),
        raised=found.raised,
        specific_design=stop,
        floor=lines if stop is not None else (),
        look_first=look_first_steps(circumstances, level, {**shown, **_figures_shown(exposure, found)})
        if standing
        else (),
    )


def _figures_shown(exposure: WallExposure, found: Levels) -> dict[str, str]:
    """The elevation's own figures, in words."""
    design = found.pressure_for_details
    return {
        "spell": litres(exposure.wall_spell_index),
        "push": pascals(design),
        "head": millimetres(float(head_of_water(design))),
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
        pressure=pressure.any_direction,
        gust_pressure=pressure.any_direction_gust,
        height=exposure.wall.height,
    )
    return facts


def _with_rules(
    values: Mapping[str, tuple[Row, float | str]], results: Sequence[RuleResult]
) -> tuple[dict[str, tuple[Row, float | str]], dict[str, _Taken]]:
    """Rows with the stricter of ladder and rules, and where a rule won."""
    merged: dict[str, tuple[Row, float | str]] = dict(values)
    taken: dict[str, _Taken] = {}
    for result in results:
        for key, way, wanted in result.asks:
            for own in [name for name, (row, _) in merged.items() if row.rule_key == key]:
                row, before = merged[own]
                after = stricter(row, before, way=way, asked=wanted)
                if after != before:
                    merged[own] = (row, after)
                    said = (
                        f"{result.rule} asks {amount(after, row.unit)}, the ladder "
                        f"{amount(values[own][1], row.unit)}: the rule is taken."
                    )
                    taken[own] = _Taken(said, result)
    back, end = merged["back_dam"][1], merged["end_dam"]
    if float(end[1]) < float(back):
        merged["end_dam"] = (end[0], back)
        taken["end_dam"] = _Taken(
            "The ends stand as high as the back that a rule asks.", taken["back_dam"].result
        )
    return merged, taken


def _with_taken(result: RuleResult, taken: Mapping[str, _Taken]) -> RuleResult:
    return replace(result, taken=tuple(one.said for one in taken.values() if one.result is result))


def _line(
    row: Row,
    value: float | str,
    found: Levels,
    exposure: WallExposure,
    pressure: WallPressure,
    circumstances: Circumstances,
    rule: _Taken | None,
) -> ScheduleLine:
    level = found.on(row.axis)
    shown = amount(value, row.unit)
    if row.direction == "ordered":
        step = max(i for i, entry in enumerate(row.values) if entry == value)
        build = row.build[min(step, len(row.build) - 1)]
    else:
        step = level - 1
        position = (
            step
            if value == row.values[step]
            else next(
                (i for i, entry in enumerate(row.values) if _reaches(row, entry, value)), len(row.values) - 1
            )
        )
        build = row.build[min(position, len(row.build) - 1)]
    by_formula = rule is None and row.key in DAMS and float(value) > float(row.values[level - 1])
    mark = "worked out" if by_formula else row.marks[min(step, 3)]
    source = row.source
    if rule is not None:
        source = rule.result.source
        mark = rule.result.mark if rule.result.verified or rule.result.mark != "published" else "not checked"
    caution = caution_text(row.caution)
    return ScheduleLine(
        key=row.key,
        where=row.where,
        build=build.replace("{v}", shown),
        why=f"{row.reason} {_here(row, found, exposure, pressure, circumstances, by_formula)}",
        one_lower=_one_lower(row, level, value),
        source=source + CONFIRM.get(mark, ""),
        verified=mark == "published",
        mark=mark,
        caution=caution,
        axis=row.axis,
        value=value,
        unit=row.unit,
        rule="" if rule is None else rule.said,
    )


def _reaches(row: Row, entry: float | str, value: float | str) -> bool:
    if isinstance(entry, str) or isinstance(value, str):
        return entry == value
    return entry <= value if row.direction == "down" else entry >= value


def _here(
    row: Row,
    found: Levels,
    exposure: WallExposure,
    pressure: WallPressure,
    circumstances: Circumstances,
    by_formula: bool,
) -> str:
    """What this elevation's own figures say for the row."""
    if row.axis == "-":
        return "The same at every level."
    design = found.pressure_for_details
    push = (
        f"Here {pascals(design)} in heavy rain once in five years, "
        f"{millimetres(float(head_of_water(design)))} of water"
    )
    if by_formula and not circumstances.air_seal_tested:
        gust = design * pressure.gust_factor
        return (
            f"{push}; in a gust {pascals(gust)}, {millimetres(float(head_of_water(gust)))}, "
            "and 5\u00a0mm for splash, since the inner seal is not tested."
        )
    if by_formula:
        return f"{push}, and 5\u00a0mm for splash."
    if row.axis == "P" or (row.axis == "M" and found.pressure > found.wetness):
        said = push
    else:
        said = f"Here {litres(exposure.wall_spell_index)} in the worst spell in three years, {exposure.exposure_class}"
        if exposure.class_for_details != exposure.exposure_class:
            said += f", counted as {exposure.class_for_details}"
        if found.least_wetness > wetness_level(exposure.class_for_details):
            said += f", taken to level {found.least_wetness} by {found.least_cause}"
    return f"{said}; raised one level." if found.raised else f"{said}."


def _one_lower(row: Row, level: int, value: float | str) -> str:
    """What one level lower would ask."""
    if row.axis == "-" or len(set(row.values)) == 1:
        return "Every level asks the same."
    if level == 1:
        return "This is the lowest level."
    lower, name = row.values[level - 2], levels()[level - 2].name
    if row.direction == "ordered":
        if lower == row.values[level - 1]:
            return f"One level lower ({name}) asks the same."
        return f"One level lower ({name}): {row.build[level - 2]}"
    if lower == value:
        return f"One level lower ({name}) asks the same."
    if row.key == "cav_depth" and lower == 0:
        return f"One level lower ({name}): no cavity, lapped boards only."
    if row.key in DAMS and value != row.values[level - 1]:
        return (
            f"One level lower ({name}): {amount(lower, row.unit)} by the ladder; the pressure here decides."
        )
    return f"One level lower ({name}): {amount(lower, row.unit)}."


def _stop_line(stop: str) -> ScheduleLine:
    return ScheduleLine(
        key="specific_design",
        where="Whole elevation",
        build=STOP,
        why=stop,
        one_lower="Below this limit the schedule would be printed.",
        source="Limits of this ladder (our choice, confirm)",
        verified=False,
        mark="our choice",
        caution=caution_text("code"),
        axis="-",
        value="specific design",
        unit="",
    )


def _specific_design(
    found: Levels, results: Sequence[RuleResult], circumstances: Circumstances
) -> str | None:
    """Why no schedule may be printed, or None."""
    reasons = []
    if found.beyond:
        reasons.append(
            f"The driving-rain wind pressure of {pascals(found.pressure_for_details)} is above the ladder's "
            f"{pascals(levels()[-1].pressure_to)}."
        )
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
) -> tuple[str, ...]:
    flags = [*exposure.flags, *pressure.flags]
    name = exposure.wall.name
    if found.raised:
        flags.append(f"The {name} elevation is raised one level because {listed(list(found.raised))}.")
    if boards and circumstances.sheathing == "open studs":
        flags.append(
            f"The {name} elevation needs rigid boards on the studs: the order of work is that of a sheathed wall."
        )
    if exposure.could_be:
        flags.append(f"Counting light model rain the {name} elevation could be {exposure.could_be}.")
    top = exposure.class_band[1] if exposure.class_band else exposure.exposure_class
    if wetness_level(top) > wetness_level(exposure.class_for_details):
        flags.append(
            f"The {name} elevation could be {top} by its band: "
            "one level more is then asked of the rows that follow wetness."
        )
    if found.pressure_for_details > pressure.facing + 0.5:
        flags.append(
            f"The wind seldom stands square on the {name} elevation in heavy rain ({pascals(pressure.facing)}); "
            f"that may buy one level only, so {pascals(found.pressure_for_details)} is used "
            f"(any direction: {pascals(pressure.any_direction)})."
        )
    if is_framed(circumstances) and circumstances.bare_limit is None:
        flags.append("The maker's limit for the bare membrane is not known: ask for it in writing.")
    if circumstances.sea_distance is None:
        flags.append("The distance to the sea is not known: metals are chosen as near the sea.")
    if not circumstances.local_rules:
        flags.append("No local rules were chosen: what the local code asks is not in this schedule.")
    flags.extend(
        f"{result.rule}: {result.result}" for result in results if result.result.startswith("Not answered")
    )
    flags.extend(
        f"{result.rule} is quoted from memory or second hand: read the code itself."
        for result in results
        if not result.verified
    )
    return tuple(dict.fromkeys(flags))
