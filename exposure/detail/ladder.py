"""The ladder of four levels on two axes, wetness and pressure, read from its table."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import ceil, floor
from typing import Any

import numpy as np

from exposure.detail.beside import beside
from exposure.detail.circumstances import Circumstances
from exposure.detail.snow import CLEAR
from exposure.rain.pressure import WallPressure
from exposure.rain.wind_pressure import head_of_water, head_told
from exposure.tables import load_table
from exposure.wall.classes import SHORT_MARGIN, class_names

TABLE = "detail_ladder"
SPLASH = 5.0  # mm above the head of water, our choice
DAMS = ("back_dam", "end_dam")  # rows that hold a head of water; the ends never lower than the back
ROD_BACK = 20.0  # mm, an upstand that backing rod and sealant (18 mm) can be sealed against; our choice
LEAST_CAVITY = 10.0  # mm, where the window itself stands over a cavity; Canadian capillary break, published
CAVITY_ROWS = ("cav_vent", "slot", "mesh", "cav_run", "cav_top", "cav_top_cap", "batten_sp", "cav_corner")
RIGID_BOARDS = "W1 on rigid boards"  # entry of the row mem_class
STUD_LAYERS = "stud_layers"
MEASURED_FROM = 2  # level from which the spray is measured
LESS_IS_STRICTER = (
    "weep_sp",
    "weep_top",
    "mesh",
)  # rows that are the same at every level, and stricter when smaller
SNOW_ROWS = ("gnd", "paved", "snow_open", "snow_roof")  # heights that snow lies against
LEAST_SMOKE = 2  # entry of the row smoke that tests the seal, where the trays count on a tested one
NOTHING_ASKED = ("smoke", "chk_first", "chk_min", "chk_pct")  # left out while they ask nothing
ONLY_BY_A_RULE = ("weep_top",)  # left out unless a rule asks for it


@dataclass(frozen=True)
class Row:
    """One part of an elevation at four levels."""

    key: str
    stage: int
    where: str
    axis: str
    direction: str
    unit: str
    values: tuple[float | str, ...]
    build: tuple[str, ...]
    reason: str
    sources: tuple[str, ...]
    standings: tuple[str, ...]
    walls: tuple[str, ...]
    when: str
    caution: str
    cavity: str
    stands_for: str
    otherwise: tuple[
        Mapping[str, str], ...
    ] = ()  # other words for ``build`` or ``caution``, each with its ``when``

    @property
    def rule_key(self) -> str:
        """The key by which a local rule knows this row."""
        return self.stands_for or self.key

    @property
    def less_is_stricter(self) -> bool:
        """Whether a smaller figure is the stricter one."""
        return self.direction == "down" or self.key in LESS_IS_STRICTER

    def words_for(self, name: str, circumstances: Circumstances) -> str | None:
        """Other words for ``build`` or ``caution`` that these circumstances ask; None where they ask none."""
        return next(
            (one[name] for one in self.otherwise if name in one and beside(one["when"], circumstances)), None
        )

    def source_at(self, step: int) -> str:
        """Who gives the figure of step 0 to 3."""
        return self.sources[min(step, len(self.sources) - 1)]


@dataclass(frozen=True)
class Level:
    """One level of the ladder: its limits on both axes, and what wetness, pressure and the harder of both add."""

    level: int
    name: str
    exposure_class: str
    pressure_to: float
    meaning: str
    pressure_meaning: str
    harder_meaning: str
    standing: str


@dataclass(frozen=True)
class Levels:
    """Level of an elevation on both axes, and how it came about."""

    wetness: int
    pressure: int
    pressure_for_details: float  # Pa, hourly mean
    beyond: bool  # the pressure is above the ladder
    raised: tuple[str, ...]
    least_wetness: int = 1  # what a rule or slow drying asks at least, before raising
    least_cause: str = ""
    house: bool = False  # lifted to the hardest elevation of the house: one build for all

    def lifted(self, hardest: "Levels") -> "Levels":
        """These levels, none below those of the house's hardest elevation."""
        return replace(
            self,
            wetness=max(self.wetness, hardest.wetness),
            pressure=max(self.pressure, hardest.pressure),
            pressure_for_details=max(self.pressure_for_details, hardest.pressure_for_details),
            house=True,
        )

    @property
    def harder(self) -> int:
        """The harder of both axes."""
        return max(self.wetness, self.pressure)

    def on(self, axis: str) -> int:
        """Level that a row on ``axis`` takes."""
        return {"W": self.wetness, "P": self.pressure}.get(axis, self.harder)


