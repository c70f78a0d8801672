"""A town end to end: footprints read, tiles worked out or taken from what was kept, weather, and every wall's figures."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import xarray as xr

from exposure.assess.kept_results import content_of
from exposure.assess.site_weather import GridWeather, OneRecord, close_grid
from exposure.checks import RefusalError, check_between
from exposure.climate.grid.marks import code_mark, mark
from exposure.district.answer import District, houses_of, put_together
from exposure.district.facings import Facings, facings_of
from exposure.district.kept_arrays import Arrays, joined, keep_arrays, kept_arrays
from exposure.district.members import check_size
from exposure.district.spread_work import spread_work
from exposure.district.tile import Ground, tile_of
from exposure.district.town import MOST_BUILDINGS, Town, marks_of, part_of, read_town, tiles_of
from exposure.district.weather import cells_of, facings_of_cells, weather_by_member
from exposure.district.weights import building_weights
from exposure.doubts import Doubt, doubt
from exposure.site.site_list import LeftOut

CODE = ("site", "wall", "tables", "doubts", "district/tile.py", "district/town.py", "checks.py")
FEW_TILES = 3  # that are worked out in this process

Tell = Callable[[float, str], None]


class _Job(NamedTuple):
    town: Town
    rows: np.ndarray
    ground: Ground
    place: int


def assess_district(
    footprints: str | Path,
    climate: xr.Dataset | GridWeather | OneRecord,
    *,
    height_column: str | None = None,
    heights: str | Path | None = None,
    default_height: float | None = None,
    weight_column: str | None = None,
    terrain: str | None = None,
    ground: str | Path | None = None,
    cover: str | Path | None = None,
    wet_hour: float | None = None,
    tell: Tell = lambda _share, _words: None,
    workers: int = 0,
    keep: str | Path | None = None,
    most: int = MOST_BUILDINGS,
    dask: Any = None,
) -> District:
    """Exposure of every wall of every building in a vector file: the same figures as for each of them alone.

    Parameters
    ----------
    footprints
        GeoPackage or GeoJSON with polygons, and properties as :func:`exposure.wall.building_file.read_building` reads
        them. The other buildings of the file are each one's neighbours.
    climate
        One hourly record for all, or a grid of which each building takes its nearest cell; of an ensemble every member
        that the request does not name away.
    height_column
        Property that holds the height, where it has a name of its own.
    heights
        Raster of heights above the ground, for buildings that tell none. [m]
    default_height
        Of buildings whose height nobody tells; without it they are left out. [m]
    weight_column
        Property with a number by which buildings are summed too, such as their dwellings.
    terrain
        Terrain category, I to IV, of buildings that tell none.
    ground, cover
        Rasters of ground height [m] and of land cover (ESA WorldCover classes).
    wet_hour
        See :func:`exposure.rain.index.airfield_index`. [mm]
    tell
        Called with the share done and a few words; may raise to stop the work.
    workers
        Processes beside this one; 0 works here.
    keep
        Folder for finished tiles and for the index of each way a wall faces, so that another run finds them.
    most
        Buildings the file may hold.
    dask
        Address of a running Dask scheduler, or its client: tiles and ways are then worked on there. Rasters must lie where
        its workers find them.

    Raises
    ------
    RefusalError
        When the file or the weather cannot be read, no building is left, or a cluster is lost; what was finished is kept.
    """
    if default_height is not None:
        check_between(
            default_height,
            "the height taken where none is told",
            2,
            200,
            "m",
        )
    home = None if keep is None else Path(keep)
    tell(0.0, "Reading the footprints.")
    town = read_town(
        footprints, height_column=height_column, heights=heights, default_height=default_height,
        weight_column=weight_column, most=most,
    )  # fmt: skip
    weights = None if weight_column is None else building_weights(town.rows, weight_column, town.source)
    told = Ground(None if ground is None else str(ground), None if cover is None else str(cover), terrain)
    with _cluster(dask) as client:
        found = _assess(town, told, climate, wet_hour, _Means(home, workers, client, tell))
    return found if weights is None else _weighted(found, str(weight_column), *weights)


def _weighted(district: District, column: str, weights: np.ndarray, doubts: Mapping[int, Doubt]) -> District:
    """The same with the weight of each building; ``weights`` and ``doubts`` are of the rows of the file."""
    rows = district.buildings["building"].to_numpy() - 1
    own = [
        (*told, doubts[row]) if row in doubts else told
        for row, told in zip(rows.tolist(), district.doubts, strict=True)
    ]
    flags: list[str] = [*district.flags]
    missing = int(np.isnan(weights[rows]).sum())
    if missing:
        flags.append(doubt("district.weights_missing", count=missing, of=rows.size, column=column[:60]))
    lost = weights[[one.row - 1 for one in district.left_out]]
    if np.nansum(lost) > 0:
        flags.append(
            doubt(
                "district.weights_unanswered",
                count=int((lost > 0).sum()),
                sum=f"{np.nansum(lost):,.10g}",
                column=column[:60],
            )
        )
    return replace(
        district,
        buildings=district.buildings.assign(weight=weights[rows]),
        doubts=tuple(own),
        flags=tuple(flags),
        weight_column=column,
    )


@contextmanager
def _cluster(dask: Any) -> Iterator[Any]:
    if dask is None:
        yield None
        return
    from exposure.region.cluster import client_of  # large

    with client_of(dask) as client:
        yield client


class _Means(NamedTuple):
    """What a town is worked out with."""

    home: Path | None
    workers: int
    client: Any
    tell: Tell


def _assess(
    town: Town,
    told: Ground,
    climate: xr.Dataset | GridWeather | OneRecord,
    wet_hour: float | None,
    means: _Means,
) -> District:
    tile = _tiles(town, told, means)
    tell = means.tell
    left_out = _left_out(town, tile)
    if not tile["house_row"].size:
        raise _none_left(town, left_out)
    tell(0.6, "Reading the weather.")
    weathers = weather_by_member(OneRecord(climate) if isinstance(climate, xr.Dataset) else climate)
    check_size(tile["wall_house"].size, len(weathers))
    every: list[list[Facings]] = []
    try:
        cell_of_house, cells, outside = cells_of(
            tile, next(iter(weathers.values()))
        )  # one grid for every member
        for weather in weathers.values():

            def share(part: float) -> None:
                tell(
                    0.6 + 0.35 * (len(every) + part) / len(weathers),
                    "Driving rain by the way the walls face.",
                )

            work = partial(
                facings_of, wet_hour=wet_hour, keep=means.home, workers=means.workers, client=means.client
            )
            every.append(facings_of_cells(tile, weather, cells, cell_of_house, work, share))
    finally:
        close_grid()
    tell(0.95, "Putting the walls together.")
    kept = np.flatnonzero(cell_of_house >= 0)
    kept = kept[np.argsort(tile["house_row"][kept], kind="stable")]  # as the file has them
    left_out += [LeftOut(int(row) + 1, _name(town, int(row)), why) for row, why in outside]
    return put_together(
        town, _only(tile, kept), dict(zip(weathers, every, strict=True)), cell_of_house[kept], left_out
    )


def _tiles(town: Town, ground: Ground, means: _Means) -> Arrays:
    """All tiles joined; those kept are taken as they are."""
    home, tell = means.home, means.tell
    tiles = tiles_of(town)
    if not tiles:
        raise _none_left(town, _refused(town))
    settings = repr((code_mark(*CODE), content_of(ground.ground), content_of(ground.cover), ground.terrain))
    names = [f"tile-{mark(settings + one)}" for one in marks_of(town, tiles)] if home else [""] * len(tiles)
    found = [kept_arrays(home, name) if home else None for name in names]
    missing = [i for i, one in enumerate(found) if one is None]
    jobs = [_Job(*part_of(town, tiles[i]), ground, i) for i in missing]
    done = len(tiles) - len(jobs)

    def look() -> None:
        tell(0.05 + 0.55 * done / len(tiles), f"{done:,} of {len(tiles):,} tiles.")

    workers = means.workers if len(jobs) > FEW_TILES else 0
    for place, made in spread_work(_work, jobs, workers=workers, client=means.client, look=look):
        keep_arrays(home, names[place], made)
        found[place] = made
        done += 1
        look()
    return joined([one for one in found if one is not None], counted={"wall_house": houses_of})


def _work(job: _Job) -> tuple[int, Arrays]:
    return job.place, tile_of(job.town, job.rows, job.ground)


def _only(tile: Arrays, houses: np.ndarray) -> Arrays:
    """The same with some of the buildings, in their order."""
    place = np.full(houses_of(tile), -1)
    place[houses] = np.arange(houses.size)
    of_wall = place[tile["wall_house"]]
    walls = np.argsort(np.where(of_wall < 0, houses.size, of_wall), kind="stable")
    walls = walls[: int((of_wall >= 0).sum())]
    cut = {
        name: values[walls] if name.startswith("wall_") else values[houses]
        for name, values in tile.items()
        if not name.startswith("left_")
    }
    return {**cut, "wall_house": of_wall[walls]}


def _name(town: Town, row: int) -> str:
    return str(town.rows[row].get("name") or f"building {row + 1}")


def _refused(town: Town) -> list[LeftOut]:
    return [LeftOut(row + 1, _name(town, row), why) for row, why in sorted(town.refused.items())]


def _left_out(town: Town, tile: Arrays) -> list[LeftOut]:
    told = zip(tile["left_row"].tolist(), tile["left_why"].tolist(), strict=True)
    return [*_refused(town), *(LeftOut(row + 1, _name(town, row), RefusalError(*why)) for row, why in told)]


def _none_left(town: Town, left_out: Sequence[LeftOut]) -> RefusalError:
    first = min(left_out, key=lambda one: one.row)
    return RefusalError(
        f"none of the {len(town.rows):,} buildings of {town.source} can be used; building {first.row}: "
        f"{first.reason.came}",
        first.reason.expected,
        first.reason.cure,
        parameter=first.reason.parameter,
    )
