"""What ``exposure details`` tells on the screen: in brief, or every line with its reason and the order of work."""

import json
from collections.abc import Sequence
from typing import TYPE_CHECKING

from exposure.cli.output import far_words
from exposure.detail.inside_layer import CAUTION
from exposure.detail.materials import ITEMS, not_counted_words
from exposure.detail.rule_file import find_rule
from exposure.detail.take_off import COUNTED_FROM, TakeOff, amount_words
from exposure.draw.lettering import clean
from exposure.figures import amount, litres_with_band, pascals, pressure_band
from exposure.rain.wind_pressure import head_words
from exposure.tables.standing import standing_words, without_standing
from exposure.wall.name_list import in_turn

if TYPE_CHECKING:
    from exposure.assess.details_parts import BuildingDetails, ElevationDetails
    from exposure.detail.question import Question
    from exposure.detail.rule_file import Rule
    from exposure.detail.schedule_parts import Schedule, Step

MOST_DOUBTS = 4  # told without --full; the rest is counted


def _clad_first(details: "BuildingDetails") -> list[str]:
    walls = [clean(wall) for wall in details.clad_first]
    return [f"Clad first: {in_turn(walls)}."] if walls else []


def details_report(details: "BuildingDetails", office_rules: "Sequence[Rule]" = ()) -> str:
    """Everything as lines for a reader, worst elevation first."""
    name = clean(details.assessment.building.name)
    lines = [f"{name}: what to build, the hardest elevation first.", ""]
    for one in details.elevations:
        lines += [*_elevation(one, office_rules), ""]
    lines += [
        *_clad_first(details),
        *inside_words(details),
        f"Caution: {CAUTION}",
        *_wetting_words(details),
        "",
        take_off_words(details.total),
        *build_words(details),
        *cost_words(details),
        "",
        "For a laboratory, where a window is checked under pressure:",
        *(f"  {clean(words, most=900)}" for words in details.laboratory.in_words),
        "",
        *(f"Doubt: {flag}" for flag in details.flags),
        "Caution: local codes and licensed practice decide; this schedule informs, it does not prove.",
    ]
    return "\n".join(lines)


def take_off_words(total: TakeOff) -> str:
    """The take-off of the whole building in a sentence.

    Examples
    --------
    >>> take_off_words(TakeOff("all", 54, None, 60, 12, None, None, 96, None, None, by_kind={"membrane": {"W1": 40.0, "W2": 20.0}}))
    'In all, waste included, from the foot of each layer up, at soil or paving, whichever takes more: membrane W1 40 m2, membrane W2 20 m2, tape 12 m, batten 96 m; openings are not listed, and what they take is not in it: tape is that of laps and top edge.'
    """
    parts = []
    for one in ITEMS:
        much = getattr(total, one.field)
        unit = "" if one.unit == "piece" else f" {one.unit}"
        for kind, share in (total.by_kind.get(one.name) or {"": much}).items():
            if share:
                name = f"{one.name if unit else one.head} {kind}".rstrip()
                parts.append(f"{name} {amount_words(share, decimals=one.decimals)}{unit}")
    behind = "; openings are not listed, and what they take is not in it" if total.openings is None else ""
    laps = ": tape is that of laps and top edge" if behind and total.tape else ""
    said = f"In all, waste included, {COUNTED_FROM}: {', '.join(parts)}{behind}{laps}."
    return " ".join(filter(None, [said, not_counted_words(total.not_counted)]))


def details_in_brief(details: "BuildingDetails", *, away: float | None = None) -> str:
    """What to build in about twenty lines: each elevation's level, figure and main amounts, worst first.

    Parameters
    ----------
    away
        How far the weather is from the house, told first where it is far. [km]
    """
    from exposure.assess.doubts import by_weight

    lines = [
        f"{clean(details.assessment.building.name)}: what to build, the hardest elevation first.",
        *far_words(away),
    ]
    for one in details.elevations:
        exposure, schedule, pressure = one.exposure, one.schedule, one.pressure
        figure = litres_with_band(exposure.wall_spell_index, exposure.spell_band)
        lines += [
            f"{clean(one.name)}: {schedule.axes}; {exposure.in_words}, {figure} "
            f"{exposure.spell_label}{', indicative' if exposure.indicative else ''}",
            f"  STOP: {schedule.specific_design}"
            if schedule.specific_design
            else f"  {_main_amounts(schedule)}",
            f"  windows of class {one.window.to_order} (EN 12208); wind in heavy rain {pascals(pressure.facing)} square "
            f"on, {pascals(pressure.facing_gust)} in gusts",
        ]
    many = len(details.flags)
    lines += [
        *_clad_first(details),
        *inside_words(details),
        *build_words(details),
        take_off_words(details.total),
        *cost_words(details),
        *(f"Doubt: {flag}" for flag in by_weight(details.flags)[:MOST_DOUBTS]),
    ]
    if many > MOST_DOUBTS:
        lines.append(
            f"{many - MOST_DOUBTS} more doubts, every line with its reason and the order of work: --full"
        )
    else:
        lines.append("Every line with its reason and the order of work: --full")
    lines.append(
        "Caution: local codes and licensed practice decide; this schedule informs, it does not prove."
    )
    return "\n".join(lines)


def build_words(details: "BuildingDetails") -> list[str]:
    """The one build of the house in a line, and in another what it takes more and which corners it joins."""
    said = [
        part for one in details.one_build for part in (one.in_words[0], " ".join(one.in_words[1:])) if part
    ]
    return [clean(words, most=900) for words in said]