@cache
def ladder_rows() -> tuple[Row, ...]:
    """Every row of the ladder, in order of work."""
    return tuple(_row(row) for row in load_table(TABLE)["row"])


def _row(entry: dict[str, Any]) -> Row:
    cells: dict[str, Any] = {
        name: tuple(cell) if isinstance(cell, list) else cell for name, cell in entry.items()
    }
    return Row(**cells)


@cache
def levels() -> tuple[Level, ...]:
    """The four levels, easiest first.

    Examples
    --------
    >>> [level.name for level in levels()]
    ['lap', 'tape', 'drain', 'drain and vent']
    """
    return tuple(Level(**row) for row in load_table("detail_level")["row"])


def wetness_level(exposure_class: str) -> int:
    """Level of an exposure class, 1 to 4.

    Examples
    --------
    >>> wetness_level("severe")
    3
    """
    return class_names().index(exposure_class) + 1


def pressure_step(pressure: float) -> int:
    """Level of a driving-rain wind pressure at the wall [Pa], 1 to 4, or 5 beyond the ladder.

    Examples
    --------
    >>> pressure_step(100), pressure_step(100.1), pressure_step(451)
    (1, 2, 5)
    """
    return int(pressure_steps(np.asarray(pressure)))


def pressure_steps(pressure: np.ndarray) -> np.ndarray:
    """The same of many pressures. [Pa]

    Examples
    --------
    >>> pressure_steps(np.array([100.0, 100.1, 451.0])).tolist()
    [1, 2, 5]
    """
    return np.searchsorted([level.pressure_to for level in levels()], pressure) + 1


def pressure_for_details(*, facing: float, any_direction: float) -> float:
    """Hourly mean pressure the details follow. [Pa]

    The published pressure knows no direction. That the wind seldom stands square on this wall while it rains
    may buy one level and no more (our choice, as for shelter): then the limit below that level stands in.

    Examples
    --------
    >>> pressure_for_details(facing=60, any_direction=250), pressure_for_details(facing=240, any_direction=250)
    (100.0, 240.0)
    """
    return float(pressures_for_details(facing=np.asarray(facing), any_direction=np.asarray(any_direction)))


def pressures_for_details(*, facing: np.ndarray, any_direction: np.ndarray) -> np.ndarray:
    """The same of many walls. [Pa]"""
    below = np.array([0.0, 0.0, *(level.pressure_to for level in levels())])  # the limit two steps down
    return np.maximum(facing, below[pressure_steps(any_direction) - 1])


def pressure_levels(
    *, facing: np.ndarray, any_direction: np.ndarray, highest: np.ndarray, short: np.ndarray
) -> np.ndarray:
    """Level of many walls by their pressure alone, 1 to 5: beyond the ladder.

    Parameters
    ----------
    facing, any_direction
        At the wall, hourly mean. [Pa]
    highest
        Upper end of the range of ``any_direction``, where the record tells one. [Pa]
    short
        Whether the record is short.

    Examples
    --------
    >>> told = {"highest": np.array([np.nan, np.nan]), "short": np.array([False, True])}
    >>> pressure_levels(facing=np.array([30.0, 30.0]), any_direction=np.array([60.0, 60.0]), **told).tolist()
    [1, 2]
    """
    design = pressures_for_details(facing=facing, any_direction=any_direction)
    least = np.where(_too_short(any_direction, highest, short), 2, 1)
    return np.maximum.reduce([pressure_steps(design), pressure_steps(any_direction) - 1, least])


