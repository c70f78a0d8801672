"""One building end to end: climate and site in, each elevation's exposure out, every intermediate kept."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import xarray as xr

from exposure.assess.assessment import Assessment
from exposure.assess.assumptions import (
    SAID_WITH_NUMBERS,
    assumption_doubts,
    assumptions_of,
    own_doubts,
)
from exposure.assess.by_sector import difference_in_words, sector_products
from exposure.assess.doubts import doubts_of, place_sentences
from exposure.assess.models import models_on_wall
from exposure.doubts import doubt, flags_of, has_doubt
from exposure.rain.counted import counted_hours
from exposure.rain.index import airfield_index, compass_orientations
from exposure.rain.models import other_model_sums
from exposure.rain.record import Record, record_of
from exposure.rain.seasons import monthly_driving_rain, trend
from exposure.rain.uncertainty import band_of, band_statement, has_band, resample_years, same, worst_shares
from exposure.wall import Building, Site, WallExposure
from exposure.wall.classes import exposure_class
from exposure.wall.index import wall_exposure

ROSE_ORIENTATIONS = 36


def assess_building(
    climate: xr.Dataset,
    building: Building,
    site: Site,
    *,
    wet_hour: float | None = None,
    nearby: Sequence[xr.Dataset] = (),
    rose: xr.Dataset | None = None,
) -> Assessment:
    """Exposure of every elevation of ``building`` on ``site`` in ``climate``, and how sure it is.

    Parameters
    ----------
    climate
        An hourly record as :func:`exposure.open_climate` returns it.
    building, site
        What stands where.
    wet_hour
        See :func:`exposure.rain.index.airfield_index`. [mm]
    nearby
        Other records of the same ground (the cells around, a station), whose spread becomes a doubt.
    rose
        From :func:`rose_index` of the same record and ``wet_hour``, where it is worked out already.

    Raises
    ------
    RefusalError
        As :func:`exposure.rain.index.airfield_index`.
    """
    facing = np.unique([wall.orientation for wall in building.walls])
    record = record_of(climate)
    index = airfield_index(record, orientation=facing, wet_hour=wet_hour)
    if rose is None:
        rose = rose_index(record, wet_hour=wet_hour)
    plain = [wall_exposure(index, site, wall) for wall in building.walls]
    place = place_sentences(climate, site)
    elevations = _complete(record, index, site, plain, wet_hour, place, nearby)
    elevations.sort(key=lambda one: one.wall_spell_index, reverse=True)
    assumed = assumptions_of(index, site, elevations)
    ground = [flag for flag in site.flags if getattr(flag, "key", "") not in SAID_WITH_NUMBERS]
    flags = [*flags_of(index.attrs), *ground, *place, *sea_twice(climate, site, elevations)]
    flags += assumption_doubts(assumed)
    for one in elevations:
        flags.extend(one.flags)
    elevations = [replace(one, flags=(*one.flags, *own_doubts(assumed, one.wall.name))) for one in elevations]
    worst = index.sel(orientation=elevations[0].wall.orientation)
    return Assessment(
        building,
        site,
        tuple(elevations),
        rose,
        index,
        tuple(dict.fromkeys(flags)),
        band_statement(index.sizes["year"]),
        trend(index["year"].values, worst["yearly_annual_index"].values * elevations[0].factor_product),
        assumed,
    )


def rose_index(climate: xr.Dataset | Record, *, wet_hour: float | None = None) -> xr.Dataset:
    """The airfield index all round, as the rose draws it; see :func:`exposure.rain.index.airfield_index`."""
    return airfield_index(climate, orientation=compass_orientations(ROSE_ORIENTATIONS), wet_hour=wet_hour)


def _complete(
    record: Record,
    index: xr.Dataset,
    site: Site,
    plain: list[WallExposure],
    wet_hour: float | None,
    place: list[str],
    nearby: Sequence[xr.Dataset],
) -> list[WallExposure]:
    """Bands, rank, months, sectors, other models and doubts put on each elevation."""
    own = index.sel(orientation=[one.wall.orientation for one in plain])
    product = np.array([one.factor_product for one in plain])
    drawn = resample_years(own["yearly_annual_index"].values, own["yearly_spell_maximum"].values)
    annual = np.array([one.wall_annual_index for one in plain])
    spell = np.array([one.wall_spell_index for one in plain])
    annual_band = band_of(drawn.annual * product, annual, drawn.years)
    spell_band = band_of(drawn.spell * product, spell, drawn.years)
    sure = has_band(drawn.years)
    rank = worst_shares(drawn.spell * product)
    together = [rank[[same(other, mine) for other in spell]].sum() for mine in spell]

    hours = counted_hours(record, index)
    months = monthly_driving_rain(record, index, hours=hours)
    models = other_model_sums(record, index, hours=hours)
    sectors = sector_products(record, index, site, plain, wet_hour=wet_hour)
    around = _nearby_ratios(nearby, index, wet_hour)
    traces = own["airfield_spell_index_any_rain"].values

    complete = []
    for i, one in enumerate(plain):
        share = months.sel(orientation=one.wall.orientation).values
        spread = (float(spell_band[0][i]), float(spell_band[1][i])) if sure else None
        one = replace(
            one,
            annual_band=(float(annual_band[0][i]), float(annual_band[1][i])) if sure else None,
            spell_band=spread,
            class_band=(exposure_class(spread[0]), exposure_class(spread[1])) if spread else None,
            worst_share=float(together[i]) if sure else None,
            monthly_share=tuple((share / share.sum()).tolist()) if share.sum() > 0 else None,
            sector_annual_index=sectors[i].annual,
            sector_spell_index=sectors[i].spell,
            sector_note=difference_in_words(one, sectors[i], index, site),
            other_models=models_on_wall(one, site, models.sel(orientation=one.wall.orientation)),
        )
        doubts = doubts_of(
            one,
            years=drawn.years,
            any_rain=float(traces[i] * product[i]),
            place=place,
            nearby=around.get(one.wall.orientation),
        )
        complete.append(replace(one, doubts=doubts))
    return complete


def _nearby_ratios(
    nearby: Sequence[xr.Dataset], index: xr.Dataset, wet_hour: float | None
) -> dict[float, tuple[float, float]]:
    """Least and largest spell of the records around against the one used, for each orientation."""
    if not nearby:
        return {}
    mine = index["airfield_spell_index"].values
    facing = index["orientation"].values
    others = np.array(
        [
            airfield_index(other, orientation=facing, wet_hour=wet_hour)["airfield_spell_index"].values
            for other in nearby
        ]
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(mine > 0, others / mine, 1.0)
    return {float(way): (float(ratio[:, i].min()), float(ratio[:, i].max())) for i, way in enumerate(facing)}


def sea_twice(climate: xr.Dataset, site: Site, elevations: Sequence[WallExposure]) -> list[str]:
    """Doubt when a grid cell that may be sea already, and so carries sea wind, meets terrain category I.

    A grid says so by its attribute ``land_share`` (0 to 1); without it the doubt stands for every grid.
    """
    guessed = site.untold.get("terrain", ())
    over_sea = any(
        site.categories[one.ground_sector] == "I" and one.ground_sector not in guessed for one in elevations
    )
    return sea_doubt(climate.attrs, over_sea=over_sea)


def sea_doubt(record: Mapping[Any, Any], *, over_sea: bool) -> list[str]:
    """As :func:`sea_twice`, from the record's attributes and whether open sea governs a wall."""
    kind = record.get("kind", "gauge")
    land = record.get("land_share")
    if has_doubt(flags_of(record), "climate.mostly_sea"):
        land = 0.0  # the reader of the grid saw its land mask
    if kind not in ("reanalysis", "model") or not over_sea or (land is not None and float(land) >= 0.5):
        return []
    known = "is mostly sea" if land is not None else "may be sea"
    return [doubt("assess.sea_twice", known=known)]
