"""The process that reads or fetches a weather record for the page: started for one record, ended when it is stopped.

Derived from the designer's question how far a record can be trusted: a file from anywhere is read where it can do
the page no harm, and Stop ends the reading itself, not only its result. Run as ``python -m exposure.page.work.reading
FOLDER``; the folder holds ``request.json`` and ``content``, and gets ``progress``, then ``record.nc`` or
``refused.json``. See :mod:`exposure.page.work.beside`.
"""

import json
import os
import signal
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import xarray as xr

from exposure.checks import RefusalError
from exposure.doubts import as_attribute, flags_of
from exposure.in_place import filled_in_place

REQUEST, CONTENT, PROGRESS, RECORD, REFUSED = (
    "request.json",
    "content",
    "progress",
    "record.nc",
    "refused.json",
)
READ, FETCH = "read", "fetch"
MEMORY = 3 * 2**30  # bytes this process may have; our choice
ATTRIBUTES = "attributes_as_json"
TIME_KIND = "time_kind"


def main(folder: Path) -> None:
    """Do what the folder's request asks."""
    request = json.loads((folder / REQUEST).read_text("utf-8"))
    most = int(request.get("memory", MEMORY))
    limit_memory(most)

    def tell(share: float, words: str) -> None:
        with filled_in_place(folder / PROGRESS) as part:
            part.write_text(f"{share:.3f} {words}", "utf-8")

    try:
        climate = {READ: _read, FETCH: _fetch}[request["do"]](request, folder, tell)
        tell(0.8, "Trying it.")
        write_record(folder / RECORD, climate, line=line_of(climate))
    except (RefusalError, MemoryError) as reason:
        refused = reason if isinstance(reason, RefusalError) else too_much_memory(most)
        with filled_in_place(folder / REFUSED) as part:
            part.write_text(json.dumps(vars(refused)), "utf-8")


def limit_memory(most: int) -> None:
    """Let this process have at most ``most`` bytes: a small file can be unpacked to many times its size."""
    try:
        import resource
    except ImportError:  # no such limit on this system
        return
    resource.setrlimit(resource.RLIMIT_AS, (most, most))


def too_much_memory(most: int) -> RefusalError:
    """What is said of a file that needs more memory than one reader may have.

    Examples
    --------
    >>> print(too_much_memory(3 * 2**30).came)
    a file that needs more than 3.0 GB of memory once it is opened
    """
    return RefusalError(
        f"a file that needs more than {most / 2**30:.1f} GB of memory once it is opened",
        "an hourly record of some decades, which needs far less",
        "Cut it to fewer years or columns, or read it with the command in the terminal.",
    )


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


def _end_with_parent(folder: Path) -> None:
    """Leave nothing behind when the page's server is gone."""
    import shutil

    parent = os.getppid()
    while os.getppid() == parent:
        time.sleep(0.5)
    shutil.rmtree(folder, ignore_errors=True)
    os._exit(1)


if __name__ == "__main__":
    signal.signal(
        signal.SIGTERM, lambda *_: sys.exit(1)
    )  # what stands half-written is cleared on the way out
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the server's
    there = Path(sys.argv[1])
    threading.Thread(target=_end_with_parent, args=(there,), daemon=True).start()
    main(there)
