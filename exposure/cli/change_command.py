"""``exposure change``: two results of a town, or of a grid, side by side; where years or members hide a change, it says so."""

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from exposure.checks import RefusalError
from exposure.cli.many_places import add_areas
from exposure.cli.output import make_folder, tell
from exposure.doubts import flags_of

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

    from exposure.district.members import Members

READS = ("first", "second", "areas")
WRITES = {"out": ("change.csv", "change_by_area.csv", "change.gpkg", "change.nc", "change.html")}
TOWN, GRID = "district.gpkg", "index.zarr"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("first", help="folder of a result of district or map: the earlier period, or one run")
    parser.add_argument("second", help="the same of the later period, or another run")
    parser.add_argument("--out", required=True, metavar="FOLDER", help="where the difference goes")
    add_areas(parser, "to mean the change of a town over")


def run(options: argparse.Namespace) -> None:
    """Compare and tell."""
    first, second = Path(options.first), Path(options.second)
    for held, compare in ((TOWN, _towns), (GRID, _grids)):
        if (first / held).exists() and (second / held).exists():
            out = make_folder(options.out)
            for line in compare(first / held, second / held, out, options):
                tell(line)
            return
    raise RefusalError(
        f"{first} and {second} hold no two results of one kind",
        "two folders that district wrote, or two that map wrote",
        "Name them.",
    )


def _towns(first: Path, second: Path, out: Path, options: argparse.Namespace) -> list[str]:
    import geopandas

    from exposure.district.change import change_by_area, change_in_words, change_of_walls
    from exposure.district.pieces import with_ends
    from exposure.district.shares import areas_told
    from exposure.export.district_files import write_change
    from exposure.in_place import filled_in_place
    from exposure.paper.change_page import change_html

    layers = [geopandas.read_file(path, layer="walls") for path in (first, second)]
    summaries = [_summary(path) for path in (first, second)]
    walls = [with_ends(one) for one in layers]
    before, after = (
        _members(path, one, told) for path, one, told in zip((first, second), walls, summaries, strict=True)
    )
    change = change_of_walls(*walls, members=(before, after))
    areas = areas_told(change.walls, file=options.areas, squares=options.squares)
    table = change_by_area(change, areas)
    written = write_change(out, change, table, areas)
    page = change_html(change, *summaries, table=table, flags=() if areas is None else areas.flags)
    with filled_in_place(out / "change.html", ending=".html") as part:
        part.write_text(page, "utf-8", errors="replace")
    written.append(out / "change.html")
    return [
        *change_in_words(change),
        *(f"Doubt: {flag}" for flag in change.flags),
        f"Written  {', '.join(map(str, written))}",
    ]


def _members(layers: Path, walls: "pd.DataFrame", told: dict[str, Any]) -> "Members | None":
    """The figures of each member, where the result is an ensemble's."""
    import pandas as pd

    from exposure.district.members import members_in
    from exposure.export.district_files import MEMBERS

    if not told.get("members"):
        return None
    path = layers.with_name(MEMBERS)
    try:
        text = {"member": str, "wall": str}
        table = pd.read_csv(path, dtype=text, keep_default_na=False)
        return members_in(table, walls)
    except (OSError, ValueError, KeyError) as error:
        raise RefusalError(
            f"{path} does not tell the members of the walls beside it",
            "the file that district wrote with them",
            "Run district again into that folder.",
        ) from error


def _summary(layers: Path) -> dict[str, Any]:
    """What holds for a whole result, as district wrote it beside its layers."""
    path = layers.with_name("district.json")
    try:
        found = json.loads(path.read_text("utf-8"))
    except (OSError, ValueError, RecursionError):
        found = None
    if not isinstance(found, dict) or not {"records", "doubts_of_all", "footprints"} <= set(found):
        raise RefusalError(
            f"{path} does not tell the sources of the walls beside it",
            "the file that district wrote with them",
            "Run district again into that folder.",
        )
    return found


def _grids(first: Path, second: Path, out: Path, options: argparse.Namespace) -> list[str]:
    import xarray as xr

    if options.areas or options.squares is not None:
        raise RefusalError(
            "areas to sum over with two grids", "two towns", "Leave them out: a grid tells each cell."
        )

    from exposure.in_place import filled_in_place
    from exposure.map.change_map import draw_change_map
    from exposure.map.region_map import write_region_map
    from exposure.region.change import index_change

    with xr.open_zarr(first, chunks=None) as before, xr.open_zarr(second, chunks=None) as after:
        change = index_change(before, after)
    told = change.assign_attrs(flags=[str(flag) for flag in flags_of(change.attrs)])
    with filled_in_place(out / "change.nc", ending=".nc") as part:
        told.to_netcdf(part)
    written = [str(out / "change.nc")]
    try:
        page = draw_change_map(change, title="Change of driving rain")
        written.append(str(write_region_map(out / "change.html", page)))
    except RefusalError as refusal:
        written.append(f"no HTML map: {refusal}")
    return [
        *_grid_lines(change),
        *(f"Doubt: {flag}" for flag in flags_of(change.attrs)),
        f"Written  {', '.join(written)}",
    ]


def _grid_lines(change: "xr.Dataset") -> list[str]:
    known = change["spell_change"].notnull()
    total = max(int(known.sum()), 1)
    more, less = (int((change["spell_clear"] == way).sum()) / total for way in (1, -1))
    return [
        f"Worst spells rise clearly in {more:.0%} of {total:,} cells and facings and fall clearly in {less:.0%}; in "
        f"{1 - more - less:.0%} the spread hides any change.",
        f"First: {change.attrs['first']}. Second: {change.attrs['second']}.",
    ]