def too_short_for_the_lowest(pressure: WallPressure) -> bool:
    """Whether a short record cannot carry the lowest level here.

    It carries it where twice its figure stays within the level, and the upper end of its range too where it has
    one (the margin of a short record's wetness, our choice).
    """
    any_direction, highest = np.asarray(pressure.any_direction), np.asarray(pressure.any_direction_range[1])
    return bool(_too_short(any_direction, highest, np.asarray(pressure.short)))


def _too_short(any_direction: np.ndarray, highest: np.ndarray, short: np.ndarray) -> np.ndarray:
    upper = np.fmax(SHORT_MARGIN * any_direction, np.where(np.isfinite(highest), highest, 0.0))
    return short & (pressure_steps(upper) > 1)


def raising_causes(circumstances: Circumstances, wetness: int) -> tuple[str, ...]:
    """Why this elevation goes up a level, as clauses. Several causes raise it once, and are all told."""
    causes = []
    if circumstances.later_access == "scaffold or lift needed":
        causes.append("the windows cannot be reached later without scaffold or lift")
    if circumstances.roof_meets_wall == "roof or gutter ends inside the wall":
        causes.append("a roof or gutter ends inside the wall")
    if circumstances.run_off_from_above:
        causes.append("water from above runs onto the wall")
    if circumstances.bare_limit_passed:
        causes.append("the membrane stood bare longer than its maker allows")
    if circumstances.sheathing == "open studs" and wetness >= 3 and is_framed(circumstances):
        causes.append("film over open studs resists no driven rain")
    if circumstances.frame_wet and is_framed(circumstances):
        causes.append("the frame is above 20 % moisture")
    if circumstances.junctions == "complex, with unusual junctions":
        causes.append("the building has unusual junctions")
    return tuple(causes)


def is_framed(circumstances: Circumstances) -> bool:
    """True for a wall with a timber frame."""
    return circumstances.wall_type != "cavity masonry"


def find_levels(
    exposure_class: str,
    pressure: WallPressure,
    circumstances: Circumstances,
    *,
    floors: Sequence[tuple[int, str]] = (),
) -> Levels:
    """Level of an elevation on both axes.

    Parameters
    ----------
    exposure_class
        The class the details follow.
    floors
        Least wetness levels that local rules ask, each with the name of its rule.
    """
    floors = [*floors, (2 if circumstances.drying == "slowly" else 1, "air that dries slowly")]
    least, cause = max(floors, key=lambda one: one[0])
    wetness = max(wetness_level(exposure_class), least)
    design = pressure_for_details(facing=pressure.facing, any_direction=pressure.any_direction)
    found = int(
        pressure_levels(
            facing=np.asarray(pressure.facing),
            any_direction=np.asarray(pressure.any_direction),
            highest=np.asarray(pressure.any_direction_range[1]),
            short=np.asarray(pressure.short),
        )
    )
    causes = raising_causes(circumstances, wetness)
    rise = 1 if causes else 0
    return Levels(
        min(wetness + rise, 4),
        min(found + rise, 4),
        design,
        pressure_step(design) > 4,
        causes,
        least,
        cause if least > 1 else "",
    )


def dam_height(
    row_value: float, *, pressure: float, gust_pressure: float | None = None, splash: float = SPLASH
) -> float:
    """Height of an upstand: the ladder's, or the head of water with some for splash if that is more. [mm]

    Parameters
    ----------
    row_value
        What the ladder asks. [mm]
    pressure
        Hourly mean; its head is taken as a tenth, the rounding of the Ontario code. [Pa]
    gust_pressure
        Gust pressure when the upstand has to hold a gust's head too. [Pa]

    Examples
    --------
    >>> [dam_height(15, pressure=p) for p in (100, 150, 200, 250, 300, 400, 450)]
    [15, 20, 25, 30, 35, 45, 50]
    >>> dam_height(15, pressure=138, gust_pressure=320)
    40
    """
    need = pressure / 10 + splash
    if gust_pressure is not None:
        need = max(need, float(head_of_water(gust_pressure)) + splash, head_told(gust_pressure) + splash)
    return max(row_value, 5 * ceil(round(need / 5, 6)))


