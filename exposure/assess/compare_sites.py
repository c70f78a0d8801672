"""A list of sites from their rows to the ranked comparison: weather, ground, the reference wall, the order.

Sites that share a weather cell share its reading, and cells are read tile by tile. What was worked out is kept by
content, so that a stopped run, or the same list with one row more, costs only what is new. A site that cannot be
used is set aside with its reason; the others go on.
"""

import hashlib
import json
import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from dataclasses import dataclass, replace
from multiprocessing import get_context
from pathlib import Path
from typing import Any, NamedTuple

import xarray as xr

from exposure import __version__
from exposure.assess.doubts import place_of_record
from exposure.assess.many_sites import (
    WAYS,
    RankedSite,
    ReferenceWall,
    SiteOnWall,
    draw_years,
    put_on_site,
    rank_sites,
    reference_wall,
    shared_flags,
)
from exposure.checks import RefusalError
from exposure.climate.grid_cells import Cell, GridCells
from exposure.climate.request import Request
from exposure.in_place import filled_in_place
from exposure.rain.hour import TERRAIN_SECTORS
from exposure.rain.index import airfield_index, compass_orientations
from exposure.site.cover import COVER_REACH
from exposure.site.plane import LocalPlane
from exposure.site.raster import read_cover, read_ground
from exposure.site.relief import RELIEF_REACH
from exposure.site.site_list import LeftOut, ListedSite, SiteList
from exposure.site.survey import survey_site
from exposure.wall import Site

RECIPE = 1  # goes up when what is kept would come out otherwise
TOGETHER = 8  # sites worked out in one go; a stop waits for no more
FEW = 8  # sites that are worked out in this process; more get processes of their own
MOST_KEPT = 6000  # files; the oldest go
HASHED_WHOLE = 64_000_000  # bytes; a larger file is known by its size and time of change
HEIGHTS_APART = 30.0  # m between the list's ground height and the raster's worth a flag; our choice

Tell = Callable[[float, str], None]


class GridWeather(NamedTuple):
    """Weather from a climate grid: the nearest cell of each site."""

    source: str | Path
    request: Request = Request()
    flags: tuple[str, ...] = ()  # said of all its cells


class OneRecord(NamedTuple):
    """Weather from one record for all sites: they then differ by their ground alone."""

    climate: xr.Dataset


@dataclass(frozen=True)
class Comparison:
    """A list compared.

    Parameters
    ----------
    ranked
        Hardest hit first.
    left_out
        Rows without an answer, in their order.
    notes
        On the reading of the list, and on the comparison as a whole.
    flags
        Doubts that hold for every site.
    wall
        Put on every site whose row names no other.
    """

    ranked: tuple[RankedSite, ...]
    left_out: tuple[LeftOut, ...]
    notes: tuple[str, ...]
    flags: tuple[str, ...]
    wall: ReferenceWall

    @property
    def sites(self) -> tuple[SiteOnWall, ...]:
        """In the order of their rank."""
        return tuple(one.site for one in self.ranked)


class _Job(NamedTuple):
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


class _Done(NamedTuple):
    sites: list[SiteOnWall]
    left_out: list[LeftOut]


def compare_sites(
    listed: SiteList,
    weather: GridWeather | OneRecord,
    *,
    wall: ReferenceWall,
    ground: str | Path | None = None,
    cover: str | Path | None = None,
    wet_hour: float | None = None,
    tell: Tell = lambda _share, _words: None,
    workers: int = 0,
    keep: str | Path | None = None,
) -> Comparison:
    """Put the reference wall on every site of a list, and rank them.

    Parameters
    ----------
    ground, cover
        Rasters of ground height [m] and of land cover (ESA WorldCover classes); without them the ground is flat
        farmland wherever the list says nothing, and flagged.
    wet_hour
        See :func:`exposure.rain.index.airfield_index`. [mm]
    tell
        Called with the share done and a few words; may raise to stop the work.
    workers
        Processes beside this one; 0 works here.
    keep
        Folder for what is worked out, so that another run finds it; None keeps nothing.

    Raises
    ------
    RefusalError
        When the weather cannot be read, or no site is left.
    """
    try:
        tell(0.0, "Finding the weather of each site.")
        groups, left_out = _groups(listed.sites, weather)
        if keep is not None:
            _prune(Path(keep))
        jobs = _jobs(
            groups,
            weather,
            wall=wall,
            ground=ground,
            cover=cover,
            wet_hour=wet_hour,
            keep=None if keep is None else str(keep),
        )
        found: list[SiteOnWall] = []
        total = sum(len(job.sites) for job in jobs)
        so_far: list[float | str] = [0.0, f"{total:,} sites."]

        def look() -> None:
            tell(float(so_far[0]), str(so_far[1]))

        for done in _worked(jobs, workers if total > FEW else 0, look):
            found += done.sites
            left_out += done.left_out
            so_far[:] = [(len(found) + len(left_out)) / max(total, 1), f"{len(found):,} of {total:,} sites."]
            look()
        left_out = sorted([*listed.left_out, *left_out], key=lambda one: one.row)
    finally:
        _close_grid()
    if not found:
        first = left_out[0]
        raise RefusalError(
            f"none of the {len(left_out):,} sites can be used; row {first.row}: {first.reason.came}",
            first.reason.expected,
            first.reason.cure,
        )
    found.sort(key=lambda one: one.row or 0)
    return Comparison(
        rank_sites(found), tuple(left_out), (*listed.notes, *notes_on(found)), shared_flags(found), wall
    )


