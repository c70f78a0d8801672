"""What goes round the house in one ring, and so is the same on every elevation: the fall of a parapet's cap."""

from collections.abc import Sequence
from dataclasses import replace

from exposure.detail.schedule_parts import Schedule, ScheduleLine
from exposure.figures import amount

FALL = "cap_slope"


def one_ring(schedules: Sequence[Schedule]) -> tuple[Schedule, ...]:
    """Schedules with the steepest fall of any parapet's cap on every parapet, since caps meet at the corners."""
    falls = [
        (line, one.elevation) for one in schedules for line in (*one.lines, *one.floor) if line.key == FALL
    ]
    if not falls:
        return tuple(schedules)
    steepest, elevation = max(falls, key=lambda one: float(one[0].value))
    return tuple(_falling(one, steepest, elevation) for one in schedules)


def _falling(schedule: Schedule, steepest: ScheduleLine, elevation: str) -> Schedule:
    own = next((line for line in (*schedule.lines, *schedule.floor) if line.key == FALL), None)
    if own is None or own.value == steepest.value:
        return schedule
    why = f"{own.why} The caps of the house meet at its corners: all fall as on {elevation}."
    told = replace(
        steepest, why=why, reason="", one_lower=f"The fall is that of {elevation}, at every level.", lower=""
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
