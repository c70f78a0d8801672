"""Every member of an ensemble grid: an index each, and what lies between them."""

import os
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.grid.members import member_dimension, member_names
from exposure.climate.grid.parts import first_dataset
from exposure.doubts import doubt, flags_of, with_flags
from exposure.region.geotiff import write_geotiffs
from exposure.region.region_index import index_region
from exposure.region.target_folder import clear, swap

MOST_MEMBERS = 200
FIGURES = {"airfield_annual_index": "member_annual_index", "airfield_spell_index": "member_spell_index"}
SPREADS = {"airfield_annual_index": "annual_member_spread", "airfield_spell_index": "spell_member_spread"}


def members_of(address: str | Path | xr.Dataset) -> tuple[str, tuple[str, ...]] | None:
    """The dimension of a grid's members and what each is called; None where it is no ensemble.

    Raises
    ------
    RefusalError
        As :func:`exposure.climate.grid.parts.open_parts`, and for more than 200 members.
    """
    dataset = first_dataset(address)
    dimension = member_dimension(dataset)
    if dimension is None:
        return None
    names = member_names(dataset)
    if len(names) > MOST_MEMBERS:
        raise RefusalError(
            f"an ensemble of {len(names):,} members", f"at most {MOST_MEMBERS}", "Name one, or cut it.", parameter="where"
        )  # fmt: skip
    return dimension, names


def index_members(
    address: str | Path | xr.Dataset, folder: str | Path, *, netcdf: bool = False, **settings: Any
) -> Path:
    """Airfield index of every member of an ensemble, each as a run of its own, and the spread over them.

    Parameters
    ----------
    address, folder, settings
        As :func:`exposure.region.region_index.index_region`. Each member's own result and work lie in
        ``folder/members``; a run that is stopped goes on there.
    netcdf
        Write each member's ``index.nc`` too.

    Returns
    -------
    pathlib.Path
        ``folder/index.zarr``: ``airfield_annual_index`` and ``airfield_spell_index``, the median of the members in each
        cell and facing; ``member_annual_index`` and ``member_spell_index``, the same of each along ``member``; and
        ``annual_member_spread``, ``spell_member_spread``, the largest member less the smallest. [L m-2]

    Raises
    ------
    RefusalError
        As :func:`exposure.region.region_index.index_region`, and for a grid without members.
    """
    found = members_of(address)
    if found is None:
        raise RefusalError("a grid without members", "an ensemble", "Index it as a grid.")
    dimension, names = found
    target = Path(folder)
    stores = [
        index_region(
            address, target / "members" / f"{k:03d}", where={dimension: name}, netcdf=netcdf, **settings
        )
        for k, name in enumerate(names)
    ]
    opened = [xr.open_zarr(store, chunks=None) for store in stores]
    try:
        ensemble = spread_of(opened, names)
    finally:
        for one in opened:
            one.close()
    part = target / f".index.zarr.{os.getpid()}.part"
    try:
        clear(target, ".index.*.part")
        told = {**ensemble.attrs, "flags": list(map(str, flags_of(ensemble.attrs)))}
        ensemble.assign_attrs(told).to_zarr(part, zarr_format=2, consolidated=True)
        swap(part, target / "index.zarr")
        write_geotiffs(ensemble, target)
    except OSError as error:
        raise RefusalError(
            f"the result cannot be written ({error.strerror or error})", "a folder with room", "Make room and do it again."
        ) from error  # fmt: skip
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return target / "index.zarr"


def spread_of(indices: list[xr.Dataset], names: tuple[str, ...]) -> xr.Dataset:
    """The members' results put together; see :func:`index_members`.

    Examples
    --------
    >>> def one(figure):
    ...     dims = ("orientation", "latitude", "longitude")
    ...     return xr.Dataset({name: (dims, np.full((1, 1, 1), figure)) for name in FIGURES})
    >>> found = spread_of([one(10.0), one(30.0), one(14.0)], ("0", "1", "2"))
    >>> float(found["airfield_spell_index"].squeeze()), float(found["spell_member_spread"].squeeze())
    (14.0, 20.0)
    """
    base = indices[0]
    made: dict[str, xr.DataArray] = {}
    for name, own_name in FIGURES.items():
        each = xr.concat(
            [one[name] for one in indices], dim="member", join="exact", coords="minimal", compat="override"
        )
        known = each.notnull().all("member")  # a cell that one member lacks has no spread
        own = dict(base[name].attrs)
        made[name] = (
            each.median("member").where(known).assign_attrs({**own, "comment": "median of the members"})
        )
        made[own_name] = each.assign_attrs(own)
        made[SPREADS[name]] = (
            (each.max("member") - each.min("member"))
            .where(known)
            .assign_attrs({"units": own.get("units", "L m-2"), "long_name": "largest member less smallest"})
        )
    found = xr.Dataset(made).assign_coords(member=np.array(names, dtype=str))
    for variable in found.variables.values():
        variable.encoding = {}
    if all("year" in one.coords for one in indices):
        years = sorted(set.union(*({int(year) for year in one["year"].values} for one in indices)))
        found = found.drop_vars("year", errors="ignore").assign_coords(year=np.array(years, dtype=np.int32))
    found.attrs = dict(base.attrs)
    flags = [flag for one in indices for flag in flags_of(one.attrs)]
    return with_flags(found, [*dict.fromkeys(flags), doubt("region.members", count=len(names))])
