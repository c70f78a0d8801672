"""``exposure map``: the airfield index of a whole climate grid, written as a Dataset, GeoTIFFs and a map."""

import argparse
import json
import re
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.cli.output import for_the_screen, tell, write_text
from exposure.cli.source_arguments import add_wet_hour
from exposure.climate.request import STAMPS, kind_of, pairs_of
from exposure.doubts import flags_of

if TYPE_CHECKING:
    from exposure.site.site_list import ListedSite

FOR_CONTOURS = ("geopandas", "contourpy")  # packages without which no lines are written
READS = ("grid", "sector_weights", "places")
WRITES = {
    "json": (),
    "out": (
        "index.zarr/",
        "work/",
        "index.nc",
        "map.html",
        "contours.gpkg",
        "worst_spell_index.tif",
        "worst_annual_index.tif",
    ),
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument(
        "grid",
        help="a Zarr store (or its address), a NetCDF file, a folder of NetCDF files along time or of one variable a "
        "file, a pattern with *; or 'invented' for the invented place",
    )
    parser.add_argument("--out", required=True, metavar="FOLDER", help="where the result and its work go")
    parser.add_argument(
        "--orientations",
        type=int,
        default=36,
        metavar="N",
        help="walls round the compass, a multiple of 4 (36)",
    )
    add_wet_hour(parser)
    parser.add_argument(
        "--bbox",
        type=float,
        nargs=4,
        metavar=("WEST", "SOUTH", "EAST", "NORTH"),
        help="only cells centred inside, in degrees; west greater than east crosses 180",
    )
    parser.add_argument("--years", metavar="FIRST-LAST", help="only these years, e.g. 1991-2020")
    parser.add_argument(
        "--sector-weights",
        metavar="FILE",
        help="NetCDF or Zarr with one variable along latitude, longitude, terrain_sector (12): ground by direction",
    )
    parser.add_argument(
        "--places", metavar="LIST", help="places to mark on the map: CSV or GeoJSON as for compare"
    )
    parser.add_argument("--columns", metavar="TERM=NAME [unit],...", help="variables of a foreign grid")
    parser.add_argument(
        "--rain-rule", metavar="RULE", help="rain of the grid: 'hour', 'since 00 UTC' or 'rate'"
    )
    parser.add_argument(
        "--where",
        action="append",
        metavar="DIMENSION=NAME",
        help="of an ensemble one member alone, e.g. number=3",
    )
    parser.add_argument(
        "--stamp", choices=STAMPS, help="whether a stamp is the end (default) or start of its hour"
    )
    parser.add_argument(
        "--kind", type=kind_of, metavar="KIND", help="kind of record, where the grid does not tell it"
    )
    parser.add_argument("--title", metavar="TEXT", help="what the grid is called on map and result")
    parser.add_argument("--licence", metavar="TEXT", help="its licence, where the grid does not name it")
    parser.add_argument(
        "--update", action="store_true", help="add hours that follow those of a finished result"
    )
    parser.add_argument("--netcdf", action="store_true", help="write index.nc too")
    parser.add_argument("--threads", type=int, metavar="N", help="own threads (one a processor)")
    parser.add_argument("--dask", metavar="ADDRESS", help="work on a running Dask scheduler")
    parser.add_argument(
        "--json", metavar="FILE|-", help="write a summary as JSON, to a file or the screen (-)"
    )


def run(options: argparse.Namespace) -> None:
    """Compute and tell."""
    from exposure.map.region_map import draw_region_map, write_region_map
    from exposure.region.members import index_members, members_of
    from exposure.region.region_index import index_region

    address, places = options.grid, _places_of(options.places)
    coast = None
    if options.grid == "invented" and not Path(options.grid).exists():
        from exposure.invented import invented_place

        place = invented_place()
        address, coast = place.climate, json.loads(place.coast.read_text("utf-8"))
    weight = None
    if options.sector_weights:
        weight = read_sector_weights(options.sector_weights)
    if options.threads is not None and not 1 <= options.threads <= 1024:
        raise RefusalError(f"{options.threads} threads", "1 to 1024", "Correct --threads.")
    folder = Path(options.out)
    where = pairs_of(",".join(options.where or ()) or None, "--where")
    settings: dict[str, Any] = {"where": where} if where else {}
    store = (index_region if where or members_of(address) is None else index_members)(
        address,
        folder,
        orientations=options.orientations,
        wet_hour=options.wet_hour,
        bbox=None if options.bbox is None else tuple(options.bbox),
        years=read_years(options.years),
        sector_weight=weight,
        columns=pairs_of(options.columns, "--columns"),
        rain_rule=options.rain_rule,
        stamp=options.stamp,
        told={
            name: getattr(options, name) for name in ("kind", "title", "licence") if getattr(options, name)
        },
        update=options.update,
        threads=options.threads,
        dask=options.dask,
        netcdf=options.netcdf,
        **settings,
    )
    with xr.open_zarr(store, chunks=None) as index:
        written = [store, *sorted(folder.glob("worst_*.tif"))]
        if options.netcdf:
            written.append(folder / "index.nc")
        if min(index.sizes["latitude"], index.sizes["longitude"]) > 1 and all(map(find_spec, FOR_CONTOURS)):
            from exposure.export.contour_files import write_contours

            written.append(write_contours(folder, index))
        try:
            page = draw_region_map(
                index,
                title=f"Driving rain of {options.title or Path(str(address)).name}",
                places=places,
                coast=coast,
            )
            written.append(write_region_map(folder / "map.html", page))
            note = None
        except RefusalError as refusal:
            note = f"No HTML map: {refusal}"
        summary = map_summary(index, [str(path) for path in written], note)
    if options.json:
        write_text(options.json, json.dumps(summary, indent=1, allow_nan=False) + "\n")
    if options.json != "-":
        tell(map_report(summary))


def _places_of(path: str | None) -> "tuple[ListedSite, ...]":
    """The places of a list; rows that cannot be used are told."""
    if path is None:
        return ()
    from exposure.site.site_list import read_site_list
    from exposure.wall.building import wall_shapes

    listed = read_site_list(path, shapes=wall_shapes())
    for one in listed.left_out:
        print(f"Left out: row {one.row}, {for_the_screen(one.name)}: {one.reason.came}", file=sys.stderr)
    return listed.sites


def read_years(text: str | None) -> tuple[int, int] | None:
    """First and last year from ``1991-2020`` or a single year.

    Examples
    --------
    >>> read_years("1991-2020"), read_years("2019"), read_years(None)
    ((1991, 2020), (2019, 2019), None)
    """
    if text is None:
        return None
    found = re.fullmatch(r"\s*(\d{4})\s*(?:[-:]\s*(\d{4})\s*)?", text)
    if not found or int(found[2] or found[1]) < int(found[1]):
        raise RefusalError(f"the years are {text[:40]!r}", "years such as 1991-2020", "Correct --years.")
    return int(found[1]), int(found[2] or found[1])


def read_sector_weights(path: str) -> xr.DataArray:
    """The only variable of a file along latitude, longitude and terrain_sector."""
    from exposure.climate.grid.parts import open_grid

    if not Path(path).exists():
        raise RefusalError(f"there is no {path}", "a NetCDF file or Zarr store", "Check the name.")
    opened = open_grid(path)
    fitting = [name for name in opened.data_vars if "terrain_sector" in opened[name].dims]
    if len(fitting) != 1:
        raise RefusalError(
            f"{Path(path).name} holds {', '.join(map(str, opened.data_vars)) or 'nothing'}",
            "one variable along latitude, longitude and terrain_sector",
            "Give one factor for each 30 degrees and cell.",
        )
    return opened[fitting[0]]


def map_summary(index: xr.Dataset, files: list[str], note: str | None) -> dict:
    """The result in a few plain numbers."""
    worst = {
        name: index[name].max("orientation", skipna=True)
        for name in ("airfield_annual_index", "airfield_spell_index")
    }
    known = np.isfinite(worst["airfield_spell_index"].values)
    return {
        "cells": int(known.size),
        "cells_with_result": int(known.sum()),
        "orientations": int(index.sizes["orientation"]),
        "years": [int(year) for year in index["year"].values],
        "wet_hour_mm": float(index.attrs["wet_hour_mm"]),
        "kind": index.attrs["kind"],
        "source": index.attrs["source"],
        "licence": index.attrs["licence"],
        **{
            f"worst_{name}": {
                "median": float(np.nanmedian(values)),
                "largest": float(np.nanmax(values)),
            }
            for name, values in worst.items()
        },
        "flags": [*map(str, flags_of(index.attrs)), *([note] if note else [])],
        "files": files,
    }


def map_report(summary: dict) -> str:
    """The summary for the screen."""
    years = summary["years"]
    annual, spell = summary["worst_airfield_annual_index"], summary["worst_airfield_spell_index"]
    lines = [
        f"{summary['cells_with_result']} of {summary['cells']} cells, {summary['orientations']} orientations, "
        f"{len(years)} years that count ({years[0]} to {years[-1]}), hours from {summary['wet_hour_mm']:g} mm",
        f"Worst-facing airfield annual index: median {annual['median']:.0f}, largest {annual['largest']:.0f} "
        "L/m2 a year",
        f"Worst-facing airfield spell index:  median {spell['median']:.0f}, largest {spell['largest']:.0f} L/m2",
        f"Source: {summary['source']}; licence: {summary['licence']}; kind: {summary['kind']}",
        *(f"- {flag}" for flag in summary["flags"]),
        *(f"Written: {path}" for path in summary["files"]),
    ]
    return "\n".join(lines)