def cost_words(details: "BuildingDetails") -> list[str]:
    """Cost of each level and of the next step on each elevation, and of one build, where prices were given."""
    from exposure.assess.costs import not_in_it

    costs = details.costs or ()
    said = [*(one.in_words for one in costs), *(one.in_words for one in details.build_costs)]
    without = [not_in_it(one.scheduled for one in costs)] if costs else []
    return [clean(words, most=1200) for words in (*said, *without)]


def inside_words(details: "BuildingDetails") -> list[str]:
    """The inside layer in a line, or one for each group of elevations that differ."""
    by_words: dict[str, list[str]] = {}
    for one in details.elevations:
        by_words.setdefault(one.inside.in_words, []).append(clean(one.name))
    if len(by_words) == 1:
        return list(by_words)
    return [f"{', '.join(names)}: {words}" for words, names in by_words.items()]


def _wetting_words(details: "BuildingDetails") -> list[str]:
    """Wetting and drying behind a membrane; of a house that has none, how its walls dry alone."""
    if not any(one.bare_wrap for one in details.elevations):
        return [details.drying]
    return [
        details.wetting.sentence,
        details.sensitivity_in_words,
        details.drying,
        f"Caution: {details.wetting.caution}",
    ]


def _main_amounts(schedule: "Schedule") -> str:
    """The few amounts one asks for first, as far as the schedule has them."""
    lines = {line.key: line for line in schedule.lines}

    def shown(key: str) -> str:
        return amount(lines[key].value, lines[key].unit)

    parts = []
    if {"lap_h", "lap_v"} <= lines.keys():
        parts.append(f"membrane laps {shown('lap_h')} level, {shown('lap_v')} upright")
    if "seam_tape" in lines:
        parts.append(f"tape: {lines['seam_tape'].value}")
    if {"back_dam", "end_dam"} <= lines.keys():
        parts.append(f"sill tray up {shown('back_dam')} at the back, {shown('end_dam')} at the ends")
    parts += [
        f"cavity {shown(key)} clear" if lines[key].value else "no cavity behind lapped boards"
        for key in ("cav_depth", "cav_render", "cav_mas")
        if key in lines
    ]
    return "; ".join(parts) or "see every line"


def _questions(one: "ElevationDetails", office_rules: "Sequence[Rule]") -> list[str]:
    """Questions of the chosen rules whose answer would change something here, each with the key that answers it."""
    from exposure.detail.schedule import questions_that_bear

    asked = []
    for rule in (*map(find_rule, one.circumstances.local_rules), *office_rules):
        table = rule.key if rule.key.isidentifier() else json.dumps(rule.key)
        asked += [
            f"  To answer, under [details.rule_answers.{table}]: {question.key} "
            f"({_answer_words(question)}): {question.question}"
            for question in questions_that_bear(rule, one.exposure, one.pressure, one.circumstances)
        ]
    return asked


def _answer_words(question: "Question") -> str:
    """How a question may be answered."""
    if question.choices:
        return f"one of {', '.join(question.choices)}"
    if question.kind == "number":
        return f"a number, {question.unit}" if question.unit else "a number"
    return "true or false"


def _elevation(one: "ElevationDetails", office_rules: "Sequence[Rule]") -> list[str]:
    from exposure.junction.catalogue import drawings_of
    from exposure.junction.numbers import numbers_of

    schedule, pressure = one.schedule, one.pressure
    lines = [
        f"{clean(one.name)}: {schedule.axes} ({one.exposure.in_words})",
        f"  Wind pressure in heavy rain {pressure.likelihood}: {pascals(pressure.facing)} square on "
        f"({head_words(pressure.facing)} of water), in gusts {pascals(pressure.facing_gust)} "
        f"({head_words(pressure.facing_gust)}); from any direction {pascals(pressure.any_direction)} "
        f"({pressure_band(pressure.any_direction_range)}).",
        f"  Windows: {one.window.in_words} (EN 12208).",
    ]
    if one.bare_wrap is not None:
        lines.append(f"  Bare membrane: {one.bare_wrap.in_words}")
    if schedule.specific_design:
        lines.append(f"  STOP: {schedule.specific_design}")
    for line in schedule.lines:
        lines.append(f"  {line.where}: {line.build}")
        lines.append(
            f"      {line.why} [{standing_words(line.standing)}: {without_standing(line.source)}]{f' {line.rule}' if line.rule else ''}"
        )
    lines += _steps("Look first:", schedule.look_first)
    for path in schedule.retrofit:
        lines += _steps(
            f"{path.name}: {path.verdict}".rstrip(": ") + ("" if path.verdict else ":"), path.steps
        )
    lines += _steps("In this order:", schedule.steps)
    numbers = numbers_of(schedule, one.circumstances, pressure)
    lines += [f"  {left.in_words()}" for left in drawings_of([(one.name, numbers)])[1]]
    lines += [f"  {rule.rule}: {rule.result} {' '.join(rule.taken)}".rstrip() for rule in schedule.rules]
    lines += _questions(one, office_rules)
    lines += [f"  Caution: {caution}" for caution in schedule.cautions]
    return lines


def _steps(head: str, steps: "Sequence[Step]") -> list[str]:
    """Steps under their heading, numbered; none without steps."""
    lines = [f"  {head}"] if steps else []
    for place, step in enumerate(steps, 1):
        lines.append(f"   {step.number or place:>2} {step.text}")
        lines += [f"      Record: {step.hold}"] if step.hold else []
        lines += [f"      Caution: {step.caution}"] if step.caution else []
    return lines
