"""How much of the walls of each area is of which class: length, area and number, by district or by square."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
import shapely

from exposure.checks import RefusalError, check_between
from exposure.district.answer import District
from exposure.district.pieces import SAME, Pieces, cut_by_areas, cut_by_squares, standing_ends
from exposure.doubts import Doubt, doubt
from exposure.site.footprint import sound_outlines
from exposure.site.plane import degrees_from, metres_from, to_degrees
from exposure.site.vector_file import read_shapes
from exposure.wall.classes import class_names, class_numbers

NAME_COLUMNS = ("name", "district", "NAME", "Name", "id", "ID")
WHOLE = "all walls"
HARD = 2  # place among the classes from which a wall counts as hard hit: severe
CLASS_COLUMNS = ("class", "class_low", "class_high")
HARD_KEYS = ("hard", "hard_low", "hard_high")
MEMBER_KEYS = ("hard_least_member", "hard_most_member")
MOST_AREAS = 2000
WEIGHT_HOW = (
    "Each building counts whole in the class of its worst wall; one that stands in several areas counts in each by the "
    "length of its walls there. Between: with every wall at the milder and at the harder end of its band of years."
)


@dataclass(frozen=True, eq=False)
class Areas:
    """Areas to sum walls over, in degrees of longitude and latitude.

    ``pieces`` are the walls of the town cut by them, where they are known already.
    """

    names: tuple[str, ...]
    shapes: np.ndarray
    source: str
    flags: tuple[Doubt, ...] = ()
    pieces: Pieces | None = None


@dataclass(frozen=True, eq=False)
class Shares:
    """Walls by class, one row an area, the whole first.

    Parameters
    ----------
    table
        ``area``, ``buildings`` with a wall there, ``walls`` by their middle, ``length`` [m], ``wall_area`` [m2]; of each class ``walls_``, ``length_``,
        ``area_`` and ``share_`` (of the length, 0 to 1) with its name; ``hard``, the share severe or harder, and
        ``hard_low``, ``hard_high``, the same with every wall at the milder and at the harder end of its band. With a
        weight told, its sum over the buildings: ``weight``, ``weight_`` with each class's name, by the class of the
        building's worst wall, and ``weight_hard``, ``weight_hard_low``, ``weight_hard_high`` (0 to 1) as of the walls;
        ``weight_missing`` buildings tell none. A building counts in an area by the share of its walls there. Of an ensemble
        ``hard_least_member`` and ``hard_most_member``, the smallest and the largest share severe or harder under one member.
    areas
        None for the whole alone.
    """

    table: pd.DataFrame
    areas: Areas | None
    flags: tuple[str, ...] = ()
    weight_column: str = ""

    @property
    def of_members(self) -> bool:
        """Whether the shares are of an ensemble."""
        return MEMBER_KEYS[0] in self.table


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


def squares_over(walls: pd.DataFrame, size: float) -> Areas:
    """Squares of ``size`` [m] over the walls of a town, those without one left out; named by their place from the south-west."""
    check_between(size, "the side of the squares", 10, 100_000, "m")
    longitude, latitude = np.moveaxis(standing_ends(walls), -1, 0)
    middle = float(np.median(longitude)), float(np.median(latitude))
    ends = np.stack(metres_from(longitude, latitude, middle=middle), axis=-1)
    pieces, cells = cut_by_squares(ends / size)
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
    return Areas(names, shapes, f"squares of {size:g} m", pieces=pieces)


def areas_told(walls: pd.DataFrame, *, file: str | Path | None, squares: float | None) -> Areas | None:
    """The areas of a file, or squares of a side [m] over the walls; None where neither is told."""
    if file is not None:
        return read_areas(file)
    return None if squares is None else squares_over(walls, squares)


def shares_of(district: District, areas: Areas | None = None) -> Shares:
    """Walls by class of the whole town and of each area; a wall counts in an area by its length there.

    The number of walls counts each where its middle lies. Walls or parts of them in no area stand in the whole alone, and in
    several areas that overlap in each: both are told.
    """
    walls = district.walls
    table = _table(district, Pieces.of_whole(len(walls)), (WHOLE,))
    if areas is None:
        return Shares(table, None, weight_column=district.weight_column)
    pieces = cut_by_areas(walls, areas.shapes) if areas.pieces is None else areas.pieces
    table = pd.concat([table, _table(district, pieces, areas.names)], ignore_index=True)
    covered = pieces.covered(len(walls))
    again = np.bincount(pieces.wall, pieces.part, minlength=len(walls)) - covered
    flags: list[str] = [*areas.flags]
    for key, part in (("district.walls_outside", 1 - covered), ("district.areas_overlap", again)):
        some = part > SAME
        if some.any():
            length = float((walls["length"].to_numpy() * part)[some].sum())
            flags.append(doubt(key, areas.source, count=int(some.sum()), length=length))
    return Shares(table, areas, tuple(flags), district.weight_column)


def _table(district: District, pieces: Pieces, names: tuple[str, ...]) -> pd.DataFrame:
    """One row for each of the areas that the pieces lie in."""
    walls = district.walls
    length, area = (walls[name].to_numpy()[pieces.wall] * pieces.part for name in ("length", "area"))
    house = pd.Index(district.buildings["building"]).get_indexer(walls["building"])
    pairs, of_piece = np.unique(
        np.column_stack([pieces.area, house[pieces.wall]]), axis=0, return_inverse=True
    )
    classes = _classes(walls)
    found = classes[:, pieces.wall]

    def summed(values: np.ndarray) -> np.ndarray:
        return np.bincount(pieces.area, values, minlength=len(names))

    total = summed(length)
    columns: dict[str, object] = {
        "area": list(names),
        "buildings": np.bincount(pairs[:, 0], minlength=len(names)),
        "walls": summed(pieces.middle).astype(int),
        "length": total,
        "wall_area": summed(area),
    }
    for place, name in enumerate(class_names()):
        mine, key = found[0] == place, name.replace(" ", "_")
        columns |= {
            f"walls_{key}": summed(mine & pieces.middle).astype(int),
            f"length_{key}": summed(length * mine),
            f"area_{key}": summed(area * mine),
            f"share_{key}": _share(summed(length * mine), total),
        }
    for key, one in zip(HARD_KEYS, found, strict=True):
        columns[key] = _share(summed(length * (one >= HARD)), total)
    if district.members is not None:
        each = [
            _share(summed(length * (class_numbers(spell[pieces.wall]) >= HARD)), total)
            for spell in district.members.spell
        ]
        columns |= dict(zip(MEMBER_KEYS, (np.min(each, axis=0), np.max(each, axis=0)), strict=True))
    if district.weight_column:
        own = np.bincount(house, walls["length"], minlength=len(district.buildings))
        part = np.bincount(of_piece.ravel(), length / own[house[pieces.wall]])
        worst = np.zeros((len(CLASS_COLUMNS), len(district.buildings)), dtype=int)
        for row, one in zip(worst, classes, strict=True):
            np.maximum.at(row, house, one)
        columns |= _weights(district.buildings["weight"].to_numpy(), part, pairs, worst, len(names))
    return pd.DataFrame(columns)


def _weights(
    weight: np.ndarray, part: np.ndarray, pairs: np.ndarray, worst: np.ndarray, count: int
) -> dict[str, object]:
    """The weight of buildings by area; ``pairs`` has area and building, ``part`` how much of the building is there."""
    area, house = pairs.T
    here, worst = part * np.nan_to_num(weight[house]), worst[:, house]

    def summed(values: np.ndarray) -> np.ndarray:
        return np.bincount(area, values, minlength=count)

    total = summed(here)
    columns: dict[str, object] = {
        "weight": total,
        "weight_missing": summed(np.isnan(weight[house])).astype(int),
    }
    for place, name in enumerate(class_names()):
        columns[f"weight_{name.replace(' ', '_')}"] = summed(here * (worst[0] == place))
    for key, one in zip(HARD_KEYS, worst, strict=True):
        columns[f"weight_{key}"] = _share(summed(here * (one >= HARD)), total)
    return columns


def _classes(walls: pd.DataFrame) -> np.ndarray:
    """Place of each wall's class, and of its milder and harder end; shape (3, wall)."""
    place = {name: number for number, name in enumerate(class_names())}
    return np.stack([walls[column].map(place).to_numpy(dtype=int) for column in CLASS_COLUMNS])


def _share(part: np.ndarray, whole: np.ndarray) -> np.ndarray:
    """NaN of nothing."""
    return np.divide(part, whole, out=np.full(whole.shape, np.nan), where=whole > 0)
