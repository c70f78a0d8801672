"""The detail schedule of one elevation: levels, rules, lines with reasons, order of work, cautions."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from math import inf
from typing import Any

from exposure.checks import RefusalError
from exposure.detail.cautions import cautions
from exposure.detail.circumstances import Circumstances
from exposure.detail.corrosion import metal_line
from exposure.detail.inside_climate import OutsideMonths
from exposure.detail.inside_layer import InsideLayer, inside_layer, permeance_words
from exposure.detail.inside_lines import MEMBRANE, inside_shown, permeance_doubts, with_inside
from exposure.detail.ladder import (
    ON_FILM,
    RIGID_BOARDS,
    SILL_SUPPORT,
    Row,
    applies,
    cavity_for_flange,
    kept_apart,
    ladder_rows,
    rank,
    row_values,
    stands_on_framing,
    stricter,
)
from exposure.detail.levels import Levels, find_levels, is_framed, levels, wetness_level
from exposure.detail.order import look_first_steps, window_steps
from exposure.detail.question import Question
from exposure.detail.retrofit import retrofit_paths
from exposure.detail.rule_file import Rule, find_rule
from exposure.detail.rules import LEAST_WETNESS, bearing_questions, evaluate_rule
from exposure.detail.schedule_doubts import (
    counts_on_a_tested_seal,
    deepened,
    left_details,
    lifted,
    schedule_doubts,
)
from exposure.detail.schedule_lines import Taken, line_of, stop_line, taken_to_words, what_else
from exposure.detail.schedule_parts import RuleResult, Schedule, Step
from exposure.detail.step_numbers import numbered
from exposure.doubts import has_doubt
from exposure.figures import amount, listed, litres_with_band, pascals
from exposure.rain.pressure import WallPressure
from exposure.rain.wind_pressure import head_words
from exposure.wall import WallExposure

CAVITY, MEMBRANE_CLASS = "cav_depth", "mem_class"
CAVITY_RUNS = ("cav_run", "cav_run_leaf")  # a stop of the cavity behind a light cladding, and behind a leaf


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
    if any(result.open for result in results):
        own = _by_itself(exposure, pressure, circumstances, inside_layer(circumstances, months).least)
        results = _what_rules_say(rules, facts, circumstances, own)
    lower, _, _ = _with_boards(found.one_lower, pressure, circumstances, results, months)
    values, taken, inside = _with_boards(found, pressure, circumstances, results, months)
    boards = _boards(values)
    results = [_with_taken(result, taken, values) for result in results]
    shown = {key: amount(value, row.unit) for key, (row, value) in values.items()} | inside_shown(inside)
    steps = _held_back(window_steps(circumstances, found.harder, shown, boards=boards), results)
    values |= _photos(values, steps)
    besides = what_else(taken, lower, values, results, circumstances)
    lines = tuple(
        line_of(row, value, found, exposure, pressure, circumstances, besides[key])
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
        steps=numbered([steps])[0] if stop is None else (),
        rules=tuple(results),
        cautions=(*cautions("every"), *(cautions("standing wall") if standing else ())),
        flags=(
            *schedule_doubts(
                exposure, pressure, circumstances, found, results, boards=boards, metals=str(lines[0].value)
            ),
            *lifted(exposure.wall.name, alone, found),
            *counts_on_a_tested_seal(exposure.wall.name, values, found, pressure, circumstances),
            *left_details(exposure.wall.name, values, results),
            *deepened(exposure.wall.name, values, taken, found, circumstances, besides),
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
        tops=exposure.wall.tops,
        storeys=circumstances.storeys,
    )


def _held(
    at: Levels,
    pressure: WallPressure,
    circumstances: Circumstances,
    results: Sequence[RuleResult],
    permeance: float,
) -> tuple[dict[str, tuple[Row, float | str]], dict[str, Taken]]:
    """The rows at these levels, with what snow, the window and the rules hold at any; ``permeance`` of the membrane."""
    # what holds only above a figure of the row raises it and brings none
    asked = {ask.row for result in results for ask in result.asks if ask.value > 0 and ask.above is None}

    def rows(asked: Collection[str]) -> tuple[dict[str, tuple[Row, float | str]], dict[str, Taken]]:
        values = row_values(at, pressure, circumstances, asked=asked)
        if MEMBRANE in values:
            values[MEMBRANE] = (values[MEMBRANE][0], permeance)
        return _with_rules(values, results)

    held, taken = rows(asked)
    deeper = cavity_for_flange(held, circumstances)
    if deeper:
        held, taken = rows(asked | {CAVITY})  # with the rows of a cavity where there was none
        held |= deeper
    return held, {key: one for key, one in taken.items() if key not in deeper}


def _with_boards(
    at: Levels,
    pressure: WallPressure,
    circumstances: Circumstances,
    results: Sequence[RuleResult],
    months: OutsideMonths | None,
) -> tuple[dict[str, tuple[Row, float | str]], dict[str, Taken], InsideLayer]:
    """The rows that ask something here, the rules that decide some, and the inside layer with the boards that these rows order."""
    inside = inside_layer(circumstances, months)
    held, taken = _held(at, pressure, circumstances, results, inside.least)
    if _boards(held):
        inside = inside_layer(circumstances, months, boards=True)
        held, taken = _held(at, pressure, circumstances, results, inside.least)
    values = _needed(held, circumstances)
    return values, {key: one for key, one in taken.items() if key in values}, inside


def _what_rules_say(
    rules: Sequence[Rule],
    facts: Mapping[str, Any],
    circumstances: Circumstances,
    own: Mapping[str, float] | None = None,
) -> list[RuleResult]:
    """Results of the rules; with what rows ask by themselves, no answer relaxes what no rule asked for."""
    answers = circumstances.rule_answers
    there = _there(circumstances)
    return [evaluate_rule(rule, facts, answers.get(rule.key, {}), own=own, there=there) for rule in rules]


def _there(circumstances: Circumstances) -> set[str]:
    """Rows, by the keys of rules, of which the wall has the part."""
    return {row.rule_key for row in ladder_rows() if applies(row, circumstances)}


def questions_that_bear(
    rule: Rule, exposure: WallExposure, pressure: WallPressure, circumstances: Circumstances
) -> tuple[Question, ...]:
    """Questions of ``rule`` still open whose answer would change what it says of this elevation."""
    answers = circumstances.rule_answers.get(rule.key, {})
    facts = _facts(exposure, pressure, circumstances)
    return bearing_questions(rule, facts, answers, there=_there(circumstances))


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


def _boards(values: Mapping[str, tuple[Row, float | str]]) -> bool:
    return MEMBRANE_CLASS in values and values[MEMBRANE_CLASS][1] == RIGID_BOARDS


def _needed(
    values: Mapping[str, tuple[Row, float | str]], circumstances: Circumstances
) -> dict[str, tuple[Row, float | str]]:
    """Without rows that ask nothing here: layers and straps over studs that boards close, a stop of a cavity that ends before it, a support out of reach."""
    needless = (
        [key for key in CAVITY_RUNS if key in values and float(values[key][1]) >= circumstances.storeys]
        + list(ON_FILM) * _boards(values)
        + [SILL_SUPPORT] * stands_on_framing(values)
    )
    return {key: cell for key, cell in values.items() if key not in needless}


def _held_back(steps: Sequence[Step], results: Sequence[RuleResult]) -> tuple[Step, ...]:
    """The steps, the first with a word of warning while an open answer may ask for a design of the wall's own."""
    waits = [result.rule for result in results if has_doubt(result.open, "detail.may_need_design")]
    if not waits:
        return tuple(steps)
    said = f"Do not begin before the questions of {listed(waits)} are answered: this wall may need a design of its own."
    return (replace(steps[0], caution=f"{said} {steps[0].caution}".rstrip()), *steps[1:])


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
    known_as: dict[str, list[str]] = {}
    for name, (row, _) in values.items():
        known_as.setdefault(row.rule_key, []).append(name)
    for result in results:
        for ask in result.asks:
            for own in known_as.get(ask.row, ()):
                row, before = merged[own]
                if ask.above is not None and float(before) <= ask.above:
                    continue
                after = stricter(row, before, way=ask.way, asked=ask.value)
                if after != before:
                    merged[own] = (row, after)
                    asks, more, mine = result.rule, _shown(after, row), _shown(values[own][1], row)
                    mine = f"only {mine}" if more.startswith(f"{mine} ") else mine
                    said = (
                        f"Taken for {asks}, our choice: {more}; this tool alone asks {mine}."
                        if ask.standing == "ours"
                        else f"{asks} asks {more}, this tool {mine}: the rule is taken."
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
    apart = kept_apart(merged)
    return apart, {key: one for key, one in taken.items() if apart[key] == merged[key]}


def _shown(value: float | str, row: Row) -> str:
    return permeance_words(float(value)) if row.key == MEMBRANE else amount(value, row.unit)


def _with_taken(
    result: RuleResult, taken: Mapping[str, Taken], values: Mapping[str, tuple[Row, float | str]]
) -> RuleResult:
    """The result with what was taken from it, each behind the name of its part."""
    said = [f"{values[key][0].where}: {one.said}" for key, one in taken.items() if one.result is result]
    return replace(result, taken=tuple(said))


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
