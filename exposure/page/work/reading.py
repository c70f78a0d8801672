"""The process that reads or fetches a weather record for the page: started for one record, ended when it is stopped.

Derived from the designer's question how far a record can be trusted: a file from anywhere is read where it can do
the page no harm, and Stop ends the reading itself, not only its result. Run as ``python -m exposure.page.work.reading
FOLDER``; the folder holds ``request.json`` and ``content``, and gets ``progress``, then ``record.nc`` or
``refused.json``. See :mod:`exposure.page.work.beside`.
"""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import xarray as xr

from exposure.doubts import as_attribute, flags_of
from exposure.in_place import filled_in_place
from exposure.page.work.own_process import answer_request, live_with_parent

CONTENT, RECORD = "content", "record.nc"
READ, FETCH = "read", "fetch"
ATTRIBUTES = "attributes_as_json"
TIME_KIND = "time_kind"


def main(folder: Path) -> None:
    """Read or fetch what the folder's request asks."""
    answer_request(
        folder, _do, expected="an hourly record of some decades, with the columns that are needed alone"
    )


def _do(request: dict[str, Any], folder: Path, tell: Callable[[float, str], None]) -> None:
    climate = {READ: _read, FETCH: _fetch}[request["do"]](request, folder, tell)
    tell(0.8, "Trying it.")
    write_record(folder / RECORD, climate, line=line_of(climate))


def _read(request: dict[str, Any], folder: Path, tell: Callable[[float, str], None]) -> xr.Dataset:
    from exposure.climate.opening import open_climate

    tell(0.1, "")
    at = request["at"] and tuple(request["at"])
    return open_climate(
        (folder / CONTENT).read_bytes(),
        columns=request["columns"],
        where=request.get("where"),
        at=at,
        kind=request.get("kind"),
        stamp=request.get("stamp"),
        time_zone=request.get("time_zone"),
        missing=request.get("missing") or (),
        rain_rule=request.get("rain_rule"),
    )


def _fetch(request: dict[str, Any], folder: Path, tell: Callable[[float, str], None]) -> xr.Dataset:
    from exposure.climate.services.fetching import fetch_point
    from exposure.climate.services.service import find_service

    del folder
    asked = find_service(request["service"])
    latitude, longitude = request["at"]
    years = request["years"]
    for done, year in enumerate(years):
        tell(0.8 * done / len(years), f"{year}.")
        fetch_point(asked, latitude=latitude, longitude=longitude, years=[year])
    climate = fetch_point(asked, latitude=latitude, longitude=longitude, years=years)
    climate.attrs["service_title"] = asked.source.title
    return climate


def line_of(climate: xr.Dataset) -> str:
    """The record in one line; one whose no year can count is refused here, not later.

    Raises
    ------
    RefusalError
        As :func:`exposure.rain.index.airfield_index`.
    """
    from exposure.rain.index import airfield_index

    index = airfield_index(climate, orientation=[0.0])
    years = index["year"].values
    span = f"{years[0]} to {years[-1]}" if len(years) > 1 else f"{years[0]}"
    held = index.sizes["record_year"]
    if climate.attrs["kind"] == "typical year":
        return "typical year, put together from several"
    if held == 1:
        return f"{climate.attrs['kind']}, {span}, one year"
    return f"{climate.attrs['kind']}, {span}, {len(years)} of {held} years count"


def write_record(path: Path, climate: xr.Dataset, *, line: str) -> None:
    """The record as NetCDF, its attributes as JSON, so that every one of them comes back as it was."""
    doubts = {"flags": as_attribute(flags_of(climate.attrs))} if "flags" in climate.attrs else {}
    told = {"": {**climate.attrs, **doubts, "line": line}} | {
        str(name): dict(climate[name].attrs) for name in climate.variables
    }
    plain = climate.drop_attrs().assign_attrs(
        {ATTRIBUTES: json.dumps(told, default=_number), TIME_KIND: str(climate["time"].dtype)}
    )
    for name in plain.variables:
        plain[name].encoding = {}
    with filled_in_place(path) as part:
        plain.to_netcdf(part, engine="h5netcdf", invalid_netcdf=False)


def read_written(path: Path) -> tuple[xr.Dataset, str]:
    """A record as :func:`write_record` wrote it, whole in memory, and its line."""
    with xr.open_dataset(path, engine="h5netcdf") as stored:
        found = stored.load()
    told = json.loads(found.attrs[ATTRIBUTES])
    kind = found.attrs[TIME_KIND]
    found = found.drop_attrs()
    if kind.startswith("datetime64"):
        found = found.assign_coords(time=found["time"].astype(kind))
    for name in found.variables:
        found[name].encoding = {}
        found[name].attrs = told.get(str(name), {})
    found.encoding = {}
    attributes = told[""]
    line = attributes.pop("line")
    if "flags" in attributes:
        attributes["flags"] = flags_of(attributes)
    return found.assign_attrs(attributes), line


def _number(value: object) -> object:
    item = getattr(value, "item", None)
    return item() if item is not None else str(value)


if __name__ == "__main__":
    live_with_parent(main)
