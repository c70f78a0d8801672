"""The schedule's numbers as a junction needs them: by row, with the wall they belong to and its head of water."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite

from exposure.detail import Circumstances, Schedule
from exposure.detail.beside import FLANGE
from exposure.detail.ladder import RIGID_BOARDS, setback_of
from exposure.detail.levels import pressure_for_details
from exposure.detail.order import cut_over_head, flap_height
from exposure.rain.pressure import WallPressure
from exposure.rain.wind_pressure import head_told
from exposure.tables.standing import with_standing
from exposure.wall.building import EAVES, GABLE


class NumberMissingError(LookupError):
    """A junction needs a row that the schedule does not hold as a number."""

    def __init__(self, row: str) -> None:
        super().__init__(f"the schedule holds no number for {row}")
        self.row = row


@dataclass(frozen=True)
class Numbers:
    """What one elevation's schedule says, for its drawings.

    Examples
    --------
    >>> numbers = Numbers({"back_dam": 25.0}, level=2)
    >>> numbers.length("back_dam"), numbers.length("tray_down", 50)
    (25.0, 50)
    """

    values: Mapping[str, float | str]
    level: int
    level_name: str = ""  # both axes in words
    wetness: int = 0  # level of each axis; 0 where it is not told, and the level stands for both
    pressure: int = 0
    circumstances: Circumstances = field(default_factory=Circumstances)
    head: float = 0.0  # mm of water, of the hourly mean
    gust_head: float = 0.0  # mm of water, of the gust; only where the inner seal is not tested
    stop: str = ""  # why no schedule may be printed, and so nothing drawn
    words: Mapping[str, str] = field(default_factory=dict)  # the schedule's own sentence, by row
    below: Mapping[str, float | str] = field(default_factory=dict)  # what the rows ask one level lower
    least_wetness: int = 1  # level below which wetness may not go here
    tops: tuple[str, ...] = (EAVES, GABLE)  # how the wall may end under its roof
    door_floor: float = 0.0  # mm above ground or paving, the highest floor that a door of the house asks

    def length(self, row: str, default: float | None = None) -> float:
        """The number of ``row``.

        Raises
        ------
        NumberMissingError
            When the schedule has no such row, or words in it, and there is no default.
        """
        value = self.values.get(row, default)
        if value is None or isinstance(value, str) or not isfinite(value):
            raise NumberMissingError(row)
        return float(value) if row in self.values else value

    def on(self, axis: str) -> int:
        """Level that a row on ``axis`` takes."""
        return {"W": self.wetness, "P": self.pressure}.get(axis) or self.level

    def has(self, row: str) -> bool:
        """Whether the schedule asks ``row``."""
        return row in self.values

    @property
    def boards(self) -> bool:
        """Whether boards stand behind the membrane, or the schedule asks for them."""
        return self.circumstances.sheathing == "sheathed" or self.values.get("mem_class") == RIGID_BOARDS

    @property
    def cut_over_head(self) -> bool:
        """Whether a leg at the head of a window goes up behind the membrane through a level cut, and there is no head flap."""
        return cut_over_head(self.circumstances, boards=self.boards)

    @property
    def flap_height(self) -> float:
        """How high over the opening its head flap hangs. [mm]"""
        return flap_height(
            box=self.circumstances.frame != FLANGE, tape=self.length("tape_w", 0.0),
            leg=self.length("head_up", 0.0),
        )  # fmt: skip

    @property
    def setback(self) -> float:
        """How far the frame stands at least behind the face of the cladding. [mm]"""
        return setback_of(self.values["reveal"]) if "reveal" in self.values else 0.0


def numbers_of(schedule: Schedule, circumstances: Circumstances, pressure: WallPressure) -> Numbers:
    """Numbers of an elevation's schedule."""
    design = pressure_for_details(facing=pressure.facing, any_direction=pressure.any_direction)
    gust = 0.0 if circumstances.air_seal_tested else design * pressure.gust_factor
    return Numbers(
        values={line.key: line.value for line in schedule.lines},
        level=schedule.level,
        level_name=schedule.axes,
        wetness=schedule.wetness_level,
        pressure=schedule.pressure_level,
        circumstances=circumstances,
        stop=schedule.specific_design or "",
        head=float(head_told(design)),
        gust_head=float(head_told(gust)),
        words={
            line.key: with_standing(line.build.removesuffix("."), line.standing) + "."
            for line in schedule.lines
        },
        below=schedule.below,
        least_wetness=schedule.least_wetness,
        tops=schedule.tops,
        door_floor=schedule.door_floor,
    )