def notes_on(sites: Sequence[SiteOnWall]) -> list[str]:
    """What to know of the comparison as a whole, as sentences."""
    notes = []
    if len({one.wall for one in sites}) > 1:
        notes.append("The sites carry different reference walls: the order tells of walls as well as places.")
    if len({one.years for one in sites}) > 1:
        notes.append("The records cover different years: part of the order may come from that.")
    if len(sites) > 1 and len({round(one.value, 6) for one in sites}) == 1:
        notes.append(
            "All sites come out equal: they share one weather record and one ground. Give a climate grid, rasters, or "
            "the terrain of each site."
        )
    return notes


def _groups(
    sites: Sequence[ListedSite], weather: GridWeather | OneRecord
) -> tuple[dict[Cell | None, list[ListedSite]], list[LeftOut]]:
    """Sites by their weather cell, tile by tile."""
    if isinstance(weather, OneRecord):
        return {None: list(sites)}, []
    grid = _grid(weather)
    groups: dict[Cell, list[ListedSite]] = {}
    left_out = []
    for one in sites:
        try:
            groups.setdefault(grid.find((one.latitude, one.longitude)), []).append(one)
        except RefusalError as reason:
            left_out.append(LeftOut(one.row, one.name, reason))
    return {
        cell: groups[cell] for cell in sorted(groups, key=lambda cell: (grid.tile_of(cell), cell))
    }, left_out


def _jobs(
    groups: dict[Cell | None, list[ListedSite]],
    weather: GridWeather | OneRecord,
    *,
    wall: ReferenceWall,
    ground: str | Path | None,
    cover: str | Path | None,
    wet_hour: float | None,
    keep: str | None,
) -> list[_Job]:
    grid = weather if isinstance(weather, GridWeather) else None
    known = None
    if isinstance(weather, OneRecord):
        index = airfield_index(weather.climate, orientation=compass_orientations(WAYS), wet_hour=wet_hour)
        known = (index.to_dict(), _plain(weather.climate.attrs))
    marks = (
        _mark(repr((_content(grid.source), grid.request, grid.flags, wet_hour))) if grid and keep else "",
        _mark(repr((_content(ground), _content(cover)))) if keep else "",
    )
    return [
        _Job(
            tuple(sites[first : first + TOGETHER]), grid, cell, known, wall,
            None if ground is None else str(ground), None if cover is None else str(cover), wet_hour, keep, marks,
        )
        for cell, sites in groups.items()
        for first in range(0, len(sites), TOGETHER)
    ]  # fmt: skip


def _worked(jobs: Sequence[_Job], workers: int, look: Callable[[], None]) -> Iterator[_Done]:
    """Each job's result; ``look`` is called every half second, and stops the work by raising."""
    if workers < 1:
        for job in jobs:
            look()
            yield assess_group(job)
        return
    pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=_start_worker)
    try:
        waiting = {pool.submit(assess_group, job) for job in jobs}
        while waiting:
            ready, waiting = wait(waiting, timeout=0.5, return_when=FIRST_COMPLETED)
            look()
            for one in ready:
                yield one.result()
    finally:
        pool.shutdown(wait=False, cancel_futures=True)


