"""The door for an open Dataset: a climate Dataset taken up again, a point of a grid, or many places at once, lazily."""

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.formats.cf_grid import climate_of, record_kind
from exposure.climate.grid.axes import LATITUDE_NAMES, LONGITUDE_NAMES
from exposure.climate.grid.blocks import climate_block
from exposure.climate.grid.checks import settle_rain_rule, snow_doubts
from exposure.climate.grid.names import GridVariables, identify_variables, terms_in
from exposure.climate.grid.nearest_cell import nearest_cell
from exposure.climate.grid.parts import grid_stamps, part_of
from exposure.climate.grid.sample import CELLS, spread
from exposure.climate.grid.wind import to_ten_metres
from exposure.climate.record import WANTED
from exposure.climate.request import Request
from exposure.climate.running_totals import count_steps
from exposure.climate.written import climate_again, is_climate
from exposure.clock import ascending_hours, check_whole_time
from exposure.doubts import doubt, flags_of
from exposure.terms import TERMS

NAME = "the Dataset"


def climate_of_dataset(dataset: xr.Dataset, request: Request) -> xr.Dataset:
    """The climate an open Dataset holds: of one place where it holds or is asked for one, else of every place, lazy.

    Raises
    ------
    RefusalError
        As :func:`exposure.climate.grid.names.identify_variables`, and for time split into chunks where many places
        are wanted.
    """
    if is_climate(dataset, request):
        return climate_again(dataset, request)
    sample, others = _one_place(dataset, request)
    if not others or (request.at is not None and not _besides_the_cell(dataset, sample, request)):
        part = part_of(
            NAME, dataset, columns=request.columns, rain_rule=request.rain_rule, stamp=request.stamp
        )
        return climate_of([part], request, NAME)
    names = identify_variables(sample, columns=request.columns, rain_rule=request.rain_rule)
    place = {}
    if request.at is not None:
        at = nearest_cell(dataset, names, request.at)
        dataset = dataset.isel(
            {names.latitude: at["row"], names.longitude: at["column"]}, missing_dims="ignore"
        )
        place = {key: at[key] for key in ("latitude", "longitude", "distance")}
    climate = _many_places(dataset, names, request)
    climate.attrs |= place
    climate.attrs["flags"] += [doubt("climate.nearest_cell", **place)] if place else []
    return climate


def _one_place(dataset: xr.Dataset, request: Request) -> tuple[xr.Dataset, list[str]]:
    """The first place of ``dataset``, and the dimensions of its weather besides time that hold more than one."""
    weather = terms_in(dataset, request.columns, by_name=True)
    if not weather:
        return dataset, []
    dims = {str(dim) for name in weather for dim in dataset[name].dims}
    time = {
        str(dim) for name in ("valid_time", "time") if name in dataset.coords for dim in dataset[name].dims
    }
    others = [
        dim for dim in map(str, dataset.dims) if dim in dims - time - {"expver"} and dataset.sizes[dim] > 1
    ]
    sample = dataset.isel(dict.fromkeys(others, 0))
    named = [
        any(name in sample.variables for name in names)
        or any(one.attrs.get("standard_name") == meaning for one in sample.variables.values())
        for names, meaning in ((LATITUDE_NAMES, "latitude"), (LONGITUDE_NAMES, "longitude"))
    ]
    if others and not any(named):  # places by name alone
        sample = sample.assign_coords(latitude=0.0, longitude=0.0)
    return sample, others


def _besides_the_cell(dataset: xr.Dataset, sample: xr.Dataset, request: Request) -> list[str]:
    """Dimensions that stay many once a cell is chosen."""
    names = identify_variables(sample, columns=request.columns, rain_rule=request.rain_rule)
    for axis in (names.latitude, names.longitude):
        if dataset[axis].dims not in ((), (axis,)):
            raise RefusalError(
                f"the places are a list along {', '.join(map(str, dataset[axis].dims))}",
                "a grid with latitude and longitude, each on an axis of its own, to find a point in",
                "Choose the place first, such as dataset.isel(place=0), or leave the point out.",
            )
    dims = {str(dim) for name in names.needed for dim in dataset[name].dims}
    chosen = {names.latitude, names.longitude, str(sample[names.time].dims[0]), names.expver}
    return [dim for dim in dims - chosen if dataset.sizes[dim] > 1]


