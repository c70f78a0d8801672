"""Wall index: the airfield index times roughness, topography, obstruction and wall factor, every step kept."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import xarray as xr

from exposure.clock import TYPICAL_YEAR
from exposure.doubts import doubt
from exposure.rain.coverage import FEW_YEARS
from exposure.rain.extremes import spell_label
from exposure.rain.hour import TERRAIN_SECTORS
from exposure.site.obstruction import nearer_than_table, obstruction_factor, obstruction_factors
from exposure.site.place import Site
from exposure.site.roughness import roughness_coefficients, terrain_roughness_coefficient
from exposure.site.topography import SOURCE as TOPOGRAPHY_SOURCE
from exposure.site.topography import STANDING as TOPOGRAPHY_STANDING
from exposure.tables import load_table, source_line, table_standing
from exposure.tables.standing import is_verified
from exposure.wall.building import OUTSIDE_TABLE, Wall, compass_name
from exposure.wall.classes import (
    SHORT_MARGIN,
    class_for_details,
    class_in_words,
    class_names,
    exposure_class,
    harder_class,
    other_classes,
)
from exposure.wall.doubts import Doubt

FACING_SECTORS = 60.0  # degrees either side of the wall whose ground may govern it; our choice
LEAST_SECTOR_SHARE = 0.10  # of the wall's rain; our choice


@dataclass(frozen=True)
class Factor:
    """One step from the airfield to the wall, with what a reader needs to check it."""

    name: str  # a term of the vocabulary
    value: float
    reason: str
    source: str
    standing: str  # see :mod:`exposure.tables.standing`

    @property
    def verified(self) -> bool:
        """Whether the figure was compared with the document itself."""
        return is_verified(self.standing)


@dataclass(frozen=True)
class WallExposure:
    """One elevation's driving rain with every intermediate value. Indices in L/m2 (annual: per year)."""

    wall: Wall
    airfield_annual_index: float
    airfield_spell_index: float  # the larger of the two below: the one shown, and the one that decides
    airfield_spell_index_percentile: float
    airfield_spell_index_gumbel: float
    factors: tuple[Factor, ...]  # roughness, topography, obstruction, wall factor, in this order
    wall_annual_index: float
    wall_spell_index: float
    wall_spell_index_in_the_open: float  # with no neighbours
    exposure_class: str
    class_in_the_open: str
    class_any_rain: str  # counting every trace of rain
    class_for_details: str
    indicative: bool
    flags: tuple[str, ...] = field(default=())
    spell_label: str = "in the worst spell in three years"  # what the record can carry
    ground_sector: int = 0  # of twelve; the one whose ground governs the product
    # Below: filled by :func:`exposure.assess.assess_building`; None where the record is too short to tell.
    annual_band: tuple[float, float] | None = None  # 90 %, whole years drawn again, as are the next three
    spell_band: tuple[float, float] | None = None
    class_band: tuple[str, str] | None = None
    worst_share: float | None = (
        None  # of resamples in which it, or one hit just as hard, is the worst of its building
    )
    monthly_share: tuple[float, ...] | None = None  # of the year's driving rain, January to December
    sector_annual_index: float | None = None  # ground of the sector the wind comes from, hour by hour
    sector_spell_index: float | None = None
    sector_note: str | None = None  # why the two differ, when it matters
    other_models: Mapping[str, float] = field(default_factory=dict)  # L/m2 in a year on this wall
    doubts: tuple[Doubt, ...] = field(default=())

    @property
    def light_rain_class(self) -> str | None:
        """The harder class that light model rain would put the wall in, when it differs."""
        return self.class_any_rain if self.class_any_rain != self.exposure_class else None

    @property
    def could_be(self) -> tuple[str, ...]:
        """Every class besides its own that its band or light rain reaches, mildest first."""
        light = () if self.light_rain_class is None else (self.light_rain_class,)
        by_band = other_classes(self.exposure_class, self.class_band or ())
        return tuple(name for name in class_names() if name in {*by_band, *light})

    @property
    def factor_product(self) -> float:
        """All four factors multiplied."""
        return float(np.prod([factor.value for factor in self.factors]))

    @property
    def in_words(self) -> str:
        """Class with every other it could be, e.g. ``severe, could be moderate (milder)``."""
        return class_in_words(
            self.exposure_class, band=self.class_band or (), light_rain=self.light_rain_class
        )


