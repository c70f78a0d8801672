"""The vocabulary: what each shared quantity is called, its unit, and the values it cannot take."""

import tomllib
from importlib.resources import files

import xarray as xr

TERMS: dict[str, dict] = tomllib.loads(files("exposure").joinpath("terms.toml").read_text("utf-8"))
MOST_IMPOSSIBLE = 0.001  # share of hours with an impossible value that refuses a record; our choice


def describe(value: xr.DataArray, term: str) -> xr.DataArray:
    """Name ``value`` after ``term`` and write the unit and meaning of the vocabulary on it.

    Examples
    --------
    >>> import xarray as xr
    >>> describe(xr.DataArray(400.0), "airfield_annual_index").attrs["units"]
    'L m-2 year-1'
    """
    entry = TERMS[term]
    named = value.rename(term)
    named.attrs = {"units": entry["units"], "long_name": entry["meaning"]}
    return named
