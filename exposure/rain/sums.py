"""Yearly sums and largest spells of one place, wall by wall on the hours that count."""

from typing import NamedTuple

import numpy as np

from exposure.rain.coverage import YearAccount, account_of_years
from exposure.rain.extremes import SPELL_RETURN, gumbel_value, likely_spell, percentile_value
from exposure.rain.hour import EDGE_COSINE, TERRAIN_SECTORS, terrain_sector
from exposure.rain.record import Record
from exposure.rain.spells import SPELL_GAP, find_spells

MUCH_MISSING = 0.1  # hours missing in a spell, against its hits, worth telling; our choice


class PlaceFigures(NamedTuple):
    """What the record of one place comes to; years are those of the record, or those that count."""

    account: YearAccount  # of every year
    years: np.ndarray  # every year
    counted: np.ndarray  # rows of the years that count
    annual: np.ndarray  # (counted year, wall), scaled [L m-2]
    spell: np.ndarray  # (counted year, wall) [L m-2]
    by_sector: np.ndarray  # (sector, wall), mean year [L m-2]
    any_rain: np.ndarray  # (wall,), the deciding spell without the threshold [L m-2]
    rain: np.ndarray  # of every year, where known [mm]
    unassigned: np.ndarray  # of every year, in hours of variable wind [mm]
    near_gap: np.ndarray  # (counted year,) whether a largest spell has hours missing in it or long beside it

    @property
    def spell_estimates(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """The spell index that decides, the percentile and the Gumbel value of each wall. [L m-2]"""
        return (
            likely_spell(self.spell),
            percentile_value(self.spell),
            gumbel_value(self.spell, SPELL_RETURN),
        )


def figures_of(record: Record, walls: np.ndarray, *, threshold: float, weight: np.ndarray) -> PlaceFigures:
    """Sums and spells of the years that count; none may."""
    years, account, rain, unassigned = _account(record)
    counted = np.flatnonzero(account.counts)
    scale = (account.hours_scaling * account.rain_scaling)[counted]
    sums = _driving_sums(record, walls, threshold, weight, years[counted], scale)
    spell = sums.spell
    if threshold > 0:
        spell = _driving_sums(record, walls, 0.0, weight, years[counted], scale, spells_only=True).spell
    any_rain = likely_spell(spell) if counted.size else np.full(walls.size, np.nan)
    return PlaceFigures(
        account, years, counted, sums.annual, sums.spell, sums.by_sector, any_rain, rain, unassigned, sums.near_gap
    )  # fmt: skip


def _account(record: Record) -> tuple[np.ndarray, YearAccount, np.ndarray, np.ndarray]:
    """Every year, what is known of it, its rain and the rain of its variable winds. [mm]"""
    rows_of_years = record.rows_of_years
    known_hours, total, with_speed, unassigned = np.zeros((4, len(rows_of_years)))
    for i, rows in enumerate(rows_of_years.values()):
        rain, speed, direction = record.rain[rows], record.wind_speed[rows], record.wind_from_direction[rows]
        known = np.isfinite(rain)
        windy = known & np.isfinite(speed)
        known_hours[i] = known.sum()
        total[i] = rain[known].sum()
        with_speed[i] = rain[windy].sum()
        unassigned[i] = rain[windy & ~np.isfinite(direction)].sum()
    account = account_of_years(
        years=list(rows_of_years),
        calendar=record.calendar,
        hours_known=known_hours,
        rain=total,
        rain_with_wind=with_speed,
        kind=record.kind,
    )
    return np.array(list(rows_of_years)), account, total, unassigned


class _Sums(NamedTuple):
    annual: np.ndarray
    spell: np.ndarray
    by_sector: np.ndarray
    near_gap: np.ndarray


def _driving_sums(
    record: Record,
    walls: np.ndarray,
    threshold: float,
    weight: np.ndarray,
    counted: np.ndarray,
    scale: np.ndarray,
    *,
    spells_only: bool = False,
) -> _Sums:
    """Yearly sums and largest spells of every wall, of the ``counted`` years."""
    number = counted.size
    spell, annual = np.zeros((2, number, walls.size))
    by_sector = np.zeros((TERRAIN_SECTORS, walls.size))
    near_gap = np.zeros(number, dtype=bool)
    if number == 0:
        return _Sums(annual, spell, by_sector, near_gap)
    driving = record.driving(threshold)
    rows = record.wet[driving]
    hours, years, direction = record.hours[rows], record.years[rows], record.wind_from_direction[rows]
    known = record.steady[driving]
    variable = ~known
    sector = terrain_sector(np.where(known, direction, 0.0))
    amount = record.head_on[driving] * np.where(known, weight[sector], weight.mean())
    row = np.searchsorted(counted, years).clip(max=number - 1)
    row = np.where(counted[row] == years, row, -1)  # -1: the year does not count
    seen = _seen(record)
    gaps = _long_gaps(record, seen)
    for w, facing in enumerate(walls):
        cosine = record.cosine(float(facing))[driving]
        hits = np.flatnonzero(cosine > EDGE_COSINE)
        share = amount * cosine
        spells = find_spells(hours[hits], share[hits])
        years_of = row[hits][spells.last]
        inside = years_of >= 0
        np.maximum.at(spell[:, w], years_of[inside], spells.total[inside])
        if spells_only:
            continue
        largest = np.flatnonzero(inside & (spells.total >= spell[np.maximum(years_of, 0), w]))
        first, last = hours[hits][spells.first[largest]], hours[hits][spells.last[largest]]
        watched = np.searchsorted(seen, last, side="right") - np.searchsorted(seen, first)
        hit = spells.last[largest] - spells.first[largest] + 1
        doubtful = last - first + 1 - watched >= MUCH_MISSING * hit
        for start, end in gaps:
            doubtful |= (first - SPELL_GAP <= end) & (last + SPELL_GAP >= start)
        near_gap[years_of[largest[doubtful]]] = True
        share = share + np.where(variable, amount / np.pi, 0.0)
        inside = row >= 0
        scaled = share[inside] * scale[row[inside]]
        annual[:, w] = np.bincount(row[inside], scaled, minlength=number)
        steady = inside & known
        by_sector[:, w] = (
            np.bincount(sector[steady], share[steady] * scale[row[steady]], minlength=TERRAIN_SECTORS)
            / number
        )
    return _Sums(annual, spell, by_sector, near_gap)


def _seen(record: Record) -> np.ndarray:
    """Hour numbers in which no hit could have gone unseen."""
    unseen = ~np.isfinite(record.rain) | ((record.rain > 0) & ~np.isfinite(record.wind_speed))
    return record.hours[~unseen]


def _long_gaps(record: Record, seen: np.ndarray) -> list[tuple[int, int]]:
    """First and last hour number of each run of 96 h or more in which a hit could have gone unseen."""
    edges = np.concatenate([[record.hours[0] - 1], seen, [record.hours[-1] + 1]])
    long = np.flatnonzero(np.diff(edges) - 1 >= SPELL_GAP)
    return [(int(edges[i]) + 1, int(edges[i + 1]) - 1) for i in long]