def dam_floor(row: Row, found: Levels) -> float:
    """Height of an upstand before any head of water: the ladder's, and what a backing rod needs where one is asked. [mm]"""
    asked = float(row.values[found.on(row.axis) - 1])
    return max(asked, ROD_BACK) if found.harder >= MEASURED_FROM else asked


def applies(row: Row, circumstances: Circumstances) -> bool:
    """Whether an elevation has the part ``row`` speaks of."""
    return (not row.walls or circumstances.wall_type in row.walls) and beside(row.when, circumstances)


def row_values(
    found: Levels, pressure: WallPressure, circumstances: Circumstances, *, asked: Collection[str] = ()
) -> dict[str, tuple[Row, float | str]]:
    """Every row that applies, with its value: the ladder's, the dams' by head of water, the maker's bare limit.

    A cavity of no depth takes its openings and battens away with it, and a row that asks nothing, or stands for rules alone, is left out,
    unless a rule has ``asked`` for it. Openings that a rule has checked are sprayed.
    """
    values: dict[str, tuple[Row, float | str]] = {}
    for row in ladder_rows():
        if applies(row, circumstances):
            values[row.key] = (row, _value(row, found, pressure, circumstances))
    dropped = {
        key for key in NOTHING_ASKED if key in values and values[key][1] in (0, "none") and key not in asked
    }
    dropped |= set(ONLY_BY_A_RULE).difference(asked)
    if "chk_min" in asked and found.harder < MEASURED_FROM:
        sprayed = values["chk_type"][0]
        values["chk_type"] = (sprayed, sprayed.values[MEASURED_FROM - 1])
    elif found.harder < MEASURED_FROM:
        dropped.add("chk_rate")
    if "cav_depth" in values and values["cav_depth"][1] == 0 and "cav_depth" not in asked:
        dropped.update(CAVITY_ROWS)
    return {key: cell for key, cell in values.items() if key not in dropped}


def _value(row: Row, found: Levels, pressure: WallPressure, circumstances: Circumstances) -> float | str:
    value = row.values[found.on(row.axis) - 1]
    if row.key in DAMS:
        gust = None if circumstances.air_seal_tested else found.pressure_for_details * pressure.gust_factor
        return dam_height(dam_floor(row, found), pressure=found.pressure_for_details, gust_pressure=gust)
    if row.key == "smoke" and circumstances.air_seal_tested:
        return row.values[max(found.on(row.axis) - 1, LEAST_SMOKE)]
    if row.key == "bare_max" and circumstances.bare_limit is not None:
        return min(float(value), circumstances.bare_limit)
    if row.key in SNOW_ROWS and circumstances.snow_depth:
        return max(float(value), circumstances.snow_depth + CLEAR)
    if row.key == "cav_depth" and circumstances.window_position == "over the cavity":
        return max(float(value), LEAST_CAVITY)
    return value


def rank(row: Row, value: float | str) -> float:
    """How strong ``value`` is on ``row``: larger is stronger.

    Examples
    --------
    >>> row = next(row for row in ladder_rows() if row.key == "mem_class")
    >>> rank(row, "W2") < rank(row, "W1")
    True
    """
    if row.direction == "ordered":
        return float(max(i for i, entry in enumerate(row.values) if entry == value))
    if isinstance(value, str):
        return 0.0
    return -float(value) if row.less_is_stricter else float(value)


def stricter(row: Row, value: float | str, *, way: str, asked: float) -> float | str:
    """``value`` or what a rule asks, whichever is stricter; a rule never lowers.

    Parameters
    ----------
    way
        ``at least`` or ``at most``.
    asked
        The rule's figure, or a level from 1 to 4 on an ordered row.
    """
    if row.direction == "ordered":
        return max(value, row.values[int(asked) - 1], key=lambda entry: rank(row, entry))
    if isinstance(value, str):
        return value
    if row.unit == "mm":  # whole millimetres, rounded to the safe side
        asked = floor(asked) if way == "at most" else ceil(round(asked, 6))
    return min(value, asked) if way == "at most" else max(value, asked)