def wall_factor(*, shape: str, position: str = "top") -> float:
    """Share of the driving rain that reaches a part of a wall of this shape.

    ISO 15927-3:2009, wall factor table (from memory). A shape with one value for all positions gives that.

    Examples
    --------
    >>> wall_factor(shape="two-storey gable"), wall_factor(shape="two-storey eaves wall")
    (0.5, 0.3)
    """
    rows = [row for row in load_table("wall_factor")["row"] if row["shape"] == shape]
    for row in rows:
        if row["position"] in (position, "all"):
            return row["wall_factor"]
    known = ", ".join(f"{row['shape']} ({row['position']})" for row in load_table("wall_factor")["row"])
    message = f"no wall factor for {shape!r}, {position!r}; the table lists {known}."
    raise LookupError(message)


def governing_sector(orientation: float, annual_by_sector: np.ndarray, product_by_sector: np.ndarray) -> int:
    """Sector whose ground governs the plain product.

    The one with the largest roughness times topography, among sectors within 60 degrees of the wall that
    carry over a tenth of its rain; without any such, the sector the wall faces. (Our choice: the standard
    knows one ground for a wall.)

    Parameters
    ----------
    orientation
        Direction the wall faces. [degree]
    annual_by_sector
        Airfield annual index by sector, for this wall; shape (12,). [L m-2 year-1]
    product_by_sector
        Roughness times topography by sector; shape (12,). [1]

    Examples
    --------
    >>> rain = np.array([0, 0, 0, 0, 0, 0, 10, 50, 40, 0, 0, 0.0])
    >>> governing_sector(210, rain, np.linspace(0.7, 1.1, 12))  # 240 degrees: rain and the smoothest ground
    8
    """
    return int(governing_sectors(np.array(orientation), annual_by_sector, product_by_sector))


def governing_sectors(
    orientations: np.ndarray, annual_by_sector: np.ndarray, product_by_sector: np.ndarray
) -> np.ndarray:
    """As :func:`governing_sector` of many walls at once; sectors along the last axis."""
    away, able = _able_sectors(orientations, annual_by_sector)
    hardest = np.argmax(np.where(able, product_by_sector, -np.inf), axis=-1)
    return np.where(able.any(axis=-1), hardest, np.argmin(away, axis=-1))


