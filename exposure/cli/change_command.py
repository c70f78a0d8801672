"""``exposure change``: two results of a town, or of a grid, side by side; where the years hide a change, it says so."""

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from exposure.checks import RefusalError
from exposure.cli.output import make_folder, tell
from exposure.doubts import flags_of

if TYPE_CHECKING:
    import xarray as xr

READS = ("first", "second")
WRITES = {"out": ("change.csv", "change.gpkg", "change.nc", "change.html")}
TOWN, GRID = "district.gpkg", "index.zarr"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("first", help="folder of a result of district or map: the earlier period, or one run")
    parser.add_argument("second", help="the same of the later period, or another run")
    parser.add_argument("--out", required=True, metavar="FOLDER", help="where the difference goes")


def run(options: argparse.Namespace) -> None:
    """Compare and tell."""
    first, second = Path(options.first), Path(options.second)
    for held, compare in ((TOWN, _towns), (GRID, _grids)):
        if (first / held).exists() and (second / held).exists():
            out = make_folder(options.out)
            for line in compare(first / held, second / held, out):
                tell(line)
            return
    raise RefusalError(
        f"{first} and {second} hold no two results of one kind",
        "two folders that district wrote, or two that map wrote",
        "Name them.",
    )


def _towns(first: Path, second: Path, out: Path) -> list[str]:
    import geopandas

    from exposure.district.change import change_in_words, change_of_walls
    from exposure.export.district_files import write_change
    from exposure.in_place import filled_in_place
    from exposure.paper.change_page import change_html

    before, after = (geopandas.read_file(path, layer="walls") for path in (first, second))
    change = change_of_walls(before.drop(columns="geometry"), after.drop(columns="geometry"))
    lines = before.set_index(["building", "wall"])["geometry"]
    written = write_change(out, change, lines)
    page = change_html(change, *(_summary(path) for path in (first, second)))
    with filled_in_place(out / "change.html", ending=".html") as part:
        part.write_text(page, "utf-8", errors="replace")
    written.append(out / "change.html")
    return [
        *change_in_words(change),
        *(f"Doubt: {flag}" for flag in change.flags),
        f"Written  {', '.join(map(str, written))}",
    ]


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


def _grids(first: Path, second: Path, out: Path) -> list[str]:
    import xarray as xr

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
