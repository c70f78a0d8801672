r"""Airfield indices of many cells and many walls in one pass through the record, in constant memory.

The plain form (:mod:`exposure.rain.index`) asks each wall about each hour. This form asks each hour once,
whatever the number of walls, and gives the same annual sums and the same yearly largest spells. Four ideas:

**Sums by direction.** The wind's share that meets a wall facing θ is :math:`v \cos(D - θ) = -(u \sin θ + v_n
\cos θ)`, with eastward and northward wind u and v_n: straight sums of w u and w v_n, w = (2/9) r^(8/9), tell
every wall at once, as long as they are kept apart by the direction the wind comes from. With K walls, K a
multiple of 4, the half-plane of each wall starts and ends on one of the K *edges* between K *sectors*::

                0  N                     K = 8, seen from above. Edges 0 to 7, sectors between them.
            7   |   1
              \ | /      sector 0 ->     A wall facing east meets winds from edge 0 (north) to edge 4
               \|/                       (south), the edges themselves left out: sectors 0 1 2 3 and
        6  -----+-----  2  E wall |      edges 1 2 3.
               /|\
              / | \                      Ring of 2K classes, even = edge, odd = open sector:
            5   |   3                      0 [1 2 3 4 5 6 7] 8 9 10 11 12 13 14 15
                4  S                          the wall's K - 1 classes

An hour exactly along an edge hits the walls that hold the edge inside, but not the two whose half-plane it
bounds, so an edge is a class of its own. Winds reported on 10 degree steps make this common.

**Last hits by direction.** The last hit of a wall is the latest among its classes. A wall gathers nothing
between two hits, so a spell is *what the wall has gathered by now* minus *what it had at its last closing*,
and it may be closed at any time from 97 h after its last hit until its next hit.

**Looking seldom.** A spell must be closed before a new hit on its wall. If the hour's own class was hit less
than 97 h ago, so was every wall it hits: nothing to do. Otherwise, if no wall's last hit was 97 h ago when
last looked (the *next possible closing hour*), nothing to do either. Only then are the walls gone through,
all at once: the half-plane of a wall is a run of sectors, and runs of 2, 4, 8 ... sectors are put together
from two runs of half the length, for all starts side by side, which the processor does many at a time.

**Years.** A spell belongs to the year of its last hit. At the hour stamped 5 January 00:00, 96 h after the
year began, a spell last hit in December has ended and one last hit in January cannot have: yearly maxima
switch there (one hour earlier would lose the old year's spell). Sums switch at 1 January 00:00, and what
each wall had gathered is taken off its last closing, so the sums stay small and exact.

**Precision.** Hours come as float32. Whether an hour reaches the wet-hour threshold is exact for the float32
value. Whether it reaches the least head-on rain is decided in float32 where that is safe and in float64,
as the plain form does, within a hundred-thousandth of the limit. Sums are float64. A plain form fed the same
float32 values finds the same hits in the same hours.

The rules themselves (which hours count, gaps, coverage) are the plain form's; see METHOD there.
"""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import NamedTuple

import cftime
import numpy as np

from exposure.checks import RefusalError
from exposure.rain.hour import (
    HOUR_COEFFICIENT,
    LEAST_HEAD_ON,
    RAIN_EXPONENT,
    TERRAIN_SECTORS,
    WET_HOUR_SLACK,
)
from exposure.rain.spells import SPELL_GAP
from exposure.rain.streaming_kernel import (
    advance,
    end_year_of_spells,
    end_year_of_sums,
)
from exposure.rain.streaming_state import State, make_dial, make_scratch, make_state
from exposure.terms import TERMS

TILE = 2048  # cells worked on at a time: their state stays in the processor's cache
STRETCH = 240  # hours queued at a time
MOST_ORIENTATIONS = 360
NO_SPEED = np.zeros((0, 0), np.float32)
NO_WEIGHT = np.zeros((0, TERRAIN_SECTORS), np.float32)


