"""``exposure details``: what to build on every elevation, with the water check, bare wrap, drying and take-off."""

import argparse
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from exposure.checks import RefusalError, check_between
from exposure.cli.building_command import BUILDING_READS, add_building_arguments, assess_from_arguments
from exposure.cli.details_words import details_in_brief, details_report
from exposure.cli.output import tell, write_text
from exposure.detail.rule_file import rule_names

if TYPE_CHECKING:
    from exposure.assess.details_parts import BuildingDetails
    from exposure.assess.from_files import Surveyed
    from exposure.detail.rule_file import Rule

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
    from exposure.detail.ways_to_build import LEAK_SHARE

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
