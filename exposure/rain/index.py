"""Airfield indices of one place, for walls facing any direction, in the plain form that reads like the standard.

Sums and spells are found wall by wall on the hours that count. The streaming form for grids
(:mod:`exposure.rain.streaming`) is held to this one by test.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import xarray as xr

from exposure.checks import RefusalError, check_hourly, check_term
from exposure.clock import TYPICAL_YEAR, calendar_of, hour_numbers, hours_in_year, year_numbers
from exposure.doubts import doubt, flags_of
from exposure.rain.extremes import SPELL_RETURN, gumbel_value, likely_spell, percentile_value
from exposure.rain.hour import (
    EDGE_COSINE,
    TERRAIN_SECTORS,
    facing_cosine,
    head_on_rain,
    is_driving,
    terrain_sector,
    wet_hour_threshold,
)
from exposure.rain.spells import SPELL_GAP, find_spells
from exposure.terms import describe

LEAST_COVERAGE = 0.9  # share of a year's hours with rain known, and of its rain with wind known; our choice
FEW_YEARS = 10  # fewer are computed and called indicative (from memory)
WORTH_TELLING = 24  # hours in a first or last year; stamps from 01:00 to 00:00 leave one hour in the next
MUCH_UNASSIGNED = 0.05  # share of rain in hours of variable wind worth a flag; our choice
THRESHOLD_DOUBT = 0.10  # change of the spell index without the threshold worth showing; our choice


class Record(NamedTuple):
    """A checked climate record as plain arrays, one entry an hour."""

    hours: np.ndarray
    years: np.ndarray
    rain: np.ndarray
    wind_speed: np.ndarray
    wind_from_direction: np.ndarray
    kind: str
    calendar: str


def record_of(climate: xr.Dataset) -> Record:
    """Check ``climate`` at the door and take it apart.

    Raises
    ------
    RefusalError
        For foreign units, stamps off the hour, repeated or unsorted stamps, or steps that are not hourly.
    """
    for term in ("rain", "wind_speed", "wind_from_direction"):
        if term not in climate:
            raise RefusalError(
                f"the record holds {', '.join(map(str, climate.data_vars)) or 'nothing'}",
                f"rain, wind_speed and wind_from_direction ({term} is missing)",
                "Name the columns or variables that hold them.",
            )
        check_term(climate[term], term)
    kind = climate.attrs.get("kind", "gauge")
    hours = hour_numbers(climate["time"])
    check_hourly(hours)
    return Record(
        hours,
        year_numbers(climate["time"], kind=kind),
        np.asarray(climate["rain"].values, dtype=float),
        np.asarray(climate["wind_speed"].values, dtype=float),
        np.asarray(climate["wind_from_direction"].values, dtype=float),
        kind,
        calendar_of(climate["time"]),
    )


def compass_orientations(number: int) -> np.ndarray:
    """``number`` orientations evenly round the compass from north. [degree]

    Examples
    --------
    >>> compass_orientations(4).tolist()
    [0.0, 90.0, 180.0, 270.0]
    """
    return np.arange(number) * 360.0 / number


def airfield_index(
    climate: xr.Dataset,
    *,
    orientation: Sequence[float] | np.ndarray,
    wet_hour: float | None = None,
    sector_weight: Sequence[float] | np.ndarray | None = None,
) -> xr.Dataset:
    r"""Airfield annual and spell index of one place, for walls facing each ``orientation``.

    Parameters
    ----------
    climate
        Hourly ``rain`` [mm in the hour ending at ``time``], ``wind_speed`` [m s-1] and
        ``wind_from_direction`` [degree] along ``time``; attribute ``kind`` (gauge, reanalysis, model,
        typical year or invented). Missing hours may be NaN or absent.
    orientation
        Directions the walls face, any angles, clockwise from north. [degree]
    wet_hour
        Least rain in an hour that counts [mm]; by default 0 for a gauge and 0.1 for every other kind.
    sector_weight
        Twelve factors on the driving rain by the sector the wind comes from (centred on 0, 30, ... 330),
        e.g. roughness times topography; the result is then the wall index without shelter and wall shape.
        Which hours count stays decided on the open airfield.

    Returns
    -------
    xarray.Dataset
        Along ``orientation``: ``airfield_annual_index``; ``airfield_spell_index``, the one that decides and
        is shown, the larger of ``airfield_spell_index_percentile`` and ``airfield_spell_index_gumbel`` beside
        it; ``airfield_spell_index_any_rain``, the deciding one without the threshold; along ``terrain_sector`` too: ``airfield_annual_index_by_sector``; along ``year`` (years that
        count): ``yearly_annual_index``, ``yearly_spell_maximum``, ``hours_scaling``, ``rain_scaling``;
        along ``record_year`` (all years): ``coverage``. Attributes: ``wet_hour_mm``,
        ``unassigned_rain_mm``, ``kind``, ``source``, ``licence``, ``flags`` (sentences).

    Raises
    ------
    RefusalError
        When the record is not hourly or has no year whose rain and wind are known well enough.

    Notes
    -----
    Hourly driving rain :math:`I = \tfrac29 v r^{8/9} \cos(D - \theta)`, summed over a year for the annual
    index; spells end after 96 h without driving rain on that wall and belong to the year of their last
    hit (ISO 15927-3:2009, clause 3, constants and percentile from memory).

    Examples
    --------
    >>> import pandas as pd
    >>> time = pd.date_range("2010-01-01", "2010-12-31T23:00", freq="h")
    >>> rain = np.zeros(time.size); rain[:100] = 1.0
    >>> climate = xr.Dataset(
    ...     {"rain": ("time", rain, {"units": "mm"}),
    ...      "wind_speed": ("time", np.full(time.size, 5.0), {"units": "m s-1"}),
    ...      "wind_from_direction": ("time", np.full(time.size, 240.0), {"units": "degree"})},
    ...     {"time": time}, {"kind": "gauge"})
    >>> index = airfield_index(climate, orientation=[240, 60])
    >>> index["airfield_annual_index"].values.round(3).tolist()  # 100 hours of 2/9 x 5
    [111.111, 0.0]
    """
    record = record_of(climate)
    walls = np.atleast_1d(np.asarray(orientation, dtype=float))
    threshold = wet_hour_threshold(record.kind) if wet_hour is None else float(wet_hour)
    weight = np.ones(TERRAIN_SECTORS) if sector_weight is None else np.asarray(sector_weight, dtype=float)
    if weight.shape != (TERRAIN_SECTORS,) or not np.all(np.isfinite(weight) & (weight >= 0)):
        raise RefusalError(
            f"sector weights are {weight.tolist()}",
            "twelve numbers of zero or more",
            "Give one for each 30 degrees.",
        )

    account = _account_years(record)
    counted = [year for year in account if account[year].counts]
    if not counted:
        _refuse_no_year(account)
    counting = _driving_sums(record, walls, threshold, weight, account, counted)
    without = (
        counting
        if threshold <= 0
        else _driving_sums(record, walls, 0.0, weight, account, counted, spells_only=True)
    )

    place = {"orientation": walls}
    data = {
        "airfield_annual_index": ("orientation", counting.annual.mean(0)),
        "airfield_spell_index": ("orientation", likely_spell(counting.spell)),
        "airfield_spell_index_percentile": ("orientation", percentile_value(counting.spell)),
        "airfield_spell_index_gumbel": ("orientation", gumbel_value(counting.spell, SPELL_RETURN)),
        "airfield_spell_index_any_rain": ("orientation", likely_spell(without.spell)),
        "airfield_annual_index_by_sector": (("terrain_sector", "orientation"), counting.by_sector),
        "yearly_annual_index": (("year", "orientation"), counting.annual),
        "yearly_spell_maximum": (("year", "orientation"), counting.spell),
        "hours_scaling": ("year", [account[year].hours_scaling for year in counted]),
        "rain_scaling": ("year", [account[year].rain_scaling for year in counted]),
        "coverage": ("record_year", [account[year].coverage for year in account]),
    }
    coords = {
        **place,
        "year": counted,
        "record_year": list(account),
        "terrain_sector": np.arange(TERRAIN_SECTORS) * 360.0 / TERRAIN_SECTORS,
    }
    index = xr.Dataset(data, coords)
    for name in index.data_vars:
        term = str(name).removesuffix("_any_rain")
        if term in ("hours_scaling", "rain_scaling"):
            index[name].attrs["units"] = "1"
        else:
            index[name].attrs = describe(index[name], term).attrs
    index.attrs = {
        "kind": record.kind,
        "source": climate.attrs.get("source", "not named"),
        "licence": climate.attrs.get("licence", "not named"),
        "wet_hour_mm": threshold,
        "unassigned_rain_mm": float(sum(account[year].unassigned for year in counted)),
        "flags": [
            *flags_of(climate.attrs),
            *_index_flags(record, account, counted, counting, index, threshold),
        ],
    }
    return index


class _Year(NamedTuple):
    """What is known of one year."""

    coverage: float
    rain_known_with_wind: float
    hours_scaling: float
    rain_scaling: float
    rain: float
    unassigned: float

    @property
    def counts(self) -> bool:
        return self.coverage >= LEAST_COVERAGE and self.rain_known_with_wind >= LEAST_COVERAGE


def _account_years(record: Record) -> dict[int, _Year]:
    """Coverage and scaling of each year of the record."""
    account = {}
    for year in np.unique(record.years):
        rows = record.years == year
        rain, speed, direction = record.rain[rows], record.wind_speed[rows], record.wind_from_direction[rows]
        whole = hours_in_year(int(year), record.calendar)
        if record.kind == TYPICAL_YEAR:
            whole = min(whole, hours_in_year(2001, record.calendar))
        known = np.isfinite(rain)
        total = rain[known].sum()
        with_speed = rain[known & np.isfinite(speed)].sum()
        share = with_speed / total if total > 0 else 1.0
        unassigned = rain[known & np.isfinite(speed) & ~np.isfinite(direction)].sum()
        coverage = min(known.sum() / whole, 1.0)
        account[int(year)] = _Year(
            coverage=float(coverage),
            rain_known_with_wind=float(share),
            hours_scaling=float(1 / coverage) if coverage > 0 else np.nan,
            rain_scaling=float(1 / share) if share > 0 else np.nan,
            rain=float(total),
            unassigned=float(unassigned),
        )
    return account


def _refuse_no_year(account: dict[int, _Year]) -> None:
    best = max(account, key=lambda year: account[year].coverage * account[year].rain_known_with_wind)
    year = account[best]
    raise RefusalError(
        f"no year counts; the best, {best}, has rain in {year.coverage:.0%} of its hours "
        f"and wind in {year.rain_known_with_wind:.0%} of its rain",
        f"at least one year with {LEAST_COVERAGE:.0%} of both",
        "Use a longer or more complete record.",
    )


class _Sums(NamedTuple):
    annual: np.ndarray  # (year, wall), scaled
    spell: np.ndarray  # (year, wall)
    by_sector: np.ndarray  # (sector, wall), mean year
    near_gap: list[int]  # counted years whose largest spell a long missing run touches


def _driving_sums(
    record: Record,
    walls: np.ndarray,
    threshold: float,
    weight: np.ndarray,
    account: dict[int, _Year],
    counted: list[int],
    *,
    spells_only: bool = False,
) -> _Sums:
    """Yearly sums and largest spells of every wall."""
    wet = is_driving(record.rain, record.wind_speed, wet_hour=threshold)
    hours, years = record.hours[wet], record.years[wet]
    amount = head_on_rain(record.rain[wet], record.wind_speed[wet])
    direction = record.wind_from_direction[wet]
    known = np.isfinite(direction)
    variable = ~known

    sector = terrain_sector(np.where(known, direction, 0.0))
    amount = amount * np.where(known, weight[sector], weight.mean())
    row = np.searchsorted(counted, years).clip(max=len(counted) - 1)
    row = np.where(np.asarray(counted)[row] == years, row, -1)  # -1: the year does not count
    scale = np.array([account[year].hours_scaling * account[year].rain_scaling for year in counted])

    spell = np.zeros((len(counted), walls.size))
    annual = np.zeros((len(counted), walls.size))
    by_sector = np.zeros((TERRAIN_SECTORS, walls.size))
    near_gap: set[int] = set()
    gaps = _long_gaps(record)
    for w, facing in enumerate(walls):
        cosine = np.where(known, facing_cosine(direction, facing), 0.0)
        hits = np.flatnonzero(cosine > EDGE_COSINE)
        share = amount * cosine
        spells = find_spells(hours[hits], share[hits])
        years_of = row[hits][spells.last]
        inside = years_of >= 0
        np.maximum.at(spell[:, w], years_of[inside], spells.total[inside])
        if spells_only:
            continue
        for start, end in gaps:
            touched = (
                inside
                & (hours[hits][spells.first] - SPELL_GAP <= end)
                & (hours[hits][spells.last] + SPELL_GAP >= start)
            )
            largest = touched & (spells.total >= spell[np.maximum(years_of, 0), w])
            near_gap.update(counted[i] for i in years_of[largest])
        share = share + np.where(variable, amount / np.pi, 0.0)
        inside = row >= 0
        scaled = share[inside] * scale[row[inside]]
        annual[:, w] = np.bincount(row[inside], scaled, minlength=len(counted))
        steady = inside & known
        by_sector[:, w] = np.bincount(
            sector[steady], share[steady] * scale[row[steady]], minlength=TERRAIN_SECTORS
        ) / len(counted)
    return _Sums(annual, spell, by_sector, sorted(near_gap))


def _long_gaps(record: Record) -> list[tuple[int, int]]:
    """First and last hour number of each run of 96 h or more in which a hit could have gone unseen."""
    unseen = ~np.isfinite(record.rain) | ((record.rain > 0) & ~np.isfinite(record.wind_speed))
    seen = record.hours[~unseen]
    edges = np.concatenate([[record.hours[0] - 1], seen, [record.hours[-1] + 1]])
    long = np.flatnonzero(np.diff(edges) - 1 >= SPELL_GAP)
    return [(int(edges[i]) + 1, int(edges[i + 1]) - 1) for i in long]


def _index_flags(
    record: Record,
    account: dict[int, _Year],
    counted: list[int],
    counting: _Sums,
    index: xr.Dataset,
    threshold: float,
) -> list[str]:
    """Each doubt about the result."""
    flags: list[str] = []
    if record.kind == TYPICAL_YEAR:
        flags.append(doubt("rain.typical_year"))
    elif len(counted) < FEW_YEARS:
        years = "1 year counts" if len(counted) == 1 else f"{len(counted)} years count"
        flags.append(doubt("rain.few_years", years=years, needed=FEW_YEARS))
    edges = (min(account), max(account))
    left_out = [
        year
        for year in account
        if year not in counted
        and not (year in edges and np.count_nonzero(record.years == year) < WORTH_TELLING)
    ]
    if left_out:
        flags.append(doubt("rain.years_left_out", years=", ".join(map(str, left_out)), least=LEAST_COVERAGE))
    rain = sum(account[year].rain for year in counted)
    unassigned = sum(account[year].unassigned for year in counted)
    if unassigned > MUCH_UNASSIGNED * rain:
        flags.append(doubt("rain.no_direction", share=unassigned / rain, rain=unassigned))
    if counting.near_gap:
        flags.append(
            doubt("rain.gap_beside_spell", gap=SPELL_GAP, years=", ".join(map(str, counting.near_gap)))
        )
    if threshold > 0:
        with_it = index["airfield_spell_index"].values
        without = index["airfield_spell_index_any_rain"].values
        apart = without - with_it > THRESHOLD_DOUBT * with_it
        if apart.any():
            most = int(np.argmax(np.where(apart, without - with_it, -np.inf)))
            flags.append(
                doubt(
                    "rain.light_rain",
                    facing=float(index["orientation"][most]),
                    without=float(without[most]),
                    with_it=float(with_it[most]),
                    threshold=threshold,
                    share=float(apart.mean()),
                )
            )
    if record.calendar == "360_day":
        flags.append(doubt("rain.calendar_360"))
    return flags
