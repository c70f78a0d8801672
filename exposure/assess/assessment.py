"""An assessed building, and its figures as one Dataset along its elevations, each with its unit, so that a file keeps them."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import xarray as xr

from exposure.assess.assumptions import Assumption
from exposure.doubts import as_attribute, with_flags
from exposure.rain.seasons import Trend
from exposure.rain.uncertainty import same
from exposure.rain.variables import cf_dataset
from exposure.terms import TERMS
from exposure.wall import Building, Site, WallExposure

_TERMS = (
    "airfield_annual_index", "airfield_spell_index", "airfield_spell_index_percentile",
    "airfield_spell_index_gumbel", "wall_annual_index", "wall_spell_index",
)  # fmt: skip
_FIGURES = {  # attribute of an elevation: its term, and what it adds to the term's meaning
    "wall_spell_index_in_the_open": ("wall_spell_index", ", with no neighbours"),
    "sector_annual_index": ("wall_annual_index", ", each wind over its own ground"),
    "sector_spell_index": ("wall_spell_index", ", each wind over its own ground"),
}
_BANDS = {"annual_band": "wall_annual_index", "spell_band": "wall_spell_index"}
_WORDS = {
    "exposure_class": "exposure class",
    "class_in_the_open": "exposure class with no neighbours",
    "class_any_rain": "exposure class counting every trace of rain",
    "class_for_details": "class the details follow",
    "in_words": "exposure class with every other it could be",
}


@dataclass(frozen=True)
class Assessment:
    """What is known of one building's exposure, kept whole so that a report explains without recomputing."""

    building: Building
    site: Site
    elevations: tuple[WallExposure, ...]  # worst first, by wall spell index
    rose: xr.Dataset  # airfield index at 36 orientations
    index: xr.Dataset  # airfield index at the walls' own orientations
    flags: tuple[str, ...]
    band_statement: str = ""  # how honest the bands are
    trend: Trend | None = None  # of the worst elevation's yearly index
    assumptions: tuple[Assumption, ...] = ()  # what was not told, and what telling it would make

    @property
    def worst(self) -> WallExposure:
        """The elevation with the largest wall spell index."""
        return self.elevations[0]

    def to_dataset(self) -> xr.Dataset:
        """The figures as one Dataset along ``elevation``, the worst first, ready for ``to_netcdf``.

        Returns
        -------
        xarray.Dataset
            Airfield and wall indices, the four factors by their names, classes in words, bands along ``bound``, shares
            along ``month``, and ``doubts`` of each elevation, read by :func:`exposure.doubts.flags_of`
            (``flags_of({"flags": text})``). Missing where the record is too short to tell. Attributes: building,
            place, record, ``flags`` of the whole.
        """
        return _dataset(self)

    def alike(self, one: WallExposure) -> tuple[WallExposure, ...]:
        """``one`` and the elevations hit just as hard."""
        return tuple(other for other in self.elevations if same(other.wall_spell_index, one.wall_spell_index))


def _dataset(assessment: Assessment) -> xr.Dataset:
    """See :meth:`Assessment.to_dataset`."""
    ones = assessment.elevations
    data: dict[str, Any] = {}

    def put(name: str, values: list, units: str, meaning: str, *dims: str) -> None:
        data[name] = (
            ("elevation", *dims),
            values,
            {"units": units, "long_name": meaning} if units else {"long_name": meaning},
        )

    put("orientation", [one.wall.orientation for one in ones], "degree", TERMS["orientation"]["meaning"])
    put("length", [one.wall.length for one in ones], "m", "length of the elevation")
    put("height", [one.wall.height for one in ones], "m", "height of the elevation above the ground")
    put("shape", [one.wall.shape for one in ones], "", "shape of the wall, which chooses the wall factor")
    for name in _TERMS:
        put(name, [getattr(one, name) for one in ones], *_term(name))
    for name, (term, more) in _FIGURES.items():
        units, meaning = _term(term)
        put(name, [_or_missing(getattr(one, name)) for one in ones], units, meaning + more)
    for place, factor in enumerate(ones[0].factors):
        put(factor.name, [one.factors[place].value for one in ones], *_term(factor.name))
    for name, term in _BANDS.items():
        units, meaning = _term(term)
        ends = [getattr(one, name) or (np.nan, np.nan) for one in ones]
        put(name, ends, units, f"band of 90 %, whole years drawn again: {meaning}", "bound")
    put(
        "worst_share",
        [_or_missing(one.worst_share) for one in ones],
        "1",
        "share of resamples in which it is the worst",
    )
    months = [one.monthly_share or (np.nan,) * 12 for one in ones]
    put("monthly_share", months, "1", "share of the year's driving rain, by month", "month")
    for name, meaning in _WORDS.items():
        put(name, [getattr(one, name) for one in ones], "", meaning)
    put(
        "indicative",
        [one.indicative for one in ones],
        "1",
        "whether the record is too short for more than an indication",
    )
    put(
        "doubts",
        [as_attribute(_doubts(one)) for one in ones],
        "",
        "what is doubtful about the elevation, with keys and numbers",
    )
    built = xr.Dataset(
        data,
        {"elevation": [one.wall.name for one in ones], "month": np.arange(1, 13), "bound": ["low", "high"]},
    )
    built["elevation"].attrs = {"long_name": "face of the building"}
    built["month"].attrs = {"units": "1", "long_name": "month of the year"}
    index = assessment.index
    built.attrs = {
        "building": assessment.building.name,
        "place": assessment.site.name,
        "latitude": assessment.site.latitude,
        "longitude": assessment.site.longitude,
        **{key: index.attrs[key] for key in ("kind", "source", "licence", "wet_hour_mm")},
        "years": [int(year) for year in index["year"].values],
        "band_statement": assessment.band_statement,
    }
    return with_flags(cf_dataset(built, "Driving rain on the elevations of a building"), assessment.flags)


def _term(name: str) -> tuple[str, str]:
    return TERMS[name]["units"], TERMS[name]["meaning"]


def _or_missing(value: float | None) -> float:
    return np.nan if value is None else value


def _doubts(one: WallExposure) -> list[str]:
    return [*one.flags, *(doubt.sentence for doubt in one.doubts)]
