"""``exposure details``: what to build on every elevation, with the water check, bare wrap, drying and take-off."""

import argparse
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from exposure.checks import RefusalError, check_between
from exposure.cli.building_command import BUILDING_READS, add_building_arguments, assess_from_arguments
from exposure.cli.output import tell, write_text
from exposure.draw.lettering import clean
from exposure.tables.standing import standing_words, without_standing
from exposure.wall.name_list import in_turn

if TYPE_CHECKING:
    from exposure.assess.details import BuildingDetails, ElevationDetails

LARGEST_TEXT = 4_000_000  # bytes of a rule file or an openings list
READS = (*BUILDING_READS, "openings", "rule")
WRITES: dict[str, tuple[str, ...]] = {"json": (), "csv": (), "take_off": ()}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    add_building_arguments(parser)
    group = parser.add_argument_group("about the details")
    group.add_argument(
        "--openings", metavar="FILE", help="windows and doors as CSV: elevation,width,height,count (mm)"
    )
    group.add_argument(
        "--rule", metavar="FILE", action="append", default=[], help="a rule file of your office (TOML)"
    )
    group.add_argument("--rating", type=float, metavar="PA", help="pressure the windows were tested to")
    group.add_argument(
        "--bare-from", metavar="MM-DD", help="day the membrane goes up (default: the last week of September)"
    )
    group.add_argument(
        "--bare-weeks", type=int, metavar="N", help="weeks between membrane and cladding (default 6)"
    )
    group.add_argument(
        "--leak", type=float, metavar="SHARE", help="share of the rain on the wall that leaks (0.01)"
    )
    parser.add_argument(
        "--json", metavar="FILE|-", help="write everything as JSON, to a file or to the screen (-)"
    )
    parser.add_argument("--csv", metavar="FILE|-", help="write the schedules as a table")
    parser.add_argument("--take-off", metavar="FILE|-", help="write the take-off as a table")


def run(options: argparse.Namespace) -> None:
    """Compute and tell."""
    from exposure.assess.details import DEFAULT_START, DEFAULT_WEEKS, detail_building
    from exposure.assess.details_export import details_csv, details_json, take_off_csv
    from exposure.detail.openings import read_openings
    from exposure.detail.rule_file import read_rule_text
    from exposure.detail.wetting import LEAK_SHARE

    rules = [read_rule_text(_text(path), name=Path(path).name) for path in options.rule]
    openings = read_openings(_text(options.openings)) if options.openings else ()
    if options.rating is not None:
        check_between(options.rating, "the rating of the windows", 0, 5000, "Pa")
    start = DEFAULT_START if options.bare_from is None else week_of(options.bare_from)
    assessment, _, climate = assess_from_arguments(options)
    details = detail_building(
        assessment,
        climate,
        openings=openings,
        office_rules=rules,
        rating=options.rating,
        bare_start=start,
        bare_weeks=DEFAULT_WEEKS if options.bare_weeks is None else options.bare_weeks,
        leak_share=LEAK_SHARE if options.leak is None else options.leak,
    )
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
        tell(details_report(details))


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


def details_report(details: "BuildingDetails") -> str:
    """The details as lines for a reader, worst elevation first."""
    name = clean(details.assessment.building.name)
    lines = [f"{name}: what to build, the hardest elevation first.", ""]
    for one in details.elevations:
        lines += [*_elevation(one), ""]
    lines += [
        f"Clad first: {in_turn([clean(wall) for wall in details.clad_first])}.",
        details.wetting.sentence,
        details.sensitivity_in_words,
        details.drying,
        f"Caution: {details.wetting.caution}",
        "",
        f"In all: membrane {details.total.membrane:.0f} m2, tape {details.total.tape:.0f} m, "
        f"sill trays {details.total.sill_tray:.1f} m, head flashings {details.total.head_flashing:.1f} m, "
        f"battens {details.total.batten:.0f} m, waste included.",
        "",
        *(f"Doubt: {flag}" for flag in details.flags),
        "Caution: local codes and licensed practice decide; this schedule informs, it does not prove.",
    ]
    return "\n".join(lines)


def _elevation(one: "ElevationDetails") -> list[str]:
    schedule, pressure = one.schedule, one.pressure
    lines = [
        f"{clean(one.name)}: level {schedule.level}, {schedule.level_name} "
        f"(wetness {schedule.wetness_level}, pressure {schedule.pressure_level}; {one.exposure.in_words})",
        f"  Driving-rain wind pressure once in five years: {pressure.facing:.0f} Pa square on "
        f"({pressure.facing_head:.0f} mm of water), in gusts {pressure.facing_gust:.0f} Pa "
        f"({pressure.facing_gust_head:.0f} mm); from any direction {pressure.any_direction:.0f} Pa.",
        f"  Windows: class {one.window.to_order} of EN 12208, never below {one.window.never_below}.",
        f"  Bare membrane: {one.bare_wrap.in_words}",
    ]
    if schedule.specific_design:
        lines.append(f"  STOP: {schedule.specific_design}")
    for line in schedule.lines:
        lines.append(f"  {line.where}: {line.build}")
        lines.append(
            f"      {line.why} [{standing_words(line.standing)}: {without_standing(line.source)}]{f' {line.rule}' if line.rule else ''}"
        )
    if schedule.steps:
        lines.append("  In this order:")
        for number, step in enumerate(schedule.steps, 1):
            lines.append(f"   {number:>2} {step.text}")
            lines += [f"      Record: {step.hold}"] if step.hold else []
            lines += [f"      Caution: {step.caution}"] if step.caution else []
    lines += [f"  {rule.rule}: {rule.result} {' '.join(rule.taken)}".rstrip() for rule in schedule.rules]
    lines += [f"  Caution: {caution}" for caution in schedule.cautions]
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
