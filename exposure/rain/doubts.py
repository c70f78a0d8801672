"""Every doubt about an index that its own record raises, for one place."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from exposure.clock import TYPICAL_YEAR
from exposure.doubts import Doubt, doubt
from exposure.rain.coverage import FEW_YEARS, LEAST_COVERAGE
from exposure.rain.spells import SPELL_GAP

WORTH_TELLING = 24  # hours in a first or last year; stamps from 01:00 to 00:00 leave one hour in the next
MUCH_UNASSIGNED = 0.05  # share of rain in hours of variable wind worth a flag; our choice
THRESHOLD_DOUBT = 0.10  # change of the spell index without the threshold worth showing; our choice


def years_left_out(years: np.ndarray, counts: np.ndarray, hours: np.ndarray) -> list[int]:
    """Years that do not count and are worth telling of: a few hours before the first or after the last are none.

    Parameters
    ----------
    years
        Of the record, ascending.
    counts
        Whether each counts.
    hours
        Stamps the record has in each. [h]

    Examples
    --------
    >>> years_left_out(np.array([2010, 2011, 2012]), np.array([True, False, False]), np.array([8760, 20, 1]))
    [2011]
    """
    inside = (years != years.min()) & (years != years.max())
    return years[~counts & (inside | (hours >= WORTH_TELLING))].tolist()


class IndexFigures(NamedTuple):
    """What the doubts of an index rest on."""

    kind: str
    calendar: str
    counted: Sequence[int]  # years that count
    left_out: Sequence[int]  # years that do not
    rain: float  # of the counted years [mm]
    unassigned: float  # of it, in hours of variable wind [mm]
    near_gap: Sequence[int]  # years whose largest spell has hours missing in it, or a long gap beside it
    orientation: np.ndarray  # of each wall [degree]
    spell: np.ndarray  # spell index of each [L m-2]
    any_rain: np.ndarray  # the same without the threshold [L m-2]
    threshold: float  # least rain of an hour that counts [mm]


def doubts_of_index(figures: IndexFigures) -> list[Doubt]:
    """What its own record leaves open about the index of one place."""
    kind, calendar, counted, left_out, rain, unassigned, near_gap, orientation, spell, any_rain, threshold = (
        figures
    )
    flags: list[Doubt] = []
    if kind == TYPICAL_YEAR:
        flags.append(doubt("rain.typical_year"))
    elif len(counted) < FEW_YEARS:
        years = "1 year counts" if len(counted) == 1 else f"{len(counted)} years count"
        flags.append(doubt("rain.few_years", years=years, needed=FEW_YEARS))
    if left_out:
        flags.append(doubt("rain.years_left_out", years=", ".join(map(str, left_out)), least=LEAST_COVERAGE))
    if unassigned > MUCH_UNASSIGNED * rain:
        flags.append(doubt("rain.no_direction", share=unassigned / rain, rain=unassigned))
    if near_gap:
        flags.append(doubt("rain.gap_beside_spell", gap=SPELL_GAP, years=", ".join(map(str, near_gap))))
    if threshold > 0:
        apart = any_rain - spell > THRESHOLD_DOUBT * spell
        if apart.any():
            most = int(np.argmax(np.where(apart, any_rain - spell, -np.inf)))
            flags.append(
                doubt(
                    "rain.light_rain",
                    facing=float(orientation[most]),
                    without=float(any_rain[most]),
                    with_it=float(spell[most]),
                    threshold=threshold,
                    share=float(apart.mean()),
                )
            )
    if calendar == "360_day":
        flags.append(doubt("rain.calendar_360"))
    return flags
