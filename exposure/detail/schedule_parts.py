"""What a schedule is made of: lines, steps, results of local rules."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from exposure.tables.standing import is_verified
from exposure.wall.building import EAVES, GABLE


@dataclass(frozen=True)
class ScheduleLine:
    """One thing to build, with its reason and who says so."""

    key: str
    where: str
    build: str  # an order to the builder
    why: str  # why this elevation needs it, with its own figures
    one_lower: str  # what it would be one level lower
    source: str
    standing: str  # how the figure stands, see :mod:`exposure.tables.standing`
    caution: str  # "" when there is none
    axis: str  # W wetness, P pressure, M the harder of both, - none
    decided_by: (
        str  # wetness, pressure, both, a local rule, this wall, another wall; nothing: the same everywhere
    )
    value: float | str
    unit: str
    rule: str = ""  # said when a local rule asked for more than the ladder
    reason: str = ""  # why as the ladder has it, where ``why`` adds no more than the elevation's two figures
    lower: str = ""  # ``one_lower`` without the name of that level; "" where it names none

    @property
    def verified(self) -> bool:
        """Whether the figure was compared with the document itself."""
        return is_verified(self.standing)


@dataclass(frozen=True)
class Step:
    """One step in the order of work."""

    text: str
    hold: str = ""  # what to record before the next step covers it; "" when nothing
    caution: str = ""
    adds: tuple[str, ...] = ()  # what the step adds to the drawing of the opening
    sets: tuple[str, ...] = ()  # rows of the ladder whose figures it gives
    drawn: tuple[str, ...] = ()  # junctions whose drawing shows it, where it adds nothing to the frames
    door: bool = False  # done at doors alone
    at_doors: tuple[str, ...] = ()  # parts of its text that hold at doors alone
    number: int = field(default=0, compare=False)  # in the order of work of the house; 0 in a list of its own


@dataclass(frozen=True)
class RetrofitPath:
    """One way to go on with a standing wall."""

    key: str  # keep | overclad | strip | meet
    name: str
    verdict: str  # whether this way is open, as a sentence
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class Ask:
    """What a rule asks of one row of the ladder."""

    row: str  # key by which rules know the row
    way: str  # at least | at most
    value: float
    source: str  # document, clause, edition
    standing: str
    drawn: float | None = None  # figure the code draws its own details for
    above: float | None = None  # asked only where the row is above this by itself: of what need not be there


@dataclass(frozen=True)
class RuleResult:
    """What one local rule says about this elevation."""

    rule: str
    result: str  # a sentence
    figures: str  # how it was reached, in figures
    source: str
    standing: str
    asks: tuple[Ask, ...] = ()
    taken: tuple[str, ...] = ()  # where the rule was stricter than the schedule, as sentences
    specific_design: bool = False
    least_wetness: int = 1
    open: tuple[str, ...] = ()  # which answer would relax what is asked, as doubts
    look_again: str = ""  # date by which the code is to be read again

    @property
    def verified(self) -> bool:
        """Whether everything the rule says here was compared with the code itself."""
        return is_verified(self.standing)


@dataclass(frozen=True)
class Schedule:
    """What to build on one elevation, in order of work.

    ``specific_design`` holds the reason when no schedule may be printed; ``lines`` then holds that one order
    alone, and ``floor`` what the designer should not go below.
    """

    elevation: str
    level: int  # 1 to 4, the harder of both axes
    level_name: str  # of the wetness step
    wetness_level: int
    pressure_level: int
    lines: tuple[ScheduleLine, ...]
    steps: tuple[Step, ...]
    rules: tuple[RuleResult, ...]
    cautions: tuple[str, ...]
    flags: tuple[str, ...]
    raised: tuple[str, ...] = ()  # why the level is above what the exposure alone asks
    taken_to: str = ""  # level of wetness that a rule or slow drying asks, where the class asks less
    specific_design: str | None = None
    floor: tuple[ScheduleLine, ...] = field(default=())
    look_first: tuple[Step, ...] = ()  # for a standing wall: what to look at, open and mend, in order
    retrofit: tuple[RetrofitPath, ...] = ()  # and the ways to go on from there
    least_wetness: int = 1  # what a rule or slow drying asks at least
    tops: tuple[str, ...] = (EAVES, GABLE)  # how the wall may end under its roof
    storeys: int = 0  # none: not told
    door_floor: float = 0.0  # mm above ground or paving, the highest floor that a door of the house asks
    below: Mapping[str, float | str] = field(
        default_factory=dict
    )  # values one level lower; rules, snow, wind kept

    @property
    def axes(self) -> str:
        """Both axes by name, never one level for two things."""
        return f"wetness {self.wetness_level} of 4, pressure {self.pressure_level} of 4"