def _able_sectors(orientations: np.ndarray, annual_by_sector: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How far each sector lies from the way each wall faces [degree], and whether its ground may govern that wall."""
    bearing = np.arange(TERRAIN_SECTORS) * 360.0 / TERRAIN_SECTORS
    away = np.abs((bearing - np.asarray(orientations)[..., None] + 180) % 360 - 180)
    total = np.sum(annual_by_sector, axis=-1, keepdims=True)
    share = np.divide(annual_by_sector, total, out=np.zeros(np.shape(annual_by_sector)), where=total > 0)
    return away, (away <= FACING_SECTORS + 1e-9) & (share > LEAST_SECTOR_SHARE)


def rainy_sectors(rose: xr.Dataset) -> np.ndarray:
    """Sectors whose ground may govern a wall, whichever way it faces; all where no rain comes from any. Shape (12,).

    Parameters
    ----------
    rose
        Result of :func:`exposure.rain.index.airfield_index` all round.
    """
    annual = rose["airfield_annual_index_by_sector"].transpose("orientation", "terrain_sector").values
    able = _able_sectors(rose["orientation"].values, annual)[1].any(axis=0)
    return np.asarray(able if able.any() else np.ones(TERRAIN_SECTORS, bool))


class Products(NamedTuple):
    """The sector whose ground governs each wall, and the factors it gives. [1]"""

    sector: np.ndarray
    terrain_roughness_coefficient: np.ndarray
    topography_coefficient: np.ndarray
    obstruction_factor: np.ndarray
    wall_factor: np.ndarray

    @property
    def in_the_open(self) -> np.ndarray:
        """All but the neighbours multiplied."""
        return self.terrain_roughness_coefficient * self.topography_coefficient * self.wall_factor


def factor_products(
    *,
    orientations: np.ndarray,
    heights: np.ndarray,
    obstacle_distances: np.ndarray,
    wall_factors: np.ndarray,
    categories: np.ndarray,
    hills: np.ndarray,
    annual_by_sector: np.ndarray,
) -> Products:
    """The four factors of many walls at once.

    Parameters
    ----------
    orientations, heights
        Shape (wall,). [degree, m]
    obstacle_distances
        Missing where none counts. [m]
    wall_factors
        :func:`wall_factor` of the shape, or the user's own. [1]
    categories, hills
        Terrain category and topography coefficient by sector; shape (wall, 12).
    annual_by_sector
        Airfield annual index by sector at the walls' orientations; shape (wall, 12). [L m-2 year-1]
    """
    rough = roughness_coefficients(categories, np.asarray(heights)[:, None])
    sector = governing_sectors(orientations, annual_by_sector, rough * hills)
    at = np.arange(sector.size), sector
    return Products(
        sector, rough[at], np.asarray(hills)[at], obstruction_factors(obstacle_distances), wall_factors
    )


def hardest_ground(product_by_sector: np.ndarray, rainy: np.ndarray, own: np.ndarray | float) -> np.ndarray:
    """Factor on the wind that comes from any side: of the hardest ground that rain comes over, and never below a wall's own. [1]

    Parameters
    ----------
    product_by_sector
        Roughness times topography by sector at the wall's height; sectors along the last axis. [1]
    rainy
        :func:`rainy_sectors` of the record; sectors along the last axis.
    own
        Of the sector that governs the wall. [1]

    Examples
    --------
    >>> cliff, rain = np.where(np.arange(12) == 8, 1.2, 1.0), np.arange(12) > 6
    >>> float(hardest_ground(cliff, rain, 1.0)), float(hardest_ground(cliff, ~rain, 1.0))
    (1.2, 1.0)
    """
    return np.maximum(np.where(rainy, product_by_sector, -np.inf).max(axis=-1), own)


def ground_by_sector(site: Site, height: float) -> np.ndarray:
    """Roughness times topography of each of the twelve sectors at ``height`` [m]; shape (12,). [1]

    Examples
    --------
    >>> ground_by_sector(Site(name="Field", latitude=50, longitude=0), 10.0).round(4)[:2].tolist()
    [1.0067, 1.0067]
    """
    return roughness_coefficients(np.array(site.categories), np.array(height)) * site.hill_coefficients


def site_factors(site: Site, wall: Wall, sector: int) -> tuple[Factor, ...]:
    """The four factors of ``wall`` on ``site`` with the ground of ``sector``, each with reason and source."""
    hill = site.hill_coefficients[sector]
    direction = compass_name(sector * 360 / TERRAIN_SECTORS)
    category = site.categories[sector]
    if wall.view is not None:
        view = wall.view.reason
    elif wall.obstacle_distance is None:
        view = "no neighbour counts as shelter"
    else:
        view = f"neighbour as tall as the wall at {wall.obstacle_distance:.0f} m"
    ground = f"ground {category} to the {direction}, wall top at {wall.height:g} m"
    if site.grounds:
        ground += f": {site.grounds[sector].reason}"
    slope = "flat ground" if hill == 1 else f"hill to the {direction}"
    if site.hills and hill != 1:
        slope += f": {site.hills[sector].in_words}"
    own_value = wall.wall_factor
    return (
        Factor(
            "terrain_roughness_coefficient",
            terrain_roughness_coefficient(category=category, height=wall.height),
            ground,
            source_line("terrain"),
            table_standing("terrain"),
        ),
        Factor(
            "topography_coefficient",
            hill,
            slope,
            TOPOGRAPHY_SOURCE,
            TOPOGRAPHY_STANDING,
        ),
        Factor(
            "obstruction_factor",
            obstruction_factor(wall.obstacle_distance),
            view,
            source_line("obstruction"),
            table_standing("obstruction"),
        ),
        Factor(
            "wall_factor",
            wall_factor(shape=wall.shape) if own_value is None else own_value,
            wall.factor_reason
            or (f"{wall.shape}, worst part" if own_value is None else "chosen by the user"),
            _factor_source(wall),
            table_standing("wall_factor") if own_value is None else "ours",
        ),
    )


def _factor_source(wall: Wall) -> str:
    if wall.factor_reason:
        return "the hardest value of the table, taken where it has no row; our choice"
    return source_line("wall_factor") if wall.wall_factor is None else "chosen by the user"


def wall_exposure(index: xr.Dataset, site: Site, wall: Wall) -> WallExposure:
    """Driving rain on one elevation from the airfield index that faces its way.

    Parameters
    ----------
    index
        Result of :func:`exposure.rain.index.airfield_index` that holds the wall's orientation exactly.
    """
    at = index.get_index("orientation").get_loc(wall.orientation)

    def facing(name: str) -> np.ndarray:
        """Values of a variable for this wall; taken by place, since a selection of the whole Dataset costs far more."""
        found = index.variables[name]
        return found.values.take(at, axis=found.get_axis_num("orientation"))

    annual = float(facing("airfield_annual_index"))
    sector = governing_sector(
        wall.orientation, facing("airfield_annual_index_by_sector"), ground_by_sector(site, wall.height)
    )
    factors = site_factors(site, wall, sector)
    roughness, hills, obstruction, shape = (factor.value for factor in factors)
    open_product = roughness * hills * shape
    spell, any_rain = float(facing("airfield_spell_index")), float(facing("airfield_spell_index_any_rain"))
    indicative = index.attrs["kind"] == TYPICAL_YEAR or index.sizes["year"] < FEW_YEARS
    found = exposure_class(spell * open_product * obstruction)
    in_the_open = exposure_class(spell * open_product)
    return WallExposure(
        wall=wall,
        airfield_annual_index=annual,
        airfield_spell_index=spell,
        airfield_spell_index_percentile=float(facing("airfield_spell_index_percentile")),
        airfield_spell_index_gumbel=float(facing("airfield_spell_index_gumbel")),
        factors=factors,
        wall_annual_index=annual * open_product * obstruction,
        wall_spell_index=spell * open_product * obstruction,
        wall_spell_index_in_the_open=spell * open_product,
        exposure_class=found,
        class_in_the_open=in_the_open,
        class_any_rain=harder_class(found, exposure_class(any_rain * open_product * obstruction)),
        class_for_details=class_for_details(
            found=found,
            in_the_open=in_the_open,
            never_lowest=indicative
            and exposure_class(SHORT_MARGIN * spell * open_product * obstruction) != class_names()[0],
        ),
        indicative=indicative,
        flags=(*wall.flags, *_wall_flags(wall, found, in_the_open)),
        spell_label=spell_label(index.sizes["year"], kind=index.attrs["kind"]),
        ground_sector=sector,
    )


def _wall_flags(wall: Wall, found: str, in_the_open: str) -> list[str]:
    flags: list[str] = []
    if nearer_than_table(wall.obstacle_distance):
        flags.append(doubt("wall.neighbour_near", wall.name))
    if found != in_the_open:
        flags.append(doubt("wall.without_neighbours", wall.name, words=in_the_open))
    if (wall.shape == OUTSIDE_TABLE or wall.wall_factor is not None) and not wall.factor_reason:
        flags.append(doubt("wall.own_factor", wall.name))
    return flags
