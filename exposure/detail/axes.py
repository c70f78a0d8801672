"""Wetness and pressure of a schedule told apart, each by its name."""

from exposure.detail.levels import levels
from exposure.detail.schedule_parts import Schedule


def axis_steps(schedule: Schedule) -> tuple[tuple[str, bool], ...]:
    """The four steps, each with the axes that stand on it, and whether one does.

    The names of the steps are those of wetness: a step that pressure alone stands on goes without.
    """
    return tuple(_step(one.level, one.name, schedule) for one in levels())


def _step(level: int, name: str, schedule: Schedule) -> tuple[str, bool]:
    wet, push = schedule.wetness_level == level, schedule.pressure_level == level
    if wet and push:
        return f"{level} {name}: wetness, pressure", True
    if wet:
        return f"{level} {name}: wetness", True
    return (f"{level}: pressure", True) if push else (f"{level} {name}", False)


def axes_meaning(schedule: Schedule) -> str:
    """What each axis asks by itself, and what follows the harder of both."""
    steps = levels()
    wet, push = schedule.wetness_level, schedule.pressure_level
    return (
        f"Wetness {wet} of 4: {steps[wet - 1].meaning} Pressure {push} of 4: {steps[push - 1].pressure_meaning} "
        f"The harder of both, {schedule.level}: {steps[schedule.level - 1].harder_meaning}"
    )