def _many_places(dataset: xr.Dataset, names: GridVariables, request: Request) -> xr.Dataset:
    """Rain and wind of every place of ``dataset`` in our units, lazy where it is."""
    stamps, notes = grid_stamps(dataset, names.time, request.stamp)
    hours = ascending_hours(stamps)
    axis = str(dataset[names.time].dims[0])
    for name in names.needed:
        check_whole_time(dataset[name], name, axis)
    fields = {name: _of_hours(dataset, name, axis, names.expver) for name in names.needed}
    names = settle_rain_rule(names, _sampled_steps(fields[names.rain], names, hours))
    factor, brought = to_ten_metres(request.mast_height or names.wind_height, request.mast_roughness)
    found = xr.apply_ufunc(
        _clean,
        *fields.values(),
        kwargs={"names": names, "hours": hours, "factor": factor},
        input_core_dims=[["time"]] * len(fields),
        output_core_dims=[["time"]] * len(WANTED),
        dask="parallelized",
        output_dtypes=[float] * len(WANTED),
    )
    climate = xr.Dataset(dict(zip(WANTED, found, strict=True))).assign_coords(time=("time", stamps.values))
    for term in WANTED:
        climate[term].attrs = {"units": TERMS[term]["units"], "long_name": TERMS[term]["meaning"]}
    title = str(dataset.attrs.get("source", dataset.attrs.get("title", "")))[:200]
    flags = [
        *flags_of(dataset.attrs),
        *names.notes,
        *notes,
        *brought,
        *snow_doubts(names),
        doubt("climate.many_places"),
    ]
    climate.attrs = {
        "source": title or NAME,
        "licence": str(dataset.attrs.get("licence", dataset.attrs.get("license", "not named")))[:200],
        "kind": request.kind or record_kind(dataset),
        "flags": list(dict.fromkeys(flags)),
        "time_zone": 0.0,
    }
    return climate


def _of_hours(dataset: xr.Dataset, name: str, axis: str, expver: str | None) -> xr.DataArray:
    """A variable along ``time`` and the places, early data put where final data lacks."""
    value = dataset[name]
    if expver and expver in value.dims:
        versions = np.argsort([str(v).zfill(4) for v in dataset[expver].values], kind="stable")
        first, *later = (value.isel({expver: int(version)}, drop=True) for version in versions)
        for early in later:
            first = first.fillna(early)
        value = first
    gone = [one for one in value.coords if axis in value[one].dims]
    return value.drop_vars(gone).rename({axis: "time"} if axis != "time" else {})


def _sampled_steps(rain: xr.DataArray, names: GridVariables, hours: np.ndarray) -> np.ndarray:
    """Rises and falls of the rain, as it stands, at a few places."""
    places = [str(dim) for dim in rain.dims if dim != "time"]
    flat = rain.stack(_place=places, create_index=False) if places else rain.expand_dims("_place")
    few = flat.isel(_place=spread(flat.sizes["_place"], CELLS)).transpose("time", "_place")
    return count_steps(np.asarray(names.conversions["rain"].apply(few).values, dtype=float), hours)


def _clean(
    *raw: np.ndarray, names: GridVariables, hours: np.ndarray, factor: float
) -> tuple[np.ndarray, ...]:
    """Rain, wind speed and direction of a block whose arrays end in time."""
    places = np.broadcast_shapes(*(one.shape[:-1] for one in raw))
    fields = {
        name: np.moveaxis(np.broadcast_to(np.asarray(one, dtype=float), (*places, one.shape[-1])), -1, 0)
        for name, one in zip(names.needed, raw, strict=True)
    }
    block, _ = climate_block(names, fields, hours=hours)
    values = {
        "rain": block.rain,
        "wind_speed": block.wind_speed * factor,
        "wind_from_direction": block.wind_from_direction,
    }
    return tuple(np.moveaxis(values[term], 0, -1) for term in WANTED)
