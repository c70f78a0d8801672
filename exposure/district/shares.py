"""How much of the walls of each area is of which class: length, area and number, by district or by square."""

from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd
import shapely
from shapely import STRtree

from exposure.checks import RefusalError, check_between
from exposure.district.run import District
from exposure.doubts import Doubt, doubt
from exposure.site.footprint import sound_outlines
from exposure.site.plane import degrees_from, metres_from, to_degrees
from exposure.site.vector_file import read_shapes
from exposure.wall.classes import class_names

NAME_COLUMNS = ("name", "district", "NAME", "Name", "id", "ID")
WHOLE = "all walls"
HARD = 2  # place among the classes from which a wall counts as hard hit: severe
CLASS_COLUMNS = ("class", "class_low", "class_high")
HARD_KEYS = ("hard", "hard_low", "hard_high")
MOST_AREAS = 2000
WEIGHT_HOW = (
    "Each building counts whole in the class of its worst wall; one that stands in several areas counts in each by the "
    "length of its walls there. Between: with every wall at the milder and at the harder end of its band of years."
)


@dataclass(frozen=True, eq=False)
class Areas:
    """Areas to sum walls over, in degrees of longitude and latitude.

    ``of_wall`` is the place of each wall's area, where it is known already.
    """

    names: tuple[str, ...]
    shapes: np.ndarray
    source: str
    flags: tuple[Doubt, ...] = ()
    of_wall: np.ndarray | None = None


@dataclass(frozen=True, eq=False)
class Shares:
    """Walls by class, one row an area, the whole first.

    Parameters
    ----------
    table
        ``area``, ``buildings``, ``walls``, ``length`` [m], ``wall_area`` [m2]; of each class ``walls_``, ``length_``,
        ``area_`` and ``share_`` (of the length, 0 to 1) with its name; ``hard``, the share severe or harder, and
        ``hard_low``, ``hard_high``, the same with every wall at the milder and at the harder end of its band. With a
        weight told, its sum over the buildings: ``weight``, ``weight_`` with each class's name, by the class of the
        building's worst wall, and ``weight_hard``, ``weight_hard_low``, ``weight_hard_high`` (0 to 1) as of the walls;
        ``weight_missing`` buildings tell none. A building counts in an area by the share of its walls there.
    areas
        None for the whole alone.
    """

    table: pd.DataFrame
    areas: Areas | None
    flags: tuple[str, ...] = ()
    weight_column: str = ""


def read_areas(path: str | Path) -> Areas:
    """Polygons of a GeoPackage or GeoJSON with their names.

    Raises
    ------
    RefusalError
        When the file cannot be read or holds no sound polygon.
    """
    source = Path(path).name
    shapes, crs, rows = read_shapes(path)
    shapes = shapely.force_2d(np.asarray(shapes, dtype=object))
    sound = np.flatnonzero(sound_outlines(shapes))
    if not sound.size or sound.size > MOST_AREAS:
        raise RefusalError(
            f"{source} holds {sound.size:,} sound polygons", f"1 to {MOST_AREAS:,} areas", "Check the file.",
            parameter="areas",
        )  # fmt: skip
    names = []
    for i in sound.tolist():
        told = next((rows[i][key] for key in NAME_COLUMNS if rows[i].get(key) not in (None, "")), None)
        names.append(str(told) if told is not None else f"area {i + 1}")
    flags: tuple[Doubt, ...] = ()
    if sound.size < len(shapes):
        flags = (doubt("district.unsound_areas", source, count=len(shapes) - sound.size),)
    degrees = shapely.transform(
        shapes[sound], lambda xy: np.column_stack(to_degrees(xy[:, 0], xy[:, 1], crs=crs))
    )
    return Areas(tuple(names), degrees, source, flags)


def squares_over(district: District, size: float) -> Areas:
    """Squares of ``size`` [m] over the town, those without a wall left out; named by their place from the south-west."""
    check_between(size, "the side of the squares", 10, 100_000, "m")
    longitude, latitude = middles_of(district)
    middle = float(np.median(longitude)), float(np.median(latitude))
    east, north = metres_from(longitude, latitude, middle=middle)
    place = np.floor(np.column_stack([east, north]) / size).astype(int)
    cells, of_wall = np.unique(place, axis=0, return_inverse=True)
    if len(cells) > MOST_AREAS:
        raise RefusalError(
            f"{len(cells):,} squares of {size:g} m", f"at most {MOST_AREAS:,}", "Take larger ones.",
            parameter="squares",
        )  # fmt: skip
    low = cells * size
    corners = low[:, None] + size * np.array([(0, 0), (1, 0), (1, 1), (0, 1)])
    x, y = degrees_from(corners[..., 0], corners[..., 1], middle=middle)
    first = cells.min(axis=0)
    names = tuple(f"square {column + 1}, {row + 1}" for column, row in (cells - first).tolist())
    shapes = shapely.polygons(np.stack([x, y], axis=-1))
    return Areas(names, shapes, f"squares of {size:g} m", of_wall=of_wall.ravel())


