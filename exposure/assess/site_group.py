"""Some sites of one weather cell, each surveyed and given the reference wall: the part another process can do."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

import shapely
import xarray as xr

from exposure.assess.doubts import place_of_record
from exposure.assess.kept_results import content_of, is_kept, kept_or_made
from exposure.assess.reference_wall import (
    WAYS,
    ReferenceWall,
    SiteOnWall,
    distances_seen,
    draw_years,
    put_on_site,
    reference_wall,
)
from exposure.assess.site_weather import GridWeather, opened_grid, plain, whole
from exposure.checks import RefusalError
from exposure.climate.grid_cells import Cell
from exposure.climate.opening import open_climate
from exposure.doubts import as_attribute, doubt, flags_of
from exposure.rain.hour import TERRAIN_SECTORS
from exposure.rain.index import airfield_index, compass_orientations
from exposure.site.cover import COVER_REACH
from exposure.site.footprint import read_neighbours
from exposure.site.plane import LocalPlane
from exposure.site.raster import read_cover, read_ground
from exposure.site.relief import RELIEF_REACH
from exposure.site.rough_country import high_ground_doubts
from exposure.site.site_list import LeftOut, ListedSite
from exposure.site.survey import PlaceInputs, survey_site, town_sectors
from exposure.wall import Site

MOST_GATHERED = 1_000_000_000  # bytes of cells on the disk at a time; our choice
HEIGHTS_APART = 30.0  # m between the list's ground height and the raster's worth a flag; our choice


class SiteGroup(NamedTuple):
    """Some sites of one cell, and all that is needed to assess them in another process."""

    sites: tuple[ListedSite, ...]
    weather: GridWeather | None
    cell: Cell | None
    known: tuple[dict[str, Any], dict[str, Any]] | None  # index and attributes of one record for all
    wall: ReferenceWall
    ground: str | None
    cover: str | None
    wet_hour: float | None
    keep: str | None
    marks: tuple[str, str]  # of the weather and of the rasters, by content
    record: str | None = None  # the sites' own record
    told: dict[str, Any] | None = None  # how that is read
    neighbours: str | None = None


class GroupDone(NamedTuple):
    """The sites of a group that have an answer, and the others with the reason."""

    sites: list[SiteOnWall]
    left_out: list[LeftOut]


def assess_group(job: SiteGroup) -> GroupDone:
    """The reference wall on some sites of one weather cell.

    Raises nothing for a site that cannot be used: it stands among those left out, with its reason.
    """
    try:
        index, record = _index_of(job)
    except RefusalError as reason:
        return GroupDone([], [LeftOut(one.row, one.name, reason) for one in job.sites])
    drawn = draw_years(index)
    found, left_out = [], []
    for one in job.sites:
        try:
            wall = job.wall if one.wall is None else reference_wall(one.wall)
            site, obstacles = _site_of(one, wall, job)
            put = put_on_site(one.name, index, site, wall, record=record, drawn=drawn, obstacles=obstacles)
        except RefusalError as reason:
            left_out.append(LeftOut(one.row, one.name, reason))
            continue
        weather = _weather_words(put.weather, record, site, job.cell)
        found.append(replace(put, weather=weather, row=one.row))
    return GroupDone(found, left_out)


def _weather_words(source: str, record: dict[str, Any], site: Site, cell: Cell | None) -> str:
    away = place_of_record(xr.Dataset(attrs=record), site)[0]
    words = source if cell is None else f"{source}, cell {cell.latitude:g}, {cell.longitude:g}"
    return words if away is None else f"{words}, {away:.1f} km away"


def _index_of(job: SiteGroup) -> tuple[xr.Dataset, dict[str, Any]]:
    """Airfield index at the twelve ways, and the attributes of the climate it was made of."""
    if job.known is not None:
        return _index_from(job.known[0]), whole(job.known[1])
    if job.record is not None:
        return _index_of_record(job, job.record)
    assert job.weather is not None  # one of the two is there
    assert job.cell is not None
    weather, cell = job.weather, job.cell

    def make() -> dict[str, Any]:
        climate = opened_grid(weather).read(cell)
        climate.attrs["flags"] = [*weather.flags, *climate.attrs["flags"]]
        return _index_and_record(climate, job.wet_hour)

    kept = kept_or_made(job.keep, _key_of(job), make)
    return _index_from(kept["index"]), whole(kept["record"])


def _index_of_record(job: SiteGroup, path: str) -> tuple[xr.Dataset, dict[str, Any]]:
    def make() -> dict[str, Any]:
        return _index_and_record(open_climate(path, **(job.told or {})), job.wet_hour)

    key = ("record", content_of(path), sorted((job.told or {}).items()), job.wet_hour)
    kept = kept_or_made(job.keep, key, make)
    return _index_from(kept["index"]), whole(kept["record"])


def _index_and_record(climate: xr.Dataset, wet_hour: float | None) -> dict[str, Any]:
    index = airfield_index(climate, orientation=compass_orientations(WAYS), wet_hour=wet_hour)
    told = index.to_dict()
    return {"index": told | {"attrs": plain(index.attrs)}, "record": plain(climate.attrs)}


def _index_from(told: dict[str, Any]) -> xr.Dataset:
    index = xr.Dataset.from_dict(told)
    index.attrs = whole(index.attrs)
    return index


def _key_of(job: SiteGroup) -> tuple[object, ...]:
    """What the index of a job's cell depends on."""
    assert job.cell is not None
    return "index", job.marks[0], job.cell.row, job.cell.column


