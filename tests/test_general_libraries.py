"""Results against general-purpose libraries that few machines have; left out where they are missing.

``pip install ".[libraries]"`` brings them.
"""

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from builders import climate_of
from outside import compared

from exposure.climate.summary import summary_of
from exposure.detail.vapour import saturation_pressure
from exposure.rain.extremes import gumbel_value
from exposure.rain.spells import SPELL_GAP, find_spells

BY = {"about": "general libraries", "how": "by a general-purpose library"}


def hits(seed: int) -> np.ndarray:
    """A year of hours that hit a wall or do not, in storms some days apart."""
    rng = np.random.default_rng(seed)
    wet = np.zeros(8760, dtype=bool)
    for start in np.cumsum(rng.exponential(110, 70).astype(int)):
        wet[start : start + rng.integers(2, 20)] = True
    return wet & (rng.random(8760) < 0.8)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_spells_are_what_a_run_length_library_parts(seed):
    """Spells are parted by runs of 96 dry hours and more; such runs before the first hit and after the last part none."""
    pytest.importorskip("xclim")
    from xclim.indices import run_length

    wet = hits(seed)
    inside = slice(int(np.argmax(wet)), wet.size - int(np.argmax(wet[::-1])))
    time = pd.date_range("2011-01-01", periods=8760, freq="h")[inside]
    dry = xr.DataArray(~wet[inside], {"time": time}, dims="time")
    runs = int(run_length.windowed_run_events(dry, window=SPELL_GAP))
    spells = find_spells(np.flatnonzero(wet), np.ones(int(wet.sum())))
    compared(
        f"spells-of-a-year-{seed}",
        spells.total.size,
        runs + 1,
        within=0,
        what=f"spells of a made-up year of storms, the {('first', 'second', 'third')[seed - 1]}",
        source="xclim run_length.windowed_run_events: dry runs of 96 hours and more, plus one",
        **BY,
    )
    assert spells.total.size > 5


@pytest.mark.parametrize("warmth", [-10.0, 5.0, 25.0])
def test_saturation_pressure(warmth):
    pytest.importorskip("xclim")
    from xclim.indices import saturation_vapor_pressure

    air = xr.DataArray([warmth], dims="x", attrs={"units": "degC"})
    theirs = float(saturation_vapor_pressure(air, ice_thresh="0 degC", method="sonntag90")[0])
    compared(
        f"saturation-sonntag-{warmth:g}",
        float(saturation_pressure(warmth)),
        theirs,
        within=0.01 * theirs,
        what=f"saturation pressure at {warmth:g} °C, over ice below 0",
        source="xclim saturation_vapor_pressure, its formula of 1990",
        unit="Pa",
        because="another fit of the curve: 1 %",
        **BY,
    )


def test_return_value_of_yearly_maxima():
    """Their fit is by likelihood, ours by moments: the same value but for the method, about 5 % on 200 years."""
    pytest.importorskip("pyextremes")
    from pyextremes import EVA

    rng = np.random.default_rng(4)
    maxima = rng.gumbel(70, 18, 200)
    days = pd.date_range("1801-01-01", "2000-12-31", freq="D")
    series = pd.Series(0.0, days)
    series[pd.to_datetime([f"{1801 + i}-07-01" for i in range(200)])] = maxima
    found = EVA(series)
    found.get_extremes("BM", block_size="365.2425D", errors="ignore")
    found.fit_model("MLE", distribution="gumbel_r")
    theirs = float(found.get_return_value(return_period=3, alpha=None)[0])
    compared(
        "three-year-value",
        float(gumbel_value(maxima, 3)),
        theirs,
        within=0.05 * theirs,
        what="three-year value of 200 yearly maxima drawn from a Gumbel (70, 18)",
        source="pyextremes: block maxima, Gumbel by maximum likelihood",
        unit="L/m²",
        because="likelihood there, moments here: two estimates from the same 200 maxima, 5 %",
        **BY,
    )


def test_wind_by_direction():
    pytest.importorskip("windrose")
    import matplotlib as mpl

    mpl.use("Agg")
    from windrose import WindroseAxes

    rng = np.random.default_rng(5)
    direction = (220 + 60 * rng.standard_normal(8760)) % 360
    speed = rng.weibull(2, 8760) * 6 + 0.1
    time = pd.date_range("2011-01-01", periods=8760, freq="h")
    climate = climate_of(
        time,
        rain=np.where(rng.random(8760) < 0.1, 1.0, 0.0),
        wind_speed=speed,
        wind_from_direction=direction,
        kind="gauge",
        source="made in a test",
        licence="none",
        flags=[],
    )
    ours = summary_of(climate).rose_all
    rose = WindroseAxes.from_ax()
    rose.bar(direction, speed, nsector=len(ours), bins=[0.0])
    theirs = np.asarray(rose._info["table"]).sum(axis=0) / 8760
    np.testing.assert_allclose(ours, theirs, atol=1e-12)
    way = 360 // len(ours)
    compared(
        "wind-sector",
        float(ours[220 // way]),
        float(theirs[220 // way]),
        within=1e-9,
        what=f"share of hours with wind from {220 // way * way} degrees, {len(ours)} sectors, made-up wind",
        source="windrose",
        **BY,
    )
