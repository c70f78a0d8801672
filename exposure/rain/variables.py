"""The index Dataset: its variables named, measured and explained as the vocabulary says, so that a file keeps them."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import xarray as xr

from exposure.rain.hour import TERRAIN_SECTORS
from exposure.terms import TERMS, describe

CONVENTIONS = "CF-1.8"
HISTORY = "worked out by driving-rain-exposure from the record that is its source"
_OWN = {  # variables that are no quantity of the vocabulary
    "hours_scaling": ("1", "factor on a year's driving rain for hours whose rain is not known"),
    "rain_scaling": ("1", "factor on a year's driving rain for rain whose wind speed is not known"),
    "counted_rain": ("mm", "rain of all years that count, where known"),
    "unassigned_rain": ("mm", "the part of it that fell with a wind speed and no direction"),
    "gap_beside_spell": (
        "1",
        "whether hours are missing in the largest spell of the year, or 96 and more beside it",
    ),
}
_AXES = {
    "year": "years that count",
    "record_year": "years of the record",
    "terrain_sector": "sector of 30 degrees the wind comes from, by its middle",
}


def cf_dataset(dataset: xr.Dataset, title: str) -> xr.Dataset:
    """``dataset`` with what the CF conventions ask of every file, before its own attributes; none of its coordinates has a missing value.

    Examples
    --------
    >>> cf_dataset(xr.Dataset(coords={"orientation": [240.0]}), "Walls")["orientation"].encoding
    {'_FillValue': None}
    """
    found = dataset.assign_attrs(
        {"Conventions": CONVENTIONS, "title": title, "history": HISTORY, **dataset.attrs}
    )
    for axis in found.coords.values():
        axis.encoding |= {"f": {"_FillValue": None}, "i": {"dtype": "int32"}}.get(axis.dtype.kind, {})
    return found


def described(
    data: Mapping[str, Any],
    *,
    orientation: np.ndarray,
    year: Sequence[int] | np.ndarray,
    record_year: Sequence[int] | np.ndarray,
) -> xr.Dataset:
    """The index Dataset of ``data``, each variable and axis with its unit and meaning."""
    index = xr.Dataset(
        data,
        {
            "orientation": orientation,
            "year": list(year),
            "record_year": list(record_year),
            "terrain_sector": np.arange(TERRAIN_SECTORS) * 360.0 / TERRAIN_SECTORS,
        },
    )
    for name in index.data_vars:
        if name in _OWN:
            units, meaning = _OWN[str(name)]
            index[name].attrs = {"units": units, "long_name": meaning}
        else:
            index[name].attrs = describe(index[name], str(name).removesuffix("_any_rain")).attrs
    index["airfield_spell_index_any_rain"].attrs["long_name"] += ", counting every trace of rain"
    entry = TERMS["orientation"]
    index["orientation"].attrs = {"units": entry["units"], "long_name": entry["meaning"]}
    for name, meaning in _AXES.items():
        index[name].attrs = {"units": "degree" if name == "terrain_sector" else "1", "long_name": meaning}
    return cf_dataset(index, "Driving rain on walls of an airfield, by the way they face")