def batches_of(jobs: Sequence[SiteGroup]) -> list[list[SiteGroup]]:
    """Jobs in order, cut into batches whose cells can lie on the disk at a time."""
    if not jobs or jobs[0].weather is None:
        return [list(jobs)]
    at_once = max(MOST_GATHERED // opened_grid(jobs[0].weather).cell_bytes, 1)
    batches: list[list[SiteGroup]] = [[]]
    cells: set[Cell | None] = set()
    for job in jobs:
        if len(cells | {job.cell}) > at_once:
            batches.append([])
            cells = set()
        cells.add(job.cell)
        batches[-1].append(job)
    return batches


def with_weather(jobs: Sequence[SiteGroup], room: Path, tell: Callable[[float], None]) -> list[SiteGroup]:
    """The cells of ``jobs`` read into the folder ``room`` in one pass over the grid, those whose index is kept left out.

    Raises
    ------
    RefusalError
        When the grid cannot be read.
    """
    weather = jobs[0].weather if jobs else None
    if weather is None:
        return list(jobs)
    wanted = {job.cell: None for job in jobs if job.cell is not None and not is_kept(job.keep, _key_of(job))}
    if not wanted or opened_grid(weather).names.grid_kind != "regular":
        return list(jobs)
    opened_grid(weather).gather(list(wanted), room, tell)
    return [job._replace(weather=weather._replace(gathered=str(room))) for job in jobs]


def _site_of(one: ListedSite, wall: ReferenceWall, job: SiteGroup) -> tuple[Site, list[float | None]]:
    """The site surveyed from the rasters, or from what its row says, and what the wall sees facing by facing. [m]"""

    def make() -> dict[str, Any]:
        plane = LocalPlane(latitude=one.latitude, longitude=one.longitude)
        terrain = (
            None
            if one.terrain is None
            else {str(k * 360 // TERRAIN_SECTORS): category for k, category in enumerate(one.terrain)}
        )
        ground = (
            None if job.ground is None else read_ground(job.ground, plane=plane, reach=RELIEF_REACH * 1.1)
        )
        around = (
            None if job.neighbours is None else read_neighbours(job.neighbours, plane, own=shapely.Polygon())
        )
        site = survey_site(
            PlaceInputs("", plane, terrain),
            height=wall.height,
            towns=None if around is None else town_sectors(around),
            ground=ground,
            cover=None if job.cover is None else read_cover(job.cover, plane=plane, reach=COVER_REACH * 1.02),
        )
        return {
            "terrain": list(site.categories),
            "topography": list(site.hill_coefficients),
            "ground_height": site.ground_height,
            "sea_distance": site.sea_distance,
            "flags": as_attribute([*(around.flags if around else ()), *site.flags]),
            "obstacles": [None] * WAYS
            if around is None
            else distances_seen(wall, around, plane=plane, ground=ground),
        }

    key = ("site", job.marks[1], one.latitude, one.longitude, one.terrain, wall.height)
    kept = kept_or_made(job.keep if job.ground or job.cover or job.neighbours else None, key, make)
    height, flags = kept["ground_height"], flags_of(kept)
    if one.ground_height is not None:
        if height is not None and abs(height - one.ground_height) > HEIGHTS_APART:
            flags.append(doubt("assess.listed_height", one.name, listed=one.ground_height, raster=height))
        flags += high_ground_doubts(one.ground_height)
        height = one.ground_height
    site = Site(
        name=one.name,
        latitude=one.latitude,
        longitude=one.longitude,
        terrain=tuple(kept["terrain"]),
        topography=tuple(kept["topography"]),
        ground_height=height,
        sea_distance=kept["sea_distance"],
        flags=tuple(flags),
    )
    return site, kept["obstacles"]
