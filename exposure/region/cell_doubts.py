"""What the counts of a pass say of its cells, by the limits that hold for a record of one place."""

from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np

from exposure.checks import RefusalError
from exposure.climate.grid.checks import refuse_impossible, settle_rain_rule
from exposure.climate.grid.names import EVERY_HOUR, SINCE_MIDNIGHT, GridVariables
from exposure.climate.quality.rain import (
    HEAVY_YEAR,
    INCH_MEAN,
    INCH_WET,
    LIGHT_YEAR,
    STOPPED_DAYS,
    STOPPED_TIMES,
    YEAR,
)
from exposure.climate.quality.refusals import CALM_SHARE, ENOUGH_WIND, LONG_ENOUGH, another_unit
from exposure.doubts import Doubt, doubt
from exposure.region.tally import Tally
from exposure.terms import MOST_IMPOSSIBLE

MOSTLY_DEAD = 0.10  # share of the hours with wind known; such a year counts no more
MUCH_CALM = 0.05  # share of hours without any wind that no grid has; our choice


class Judged(NamedTuple):
    """The cells of each column that are left empty, and what is said of all."""

    left_empty: list[np.ndarray]
    doubts: list[Doubt]


def judge(names: GridVariables, tallies: list[Tally]) -> Judged:
    """Decide from the counts of all columns.

    Raises
    ------
    RefusalError
        When more than 0.1 % of all hours of the cells that hold values are impossible, when the rain of the whole grid
        turns out to be a running total, and when it, or the wind, is zero everywhere.
    """
    hours = int(tallies[0].hours[0])
    cell = {
        name: np.concatenate([getattr(tally, name) for tally in tallies])
        for name in Tally._fields
        if getattr(tallies[0], name).shape == tallies[0].known.shape
    }
    impossible, known, rain, wet, windy, calm = (
        cell[name] for name in ("impossible", "known", "rain", "wet", "windy", "calm")
    )
    holds = (known > 0) | (impossible > 0)
    cells = int(holds.sum())
    if cells == 0:
        return Judged([np.zeros(tally.known.size, dtype=bool) for tally in tallies], [])
    refuse_impossible(int(impossible[holds].sum()), hours * cells)
    if names.rain_rule == SINCE_MIDNIGHT:  # what was counted is what it was taken apart into
        names = replace(names, rain_rule=EVERY_HOUR, notes=())
    settled = settle_rain_rule(names, np.sum([tally.steps for tally in tallies], axis=0))
    doubts = [note for note in settled.notes if isinstance(note, Doubt) and note not in names.notes]
    wrong = impossible > MOST_IMPOSSIBLE * hours
    dry = (known >= LONG_ENOUGH) & (wet == 0)
    directions = sum(int(tally.directions[0]) for tally in tallies)
    largest = max(float(tally.largest_direction[0]) for tally in tallies)
    if (refusal := another_unit(largest, directions)) is not None:
        raise refusal
    dead = (windy >= ENOUGH_WIND) & ((calm >= CALM_SHARE * windy) | (cell["dead"] > MOSTLY_DEAD * windy))
    for odd, what in ((dry, "rain is 0 in every hour"), (dead, "wind is 0 in nearly every hour")):
        if odd[holds].all():
            raise RefusalError(
                f"{what} of all {cells:,} cells",
                "rain and wind of each hour",
                "Check the file: zero probably stands for missing, or parts of it were never written.",
            )
    for key, odd in (("impossible_cells", wrong), ("dry_cells", dry), ("dead_cells", dead)):
        if odd.any():
            doubts.append(doubt(f"region.{key}", number=int(odd.sum()), cells=cells, most=MOST_IMPOSSIBLE))
    if total := int(impossible[holds & ~wrong].sum()):
        doubts.append(doubt("climate.impossible_made_missing", values=total))
    with np.errstate(invalid="ignore", divide="ignore"):
        yearly = rain / known * YEAR
    judged = known > YEAR / 4
    odd_years = {
        "region.too_wet": judged & (yearly > HEAVY_YEAR),
        "region.too_dry": judged & (yearly < LIGHT_YEAR) & ~dry,
    }
    for key, odd in odd_years.items():
        if odd.any():
            doubts.append(
                doubt(key, number=int(odd.sum()), cells=cells, yearly=float(np.median(yearly[odd])))
            )
    still = (windy >= ENOUGH_WIND) & (calm > MUCH_CALM * windy) & ~dead
    if still.any():
        doubts.append(doubt("region.calm_cells", number=int(still.sum()), cells=cells, share=MUCH_CALM))
    for key, odd, numbers in _odd_rain(cell):
        if odd.any():
            doubts.append(doubt(key, number=int(odd.sum()), cells=cells, **numbers))
    partly = (cell["dead"] > 0) & ~dead
    if partly.any():
        hours_dead = int(cell["dead"][partly].max())
        doubts.append(
            doubt("region.partly_dead_cells", number=int(partly.sum()), cells=cells, hours=hours_dead)
        )
    cuts = np.cumsum([tally.known.size for tally in tallies])[:-1]
    return Judged(np.split(wrong | dry | dead, cuts), doubts)


def _odd_rain(cell: dict[str, np.ndarray]) -> list[tuple[str, np.ndarray, dict[str, Any]]]:
    """Key of each doubt about rain, the cells it concerns and its numbers; limits as for a record of one place."""
    known, wet = cell["known"], cell["wet"]
    dry_at_end = known - cell["known_then"]
    stopped = (wet >= 50) & (dry_at_end >= 24 * STOPPED_DAYS)
    stopped &= dry_at_end >= STOPPED_TIMES * cell["longest_dry"]
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = cell["rain"] / wet
    inches = (wet >= 100) & (wet <= INCH_WET * known) & (mean <= INCH_MEAN)
    inches &= (cell["off_step"] <= 0.01 * wet) & (cell["tenths"] <= 0.5 * wet)
    return [
        ("region.rain_stops", stopped, {"days": int(dry_at_end[stopped].max(initial=0)) // 24}),
        ("region.like_inches", inches, {"mean": float(np.median(mean[inches])) if inches.any() else 0.0}),
        ("region.stuck_cells", cell["stuck"] > 0, {"hours": int(cell["stuck"].max(initial=0))}),
        ("region.coded_cells", cell["coded"] >= 3, {"hours": int(cell["coded"].max(initial=0))}),
    ]
