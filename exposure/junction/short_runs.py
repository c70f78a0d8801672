"""Short runs of the order of work away from windows, in frames: lap and tape, pipe, kick-out, base closer, trays of a leaf."""

from collections.abc import Sequence
from string import Formatter

from exposure.detail.ladder import ladder_rows
from exposure.detail.schedule_parts import Step
from exposure.figures import amount
from exposure.junction.catalogue import Run, named_runs
from exposure.junction.numbers import NumberMissingError, Numbers
from exposure.junction.work_scene import Frame, frames_of
from exposure.junction.work_short import GROUNDS
from exposure.tables import load_table

TABLE = "short_order"
STEPPED = "stepped trays"
TITLES = {
    "lap and tape": "Order of work at the membrane's laps",
    "pipe": "Order of work at a pipe",
    "kick-out": "Order of work where an eave ends",
    "base closer": "Order of work at the base of the cavity",
    "leaf tray": "Order of work at a leaf over a roof or deck",
    STEPPED: "Order of work at a leaf along a roof",
}


def short_steps(run: str, numbers: Numbers) -> tuple[Step, ...]:
    """Steps of a short run with the schedule's figures; those that the schedule does not ask are left out.

    Examples
    --------
    >>> steps = short_steps("lap and tape", Numbers({"lap_h": 150.0, "lap_v": 300.0, "seam_tape": "openings"}, level=3))
    >>> len(steps), steps[1].sets
    (3, ('lap_h',))
    """
    units = {row.key: row.unit for row in ladder_rows()}
    shown = {key: amount(value, units[key]) for key, value in numbers.values.items() if key in units}
    asked = {numbers.values.get(key) for key in ("seam_tape", "pen_form")}
    steps = []
    for row in load_table(TABLE)["row"]:
        sets = tuple(name for _, name, _, _ in Formatter().parse(row["text"]) if name)
        worded = not row["words"] or not asked.isdisjoint(row["words"])
        there = all(numbers.values.get(key) for key in (*row["needs"].split(), *sets))  # snow of 0 is none
        if row["run"] == run and worded and there and not numbers.values.get(row.get("lacks", "")):
            steps.append(Step(row["text"].format_map(shown), adds=tuple(row["adds"]), sets=sets))
    return tuple(steps)


def short_runs_of(
    elevations: Sequence[tuple[str, Numbers]], wanted: Sequence[str] = tuple(TITLES)
) -> tuple[Run, ...]:
    """The short runs of each elevation in frames, those that look the same once.

    Parameters
    ----------
    elevations
        Name and numbers of each.
    wanted
        Which, by default every one.
    """
    runs: list[Run] = []
    for run in wanted:
        found: dict[tuple[tuple[Frame, ...], int], tuple[Numbers, list[str]]] = {}
        for name, numbers in elevations:
            frames = _frames(run, numbers)
            if len(frames) > 1:
                found.setdefault((frames, numbers.level), (numbers, []))[1].append(name)
        runs += named_runs(found, title=TITLES[run], stem=f"{run.replace(' ', '-')}-order")
    return tuple(runs)


def _frames(run: str, numbers: Numbers) -> tuple[Frame, ...]:
    if run == "kick-out" and not numbers.has("kick_h"):  # no eave ends on this wall
        return ()
    masonry = "masonry" in numbers.circumstances.wall_type
    first = next(row["needs"] for row in load_table(TABLE)["row"] if row["run"] == run)
    if (
        numbers.stop or not all(map(numbers.has, first.split())) or (masonry and run == "kick-out")
    ):  # let into a joint of the leaf, which is drawn as a section
        return ()
    try:
        return frames_of(short_steps(run, numbers), numbers, start=GROUNDS[run])
    except NumberMissingError:
        return ()
