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
        other = next((one for one in in_turn if one != place), place)  # the hardest of the other walls
        steepest, elevation = falls[other], schedules[other].elevation
        if float(own.value) < float(steepest.value) or (
            own.value == steepest.value != schedules[place].below.get(FALL) and not as_one
        ):
            found[place] = _falling(schedules[place], own, steepest, elevation)
    return tuple(found)


def _fall_of(schedule: Schedule) -> ScheduleLine | None:
    return next((line for line in (*schedule.lines, *schedule.floor) if line.key == FALL), None)


def _falling(schedule: Schedule, own: ScheduleLine, steepest: ScheduleLine, elevation: str) -> Schedule:
    """With the fall of another wall, and at every level."""
    told = replace(own, one_lower=f"The fall is that of {elevation}, at every level.", lower="")
    if own.value != steepest.value:
        why = f"{own.reason} The caps of the house meet at its corners: all fall as on {elevation}."
        told = replace(
            steepest, why=why, reason="", decided_by="another wall", one_lower=told.one_lower, lower=""
        )

    def with_fall(lines: Sequence[ScheduleLine]) -> tuple[ScheduleLine, ...]:
        return tuple(told if line.key == FALL else line for line in lines)

    before, after = (f"falling {amount(line.value, line.unit)}" for line in (own, steepest))
    return replace(
        schedule,
        lines=with_fall(schedule.lines),
        floor=with_fall(schedule.floor),
        steps=tuple(
            replace(step, text=step.text.replace(before, after)) if FALL in step.sets else step
            for step in schedule.steps
        ),
        below={key: steepest.value if key == FALL else value for key, value in schedule.below.items()},
    )
