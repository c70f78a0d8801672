"""``exposure details``: what to build on every elevation, with the water check, bare wrap, drying and take-off."""

import argparse
import json
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from exposure.checks import RefusalError, check_between
from exposure.cli.building_command import BUILDING_READS, add_building_arguments, assess_from_arguments
from exposure.cli.output import far_words, tell, write_text
from exposure.detail.inside_layer import CAUTION
from exposure.detail.materials import ITEMS, not_counted_words
from exposure.detail.rule_file import find_rule, rule_names
from exposure.detail.take_off import COUNTED_FROM, TakeOff, amount_words
from exposure.draw.lettering import clean
from exposure.figures import amount, litres_with_band, pascals, pressure_band
from exposure.rain.wind_pressure import head_words
from exposure.tables.standing import standing_words, without_standing
from exposure.wall.name_list import in_turn

if TYPE_CHECKING:
    from exposure.assess.details_parts import BuildingDetails, ElevationDetails
    from exposure.assess.from_files import Surveyed
    from exposure.detail.question import Question
    from exposure.detail.rule_file import Rule
    from exposure.detail.schedule_parts import Schedule, Step

MOST_DOUBTS = 4  # told without --full; the rest is counted
LARGEST_TEXT = 4_000_000  # bytes of a rule file or an openings list
READS = (*BUILDING_READS, "openings", "rule", "prices")
WRITES: dict[str, tuple[str, ...]] = {"json": (), "csv": (), "take_off": ()}


def add_details_arguments(parser: argparse.ArgumentParser) -> None:
    """What names a building, its weather and what is known of its details; read by :func:`details_from_arguments`."""
    add_building_arguments(parser)
    group = parser.add_argument_group("about the details")
    group.add_argument(
        "--openings",
        metavar="FILE",
        help="windows and doors as CSV: elevation,width,height,count, sizes in mm; without it those of a model (IFC)",
    )
    group.add_argument(
        "--rule", metavar="FILE", action="append", default=[], help="a rule file of your office (TOML)"
    )
    group.add_argument(
        "--prices", metavar="FILE", help="your office's prices as CSV: item,unit,price,currency"
    )
    group.add_argument(
        "--one-build", action="store_true", help="build every elevation as the hardest one, not wall by wall"
    )
    group.add_argument(
        "--rating", type=float, metavar="PA", help="pressure the windows were tested to, in Pa"
    )
    group.add_argument(
        "--bare-from", metavar="MM-DD", help="day the membrane goes up (default: the last week of September)"
    )
    group.add_argument(
        "--bare-weeks", type=int, metavar="N", help="weeks between membrane and cladding (default 6)"
    )
    group.add_argument(
        "--leak",
        type=float,
        metavar="SHARE",
        help="share of the rain on the wall that gets behind the cladding (default 0.01)",
    )
    known = "; ".join(f"{key} ({name})" for key, name in rule_names().items())
    parser.epilog = (
        f'Local rules are chosen in the building\'s file, under [details]: local_rules = ["canada"]. There are: '
        f"{known}. Their questions are answered under [details.rule_answers.canada]; --full shows each question with "
        "its key."
    )


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    add_details_arguments(parser)
    parser.add_argument(
        "--json", metavar="FILE|-", help="write everything as JSON, to a file or to the screen (-)"
    )
    parser.add_argument("--csv", metavar="FILE|-", help="write the schedules as a table")
    parser.add_argument("--take-off", metavar="FILE|-", help="write the take-off as a table")
    parser.add_argument(
        "--full",
        action="store_true",
        help="print every line with its reason and source, and the order of work",
    )


class Asked(NamedTuple):
    """What the arguments asked for, worked out."""

    details: "BuildingDetails"
    surveyed: "Surveyed"
    rules: "list[Rule]"
    away: float | None  # km from the building to its weather, where known


def details_from_arguments(options: argparse.Namespace) -> Asked:
    """Details of the building that ``options`` name, its survey, the office rules and how far its weather is.

    Raises
    ------
    RefusalError
        For any input that would make the answer wrong.
    """
    from exposure.assess.details import DEFAULT_START, DEFAULT_WEEKS, detail_building
    from exposure.assess.doubts import place_of_record
    from exposure.assess.openings import openings_of_model
    from exposure.assess.prices import read_prices
    from exposure.detail.openings import read_openings
    from exposure.detail.rule_file import read_rule_text
    from exposure.detail.wetting import LEAK_SHARE

    rules = [read_rule_text(_text(path), name=Path(path).name) for path in options.rule]
    listed = read_openings(_text(options.openings)) if options.openings else None
    prices = read_prices(_text(options.prices)) if options.prices else None
    if options.rating is not None:
        check_between(options.rating, "the rating of the windows", 0, 5000, "Pa")
    start = DEFAULT_START if options.bare_from is None else week_of(options.bare_from)
    assessment, surveyed, climate = assess_from_arguments(options)
    openings = listed
    if listed is None:
        openings = openings_of_model(surveyed.words, surveyed.building.walls, surveyed.place.plane)
    details = detail_building(
        assessment,
        climate,
        openings=openings or (),
        office_rules=rules,
        rating=options.rating,
        bare_start=start,
        bare_weeks=DEFAULT_WEEKS if options.bare_weeks is None else options.bare_weeks,
        leak_share=LEAK_SHARE if options.leak is None else options.leak,
        prices=prices,
        as_one=options.one_build,
    )
    return Asked(details, surveyed, rules, place_of_record(climate, surveyed.site)[0])


def run(options: argparse.Namespace) -> None:
    """Compute and tell."""
    from exposure.export.details_files import details_csv, details_json, take_off_csv

    details, _, rules, away = details_from_arguments(options)
    outputs = (
        (options.json, details_json),
        (options.csv, details_csv),
        (options.take_off, take_off_csv),
    )
    to_screen = [target for target, _ in outputs if target == "-"]
    if len(to_screen) > 1:
        raise RefusalError(
            "more than one output goes to the screen", "one of --json, --csv, --take-off", "Name files."
        )
    for target, write in outputs:
        if target:
            write_text(target, write(details))
    if not to_screen:
        tell(details_report(details, rules) if options.full else details_in_brief(details, away=away))


def week_of(text: str) -> int:
    """Week of the year of a day, 0 to 51.

    Examples
    --------
    >>> week_of("01-01"), week_of("09-24"), week_of("12-31")
    (0, 38, 51)
    """
    try:
        day = date.fromisoformat(f"2001-{text}")
    except ValueError:
        raise RefusalError(
            f"--bare-from is {text[:40]!r}", "month and day, such as 09-24", "Correct it."
        ) from None
    return min((day.timetuple().tm_yday - 1) // 7, 51)


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
    'In all, waste included, from the lowest cladding up, at soil or paving, whichever takes more: membrane W1 40 m2, membrane W2 20 m2, tape 12 m, batten 96 m; openings are not listed, and what they take is not in it: tape is that of laps and top edge.'
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


def _text(path: str) -> str:
    try:
        with Path(path).open("rb") as file:
            raw = file.read(LARGEST_TEXT + 1)
    except OSError as error:
        raise RefusalError(
            f"{path} cannot be read ({error.strerror})", "a file you may read", "Correct the name."
        ) from None
    if len(raw) > LARGEST_TEXT:
        raise RefusalError(
            f"{path} is larger than {LARGEST_TEXT:,} bytes", "a small text file", "Shorten it."
        )
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise RefusalError(f"{path} is no UTF-8 text", "a text file in UTF-8", "Save it as UTF-8.") from None
