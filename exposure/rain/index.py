"""Airfield indices, for walls facing any direction, in the plain form that reads like the standard.

Sums and spells of a place are found wall by wall on the hours that count (:mod:`exposure.rain.sums`); several places
are worked out one by one (:mod:`exposure.rain.places`). The streaming form for grids
(:mod:`exposure.rain.streaming`) is held to this one by test.
"""

from collections.abc import Sequence

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.doubts import flags_of, with_flags
from exposure.rain.coverage import LEAST_COVERAGE
from exposure.rain.doubts import IndexFigures, doubts_of_index, years_left_out
from exposure.rain.hour import TERRAIN_SECTORS, wet_hour_threshold
from exposure.rain.orientation import Orientations, compass_orientations, orientations_of
from exposure.rain.places import index_of_places
from exposure.rain.record import Record, clock_of, in_our_units, place_dims, record_of
from exposure.rain.sums import PlaceFigures, figures_of
from exposure.rain.variables import described

__all__ = ["airfield_index", "compass_orientations"]


def airfield_index(
    climate: xr.Dataset | Record,
    *,
    orientation: Orientations,
    wet_hour: float | None = None,
    sector_weight: Sequence[float] | np.ndarray | xr.DataArray | None = None,
) -> xr.Dataset:
    r"""Airfield annual and spell index of one place or of many, for walls facing each ``orientation``.

    Parameters
    ----------
    climate
        Hourly ``rain`` [mm in the hour ending at ``time``], ``wind_speed`` [m s-1] and
        ``wind_from_direction`` [degree] along ``time``, in these units or any of the usual ones they declare
        (:mod:`exposure.climate.units`); attribute ``kind`` (gauge, reanalysis, model, typical year or invented).
        Missing hours may be NaN or absent. Any further dimensions (place, latitude and longitude, member) are
        places, each worked out for itself.
    orientation
        Directions the walls face, clockwise from north: any angles [degree], names such as ``"south-west"`` or
        ``"NNE"``, or a DataArray.
    wet_hour
        Least rain in an hour that counts [mm]; by default 0 for a gauge and 0.1 for every other kind.
    sector_weight
        Twelve factors on the driving rain by the sector the wind comes from (centred on 0, 30, ... 330),
        e.g. roughness times topography; the result is then the wall index without shelter and wall shape.
        Which hours count stays decided on the open airfield. For many places it may be a DataArray along
        ``terrain_sector`` and theirs.

    Returns
    -------
    xarray.Dataset
        Along ``orientation``: ``airfield_annual_index``; ``airfield_spell_index``, the one that decides and
        is shown, the larger of ``airfield_spell_index_percentile`` and ``airfield_spell_index_gumbel`` beside
        it; ``airfield_spell_index_any_rain``, the deciding one without the threshold; along ``terrain_sector``
        too: ``airfield_annual_index_by_sector``; along ``year`` (years that
        count): ``yearly_annual_index``, ``yearly_spell_maximum``, ``hours_scaling``, ``rain_scaling``;
        along ``record_year`` (all years): ``coverage``. Attributes: ``wet_hour_mm``,
        ``unassigned_rain_mm``, ``kind``, ``source``, ``licence``, ``flags`` (sentences) and ``doubts`` (the same
        with keys and numbers, read by :func:`exposure.doubts.flags_of`). It may be written with ``to_netcdf`` and
        read back.

        For many places ``year`` holds all years, missing where one does not count for a place, and
        ``unassigned_rain``, ``counted_rain`` [mm] and ``gap_beside_spell`` stand along the places. A place without a
        year that counts is missing. Lazy where ``climate`` is: then the doubts of the places are told once
        :func:`exposure.rain.places.with_place_doubts` has worked it out.

    Raises
    ------
    RefusalError
        When the record is not hourly or has no year whose rain and wind are known well enough; for units of
        something else, an orientation that is none, and time split into chunks.

    Notes
    -----
    Hourly driving rain :math:`I = \tfrac29 v r^{8/9} \cos(D - \theta)`, summed over a year for the annual
    index; spells end after 96 h without driving rain on that wall and belong to the year of their last
    hit (ISO 15927-3:2009, clause 3, constants and percentile from memory).

    Many places in dask chunks are worked out chunk by chunk, each holding all of time: a spell may run across any
    split. One place is worked out at once, however it is chunked.

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

    Two places, the second with twice the wind:

    >>> two = climate.expand_dims(place=["open", "sheltered"])
    >>> two["wind_speed"] = (two["wind_speed"] * [[1.0], [0.5]]).assign_attrs(units="m/s")
    >>> airfield_index(two, orientation=["south-west"])["airfield_annual_index"].values.round(3).tolist()
    [[107.325], [53.663]]
    """
    walls = orientations_of(orientation)
    if not isinstance(climate, Record):
        weather = in_our_units(climate)
        if place_dims(weather):
            clock = clock_of(climate)
            return index_of_places(
                weather,
                clock,
                walls,
                threshold=_threshold(clock, wet_hour),
                weight=_place_weight(sector_weight),
            )
    record = record_of(climate)
    threshold = _threshold(record, wet_hour)
    weight = _weight(sector_weight)
    found = figures_of(record, walls, threshold=threshold, weight=weight)
    if not found.counted.size:
        _refuse_no_year(found)
    return _described(record, walls, found, threshold)