def middles_of(district: District) -> tuple[np.ndarray, np.ndarray]:
    """Longitude and latitude of the middle of each wall. [degree]"""
    walls = district.walls
    return (
        (walls["start_longitude"] + walls["end_longitude"]).to_numpy() / 2,
        (walls["start_latitude"] + walls["end_latitude"]).to_numpy() / 2,
    )


def shares_of(district: District, areas: Areas | None = None) -> Shares:
    """Walls by class of the whole town and of each area; a wall belongs where its middle lies.

    Walls in no area stand in the whole alone, and in several areas that overlap in each: both are told.
    """
    houses = _houses(district)
    everything = np.arange(len(district.walls))
    rows = [_row(WHOLE, district.walls) | _weights(houses, everything)]
    if areas is None:
        return Shares(pd.DataFrame(rows), None, weight_column=district.weight_column)
    if areas.of_wall is None:
        points = shapely.points(*middles_of(district))
        wall, area = STRtree(areas.shapes).query(points, predicate="intersects")
    else:
        wall, area = everything, areas.of_wall
    for number, name in enumerate(areas.names):
        here = wall[area == number]
        rows.append(_row(name, district.walls.iloc[here]) | _weights(houses, here))
    times = np.bincount(wall, minlength=len(district.walls))
    flags: list[str] = [*areas.flags]
    if (times == 0).any():
        flags.append(doubt("district.walls_outside", areas.source, count=int((times == 0).sum())))
    if (times > 1).any():
        flags.append(doubt("district.areas_overlap", areas.source, count=int((times > 1).sum())))
    return Shares(pd.DataFrame(rows), areas, tuple(flags), district.weight_column)


class _Houses(NamedTuple):
    """Buildings that are summed by their weight, and which share of each wall's building the wall is."""

    of_wall: np.ndarray
    share: np.ndarray
    weight: np.ndarray
    worst: (
        np.ndarray
    )  # place of the class of the worst wall, and of its milder and harder end; shape (3, building)


def _houses(district: District) -> _Houses | None:
    if not district.weight_column:
        return None
    walls, count = district.walls, len(district.buildings)
    house = pd.Index(district.buildings["building"]).get_indexer(walls["building"])
    length = walls["length"].to_numpy()
    place = {name: number for number, name in enumerate(class_names())}
    worst = np.zeros((len(CLASS_COLUMNS), count), dtype=int)
    for row, column in zip(worst, CLASS_COLUMNS, strict=True):
        np.maximum.at(row, house, walls[column].map(place).to_numpy())
    share = length / np.bincount(house, length, minlength=count)[house]
    return _Houses(house, share, district.buildings["weight"].to_numpy(), worst)


def _weights(houses: _Houses | None, walls: np.ndarray) -> dict[str, object]:
    """The weight of the buildings of some walls, by their worst wall's class."""
    if houses is None:
        return {}
    part = np.bincount(houses.of_wall[walls], houses.share[walls], minlength=houses.weight.size)
    weight = part * np.nan_to_num(houses.weight)
    total = float(weight.sum())
    row: dict[str, object] = {
        "weight": total,
        "weight_missing": int((np.isnan(houses.weight) & (part > 0)).sum()),
    }
    by_class = np.bincount(houses.worst[0], weight, minlength=len(class_names()))
    row |= {
        f"weight_{name.replace(' ', '_')}": float(one)
        for name, one in zip(class_names(), by_class, strict=True)
    }
    for key, worst in zip(HARD_KEYS, houses.worst, strict=True):
        row[f"weight_{key}"] = float(weight[worst >= HARD].sum()) / total if total else np.nan
    return row


def _row(name: str, walls: pd.DataFrame) -> dict[str, object]:
    length, names = walls["length"].to_numpy(), class_names()
    total = float(length.sum())
    row: dict[str, object] = {
        "area": name,
        "buildings": walls["building"].nunique(),
        "walls": len(walls),
        "length": total,
        "wall_area": float(walls["area"].sum()),
    }
    for one in names:
        mine = (walls["class"] == one).to_numpy()
        key = one.replace(" ", "_")
        row |= {
            f"walls_{key}": int(mine.sum()),
            f"length_{key}": float(length[mine].sum()),
            f"area_{key}": float(walls["area"].to_numpy()[mine].sum()),
            f"share_{key}": float(length[mine].sum()) / total if total else np.nan,
        }
    for key, column in zip(HARD_KEYS, CLASS_COLUMNS, strict=True):
        mine = walls[column].isin(names[HARD:]).to_numpy()
        row[key] = float(length[mine].sum()) / total if total else np.nan
    return row
