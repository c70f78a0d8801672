"""What is doubtful about the schedule of one elevation."""

from collections.abc import Collection, Mapping, Sequence

from exposure.detail.circumstances import Circumstances
from exposure.detail.ladder import LIGHT_CAVITIES, Row, dam_floor, dam_height, for_flange, setback_of
from exposure.detail.levels import Levels, find_levels, is_framed, pressure_for_details
from exposure.detail.order import window_sequence
from exposure.detail.retrofit import NOT_OPENED
from exposure.detail.schedule_lines import Beside
from exposure.detail.schedule_parts import RuleResult
from exposure.doubts import doubt
from exposure.figures import amount, listed, pascals
from exposure.rain.pressure import WallPressure
from exposure.tables.standing import standing_words
from exposure.wall import WallExposure

ORDER_WORDS = {  # whose order of work it is
    "sheathed": "a window at the boards",
    "over a cavity": "a window over the cavity",
    "masonry cavity": "a window behind an outer leaf",
}


def schedule_doubts(
    exposure: WallExposure,
    pressure: WallPressure,
    circumstances: Circumstances,
    found: Levels,
    results: Sequence[RuleResult],
    *,
    boards: bool,
    metals: str,
) -> tuple[str, ...]:
    """What is doubtful of the exposure, the pressure, the levels and what was not told; ``boards`` where they are asked."""
    flags = [*exposure.flags, *pressure.flags]
    name = exposure.wall.name
    lowest = [
        word
        for word, level, short in (
            ("wetness", found.wetness, exposure.indicative),
            ("pressure", found.pressure, pressure.short),
        )
        if level == 1 and short
    ]
    if lowest:
        flags.append(doubt("detail.short_lowest", name, axes=listed(lowest)))
    if found.raised:
        flags.append(doubt("detail.raised_one_level", name, because=listed(list(found.raised))))
    if boards and circumstances.sheathing == "open studs":
        order = ORDER_WORDS[window_sequence(circumstances, boards=True)]
        flags.append(doubt("detail.boards_on_studs", name, order=order))
    if exposure.light_rain_class:
        flags.append(
            doubt(
                "detail.light_rain_class",
                name,
                could_be=exposure.light_rain_class,
                found=exposure.exposure_class,
            )
        )
    top = exposure.class_band[1] if exposure.class_band else exposure.exposure_class
    by_band = find_levels(top, pressure, circumstances, floors=[(found.least_wetness, found.least_cause)])
    if by_band.wetness > found.wetness:  # not where a rule asks as much already
        flags.append(doubt("detail.class_by_band", name, could_be=top, level=by_band.wetness))
    used = pressure_for_details(facing=pressure.facing, any_direction=pressure.any_direction)
    if used > pressure.facing + 0.5:
        flags.append(
            doubt(
                "detail.wind_seldom_square",
                name,
                facing=pascals(pressure.facing),
                used=pascals(used),
                any_direction=pascals(pressure.any_direction),
            )
        )
    if is_framed(circumstances) and circumstances.bare_limit is None:
        flags.append(doubt("detail.bare_limit_unknown"))
    if circumstances.frame_type == "not said" and circumstances.wall_type != "cavity masonry":
        flags.append(doubt("detail.frame_not_said", circumstances.frame))
    if (
        circumstances.cladding_fixing == "not said"
        and circumstances.wall_type == "timber frame with cladding"
    ):
        flags.append(doubt("detail.fixing_not_said", circumstances.fixing))
    if circumstances.work == "standing wall" and circumstances.opened == NOT_OPENED:
        flags.append(doubt("detail.wall_not_opened"))
    if circumstances.sea_distance is None:
        flags.append(doubt("detail.sea_distance_unknown", metals))
    if not circumstances.local_rules:
        flags.append(doubt("detail.no_local_rules"))
    flags.extend(sentence for result in results for sentence in result.open)
    for result in results:
        key = "detail.rule_read" if result.verified else "detail.rule_not_read"
        if result.look_again or result.standing in ("second hand", "from memory"):
            standing, by = standing_words(result.standing), result.look_again or "the next job"
            flags.append(doubt(key, result.rule, standing=standing, by=by))
    return tuple(dict.fromkeys(flags))


def counts_on_a_tested_seal(
    elevation: str,
    values: Mapping[str, tuple[Row, float | str]],
    found: Levels,
    pressure: WallPressure,
    circumstances: Circumstances,
) -> tuple[str, ...]:
    """What the tray's back would be if the test that was promised is not made."""
    if not circumstances.air_seal_tested or "back_dam" not in values:
        return ()
    row, value = values["back_dam"]
    design = found.pressure_for_details
    untested = dam_height(dam_floor(row, found), pressure=design, gust_pressure=design * pressure.gust_factor)
    if untested <= float(value):
        return ()
    return (doubt("detail.seal_to_be_tested", elevation, height=amount(untested, row.unit)),)


def lifted(elevation: str, alone: Levels, found: Levels) -> tuple[str, ...]:
    """What the elevation would ask by itself, where it is built as the hardest of the house."""
    if (alone.wetness, alone.pressure) == (found.wetness, found.pressure):
        return ()
    return (doubt("detail.one_build", elevation, wetness=alone.wetness, pressure=alone.pressure),)


def left_details(
    elevation: str, values: Mapping[str, tuple[Row, float | str]], results: Sequence[RuleResult]
) -> tuple[str, ...]:
    """A doubt for each row that stands beyond the figure a code draws its own details for."""
    found = []
    for result in results:
        for ask in result.asks:
            for row, value in values.values():
                if row.rule_key != ask.row or ask.drawn is None or isinstance(value, str):
                    continue
                if value < ask.drawn if ask.way == "at most" else value > ask.drawn:
                    drawn, built = amount(ask.drawn, row.unit), amount(value, row.unit)
                    part, by = row.where.lower(), result.rule
                    found.append(
                        doubt("detail.left_details", elevation, rule=by, part=part, drawn=drawn, built=built)
                    )
    return tuple(dict.fromkeys(found))


def deepened(
    elevation: str,
    values: Mapping[str, tuple[Row, float | str]],
    rules: Collection[str],
    found: Levels,
    circumstances: Circumstances,
    besides: Mapping[str, Beside],
) -> tuple[str, ...]:
    """That the flange of its windows makes the cavity of the elevation deeper than level and rules; ``rules`` are the rows that a rule decides."""
    key = next((key for key in LIGHT_CAVITIES if key in values and key not in rules), "")
    if not key or not for_flange(*values[key], found, circumstances):
        return ()
    row, value = values[key]
    own = max(float(row.values[found.on(row.axis) - 1]), besides[key].asked)
    back = amount(setback_of(values["reveal"][1]), "mm")
    told = {"deep": amount(value, "mm"), "own": amount(own, "mm") if own else "no cavity", "back": back}
    return (doubt("detail.cavity_for_flange", elevation, **told),)
