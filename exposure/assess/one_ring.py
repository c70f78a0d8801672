"""What goes round the house in one ring, and so is the same on every elevation: the fall of a parapet's cap."""

from collections.abc import Sequence
from dataclasses import replace

from exposure.detail.schedule_parts import Schedule, ScheduleLine
from exposure.figures import amount

FALL = "cap_slope"


def one_ring(schedules: Sequence[Schedule], *, as_one: bool = False) -> tuple[Schedule, ...]:
    """Schedules with the steepest fall of any parapet's cap on every parapet, since caps meet at the corners.

    A wall lowered by a level keeps the fall of the others, but for a house built ``as_one``, which is lowered whole.
    """
    falls = {place: line for place, one in enumerate(schedules) if (line := _fall_of(one)) is not None}
    if not falls:
        return tuple(schedules)
    in_turn = sorted(
        falls, key=lambda place: (-float(falls[place].value), -schedules[place].wetness_level, place)
    )
    found = list(schedules)
    for place, own in falls.items():
        other = next((one for one in in_turn if one != place), None)  # the hardest of the other walls
        if other is None:
            continue
        steepest, elevation = falls[other], schedules[other].elevation
        if float(own.value) < float(steepest.value) or (
            own.value == steepest.value != schedules[place].below.get(FALL) and not as_one
        ):
            found[place] = _falling(schedules[place], own, steepest, elevation)
        elif schedules[place].below.get(FALL, own.value) != own.value and not as_one:
            found[place] = _leading(schedules[place], own, steepest)
    return tuple(found)


def _fall_of(schedule: Schedule) -> ScheduleLine | None:
    return next((line for line in (*schedule.lines, *schedule.floor) if line.key == FALL), None)


def _leading(schedule: Schedule, own: ScheduleLine, steepest: ScheduleLine) -> Schedule:
    """Of the wall whose fall all others take: lowered by a level, it takes them along as far as the steepest of their own."""
    lower = max(float(schedule.below[FALL]), float(steepest.value))
    short = f"{amount(lower, own.unit)} on every cap of the house."
    told = replace(own, one_lower=own.one_lower.removesuffix(own.lower) + short, lower=short)
    return _with_line(schedule, told, lower)


def _with_line(schedule: Schedule, told: ScheduleLine, lower: float | str) -> Schedule:
    """With another line on the fall, and its value one level lower."""
    lines, floor = (
        tuple(told if line.key == FALL else line for line in those)
        for those in (schedule.lines, schedule.floor)
    )
    below = {key: lower if key == FALL else value for key, value in schedule.below.items()}
    return replace(schedule, lines=lines, floor=floor, below=below)


def _falling(schedule: Schedule, own: ScheduleLine, steepest: ScheduleLine, elevation: str) -> Schedule:
    """With the fall of another wall, and at every level."""
    told = replace(own, one_lower=f"The fall is that of {elevation}, at every level.", lower="")
    if own.value != steepest.value:
        why = f"{own.reason} The caps of the house meet at its corners: all fall as on {elevation}."
        told = replace(
            steepest, why=why, reason="", decided_by="another wall", one_lower=told.one_lower, lower=""
        )

    before, after = (f"falling {amount(line.value, line.unit)}" for line in (own, steepest))
    steps = tuple(
        replace(step, text=step.text.replace(before, after)) if FALL in step.sets else step
        for step in schedule.steps
    )
    return _with_line(replace(schedule, steps=steps), told, steepest.value)