class YearOfCells(NamedTuple):
    """One finished year of all cells: what the plain form knows of a year, before scaling."""

    year: int
    annual: np.ndarray  # (cell, orientation) float32 [L m-2], unscaled
    spell: np.ndarray  # (cell, orientation) float32 [L m-2]
    hours_known: np.ndarray  # (cell,) int32
    rain: np.ndarray  # (cell,) float64 [mm], where known
    rain_without_wind: np.ndarray  # (cell,) float64 [mm]
    unassigned: np.ndarray  # (cell,) float64 [mm]
    longest_unseen: np.ndarray  # (cell,) int32 [h], longest run in which a hit would have gone unseen


def check_orientations(number: int) -> int:
    """Return ``number`` if that many orientations can be streamed exactly.

    Raises
    ------
    RefusalError
        Unless it is a multiple of 4 from 4 to 360.

    Examples
    --------
    >>> check_orientations(36)
    36
    >>> check_orientations(10)
    Traceback (most recent call last):
    exposure.checks.RefusalError: 10 orientations; expected a multiple of 4 from 4 to 360, because only then do the half-planes of all walls end on the borders between wind sectors. Use 8 or 12.
    """
    if isinstance(number, (int, np.integer)) and 4 <= number <= MOST_ORIENTATIONS and number % 4 == 0:
        return int(number)
    below = min(max(int(number) // 4 * 4, 4), MOST_ORIENTATIONS - 4)
    raise RefusalError(
        f"{number} orientations",
        f"a multiple of 4 from 4 to {MOST_ORIENTATIONS}, because only then do the half-planes of all walls end on "
        "the borders between wind sectors",
        f"Use {below} or {below + 4}.",
    )


def least_wet_rain(wet_hour: float) -> np.float32:
    """Least float32 rain that can count: at the threshold, and enough for the strongest wind to drive.

    Examples
    --------
    >>> bool(least_wet_rain(0.1) <= np.float32(0.1) * np.float32(0.9999)), float(least_wet_rain(0.0)) < 1e-4
    (True, True)
    """
    in_any_wind = (LEAST_HEAD_ON / (HOUR_COEFFICIENT * TERMS["wind_speed"]["high"])) ** (1 / RAIN_EXPONENT)
    exact = max(wet_hour - WET_HOUR_SLACK, 0.99 * in_any_wind)
    least = np.float32(exact)
    return least if float(least) >= exact else np.nextafter(least, np.float32(np.inf))


class Streaming:
    """The index of many cells, fed block by block in order of time.

    Parameters
    ----------
    cells, orientations
        How many cells stand side by side, and how many walls evenly round the compass from north.
    wet_hour
        Least rain in an hour that counts. [mm]
    calendar
        CF name of the record's calendar.
    sector_weight
        Factors on the driving rain by cell and terrain sector the wind comes from, shape (cell, 12); then
        the result is the wall index without shelter and wall shape. Which hours count stays decided on the
        open airfield.
    pool, workers
        Threads that share the cells of each block, and how many of them; without it all work is done by the caller's thread, which
        is better where every thread has a column of cells of its own.

    Examples
    --------
    A year in which 100 hours bring 1 mm each with 5 m/s from the west, by hand 100 x 2/9 x 5:

    >>> stream = Streaming(cells=1, orientations=4, wet_hour=0.0, calendar="standard")
    >>> hours = np.arange(8760) + 24 * (365 * 40 + 10)  # the year 2010
    >>> rain = np.zeros((8760, 1), np.float32); rain[:100] = 1.0
    >>> wind = np.full((8760, 1), 5.0, np.float32)
    >>> stream.add_hours(hours, rain=rain, eastward_wind=wind, northward_wind=0 * wind)
    >>> (year,) = stream.years_so_far()
    >>> year.year, [round(float(rain), 3) for rain in year.annual[0]], round(float(year.spell[0, 3]), 3)
    (2010, [0.0, 0.0, 0.0, 111.111], 111.111)
    """

    def __init__(
        self,
        *,
        cells: int,
        orientations: int,
        wet_hour: float,
        calendar: str,
        sector_weight: np.ndarray | Sequence | None = None,
        pool: ThreadPoolExecutor | None = None,
        workers: int = 1,
    ) -> None:
        self.pool = pool
        self.cells, self.orientations = cells, check_orientations(orientations)
        self.calendar = calendar
        self.least_rain = least_wet_rain(wet_hour)
        self.weight = _check_weight(sector_weight, cells)
        self.dial = make_dial(self.orientations)
        self.state = make_state(cells, self.orientations)
        self.workers = 1 if pool is None else max(1, min(workers, -(-cells // TILE)))
        self.scratches = [
            make_scratch(min(TILE, cells), STRETCH, self.orientations) for _ in range(self.workers)
        ]
        self.scratch = self.scratches[0]
        self.hour: int | None = None  # the last hour taken in
        self.year: int | None = None  # the year whose sums are being gathered
        self.waiting: list[YearOfCells] = []  # a year whose sums are done and whose spells may be open
        self.finished: list[YearOfCells] = []

    def add_hours(
        self,
        hours: np.ndarray,
        *,
        rain: np.ndarray,
        eastward_wind: np.ndarray,
        northward_wind: np.ndarray,
        wind_speed: np.ndarray | None = None,
    ) -> None:
        """Take in a block of hours.

        Parameters
        ----------
        hours
            Whole hours since 1970 of the record's calendar, ascending, after those of the block before.
            Hours left out are missing hours.
        rain, eastward_wind, northward_wind
            Shape (hour, cell), float32, [mm in the hour ending there] and [m s-1]; NaN where missing.
        wind_speed
            Only where some winds have a speed but no direction (both components NaN): all speeds.

        Raises
        ------
        RefusalError
            When an hour does not come after the one before.
        """
        hours = np.asarray(hours)
        if hours.size == 0:
            return
        before = self.hour if self.hour is not None else int(hours[0]) - 1
        steps = np.diff(hours, prepend=before)
        if np.any(steps <= 0):
            raise RefusalError(
                "an hour comes twice or out of order",
                "hours that ascend, each once",
                "Sort the record by time and remove the repeated hours.",
            )
        stamps = np.stack([hours, steps - 1], axis=1).astype(np.int32)
        start = 0
        while start < hours.size:
            limit = self._switch_years(int(hours[start]))
            end = min(int(np.searchsorted(hours, limit)), start + STRETCH)
            self._advance(
                stamps[start:end],
                rain[start:end],
                eastward_wind[start:end],
                northward_wind[start:end],
                None if wind_speed is None else wind_speed[start:end],
            )
            self.hour = int(hours[end - 1])
            start = end

    def take_finished(self) -> list[YearOfCells]:
        """Years no later hour can change, each handed out once."""
        years, self.finished = self.finished, []
        return years

    def years_so_far(self) -> list[YearOfCells]:
        """The years not finished yet, as they stand if the record ends here; the state is left as it is."""
        years = []
        for start in range(0, self.cells, TILE):
            years.append(self._tile_as_it_stands(slice(start, min(start + TILE, self.cells))))
        return [
            YearOfCells(
                parts[0].year,
                *(np.concatenate(fields) for fields in zip(*(p[1:] for p in parts), strict=True)),
            )
            for parts in zip(*years, strict=True)
        ]

    def _advance(self, *block) -> None:
        tiles = [slice(start, min(start + TILE, self.cells)) for start in range(0, self.cells, TILE)]
        shares = [(tiles[i :: self.workers], self.scratches[i]) for i in range(self.workers)]
        if self.pool is None or self.workers == 1:
            self._advance_tiles(*shares[0], *block)
            return
        for done in [self.pool.submit(self._advance_tiles, *share, *block) for share in shares]:
            done.result()

    def _advance_tiles(self, tiles, scratch, stamps, rain, east, north, speed) -> None:
        for tile in tiles:
            advance(
                rain[:, tile],
                east[:, tile],
                north[:, tile],
                NO_SPEED if speed is None else speed[:, tile],
                stamps,
                self.least_rain,
                self.weight[tile],
                self.dial,
                State(*(part[tile] for part in self.state)),
                scratch,
            )

    def _switch_years(self, hour: int) -> int:
        """End what ends before ``hour``; return the hour at which something ends next."""
        if self.year is None:
            self.year = year_of_hour(hour, self.calendar)
        while True:
            if self.waiting:
                switch = first_hour(self.waiting[0].year + 1, self.calendar) + SPELL_GAP
                if hour < switch:
                    return switch
                self.finished.append(self._end_spells(self.waiting.pop(), switch, self.state))
            following = first_hour(self.year + 1, self.calendar)
            if hour < following:
                return following
            self.waiting.append(self._end_sums(self.year, self.state))
            self.year += 1

    def _end_sums(self, year: int, state: State) -> YearOfCells:
        annual = np.empty((state.rain.size, self.orientations), np.float32)
        end_year_of_sums(self.dial, state, self.scratch, annual)
        account = [
            part.copy()
            for part in (
                state.hours_known,
                state.rain,
                state.rain_without_wind,
                state.unassigned,
                state.longest_unseen,
            )
        ]
        for part in (*state[6:11], state.longest_unseen):
            part[:] = 0
        return YearOfCells(year, self._face(annual), np.zeros((0, 0), np.float32), *account)

    def _end_spells(self, year: YearOfCells, hour: int, state: State) -> YearOfCells:
        spell = np.empty((state.rain.size, self.orientations), np.float32)
        end_year_of_spells(np.int32(hour), self.dial, state, self.scratch, spell)
        return year._replace(spell=self._face(spell))

    def _face(self, by_start: np.ndarray) -> np.ndarray:
        """Walls in order of the way they face, from those in order of the edge their half-plane starts at."""
        return np.roll(by_start, self.orientations // 4, axis=1)

    def _tile_as_it_stands(self, tile: slice) -> list[YearOfCells]:
        if self.hour is None or self.year is None:
            return []
        state = State(*(part[tile].copy() for part in self.state))
        last = self.year
        years = []
        if self.waiting:
            waiting = YearOfCells(self.waiting[0].year, *(part[tile] for part in self.waiting[0][1:]))
            switch = first_hour(waiting.year + 1, self.calendar) + SPELL_GAP
            years.append(self._end_spells(waiting, switch, state))
        years.append(self._end_spells(self._end_sums(last, state), self.hour + SPELL_GAP + 1, state))
        return years


def first_hour(year: int, calendar: str) -> int:
    """Hour number, since 1970, of 1 January 00:00 of ``year``.

    Examples
    --------
    >>> first_hour(1971, "standard")
    8760
    """
    start = cftime.datetime(year, 1, 1, calendar=calendar)
    return round(float(cftime.date2num(start, "hours since 1970-01-01", calendar)))


def year_of_hour(hour: int, calendar: str) -> int:
    """Year of an hour number.

    Examples
    --------
    >>> year_of_hour(8759, "standard"), year_of_hour(8760, "standard")
    (1970, 1971)
    """
    return int(cftime.num2date(hour, "hours since 1970-01-01", calendar).year)


def _check_weight(weight: np.ndarray | Sequence | None, cells: int) -> np.ndarray:
    if weight is None:
        return NO_WEIGHT
    given = np.asarray(weight, dtype=np.float32)
    if given.shape != (cells, TERRAIN_SECTORS) or not np.all(np.isfinite(given) & (given >= 0)):
        raise RefusalError(
            f"sector weights of shape {given.shape}, from {given.min() if given.size else 'nothing'}",
            f"{TERRAIN_SECTORS} numbers of zero or more for each of {cells} cells",
            "Give one for each 30 degrees.",
        )
    return np.ascontiguousarray(given)
