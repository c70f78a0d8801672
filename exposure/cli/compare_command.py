"""``exposure compare``: a list of sites ranked by what one stated wall would get on each."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from exposure.checks import RefusalError
from exposure.cli.many_places import add_rasters, add_work_arguments, progress_line, workers_and_folder
from exposure.cli.output import tell
from exposure.cli.source_arguments import (
    told_of_records,
)
from exposure.cli.weather_arguments import weather_of_places

if TYPE_CHECKING:  # what reads rasters is loaded only when the command runs
    from exposure.assess.compare_sites import Comparison

LEFT_OUT = 3  # exit code: done, but rows of the list were left out
MOST_LINES = 20  # of the ranking on the screen
MOST_NOTES = 8  # doubts about single places there, those of the hardest hit first
READS = ("sites", "climate", "ground", "cover", "neighbours", "scale_with")
WRITES = {"out": ("comparison.csv", "comparison.json", "comparison.html", "comparison.gpkg", "left_out.csv")}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    from exposure.wall.building import wall_shapes

    parser.add_argument(
        "sites",
        metavar="SITES",
        help="CSV with name, latitude, longitude and, where wished, terrain (I to IV, one or twelve from north "
        "clockwise), ground_height [m], wall and record (path of the site's own weather, from the list's folder); or "
        "GeoJSON of points",
    )
    parser.add_argument(
        "--climate",
        metavar="SOURCE",
        help="hourly wind and rain of the sites that name no record of their own: a grid (each site its nearest cell), "
        "one record for all, or 'invented' for the invented place",
    )
    parser.add_argument("--out", metavar="FOLDER", required=True, help="where the ranking goes")
    parser.add_argument(
        "--wall",
        default="two-storey gable",
        choices=wall_shapes(),
        metavar="SHAPE",
        help=f"wall put on every site: {', '.join(wall_shapes())} (default: two-storey gable)",
    )
    add_rasters(parser)
    parser.add_argument(
        "--neighbours",
        metavar="FILE",
        help="footprints around the sites as GeoPackage or GeoJSON; without it the wall stands in the open",
    )
    add_work_arguments(parser)


def run(options: argparse.Namespace) -> int:
    """Compute, write and tell; 3 when rows were left out."""
    from exposure.assess.compare_sites import compare_sites
    from exposure.assess.reference_wall import reference_wall
    from exposure.invented.place import cache_folder
    from exposure.paper.ranked_folder import write_ranked_folder
    from exposure.site.site_list import read_site_list
    from exposure.wall.building import wall_shapes

    workers, out = workers_and_folder(options)
    listed = read_site_list(options.sites, shapes=wall_shapes(), beside=_folder_of(options.sites))
    own = any(one.record is not None for one in listed.sites)
    written_to = {(out / name).resolve() for name in WRITES["out"]}
    for one in listed.sites:
        if one.record is not None and Path(one.record).resolve() in written_to:
            raise RefusalError(
                f"the record of row {one.row} would be overwritten by the comparison",
                "a folder of its own",
                "Choose another folder.",
                parameter="out",
            )
    weather, ground, cover = weather_of_places(options, own_records=own)
    with progress_line("comparing") as progress:
        comparison = compare_sites(
            listed,
            weather,
            wall=reference_wall(options.wall),
            told=told_of_records(options) if own else None,
            ground=ground,
            cover=cover,
            neighbours=options.neighbours,
            wet_hour=options.wet_hour,
            tell=progress,
            workers=workers,
            keep=None if options.afresh else cache_folder() / "compared",
        )
    written = write_ranked_folder(out, comparison)
    tell(comparison_report(comparison))
    tell(f"Written  {', '.join(str(path) for path in written)}")
    return LEFT_OUT if comparison.left_out else 0


def _folder_of(sites: str) -> Path:
    """Where the paths in a list start from."""
    return Path(sites.removeprefix("file://")).parent


def comparison_report(comparison: "Comparison") -> str:
    """The ranking as lines for a reader."""
    from exposure.draw.comparison_words import list_sentence
    from exposure.draw.lettering import clean
    from exposure.export.ranked_files import CAUTION, DECIDE, RANK_NOTE
    from exposure.figures import NO_BREAK, litres_with_band, share_words
    from exposure.paper.place_doubts import place_notes
    from exposure.wall.building import compass_name

    lines = [
        list_sentence(comparison.ranked),
        f"Wall     {comparison.wall.in_words}, on every site, at its hardest facing",
        "",
        f"{'rank':<14}{'place':<30}{'worst spell L/m2':>20} {'facing':<11}{'keeps rank':<12} class",
    ]
    for one in comparison.ranked[:MOST_LINES]:
        figures = litres_with_band(one.site.value, one.site.band, unit=False).replace(NO_BREAK, " ")
        kept = "not known" if one.kept is None else share_words(one.kept)
        lines.append(
            f"{one.rank_in_words:<14}{clean(one.name, most=28):<30}{figures:>20} "
            f"{compass_name(one.site.worst.wall.orientation):<11}{kept:<12} {one.site.worst.in_words}"
        )
    if len(comparison.ranked) > MOST_LINES:
        lines.append(f"... and {len(comparison.ranked) - MOST_LINES:,} more in the files")
    lines += ["", RANK_NOTE]
    lines += [f"Note: {note}" for note in comparison.notes]
    lines += [f"Doubt: {flag}" for flag in comparison.flags]
    told, _ = place_notes(comparison.ranked, comparison.flags)
    lines += [f"Doubt about {note.words}" for note in told[:MOST_NOTES]]
    if len(told) > MOST_NOTES:
        lines.append(f"... and {len(told) - MOST_NOTES:,} more doubts about single places in the files")
    lines += [
        f"Left out: row {one.row}{f', {clean(one.name, most=60)}' if one.name else ''}: {clean(one.reason, most=400)}"
        for one in comparison.left_out
    ]
    return "\n".join([*lines, f"Caution: {CAUTION} {DECIDE}"])
