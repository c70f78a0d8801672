"""How often the band really holds the truth, on made-up weather whose truth is known without the code.

The truth of the mean year is worked out from the moments of the weather's recipe; that of the spell is the
two-thirds quantile (once in three years) of all 20,000 yearly maxima made. The shares are kept in the table
``band_coverage``, which sheets quote; this test makes them again and fails when they no longer hold.
"""

import math

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from builders import climate_of

from exposure.rain.index import airfield_index
from exposure.rain.uncertainty import band_of, likely_spell, resample_years
from exposure.tables import load_table

WALL = 225.0
YEARS, REPEATS = 20, 1000
WET_HOURS, DRY_HOURS = 7.0, 70.0  # mean length of a storm and of the pause after it
SPEED, SPEED_SPREAD = math.log(7.0), 0.35  # of a storm, lognormal
RAIN_SHAPE, RAIN_SCALE = 0.8, 1.3  # of an hour, gamma, mm
YEAR_SPREAD = 0.15  # wet and dry years: lognormal factor on the rain
ARC = 75.0  # storms come evenly from this far either side of the wall's normal
TIME = pd.date_range("2001-01-01", f"{2000 + YEARS}-12-31T23:00", freq="h")
YEAR = (TIME.year - TIME.year[0]).to_numpy()  # of each hour, counted from 0


def storms(chance: np.random.Generator) -> xr.Dataset:
    """Storms and pauses of geometric length; each storm one wind, each hour its own rain."""
    number = int(TIME.size / (WET_HOURS + DRY_HOURS) * 1.3) + 50
    lengths = np.column_stack(
        [chance.geometric(1 / DRY_HOURS, number), chance.geometric(1 / WET_HOURS, number)]
    )
    if chance.random() < WET_HOURS / (WET_HOURS + DRY_HOURS):  # start in a storm as often as a long run would
        lengths[0, 0] = 0
    of_storm = np.repeat(np.arange(2 * number), lengths.ravel())[: TIME.size]
    wet = of_storm % 2 == 1
    speed = chance.lognormal(SPEED, SPEED_SPREAD, number)[of_storm // 2]
    direction = (WALL + chance.uniform(-ARC, ARC, number))[of_storm // 2] % 360
    year = chance.lognormal(0, YEAR_SPREAD, YEARS)[YEAR]
    rain = np.where(wet, chance.gamma(RAIN_SHAPE, RAIN_SCALE, TIME.size) * year, 0.0)
    return climate_of(TIME, rain=rain, wind_speed=speed, wind_from_direction=direction, kind="gauge")


def mean_year() -> float:
    """Expected annual index from the moments of the recipe, by hand. [L m-2 year-1]"""
    power = 8 / 9
    wet = TIME.size / YEARS * WET_HOURS / (WET_HOURS + DRY_HOURS)
    speed = math.exp(SPEED + SPEED_SPREAD**2 / 2)
    rain = RAIN_SCALE**power * math.gamma(RAIN_SHAPE + power) / math.gamma(RAIN_SHAPE)
    year = math.exp((power * YEAR_SPREAD) ** 2 / 2)
    facing = math.sin(math.radians(ARC)) / math.radians(ARC)
    return wet * 2 / 9 * speed * rain * year * facing


def holds(values: np.ndarray, maxima: np.ndarray, truth: tuple[float, float]) -> np.ndarray:
    """Whether the band of one record holds the truth of the mean year and of the spell."""
    annual, spell = values[:, None], maxima[:, None]
    drawn = resample_years(annual, spell)
    found = []
    for of, estimate, true in (
        (drawn.annual, annual.mean(0), truth[0]),
        (drawn.spell, likely_spell(spell), truth[1]),
    ):
        low, high = band_of(of, estimate, drawn.years)
        found.append(low[0] <= true <= high[0])
    return np.array(found)


@pytest.mark.slow
@pytest.mark.timeout(900)
def test_bands_hold_the_truth_as_often_as_the_sheet_says():
    chance = np.random.default_rng(4)
    indices = [airfield_index(storms(chance), orientation=[WALL], wet_hour=0.0) for _ in range(REPEATS)]
    annual = np.array([index["yearly_annual_index"].values[:, 0] for index in indices]).ravel()
    maxima = np.array([index["yearly_spell_maximum"].values[:, 0] for index in indices]).ravel()
    expected = mean_year()
    np.testing.assert_allclose(annual.mean(), expected, rtol=0.01)  # the recipe gives what its moments say
    truth = (expected, float(np.quantile(maxima, 2 / 3)))
    for row in load_table("band_coverage")["row"]:
        years, repeats = row["years"], row["repeats"]
        records = zip(
            annual[: years * repeats].reshape(repeats, years),
            maxima[: years * repeats].reshape(repeats, years),
            strict=True,
        )
        shares = np.mean([holds(a, m, truth) for a, m in records], axis=0)
        print(years, repeats, shares)
        if years >= 20:
            assert np.all((shares >= 0.80) & (shares <= 0.95))
        np.testing.assert_allclose(shares, [row["annual_share"], row["spell_share"]], atol=0.006)
