"""``exposure sheets``: sheets, file for the site, drawings, tables and layers of one building, in a folder."""

import argparse
from typing import TYPE_CHECKING

from exposure.cli.details_command import READS as DETAILS_READS
from exposure.cli.details_command import add_details_arguments, details_from_arguments
from exposure.cli.details_words import build_words, cost_words
from exposure.cli.output import far_words, make_folder, tell
from exposure.draw.lettering import clean

if TYPE_CHECKING:
    from exposure.assess.details_parts import BuildingDetails
    from exposure.paper.building_folder import Written

READS = DETAILS_READS
WRITES = {
    "out": (
        "index.html", "sheets.html", "sheets.pdf", "annex.html", "site.html", "schedule.csv", "take_off.csv", "details.json", "register.json",
        "invented_schedule.csv", "invented_take_off.csv",
        "costs.csv", "invented_costs.csv",
        "exposure.json", "building.gpkg", "drawings/",
    )
}  # fmt: skip


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    add_details_arguments(parser)
    parser.add_argument("--out", metavar="FOLDER", required=True, help="where the files go")


def run(options: argparse.Namespace) -> None:
    """Compute, write and tell."""
    from exposure.paper.building_folder import write_building_folder

    folder = make_folder(options.out)
    asked = details_from_arguments(options)
    written = write_building_folder(folder, asked.details, asked.surveyed)
    tell("\n".join([*far_words(asked.away), sheets_report(asked.details, written)]))
    tell(f"\nWritten to {folder}: open index.html.")


def sheets_report(details: "BuildingDetails", written: "Written") -> str:
    """What was written, as lines for a reader."""
    worst = details.assessment.worst
    names = [path.name for path in written.files if path.parent.name != "drawings"]
    lines = [
        f"Worst: the {clean(worst.wall.name)} elevation, {worst.in_words}.",
        f"Files: {', '.join(names)}; {len(written.drawings)} drawings, each as picture and for CAD.",
        *build_words(details),
        *cost_words(details),
        *(f"Doubt: {flag}" for flag in details.flags),
        *(f"Not drawn: {one.title}: {one.why}." for one in written.left_out),
        "Caution: local codes and licensed practice decide; these files inform, they do not prove.",
    ]
    return "\n".join(lines)
