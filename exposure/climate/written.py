"""A climate Dataset of this program taken up again, from memory or from a file it was written to."""

from dataclasses import replace
from typing import Any

import numpy as np
import xarray as xr

from exposure.climate.record import CLIMATE_TERMS, WANTED, dataset_of
from exposure.climate.request import KINDS, Request
from exposure.climate.units import QUANTITY, conversion
from exposure.clock import ascending_hours
from exposure.doubts import flags_of


def is_climate(dataset: xr.Dataset, request: Request | None = None) -> bool:
    """Whether ``dataset`` is the climate of one place as this program gives it, and nothing but its kind is told anew.

    Examples
    --------
    >>> is_climate(xr.Dataset({"rain": ("time", [0.0])}))
    False
    """
    told = request is not None and replace(request, kind=None) != Request()
    return (
        not told
        and dataset.attrs.get("kind") in KINDS
        and "flags" in dataset.attrs
        and all(term in dataset and dataset[term].dims == ("time",) for term in WANTED)
    )


def climate_again(dataset: xr.Dataset, request: Request) -> xr.Dataset:
    """A climate Dataset as it was, also after a file held it: values, attributes and doubts."""
    ascending_hours(dataset["time"])
    values = {}
    for term in CLIMATE_TERMS:
        if term in dataset and dataset[term].dims == ("time",):
            value = dataset[term]
            turn = conversion(str(value.attrs.get("units", "")), QUANTITY[term], name=term)
            values[term] = turn.apply(np.asarray(value.values, dtype=float))
    held = ("source", "licence", "kind", "flags", "doubts")
    attrs = {str(key): _plain(value) for key, value in dataset.attrs.items() if key not in held}
    for axis in ("latitude", "longitude"):  # of a point another program wrote as coordinates
        if axis in dataset.coords and dataset[axis].size == 1:
            attrs.setdefault(axis, float(dataset[axis].values.flat[0]))
    return dataset_of(
        dataset["time"].values,
        values,
        kind=request.kind or str(dataset.attrs["kind"]),
        source=str(dataset.attrs.get("source", "not named")),
        licence=str(dataset.attrs.get("licence", "not named")),
        attrs=attrs,
        flags=flags_of(dataset.attrs),
    )


def _plain(value: Any) -> object:
    return value.item() if isinstance(value, np.generic) else value
