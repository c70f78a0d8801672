"""What the material of each level would cost on each elevation, by an office's own prices. No labour is in it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from exposure.assess.one_build import OneBuild, ToBuild, as_scheduled, strictness
from exposure.assess.prices import Prices
from exposure.detail.circumstances import Circumstances
from exposure.detail.ladder import cavity_for_flange, row_values
from exposure.detail.levels import Levels, levels, pressure_for_details
from exposure.detail.materials import ITEMS
from exposure.detail.openings import Opening
from exposure.detail.schedule_lines import line_of
from exposure.detail.schedule_parts import ScheduleLine
from exposure.detail.take_off import TakeOff, take_off
from exposure.figures import listed, number, whole
from exposure.rain.pressure import WallPressure
from exposure.wall import WallExposure

LEAST_COST = 0.005  # in the currency, from which costs differ


@dataclass(frozen=True)
class LevelCost:
    """Material of one elevation at one level."""

    level: int  # 1 to 4; 0 as scheduled
    cost: float  # in the currency of the prices
    unpriced: tuple[str, ...]  # items of the take-off without a price
    unlisted: bool  # openings were not listed: what they take is not in it
    not_counted: tuple[str, ...] = ()  # ordered, and not in the take-off


@dataclass(frozen=True)
class ElevationCost:
    """Material of one elevation as scheduled and at every level."""

    elevation: str
    currency: str
    level: int  # as scheduled
    scheduled: LevelCost
    by_level: tuple[LevelCost, ...]  # 1 to 4, on both axes; local rules kept
    next_step: (
        float | None
    )  # what one level more of both adds, less than 0 where it saves; None at the top of both
    next_wetness: float | None  # what one level more of wetness alone adds
    next_pressure: float | None  # and of pressure alone

    @property
    def in_words(self) -> str:
        """Cost as scheduled, by level, and of the next step up."""
        said = f"{self.elevation}: material {self.currency} {number(self.scheduled.cost)} as scheduled (level {self.level})"
        said += "; levels 1 to 4: " + ", ".join(number(one.cost) for one in self.by_level)
        if self.next_step is None:
            said += "; no level is above"
        else:
            said += (
                f"; one level more {'saves' if self.next_step < 0 else 'adds'} {whole(abs(self.next_step))}"
            )
        for axis, more in (("wetness", self.next_wetness), ("pressure", self.next_pressure)):
            said += f", {axis} {'is at the top' if more is None else f'alone {whole(more)}'}"
        return f"{said}."


def not_in_it(costs: Iterable[LevelCost]) -> str:
    """What none of these costs hold, a sentence.

    Examples
    --------
    >>> not_in_it([LevelCost(0, 210.0, ("tape",), True, ("cladding", "fixings"))])
    'Not in it: labour; what openings take, which are not listed; without a price: tape; not counted: cladding and fixings.'
    """
    costs = tuple(costs)
    unpriced = dict.fromkeys(item for one in costs for item in one.unpriced)
    left = dict.fromkeys(item for one in costs for item in one.not_counted)
    parts = [
        "labour",
        *(["what openings take, which are not listed"] if any(one.unlisted for one in costs) else []),
        *([f"without a price: {listed(list(unpriced))}"] if unpriced else []),
        *([f"not counted: {listed(list(left))}"] if left else []),
    ]
    return f"Not in it: {'; '.join(parts)}."


@dataclass(frozen=True)
class BuildCost:
    """Material of one build against wall by wall."""

    wall_type: str
    currency: str
    alone: tuple[float, ...]  # of each elevation by itself
    together: LevelCost

    @property
    def in_words(self) -> str:
        """What one build costs, and how much more than wall by wall, with the kind of wall it is for."""
        return f"One build for {self.wall_type}: {self.material_in_words}."

    @property
    def material_in_words(self) -> str:
        """The same without that: both sums, and their difference, as printed."""
        together, alone = round(self.together.cost), round(sum(self.alone))
        exact = self.together.cost - sum(self.alone)
        if abs(exact) < LEAST_COST:
            against = "as much as wall by wall"
        elif together != alone:
            more = together - alone
            against = f"{number(abs(more))} {'more' if more > 0 else 'less'} than the {number(alone)} of wall by wall"
        else:
            against = f"{'more' if exact > 0 else 'less'} than wall by wall by what rounding hides"
        return f"material {self.currency} {number(together)}, {against}"


def elevation_cost(
    exposure: WallExposure,
    pressure: WallPressure,
    circumstances: Circumstances,
    built: ToBuild,
    openings: Sequence[Opening],
    prices: Prices,
    *,
    waste: Mapping[str, float] | None = None,
) -> ElevationCost:
    """Cost of the material of one elevation, as scheduled and at each level.

    A level stands for both axes; pressure decides upstands as ever, and what local rules ask stays, the least wetness too.
    """

    def cost(level: int, lines: Sequence[ScheduleLine]) -> LevelCost:
        scheduled = as_scheduled(built.schedule, lines)
        amounts = take_off(
            exposure.wall,
            scheduled,
            openings,
            boarded=built.boarded,
            corners=built.corners,
            waste=waste,
        )
        return level_cost(level, amounts, {line.key: line.value for line in lines}, prices)

    design = pressure_for_details(facing=pressure.facing, any_direction=pressure.any_direction)
    ruled = [line for line in built.lines if line.rule]
    asked = frozenset(line.key for line in ruled)
    top = len(levels())

    def at(wetness: int, push: int) -> LevelCost:
        found = Levels(max(wetness, built.schedule.least_wetness), push, design, beyond=False, raised=())
        values = row_values(found, pressure, circumstances, asked=asked)
        if deeper := cavity_for_flange(values, circumstances):
            values = row_values(found, pressure, circumstances, asked=asked | {*deeper}) | deeper
        lines = [
            line_of(row, value, found, exposure, pressure, circumstances) for row, value in values.values()
        ]
        return cost(max(wetness, push), _with_rules(lines, ruled))

    def more(wetness: int, push: int) -> float | None:
        if (wetness, push) == (wet, pressed):
            return None
        return at(wetness, push).cost - scheduled.cost  # less where a welded tray needs no corner pieces

    scheduled = cost(0, built.lines)
    wet, pressed = built.schedule.wetness_level, built.schedule.pressure_level
    wetter, harder = min(wet + 1, top), min(pressed + 1, top)
    return ElevationCost(
        exposure.wall.name,
        prices.currency,
        built.schedule.level,
        scheduled,
        tuple(at(level, level) for level in range(1, top + 1)),
        more(wetter, harder),
        more(wetter, pressed),
        more(wet, harder),
    )


def build_cost(build: OneBuild, elevations: Sequence[ElevationCost], prices: Prices) -> BuildCost:
    """Cost of one build against each of its elevations built for itself.

    Parameters
    ----------
    elevations
        Costs of the house's elevations, those of other builds among them.
    """
    shared = {one.line.key: one.line.value for one in build.lines if not one.apart}
    together = level_cost(0, build.together, shared, prices)
    alone = tuple(one.scheduled.cost for one in elevations if one.elevation in build.elevations)
    return BuildCost(build.wall_type, prices.currency, alone, together)


def level_cost(
    level: int,
    amounts: TakeOff,
    values: Mapping[str, float | str],
    prices: Prices,
) -> LevelCost:
    """Amounts times prices; what has no price is named, and never counted as free without being said.

    Parameters
    ----------
    values
        Rows of the schedule, by which a membrane or a batten has a price of its own kind.
    """
    membrane = str(values.get("mem_class", "")).split(" ")[0]
    depths = [f"{float(values[key]):g}" for key in ("cav_depth", "cav_render", "cav_mas") if key in values]
    kinds = {"membrane": membrane, "batten": "".join(depths)}
    total, unpriced = 0.0, []
    for one in ITEMS:
        item, much = one.name, getattr(amounts, one.field)
        price = prices.of(item, kinds.get(item, ""))
        if price is not None:
            total += (much or 0.0) * price
        elif much:
            unpriced.append(item)
    return LevelCost(level, total, tuple(unpriced), amounts.openings is None, amounts.not_counted)


def _with_rules(lines: Sequence[ScheduleLine], ruled: Sequence[ScheduleLine]) -> list[ScheduleLine]:
    """Lines of a level with the stricter of each and what a rule asked."""
    merged = {line.key: line for line in lines}
    for line in ruled:
        mine = merged.get(line.key)
        if mine is None or (strictness(mine) or 0.0) < (strictness(line) or 0.0):
            merged[line.key] = line
    return list(merged.values())