def _described(record: Record, walls: np.ndarray, found: PlaceFigures, threshold: float) -> xr.Dataset:
    """The figures of a record with their names, units and attributes, and what to doubt of them."""
    counted = found.years[found.counted].tolist()
    spell, percentile, gumbel = found.spell_estimates
    index = described(
        {
            "airfield_annual_index": ("orientation", found.annual.mean(0)),
            "airfield_spell_index": ("orientation", spell),
            "airfield_spell_index_percentile": ("orientation", percentile),
            "airfield_spell_index_gumbel": ("orientation", gumbel),
            "airfield_spell_index_any_rain": ("orientation", found.any_rain),
            "airfield_annual_index_by_sector": (("terrain_sector", "orientation"), found.by_sector),
            "yearly_annual_index": (("year", "orientation"), found.annual),
            "yearly_spell_maximum": (("year", "orientation"), found.spell),
            "hours_scaling": ("year", found.account.hours_scaling[found.counted]),
            "rain_scaling": ("year", found.account.rain_scaling[found.counted]),
            "coverage": ("record_year", found.account.coverage),
        },
        orientation=walls,
        year=counted,
        record_year=found.years,
    )
    unassigned = float(sum(found.unassigned[found.counted].tolist()))
    index.attrs |= {
        "kind": record.kind,
        "source": record.attrs.get("source", "not named"),
        "licence": record.attrs.get("licence", "not named"),
        "wet_hour_mm": threshold,
        "unassigned_rain_mm": unassigned,
    }
    if "file" in record.attrs:
        index.attrs["file"] = record.attrs["file"]
    doubts = doubts_of_index(
        IndexFigures(
            kind=record.kind,
            calendar=record.calendar,
            counted=counted,
            left_out=years_left_out(found.years, found.account.counts, record.hours_of_years),
            rain=sum(found.rain[found.counted].tolist()),
            unassigned=unassigned,
            near_gap=[year for year, near in zip(counted, found.near_gap, strict=True) if near],
            orientation=walls,
            spell=spell,
            any_rain=found.any_rain,
            threshold=threshold,
        )
    )
    return with_flags(index, [*flags_of(record.attrs), *doubts])


def _threshold(record: Record, wet_hour: float | None) -> float:
    return wet_hour_threshold(record.kind) if wet_hour is None else float(wet_hour)


def _weight(given: Sequence[float] | np.ndarray | xr.DataArray | None) -> np.ndarray:
    weight = np.ones(TERRAIN_SECTORS) if given is None else np.asarray(given, dtype=float)
    if weight.shape != (TERRAIN_SECTORS,) or not np.all(np.isfinite(weight) & (weight >= 0)):
        raise RefusalError(
            f"sector weights are {weight.tolist()}",
            "twelve numbers of zero or more",
            "Give one for each 30 degrees.",
        )
    return weight


def _place_weight(given: Sequence[float] | np.ndarray | xr.DataArray | None) -> xr.DataArray:
    if not isinstance(given, xr.DataArray) or given.ndim == 1:
        return xr.DataArray(_weight(given), dims="terrain_sector")
    if given.sizes.get("terrain_sector") != TERRAIN_SECTORS or not bool((given >= 0).all()):
        raise RefusalError(
            f"sector weights of shape {dict(given.sizes)}, one missing or below zero"
            if given.sizes.get("terrain_sector") == TERRAIN_SECTORS
            else f"sector weights of shape {dict(given.sizes)}",
            "twelve numbers of zero or more along terrain_sector, for each place",
            "Give one for each 30 degrees.",
        )
    return given.drop_vars("terrain_sector", errors="ignore")


def _refuse_no_year(found: PlaceFigures) -> None:
    account = found.account
    best = int(np.argmax(account.coverage * account.rain_known_with_wind))
    raise RefusalError(
        f"no year counts; the best, {found.years[best]}, has rain in {account.coverage[best]:.0%} of its hours "
        f"and wind in {account.rain_known_with_wind[best]:.0%} of its rain",
        f"at least one year with {LEAST_COVERAGE:.0%} of both",
        "Use a longer or more complete record.",
    )
