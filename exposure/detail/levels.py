"""The four levels on two axes, wetness and pressure: which one an elevation builds to, and why."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property

import numpy as np

from exposure.detail.circumstances import Circumstances
from exposure.rain.pressure import WallPressure
from exposure.tables import load_table
from exposure.wall.classes import SHORT_MARGIN, class_names


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

    @cached_property
    def one_lower(self) -> "Levels":
        """Both axes one level lower, never below the first nor below what a rule or slow drying asks."""
        wetness = max(self.wetness - 1, self.least_wetness)
        return replace(self, wetness=wetness, pressure=max(self.pressure - 1, 1))

    def lifted(self, hardest: "Levels") -> "Levels":
        """These levels, none below those of the house's hardest elevation."""
        return replace(
            self,
            wetness=max(self.wetness, hardest.wetness),
            pressure=max(self.pressure, hardest.pressure),
            pressure_for_details=max(self.pressure_for_details, hardest.pressure_for_details),
            house=True,
        )

    @cached_property  # asked for every row
    def harder(self) -> int:
        """The harder of both axes."""
        return max(self.wetness, self.pressure)

    def on(self, axis: str) -> int:
        """Level that a row on ``axis`` takes."""
        if axis == "W":
            return self.wetness
        return self.pressure if axis == "P" else self.harder


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
    return np.searchsorted(_limits(), pressure) + 1


@cache
def _limits() -> np.ndarray:
    """Up to which pressure each level goes. [Pa]"""
    return np.array([level.pressure_to for level in levels()])


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
    below = np.concatenate([[0.0, 0.0], _limits()])  # the limit two steps down
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
    if circumstances.undrawn_junction:
        causes.append("parts meet in a way that no drawing here shows")
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
