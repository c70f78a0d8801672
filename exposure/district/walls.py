"""Walls of a town put together: what tiles tell of them, times the airfield index that faces their way."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from exposure.clock import TYPICAL_YEAR
from exposure.detail.levels import pressure_levels, pressure_steps, pressures_for_details, wetness_level
from exposure.district.facings import Facings
from exposure.district.kept_arrays import Arrays
from exposure.rain.coverage import FEW_YEARS
from exposure.site.roughness import roughness_coefficients
from exposure.wall.classes import (
    SHORT_MARGIN,
    class_in_words,
    class_names,
    class_numbers,
    numbers_for_details,
)
from exposure.wall.index import Products, factor_products, hardest_ground

HARDEST = 4  # level
UNITS = {  # of the columns, as they are written
    "facing": "degrees clockwise from true north",
    "length": "m",
    "height": "m above the ground at the wall",
    "area": "m2",
    "airfield_annual_index": "L/m2 per year",
    "airfield_spell_index": "L/m2 in the worst spell: in three years, or as far as fewer than ten recorded years can tell",
    "wall_annual_index": "L/m2 per year",
    "wall_spell_index": "L/m2 in the worst spell: in three years, or as far as fewer than ten recorded years can tell",
    "annual_low, annual_high, spell_low, spell_high": "ends of the 90 % band, in the unit of the index",
    "annual_member_spread, spell_member_spread": "largest member of an ensemble less the smallest, in the unit of the index",
    "obstacle_distance": "m",
    "level": "1 lap, 2 tape, 3 drain, 4 drain and vent: of wetness alone, before a schedule's own reasons",
    "pressure_any_direction": "Pa, driving-rain wind pressure at the wall, hourly mean, whatever way the wind blows, over the hardest ground that rain comes over",
    "pressure_facing": "Pa, the same with the wind square onto the wall",
    "pressure_for_details": "Pa, the hourly mean that details follow",
    "pressure_level": "1 to 4, of the pressure alone; 4 where no pressure is known",
    "beyond_the_ladder": "true where the pressure is above the highest level",
    "weight": "of the building, as the file tells it",
}


def wall_figures(
    tile: Arrays, cells: Sequence[Facings], cell_of_house: np.ndarray
) -> tuple[pd.DataFrame, np.ndarray]:
    """Every wall with its figures, and the sector whose ground governs it.

    Parameters
    ----------
    tile
        As :func:`exposure.district.tile.tile_of` makes it; several joined.
    cells
        The weather of each record in use.
    cell_of_house
        Which of them is each building's.
    """
    house = tile["wall_house"]
    cell = cell_of_house[house]
    airfield = _by_cell(cells, cell, tile["wall_facing"])
    products = factor_products(
        orientations=tile["wall_facing"],
        heights=tile["wall_height"],
        obstacle_distances=tile["wall_obstacle"],
        wall_factors=tile["wall_factor"],
        categories=tile["house_terrain"][house],
        hills=tile["house_hills"][house],
        annual_by_sector=airfield["by_sector"],
    )
    product = products.in_the_open * products.obstruction_factor
    spell = airfield["airfield_spell_index"] * product
    in_the_open = airfield["airfield_spell_index"] * products.in_the_open
    short = np.array([_is_indicative(one) for one in cells])[cell]
    frame = pd.DataFrame(
        {
            "building": tile["house_row"][house] + 1,
            "wall": tile["wall_name"],
            "facing": tile["wall_facing"],
            "length": tile["wall_length"],
            "height": tile["wall_height"],
            "area": tile["wall_area"],
            "shape": tile["wall_shape"],
            "airfield_annual_index": airfield["airfield_annual_index"],
            "airfield_spell_index": airfield["airfield_spell_index"],
            **{name: getattr(products, name) for name in Products._fields[1:]},
            "obstacle_distance": tile["wall_obstacle"],
            "wall_annual_index": airfield["airfield_annual_index"] * product,
            "annual_low": airfield["annual_low"] * product,
            "annual_high": airfield["annual_high"] * product,
            "wall_spell_index": spell,
            "spell_low": airfield["spell_low"] * product,
            "spell_high": airfield["spell_high"] * product,
            "wall_spell_index_in_the_open": in_the_open,
        }
    )
    light = airfield["airfield_spell_index_any_rain"] * product
    speeds = products.terrain_roughness_coefficient * products.topography_coefficient
    ground = (
        roughness_coefficients(tile["house_terrain"][house], tile["wall_height"][:, None])
        * tile["house_hills"][house]
    )
    hardest = hardest_ground(ground, np.array([one.rainy for one in cells])[cell], speeds)
    pressures = _pressures(airfield, speeds**2, hardest**2)
    told = {**_classes(frame, light, short), **pressures, **_ends(tile)}
    return frame.assign(**told), products.sector


def _pressures(airfield: Arrays, squares: np.ndarray, hardest: np.ndarray) -> dict[str, np.ndarray]:
    """Pressures at each wall and the level they ask for; ``squares`` of the factor on the wind speed, ``hardest`` from any side."""
    whatever, facing = airfield["pressure_any"] * hardest, airfield["pressure_facing"] * squares
    known = np.isfinite(whatever)
    any_direction, onto = np.where(known, whatever, 0.0), np.where(known, facing, 0.0)
    level = pressure_levels(
        facing=onto,
        any_direction=any_direction,
        highest=airfield["pressure_high"] * hardest,
        short=airfield["pressure_short"] == 1.0,
    )
    design = pressures_for_details(facing=onto, any_direction=any_direction)
    return {
        "pressure_any_direction": whatever,
        "pressure_facing": facing,
        "pressure_for_details": np.where(known, design, np.nan),
        "pressure_level": np.where(known, np.minimum(level, HARDEST), HARDEST),
        "beyond_the_ladder": known & (pressure_steps(design) > HARDEST),
    }


def _is_indicative(cell: Facings) -> bool:
    return cell.attrs["kind"] == TYPICAL_YEAR or len(cell.attrs["years"]) < FEW_YEARS


def _by_cell(cells: Sequence[Facings], cell: np.ndarray, facing: np.ndarray) -> Arrays:
    found: Arrays = {}
    for number, one in enumerate(cells):
        mine = np.flatnonzero(cell == number)
        for name, values in one.at(facing[mine]).items():
            whole = found.setdefault(name, np.full((facing.size, *values.shape[1:]), np.nan))
            whole[mine] = values
    return found


def _classes(frame: pd.DataFrame, light: np.ndarray, short: np.ndarray) -> dict[str, np.ndarray]:
    spell = frame["wall_spell_index"].to_numpy()
    found = class_numbers(spell)
    in_the_open = class_numbers(frame["wall_spell_index_in_the_open"].to_numpy())
    any_rain = np.maximum(found, class_numbers(light))
    details = numbers_for_details(
        found=found, in_the_open=in_the_open, never_lowest=short & (class_numbers(SHORT_MARGIN * spell) > 0)
    )
    banded = frame["spell_low"].notna().to_numpy()
    low, high = (class_numbers(frame[end].fillna(0.0).to_numpy()) for end in ("spell_low", "spell_high"))
    return classes_told(
        found=found,
        low=np.where(banded, low, found),
        high=np.where(banded, high, found),
        in_the_open=in_the_open,
        any_rain=any_rain,
        details=details,
    ) | {"indicative": short}


def classes_told(
    *,
    found: np.ndarray,
    low: np.ndarray,
    high: np.ndarray,
    in_the_open: np.ndarray,
    any_rain: np.ndarray,
    details: np.ndarray,
) -> dict[str, np.ndarray]:
    """Columns of a wall's classes from their places among :func:`exposure.wall.classes.class_names`."""
    names = np.array(class_names())
    levels = np.array([wetness_level(name) for name in class_names()])
    return {
        "class": names[found],
        "class_low": names[low],
        "class_high": names[high],
        "class_in_words": _words(found, low, high, any_rain),
        "class_in_the_open": names[in_the_open],
        "class_any_rain": names[any_rain],
        "class_for_details": names[details],
        "level": levels[details],
    }


def _words(found: np.ndarray, low: np.ndarray, high: np.ndarray, any_rain: np.ndarray) -> np.ndarray:
    """Each class with every other it could be; put into words once for each kind."""
    names = class_names()
    kinds, which = np.unique(np.column_stack([found, low, high, any_rain]), axis=0, return_inverse=True)
    words = [
        class_in_words(
            names[own], band=(names[down], names[up]), light_rain=None if light == own else names[light]
        )
        for own, down, up, light in kinds
    ]
    return np.array(words, dtype=object)[which.ravel()]


def _ends(tile: Arrays) -> dict[str, np.ndarray]:
    """Both corners of each wall, longitude and latitude. [degree]"""
    return {
        f"{end}_{axis}": tile[f"wall_{end}"][:, k]
        for end in ("start", "end")
        for k, axis in enumerate(("longitude", "latitude"))
    }
