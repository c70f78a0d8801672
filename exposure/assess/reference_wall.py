"""One stated wall put on every place, so that places can be compared and not buildings.

The wall turns to face each of twelve ways, without neighbours unless a map of them is given, and its hardest facing counts.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple

import numpy as np
import shapely
import xarray as xr

from exposure.assess.assessment import Assessment
from exposure.assess.building import sea_twice
from exposure.assess.doubts import place_sentences
from exposure.checks import RefusalError
from exposure.doubts import flags_of, has_doubt
from exposure.rain.index import compass_orientations
from exposure.rain.uncertainty import SEED, Resamples, band_of, has_band, resample_years
from exposure.site.footprint import Neighbours
from exposure.site.plane import LocalPlane
from exposure.site.raster import Raster
from exposure.wall import Building, Site, WallExposure
from exposure.wall.building import Wall, wall_shapes
from exposure.wall.classes import exposure_class
from exposure.wall.index import wall_exposure
from exposure.wall.sheltered import sheltered_walls

WAYS = 12
HEIGHT = {"two": 5.6, "three": 8.4, "multi": 20.0}  # m to the top, by its storeys; our choice
STOREYS = {"two": 2, "three": 3, "multi": 6}
LENGTH, DEPTH = (
    10.0,
    8.0,
)  # m of the house it belongs to; they tell what it sees, and nothing else; our choice
ITSELF = 7.0  # m round the position: what stands there is taken for the house itself; our choice

Band = tuple[float, float]


class ReferenceWall(NamedTuple):
    """The wall put on every place."""

    shape: str
    height: float  # to its top [m]
    storeys: int

    @property
    def in_words(self) -> str:
        """E.g. ``two-storey gable, 5.6 m high``."""
        return f"{self.shape}, {self.height:g} m high"


def reference_wall(shape: str) -> ReferenceWall:
    """The reference wall of a shape, with the height our choice gives it.

    Raises
    ------
    RefusalError
        When the wall-factor table does not know the shape.

    Examples
    --------
    >>> reference_wall("two-storey gable").in_words
    'two-storey gable, 5.6 m high'
    """
    if shape not in wall_shapes():
        raise RefusalError(
            f"the reference wall {shape[:60]!r}", f"one of {', '.join(wall_shapes())}", "Correct it."
        )
    count = shape.split("-")[0]
    return ReferenceWall(shape, HEIGHT[count], STOREYS[count])


def reference_building(wall: ReferenceWall) -> Building:
    """The wall turned to each of twelve ways, as a building's elevations.

    Examples
    --------
    >>> walls = reference_building(reference_wall("two-storey gable")).walls
    >>> len(walls), walls[3].orientation, walls[3].height
    (12, 90.0, 5.6)
    """
    return Building(
        "Reference wall",
        tuple(
            Wall(
                name=f"facing {way:.0f}",
                orientation=float(way),
                length=LENGTH,
                height=wall.height,
                shape=wall.shape,
                start=_corner(float(way), -1),
                end=_corner(float(way), 1),
            )
            for way in compass_orientations(WAYS)
        ),
        wall.storeys,
    )


def _corner(way: float, side: int) -> tuple[float, float]:
    """A corner of the wall that faces ``way``, left or right of its middle, metres from the position."""
    out, along = np.deg2rad(way), np.deg2rad(way + 90 * side)
    east, north = (DEPTH / 2 * turn(out) + LENGTH / 2 * turn(along) for turn in (np.sin, np.cos))
    return float(east), float(north)


def distances_seen(
    wall: ReferenceWall, around: Neighbours, *, plane: LocalPlane, ground: Raster | None
) -> list[float | None]:
    """How far from the wall the obstacle stands that counts, facing by facing; None where none does. [m]

    Parameters
    ----------
    around
        Buildings in ``plane``, whose middle is the position; those within :data:`ITSELF` of it count as the house itself.

    Examples
    --------
    >>> import shapely
    >>> row = np.array([shapely.box(-60, 24, 60, 34)])  # a long building to the north, 20 m from a wall 4 m off the middle
    >>> around = Neighbours(row, np.array([9.0]), np.array(["height"], dtype=object), "row")
    >>> plane = LocalPlane(latitude=50.0, longitude=8.0)
    >>> seen = distances_seen(reference_wall("two-storey gable"), around, plane=plane, ground=None)
    >>> round(seen[0]), seen[6]
    (20, None)
    """
    here = shapely.dwithin(around.polygons, shapely.Point(0, 0), ITSELF)
    walls = sheltered_walls(reference_building(wall).walls, around.without(here), plane=plane, ground=ground)
    return [one.obstacle_distance for one in walls]


@dataclass(frozen=True)
class SiteOnWall:
    """One place with the reference wall on it.

    Parameters
    ----------
    worst
        The wall at its hardest facing, with bands.
    years
        That count in its record.
    yearly_spell
        Largest spell of each year in an open field, shape (year, facing). [L m-2]
    product
        All factors multiplied, by facing. [1]
    drawn
        Wall spell index of the hardest facing in each resample. [L m-2]
    weather, licence, kind
        Where its weather comes from, in words, who may use it, and the kind of record.
    source, wet_hour
        The record's own name, and the least rain of an hour that counts in it. [mm]
    row
        Of a list, where it comes from one.
    """

    name: str
    site: Site
    wall: ReferenceWall
    worst: WallExposure
    years: tuple[int, ...]
    yearly_spell: np.ndarray = field(repr=False)
    product: np.ndarray = field(repr=False)
    drawn: np.ndarray = field(repr=False)
    flags: tuple[str, ...] = ()
    weather: str = ""
    licence: str = ""
    kind: str = "gauge"
    row: int | None = None
    source: str = ""
    wet_hour: float | None = None

    @property
    def value(self) -> float:
        """Wall spell index of the hardest facing. [L m-2]"""
        return self.worst.wall_spell_index

    @property
    def band(self) -> Band | None:
        """Its 90 % band; None where one year cannot tell. [L m-2]"""
        return self.worst.spell_band


def draw_years(index: xr.Dataset, *, seed: int = SEED) -> Resamples:
    """Whole years of an airfield index drawn again, for every orientation it holds."""
    return resample_years(
        index["yearly_annual_index"].transpose("year", "orientation").values,
        index["yearly_spell_maximum"].transpose("year", "orientation").values,
        seed=seed,
    )


def put_on_site(
    name: str,
    index: xr.Dataset,
    site: Site,
    wall: ReferenceWall,
    *,
    record: Mapping[str, Any] | None = None,
    drawn: Resamples | None = None,
    obstacles: Sequence[float | None] = (None,) * WAYS,
) -> SiteOnWall:
    """Put the reference wall on a site in the weather of an airfield index.

    Parameters
    ----------
    index
        From :func:`exposure.rain.index.airfield_index`, at ``compass_orientations(12)``.
    record
        Attributes of the climate the index was made of, for the doubts on its distance and height; those of
        ``index`` when not given.
    drawn
        :func:`draw_years` of ``index``, where it was made before for another site of the same weather.
    obstacles
        From :func:`distances_seen`; none without it. [m]

    Raises
    ------
    RefusalError
        When the wall cannot be assessed on that site (:func:`exposure.wall.index.wall_exposure`).

    Examples
    --------
    >>> from exposure.rain.index import airfield_index
    >>> import pandas as pd
    >>> time = pd.date_range("2001-01-01T01", "2003-01-01", freq="h")
    >>> rain = np.where(np.arange(time.size) % 200 == 0, 1.0, 0.0)  # one hour of 1 mm, then a week without
    >>> climate = xr.Dataset(
    ...     {"rain": ("time", rain, {"units": "mm"}),
    ...      "wind_speed": ("time", np.full(time.size, 9.0), {"units": "m s-1"}),
    ...      "wind_from_direction": ("time", np.full(time.size, 240.0), {"units": "degree"})},
    ...     coords={"time": time}, attrs={"source": "made up", "licence": "none", "kind": "gauge", "flags": []})
    >>> index = airfield_index(climate, orientation=compass_orientations(WAYS))
    >>> site = Site(name="Shore", latitude=48.4, longitude=-29.7, terrain=("I",) * 12, topography=(1.0,) * 12)
    >>> put = put_on_site("Shore", index, site, reference_wall("two-storey gable"))
    >>> put.worst.wall.orientation, round(put.worst.airfield_spell_index, 3)  # one hour: 2/9 x 9 m/s x (1 mm)^(8/9)
    (240.0, 2.0)
    """
    walls = [
        wall_exposure(index, site, replace(one, obstacle_distance=away))
        for one, away in zip(reference_building(wall).walls, obstacles, strict=True)
    ]
    drawn = draw_years(index) if drawn is None else drawn
    told = xr.Dataset(attrs=dict(record if record is not None else index.attrs))
    kept = _kept(
        name,
        index,
        site,
        wall,
        walls,
        drawn,
        [*flags_of(index.attrs), *site.flags, *place_sentences(told, site)],
    )
    twice = sea_twice(told, site, [kept.worst])
    return replace(kept, flags=tuple(dict.fromkeys([*kept.flags, *twice])))


def of_assessment(name: str, assessment: Assessment, wall: ReferenceWall) -> SiteOnWall:
    """The same of a place whose reference wall was assessed whole (:func:`exposure.assess.assess_building`)."""
    index = assessment.index
    by_way = {one.wall.orientation: one for one in assessment.elevations}
    walls = [by_way[float(way)] for way in index["orientation"].values]
    kept = _kept(name, index, assessment.site, wall, walls, draw_years(index), in_the_open(assessment.flags))
    return replace(kept, worst=assessment.worst)


def in_the_open(flags: Sequence[str]) -> list[str]:
    """``flags`` without the question of neighbours: a reference wall has none by what it is."""
    return [flag for flag in flags if not has_doubt([flag], "assess.neighbours_not_told")]


def _kept(
    name: str,
    index: xr.Dataset,
    site: Site,
    wall: ReferenceWall,
    walls: Sequence[WallExposure],
    drawn: Resamples,
    flags: Sequence[str],
) -> SiteOnWall:
    product = np.array([one.factor_product for one in walls])
    values = np.array([one.wall_spell_index for one in walls])
    hardest = int(np.argmax(values))
    worst = walls[hardest]
    if has_band(drawn.years):
        way = slice(hardest, hardest + 1)
        annual = band_of(
            drawn.annual[:, way] * product[way], np.array([worst.wall_annual_index]), drawn.years
        )
        spell = band_of(drawn.spell[:, way] * product[way], values[way], drawn.years)
        band = (float(spell[0][0]), float(spell[1][0]))
        worst = replace(
            worst,
            annual_band=(float(annual[0][0]), float(annual[1][0])),
            spell_band=band,
            class_band=(exposure_class(band[0]), exposure_class(band[1])),
        )
    return SiteOnWall(
        name=name,
        site=site,
        wall=wall,
        worst=worst,
        years=tuple(int(year) for year in index["year"].values),
        yearly_spell=index["yearly_spell_maximum"].transpose("year", "orientation").values,
        product=product,
        drawn=(drawn.spell * product).max(axis=1),
        flags=tuple(dict.fromkeys([*flags, *worst.flags])),
        weather=str(index.attrs["source"]),
        licence=str(index.attrs["licence"]),
        kind=str(index.attrs["kind"]),
        source=str(index.attrs["source"]),
        wet_hour=index.attrs["wet_hour_mm"],
    )