def _start_worker() -> None:
    """An interruption is for the process that asked; a worker gives way to a reader who waits."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "nice"):
        os.nice(5)


def assess_group(job: _Job) -> _Done:
    """The reference wall on some sites of one weather cell."""
    try:
        index, record = _index_of(job)
    except RefusalError as reason:
        return _Done([], [LeftOut(one.row, one.name, reason) for one in job.sites])
    drawn = draw_years(index)
    found, left_out = [], []
    for one in job.sites:
        try:
            wall = job.wall if one.wall is None else reference_wall(one.wall)
            site = _site_of(one, wall, job)
            put = put_on_site(one.name, index, site, wall, record=record, drawn=drawn, row=one.row)
        except RefusalError as reason:
            left_out.append(LeftOut(one.row, one.name, reason))
            continue
        found.append(replace(put, weather=_weather_words(put.weather, record, site, job.cell)))
    return _Done(found, left_out)


def _weather_words(source: str, record: dict[str, Any], site: Site, cell: Cell | None) -> str:
    away = place_of_record(xr.Dataset(attrs=record), site)[0]
    words = source if cell is None else f"{source}, cell {cell.latitude:g}, {cell.longitude:g}"
    return words if away is None else f"{words}, {away:.1f} km away"


_HERE = threading.local()  # the grid opened last, by each thread for itself


def _grid(weather: GridWeather) -> GridCells:
    """The grid, opened once."""
    key = repr((str(weather.source), weather.request))
    if getattr(_HERE, "key", None) != key:
        _HERE.grid = GridCells(weather.source, weather.request)
        _HERE.key = key
    return _HERE.grid


def _close_grid() -> None:
    """Let go of the grid, so that a file that changes is read anew."""
    grid = getattr(_HERE, "grid", None)
    if grid is not None:
        grid.dataset.close()
        del _HERE.grid, _HERE.key


def _index_of(job: _Job) -> tuple[xr.Dataset, dict[str, Any]]:
    """Airfield index at the twelve ways, and the attributes of the climate it was made of."""
    if job.known is not None:
        return xr.Dataset.from_dict(job.known[0]), job.known[1]
    assert job.weather is not None  # one of the two is there
    assert job.cell is not None
    weather, cell = job.weather, job.cell

    def make() -> dict[str, Any]:
        climate = _grid(weather).read(cell)
        climate.attrs["flags"] = [*weather.flags, *climate.attrs["flags"]]
        index = airfield_index(climate, orientation=compass_orientations(WAYS), wet_hour=job.wet_hour)
        return {"index": index.to_dict(), "record": _plain(climate.attrs)}

    kept = _kept(job.keep, ("index", job.marks[0], cell.row, cell.column), make)
    return xr.Dataset.from_dict(kept["index"]), kept["record"]


def _site_of(one: ListedSite, wall: ReferenceWall, job: _Job) -> Site:
    """The site surveyed from the rasters, or from what its row says."""

    def make() -> dict[str, Any]:
        plane = LocalPlane(latitude=one.latitude, longitude=one.longitude)
        terrain = (
            None
            if one.terrain is None
            else {str(k * 360 // TERRAIN_SECTORS): category for k, category in enumerate(one.terrain)}
        )
        site = survey_site(
            name="",
            plane=plane,
            height=wall.height,
            ground=None
            if job.ground is None
            else read_ground(job.ground, plane=plane, reach=RELIEF_REACH * 1.1),
            cover=None if job.cover is None else read_cover(job.cover, plane=plane, reach=COVER_REACH * 1.02),
            terrain=terrain,
        )
        return {
            "terrain": list(site.categories),
            "topography": list(site.hill_coefficients),
            "ground_height": site.ground_height,
            "sea_distance": site.sea_distance,
            "flags": list(site.flags),
        }

    key = ("site", job.marks[1], one.latitude, one.longitude, one.terrain, wall.height)
    kept = _kept(job.keep if job.ground or job.cover else None, key, make)
    height, flags = kept["ground_height"], list(kept["flags"])
    if one.ground_height is not None:
        if height is not None and abs(height - one.ground_height) > HEIGHTS_APART:
            flags.append(
                f"The list puts the ground at {one.ground_height:.0f} m, the ground raster at {height:.0f} m: "
                "is the position right?"
            )
        height = one.ground_height
    return Site(
        name=one.name,
        latitude=one.latitude,
        longitude=one.longitude,
        terrain=tuple(kept["terrain"]),
        topography=tuple(kept["topography"]),
        ground_height=height,
        sea_distance=kept["sea_distance"],
        flags=tuple(flags),
    )


def _plain(attrs: dict[Any, Any]) -> dict[str, Any]:
    """Attributes as JSON knows them."""
    return json.loads(json.dumps({str(key): value for key, value in attrs.items()}, default=float))


def _kept(folder: str | None, key: tuple[object, ...], make: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    """What was made before for ``key``, else made now and kept."""
    if folder is None:
        return make()
    path = Path(folder) / f"{_mark(repr((RECIPE, __version__, key)))}.json"
    try:
        return json.loads(path.read_text("utf-8"))
    except (OSError, ValueError):
        made = json.loads(json.dumps(make(), default=float))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with filled_in_place(path) as part:
            part.write_text(json.dumps(made), "utf-8")
    except OSError:
        pass  # a full disk or a folder one may not write costs time only
    return made


def _prune(folder: Path) -> None:
    """Remove the oldest files beyond :data:`MOST_KEPT`."""
    try:
        files = sorted(folder.glob("*.json"), key=lambda path: path.stat().st_mtime)
        for path in files[:-MOST_KEPT]:
            path.unlink(missing_ok=True)
    except OSError:
        return


def _mark(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def _content(source: str | Path | None) -> str:
    """A file or folder by its content, or by sizes and times where that would take long."""
    if source is None:
        return ""
    path = Path(source)
    if path.is_file():
        told = path.stat()
        if told.st_size <= HASHED_WHOLE:
            return hashlib.sha256(path.read_bytes()).hexdigest()
        return repr((path.name, told.st_size, told.st_mtime_ns))
    if path.is_dir():
        parts = [
            (str(one.relative_to(path)), one.stat().st_size, one.stat().st_mtime_ns)
            for one in sorted(path.rglob("*"))
            if one.is_file()
        ]
        return _mark(repr(parts))
    return f"{source} {os.urandom(8).hex()}"  # an address: who knows what it holds next time
