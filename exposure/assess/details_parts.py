"""What the details of an assessed building are made of."""

from collections.abc import Sequence
from dataclasses import dataclass

from exposure.assess.assessment import Assessment
from exposure.assess.costs import BuildCost, ElevationCost
from exposure.assess.one_build import OneBuild, ToBuild
from exposure.detail import Circumstances, Schedule
from exposure.detail.bare_wrap import BareWrap
from exposure.detail.inside_layer import InsideLayer
from exposure.detail.laboratory import LaboratoryBrief, laboratory_brief
from exposure.detail.levels import pressure_for_details
from exposure.detail.openings import Opening
from exposure.detail.take_off import TakeOff
from exposure.detail.take_off_wall import Corners
from exposure.detail.water_check import WaterCheck
from exposure.detail.ways_to_build import LEAK_RANGE
from exposure.detail.wetting_result import Wetting, WettingResult, hours_words
from exposure.detail.window_class import HouseOrder, WindowOrder, groove_words, house_order
from exposure.figures import NO_BREAK
from exposure.rain.pressure import WallPressure
from exposure.wall import WallExposure


@dataclass(frozen=True)
class ElevationOrders:
    """What is built on one elevation, with what it rests on."""

    exposure: WallExposure
    pressure: WallPressure
    circumstances: Circumstances
    schedule: Schedule
    corners: Corners | None  # what the take-off counts with it at its own

    @property
    def name(self) -> str:
        """Name of the elevation."""
        return self.exposure.wall.name

    @property
    def to_build(self) -> ToBuild:
        """The elevation as it came out by itself, for take-off, cost and one build."""
        mine = self.circumstances
        return ToBuild(
            self.exposure.wall,
            mine.wall_type,
            self.schedule,
            boarded=mine.sheathing == "sheathed",
            corners=self.corners,
        )

    @property
    def design_pressure(self) -> float:
        """Hourly mean pressure that upstands and water check follow. [Pa]"""
        return pressure_for_details(facing=self.pressure.facing, any_direction=self.pressure.any_direction)


@dataclass(frozen=True)
class ElevationDetails(ElevationOrders):
    """Everything to build and check one elevation."""

    window: WindowOrder
    water_check: WaterCheck
    bare_wrap: BareWrap | None  # None: no membrane stands bare
    wetting: tuple[WettingResult, ...]
    take_off: TakeOff
    inside: InsideLayer


@dataclass(frozen=True)
class BuildingOrders:
    """What is built on every elevation, worst first; the quick part of the details, and what the rest is made from."""

    assessment: Assessment
    elevations: tuple[ElevationOrders, ...]
    openings: tuple[Opening, ...] = ()

    def of(self, name: str) -> ElevationOrders:
        """Orders of the elevation called ``name``."""
        return next(one for one in self.elevations if one.name == name)


@dataclass(frozen=True)
class BuildingDetails:
    """A building's details, worst elevation first."""

    assessment: Assessment
    elevations: tuple[ElevationDetails, ...]
    clad_first: tuple[str, ...]  # those whose membrane stands bare
    wetting: Wetting
    sensitivity: tuple[WettingResult, ...]  # of the worst elevation: leak shares and lap shares
    drying: str  # how well the air dries, as a sentence
    total: TakeOff
    flags: tuple[str, ...]
    one_build: tuple[OneBuild, ...] = ()  # one for each wall type
    costs: tuple[ElevationCost, ...] | None = None  # by the office's prices, where they were given
    build_costs: tuple[BuildCost, ...] = ()  # of each build, by the same prices
    openings: tuple[Opening, ...] = ()  # the list as given
    rating: float | None = None  # Pa, of the window looked at

    @property
    def sensitivity_in_words(self) -> str:
        """How far hours wet hang on the leak and on the laps, on the worst elevation."""
        said = []
        for key, name in (("unsealed, open", "unsealed"), ("drained, open", "taped with a drained cavity")):
            mine = [one for one in self.sensitivity if one.way.key == key]
            leaks = [one.hours_wet for one in mine[: len(LEAK_RANGE)]]
            laps = [one.hours_wet for one in mine[len(LEAK_RANGE) :]]
            said.append(
                f"{name} {_span(leaks)} with {LEAK_RANGE[0]:.1%} to {LEAK_RANGE[-1]:.0%} leaking, "
                f"{_span(laps)} with tighter and looser laps"
            )
        return f"Hours wet a year behind the membrane: {'; '.join(said)}.".replace("%", f"{NO_BREAK}%")

    @property
    def window(self) -> HouseOrder:
        """The one window order of the house."""
        builds = {one.name: {line.key: line.build for line in one.schedule.lines} for one in self.elevations}
        return house_order({one.name: one.window for one in self.elevations}, frames=groove_words(builds))

    @property
    def laboratory(self) -> LaboratoryBrief:
        """What a laboratory is asked for, where a window is checked under pressure."""
        return laboratory_brief([one.water_check for one in self.elevations], self.openings)

    def of(self, name: str) -> ElevationDetails:
        """Details of the elevation called ``name``."""
        for one in self.elevations:
            if one.name == name:
                return one
        known = ", ".join(one.name for one in self.elevations)
        message = f"no elevation {name!r}; the building has {known}."
        raise LookupError(message)


def _span(hours: Sequence[float]) -> str:
    low, high = hours_words(min(hours)), hours_words(max(hours))
    return low if low == high else f"{low.removesuffix(f'{NO_BREAK}h')} to {high}"
