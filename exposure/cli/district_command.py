"""``exposure district``: every wall of every building of a file, each with its index, band, class and level."""

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from exposure.checks import RefusalError
from exposure.cli.many_places import (
    add_areas,
    add_rasters,
    add_work_arguments,
    progress_line,
    workers_and_folder,
)
from exposure.cli.output import make_folder, tell
from exposure.cli.weather_arguments import weather_of_places

if TYPE_CHECKING:  # what reads footprints is loaded only when the command runs
    from exposure.district import District

LEFT_OUT = 3  # exit code: done, but buildings were left out
MOST_LINES = 15  # of the worst buildings on the screen
MOST_LEFT_OUT = 10  # buildings left out there; the file holds all
READS = ("footprints", "climate", "ground", "cover", "areas", "heights", "scale_with")
WRITES = {
    "out": (
        "walls.csv", "buildings.csv", "left_out.csv", "district.json", "district.gpkg", "district.html", "shares.csv", "shares.html", "walls.parquet",
        "buildings.parquet", "members.csv",
    )
}  # fmt: skip


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument(
        "footprints",
        metavar="FOOTPRINTS",
        help="GeoPackage or GeoJSON with polygons of buildings; properties height [m] or storeys, and where known roof, "
        "gables, ridge_height, pitch, eaves [mm], terrain, name",
    )
    parser.add_argument(
        "--climate",
        metavar="SOURCE",
        required=True,
        help="hourly wind and rain: a grid (each building its nearest cell; of an ensemble every member, or one by --where), one record for all, or 'invented' for the "
        "invented place",
    )
    parser.add_argument("--out", metavar="FOLDER", required=True, help="where tables, layers and the map go")
    parser.add_argument(
        "--height-column", metavar="NAME", help="property that holds the height, where it has another name"
    )
    parser.add_argument(
        "--heights", metavar="RASTER", help="heights above the ground in metres, for buildings that tell none"
    )
    parser.add_argument(
        "--default-height",
        type=float,
        metavar="M",
        help="height of buildings that tell none, in metres; without it they are left out",
    )
    parser.add_argument(
        "--weight-column",
        metavar="NAME",
        help="property with a number, such as dwellings, by which buildings are summed too, by their worst wall's class",
    )
    parser.add_argument(
        "--terrain",
        choices=("I", "II", "III", "IV"),
        help="terrain category all round buildings that tell none, where no land cover is given",
    )
    add_rasters(parser)
    add_areas(parser, "to sum the walls over by class")
    add_work_arguments(parser)
    parser.add_argument("--dask", metavar="ADDRESS", help="work on a running Dask scheduler")


def run(options: argparse.Namespace) -> int:
    """Compute, write and tell; 3 when buildings were left out."""
    from exposure.district import assess_district
    from exposure.district.shares import areas_told, read_areas, shares_of
    from exposure.draw.lettering import clean
    from exposure.export.district_files import write_district
    from exposure.invented.place import cache_folder
    from exposure.map.district_map import draw_district_map
    from exposure.map.region_map import write_region_map
    from exposure.paper.district_page import answer, shares_html

    workers, out = workers_and_folder(options)
    if options.terrain and options.cover:
        raise RefusalError(
            "--terrain with --cover", "one of the two", "Leave --terrain out: the raster tells the ground."
        )
    make_folder(out)
    weather, ground, cover = weather_of_places(options, own_records=False)
    assert weather is not None  # the option is required
    if options.areas:
        read_areas(options.areas)  # refused before the work
    with progress_line("district") as progress:
        district = assess_district(
            options.footprints,
            weather,
            height_column=options.height_column,
            heights=options.heights,
            default_height=options.default_height,
            weight_column=options.weight_column,
            terrain=options.terrain,
            ground=ground,
            cover=None if options.terrain else cover,
            wet_hour=options.wet_hour,
            tell=progress,
            workers=workers,
            dask=options.dask,
            keep=None if options.afresh else cache_folder() / "districts",
        )
        progress(0.98, "Writing.")
        shares = shares_of(district, areas_told(district.walls, file=options.areas, squares=options.squares))
        title = f"Driving rain on the walls of {Path(options.footprints).stem}"
        written = [
            *write_district(out, district, shares),
            write_region_map(out / "district.html", draw_district_map(district, shares, title=title)),
            write_region_map(out / "shares.html", shares_html(district, shares, title=title)),
        ]
    tell(district_report(district))
    tell(f"Shares   {clean(answer(shares), most=600)}")
    if not any(path.suffix == ".parquet" for path in written):
        tell("No GeoParquet was written: pyarrow is not installed.")
    tell(f"Written  {', '.join(str(path) for path in written)}")
    return LEFT_OUT if district.left_out else 0


def district_report(district: "District") -> str:
    """The town as lines for a reader: walls by class, the buildings hit hardest, doubts."""
    from exposure.draw.lettering import clean
    from exposure.export.ranked_files import DECIDE
    from exposure.figures import NO_BREAK
    from exposure.paper.district_page import hardest_hit
    from exposure.wall.classes import class_names

    walls, buildings = district.walls, district.buildings
    lines = [
        f"{clean(district.source)}: {len(buildings):,} buildings, {len(walls):,} walls, {walls['length'].sum():,.0f} m.",
        "",
        f"{'class':<14}{'walls':>9}{'length m':>12}{'share':>8}",
    ]
    for name in class_names():
        mine = walls[walls["class"] == name]
        share = mine["length"].sum() / walls["length"].sum()
        lines.append(f"{name:<14}{len(mine):>9,}{mine['length'].sum():>12,.0f}{share:>8.1%}")
    lines += ["", f"{'building':<30}{'worst wall':<22}{'worst spell L/m2':>20}  class"]
    for name, facing, figures, words in hardest_hit(district, most=MOST_LINES):
        lines.append(f"{clean(name, most=28):<30}{facing:<22}{figures.replace(NO_BREAK, ' '):>20}  {words}")
    if len(buildings) > MOST_LINES:
        lines.append(f"... and {len(buildings) - MOST_LINES:,} more in the files")
    lines.append("")
    told = dict.fromkeys(_record_line(record) for record in district.records)
    lines += list(told)[:3]
    if len(told) > 3:
        lines.append(f"... and {len(told) - 3:,} more weather cells")
    lines += [f"Doubt: {flag}" for flag in district.flags]
    lines += [
        f"Left out: building {one.row}, {clean(one.name, most=60)}: {clean(one.reason, most=400)}"
        for one in district.left_out[:MOST_LEFT_OUT]
    ]
    if len(district.left_out) > MOST_LEFT_OUT:
        lines.append(f"... and {len(district.left_out) - MOST_LEFT_OUT:,} more left out, in left_out.csv")
    return "\n".join([*lines, f"Caution: {DECIDE}"])


def _record_line(record: Mapping[str, Any]) -> str:
    from exposure.draw.lettering import clean

    years = record["years"]
    return (
        f"Record   {clean(record['source'], most=300)}; years {years[0]} to {years[-1]}, {len(years)} count; hours from "
        f"{record['wet_hour_mm']:g} mm; licence {clean(record['licence'], most=200)}"
    )
