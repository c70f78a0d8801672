"""Rain on the membrane while it stands bare, from the record's own years."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

import numpy as np

from exposure.checks import check_between
from exposure.detail.ladder import ladder_rows
from exposure.detail.wall_hours import WallHours
from exposure.doubts import doubt
from exposure.figures import NO_BREAK, counted, listed, litres_with_band, number, pascals
from exposure.rain.coverage import LEAST_COVERAGE
from exposure.rain.spells import find_spells
from exposure.rain.wind_pressure import AIR_DENSITY, velocity_pressure

WEEKS = 52
WEEK = 168  # hours
ONE_IN_TEN = 90.0  # % of years that stay below; linear between order statistics
FEW_WINDOWS = 10  # with fewer years the largest is taken and flagged; our choice
NEAR_DRIEST = 0.1  # of the way from the least to the most rain that still counts as driest; our choice
ALIKE = 1.0  # L m-2; weeks no further from the driest are as good as it; our choice


@dataclass(frozen=True)
class BareWrap:
    """One elevation with its membrane bare from a starting week, for some weeks."""

    elevation: str
    start: int  # week of the year, counted from 0
    weeks: int
    expected: np.ndarray  # (52,) by starting week, mean over years, L m-2; missing where no year is known
    tenth: np.ndarray  # (52,), not exceeded in nine years of ten, L m-2
    wet_hours: np.ndarray  # (52,), mean hours of driving rain on it
    driest: tuple[
        tuple[int, int], ...
    ]  # first and last of each run of starting weeks warm enough for tape; over new year the last is smaller
    driest_by_rain: tuple[tuple[int, int], ...]  # the same of all weeks, frost and snow left aside
    spell_expected: float  # largest spell while bare, from the chosen start, L m-2
    spell_tenth: float
    pressure_expected: float  # highest hourly pressure in driving rain while bare, Pa
    pressure_tenth: float
    years: int  # years the chosen start rests on
    in_words: str
    flags: tuple[str, ...]


def bare_wrap(
    hours: WallHours,
    *,
    elevations: Sequence[str],
    start: int,
    weeks: int,
    speed_factor: Sequence[float] | np.ndarray | float = 1.0,
    most_days: Sequence[float] | None = None,
    warmth: np.ndarray | None = None,
) -> tuple[BareWrap, ...]:
    """What falls on each elevation's bare membrane, for every starting week and in detail for one.

    Parameters
    ----------
    hours
        From :func:`exposure.detail.wall_hours.wall_hours`, walls in the order of ``elevations``.
    start
        Week of the year in which the membrane goes up, 0 to 51; week 0 begins on 1 January.
    weeks
        Between membrane and cladding, 1 to 52.
    speed_factor
        Roughness times topography of each wall. [1]
    most_days
        Days the schedule allows on each wall.
    warmth
        Mean outdoor air of each week, see :func:`exposure.detail.inside_climate.warmth_by_week`; None is not known.
        [degC]

    Notes
    -----
    Starts are advised among the weeks that are on average as warm as tape has to be (the ladder's row), where the
    record has temperatures; else by rain alone. A year's window is used when rain and wind are known in at least 90 % of its hours, and is scaled to whole;
    a single year runs round over its end.

    Raises
    ------
    RefusalError
        For a start or a length outside the year.
    """
    begin = int(check_between(start, "starting week", 0, WEEKS - 1, ""))
    length = int(check_between(weeks, "weeks bare", 1, WEEKS, "weeks"))
    factors = np.broadcast_to(np.asarray(speed_factor, dtype=float), (len(elevations),))
    rain = _windows(hours, hours.rain_on_wall, length)
    wet = _windows(hours, hours.hits, length)
    allowed = [float("inf")] * len(elevations) if most_days is None else list(most_days)
    warm = None if warmth is None else warmth >= _tape_limit()
    found = []
    for w, name in enumerate(elevations):
        expected, tenth, count = _expected_and_tenth(rain[w])
        spells, pressures = _inside(hours, w, begin, length, float(factors[w]))
        found.append(
            _described(
                name,
                _Window(begin, length, spells, pressures),
                _ByWeek(expected, tenth, _expected_and_tenth(wet[w])[0], count, warm),
                allowed[w],
                runs_round=hours.runs_round and not hours.typical,
            )
        )
    return tuple(found)


def clad_first(walls: Iterable[BareWrap]) -> tuple[str, ...]:
    """Elevations in the order to clad them, the one that would take most rain in one year of ten first."""
    order = sorted(walls, key=lambda one: (-one.tenth[one.start], -one.expected[one.start]))
    return tuple(one.elevation for one in order)


def _spans(hours: WallHours, week: int, length: int) -> list[tuple[int, int]]:
    """First and last-but-one position of each year's window that lies inside the record."""
    spans = []
    for first in hours.year_start.values():
        start, end = first + week * WEEK, first + (week + length) * WEEK
        if start < -(1 - LEAST_COVERAGE) * (end - start):
            continue  # too much of it lies before the record
        if end <= hours.size or hours.runs_round:
            spans.append((max(start, 0), end))
    return spans


def _running(hours: WallHours, values: np.ndarray) -> np.ndarray:
    """Running sum along the last axis with a leading zero; a single year is laid twice in a row."""
    whole = np.concatenate([values, values], axis=-1) if hours.runs_round else values
    kind = np.int32 if whole.dtype == bool else float  # hours are counted twice as fast in whole numbers
    running = np.zeros((*whole.shape[:-1], whole.shape[-1] + 1), kind)
    np.cumsum(whole, axis=-1, out=running[..., 1:])
    return running


def _windows(hours: WallHours, values: np.ndarray, length: int) -> np.ndarray:
    """Sums over each year's window, by starting week; shape (wall, year, 52), missing where not known."""
    running, known = _running(hours, values), _running(hours, hours.known)
    spans = [
        (week, year, *span) for week in range(WEEKS) for year, span in enumerate(_spans(hours, week, length))
    ]
    week, year, start, end = np.array(spans, dtype=int).reshape(-1, 4).T
    share = (known[end] - known[start]) / (end - start)
    sums = (running[:, end] - running[:, start]) / np.where(share >= LEAST_COVERAGE, share, np.nan)
    result = np.full((values.shape[0], len(hours.year_start), WEEKS), np.nan)
    result[:, year, week] = sums
    return result


def _expected_and_tenth(windows: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Mean and one-in-ten over years, and how many years, by week; missing where no year is known."""
    count = np.isfinite(windows).sum(0)
    expected, tenth = np.full(WEEKS, np.nan), np.full(WEEKS, np.nan)
    for week in np.flatnonzero(count):
        known = windows[np.isfinite(windows[:, week]), week]
        expected[week], tenth[week] = known.mean(), known.max()
    for years in np.unique(count[count >= FEW_WINDOWS]):  # weeks of as many years together
        alike = np.flatnonzero(count == years)
        columns = np.sort(windows[:, alike], axis=0)[:years]  # what is missing stands last
        tenth[alike] = np.percentile(columns, ONE_IN_TEN, axis=0)
    return expected, tenth, count


def _inside(
    hours: WallHours, wall: int, week: int, length: int, speed_factor: float
) -> tuple[np.ndarray, np.ndarray]:
    """Largest spell [L m-2] and highest pressure [Pa] of each year's window."""
    rain, hits, wind = hours.rain_on_wall[wall], hours.hits[wall], hours.wind_on_wall[wall]
    known = hours.known
    if hours.runs_round:
        rain, hits, wind, known = (np.concatenate([one, one]) for one in (rain, hits, wind, known))
    spells, pressures = [], []
    for start, end in _spans(hours, week, length):
        if known[start:end].mean() < LEAST_COVERAGE:
            continue
        at = start + np.flatnonzero(hits[start:end])
        totals = find_spells(at, rain[at]).total
        spells.append(totals.max(initial=0.0))
        fastest = wind[start:end].max(initial=0.0) * speed_factor
        pressures.append(float(velocity_pressure(fastest, air_density=AIR_DENSITY)))
    return np.array(spells), np.array(pressures)


def day_words(week: int, *, last: bool = False) -> str:
    """The day a week of the year begins, or its ``last`` day; weeks are counted from 0 on 1 January.

    Examples
    --------
    >>> day_words(0), day_words(38), day_words(38, last=True)
    ('1 January', '24 September', '30 September')
    """
    day = date(2001, 1, 1) + timedelta(days=7 * week + (6 if last else 0))
    return f"{day.day} {day:%B}"


def driest_words(runs: Sequence[tuple[int, int]]) -> str:
    """The driest starts, in days.

    Examples
    --------
    >>> driest_words([(12, 24)]), driest_words([(50, 1), (12, 24)]), driest_words([(0, 51)])
    ('26 March to 24 June', '17 December to 14 January, or 26 March to 24 June', 'any week')
    """
    if list(runs) == [(0, WEEKS - 1)]:
        return "any week"
    return ", or ".join(f"{day_words(first)} to {day_words(last, last=True)}" for first, last in runs)


def _driest_starts(tenth: np.ndarray) -> tuple[tuple[int, int], ...]:
    """Every run of starting weeks near the driest, the one that crosses new year first, then as the year goes.

    Examples
    --------
    >>> _driest_starts(np.array([90.0, 1.0, 9.5, 90.0, 2.0, 90.0, 1.5]))
    ((1, 2), (4, 4), (6, 6))
    >>> _driest_starts(np.array([1.0, 90.0, 90.0, 2.0]))
    ((3, 0),)
    """
    if not np.isfinite(tenth).any():
        return ((0, tenth.size - 1),)
    least, most = np.nanmin(tenth), np.nanmax(tenth)
    good = np.nan_to_num(tenth, nan=np.inf) <= least + max(NEAR_DRIEST * (most - least), ALIKE)
    if good.all():
        return ((0, tenth.size - 1),)
    firsts = np.flatnonzero(good & ~np.roll(good, 1))
    lasts = np.flatnonzero(good & ~np.roll(good, -1))
    if lasts[0] < firsts[0]:  # the first of these ends a run that began before new year
        firsts = np.roll(firsts, 1)
    return tuple(zip(firsts.tolist(), lasts.tolist(), strict=True))


class _Window(NamedTuple):
    """The weeks asked for."""

    start: int
    weeks: int
    spells: np.ndarray  # largest of each year [L m-2]
    pressures: np.ndarray  # highest of each year [Pa]


class _ByWeek(NamedTuple):
    """One elevation by starting week, each (52,)."""

    expected: np.ndarray  # [L m-2]
    tenth: np.ndarray  # [L m-2]
    wet: np.ndarray  # [h]
    years: np.ndarray  # how many are known
    warm: np.ndarray | None  # whether tape holds; None is not known


def _described(
    name: str, window: _Window, by_week: _ByWeek, most_days: float, *, runs_round: bool
) -> BareWrap:
    start, weeks, spells, pressures = window
    expected, tenth, wet, count, warm = by_week
    years = int(spells.size)
    spell_tenth, pressure_tenth = _two(spells)[1], _two(pressures)[1]
    by_rain = _driest_starts(tenth)
    in_warmth = np.where(True if warm is None else warm, tenth, np.nan)
    some = None if warm is None else bool(np.isfinite(in_warmth).any())
    driest = _driest_starts(in_warmth) if some else by_rain

    def told(words: str) -> BareWrap:
        return BareWrap(
            name,
            start,
            weeks,
            expected,
            tenth,
            wet,
            driest,
            by_rain,
            *_two(spells),
            *_two(pressures),
            years,
            words,
            tuple(flags),
        )

    flags: list[str] = []
    if runs_round:
        flags.append(doubt("detail.start_runs_round"))
    unknown = np.flatnonzero(count == 0)
    if unknown.size:
        flags.append(
            doubt("detail.starts_unknown", weeks=weeks, starts=listed([str(week + 1) for week in unknown]))
        )
    if count[start] == 0:
        words = (
            f"The record holds no {weeks} weeks from {day_words(start)}: nothing can be said of that start."
        )
        return told(words)
    if count.min() < FEW_WINDOWS:
        one_year = count.max() == 1
        flags.append(
            doubt("detail.one_window") if one_year else doubt("detail.few_windows", years=FEW_WINDOWS)
        )
    if weeks * 7 > most_days:
        flags.append(
            doubt(
                "detail.bare_too_long",
                name,
                weeks=counted(weeks, "week"),
                days=counted(int(most_days), "day"),
            )
        )
    high = high_words(years)
    often = (
        "in the one year of this record"
        if years == 1
        else f"in a mean year and {litres_with_band(tenth[start], None)} {high}"
    )
    words = (
        f"Bare for {weeks} week{'' if weeks == 1 else 's'} from {day_words(start)}, the {name} elevation takes {litres_with_band(expected[start], None)} "
        f"of driving rain {often}, in {number(wet[start])}{NO_BREAK}h; "
        f"largest spell {litres_with_band(spell_tenth, None)} and highest pressure {pascals(pressure_tenth)} {high}. "
        + _advice(driest, by_rain, some, f" {high}" if years > 1 else "")
    )
    return told(words)


def _advice(
    driest: Sequence[tuple[int, int]], by_rain: Sequence[tuple[int, int]], warm: bool | None, high: str
) -> str:
    """The starts to take, and by what they were found; whether any week is warm enough, None where nobody knows."""
    limit = f"{_tape_limit():g}{NO_BREAK}°C"
    if not warm:
        frost = "" if warm is None else f" No week is {limit} on average, which tape needs."
        return f"Driest starts{high}, by the rain of past years, not by frost, snow or a forecast: {driest_words(by_rain)}.{frost}"
    alone = (
        "" if driest == by_rain else f" By rain alone, frost and snow left aside: {driest_words(by_rain)}."
    )
    return (
        f"Driest starts{high} in weeks of {limit} or warmer on average, as tape needs, by the rain of past years, "
        f"not by snow or a forecast: {driest_words(driest)}.{alone}"
    )


def _tape_limit() -> float:
    """Mean air of a week from which a start is advised: what tape asks of its surface. [degC]"""
    return float(next(row.values[0] for row in ladder_rows() if row.key == "tape_temp"))


def high_words(years: int) -> str:
    """What the high figure of so many years may be called.

    Examples
    --------
    >>> high_words(12), high_words(4), high_words(1)
    ('in one year of ten', 'in the hardest of 4 years', 'in it')
    """
    if years >= FEW_WINDOWS:
        return "in one year of ten"
    return "in it" if years == 1 else f"in the hardest of {years} years"


def _two(values: np.ndarray) -> tuple[float, float]:
    if values.size == 0:
        return float("nan"), float("nan")
    high = np.percentile(values, ONE_IN_TEN) if values.size >= FEW_WINDOWS else values.max()
    return float(values.mean()), float(high)
