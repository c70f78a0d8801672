"""Write a climate as a station CSV, which :func:`exposure.climate.opening.open_climate` reads back."""

from pathlib import Path

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.record import CLIMATE_TERMS
from exposure.in_place import filled_in_place
from exposure.terms import TERMS

PLACES = {"rain": 4, "wind_speed": 3, "wind_from_direction": 1, "snowfall": 4, "convective_rain": 4}


def write_station_csv(climate: xr.Dataset, path: Path, *, notes: dict[str, str] | None = None) -> None:
    """Write ``climate`` to ``path``, moved into place when whole; missing values are left blank.

    Parameters
    ----------
    notes
        More ``# key: value`` lines for the top, e.g. the attribution.

    Raises
    ------
    RefusalError
        When the file cannot be written, or the record keeps no Gregorian calendar.
    """
    if climate["time"].dtype == object:
        raise RefusalError(
            "the record keeps its own calendar", "dates of the common calendar", "Write NetCDF."
        )
    try:
        with filled_in_place(path) as part:
            part.write_text(_as_text(climate, notes or {}), "utf-8")
    except OSError as error:
        raise RefusalError(
            f"{path.name} cannot be written ({error.strerror})",
            "a file in a folder you may write to",
            "Choose another.",
        ) from error


def _as_text(climate: xr.Dataset, notes: dict[str, str]) -> str:
    told = {name: climate.attrs.get(name) for name in ("source", "licence", "kind")}
    told |= {name: climate.attrs.get(name) for name in ("latitude", "longitude", "ground_height")}
    lines = [f"# {key}: {_one_line(value)}" for key, value in {**told, **notes}.items() if value is not None]
    terms = [term for term in CLIMATE_TERMS if term in climate]
    lines.append(",".join(["time", *(f"{term} [{TERMS[term]['units']}]" for term in terms)]))
    columns = [np.datetime_as_string(climate["time"].values.astype("datetime64[m]"), timezone="UTC").tolist()]
    for term in terms:
        places = PLACES.get(term, 2)
        columns.append(
            ["" if np.isnan(value) else f"{value:.{places}f}" for value in climate[term].values.astype(float)]
        )
    lines += [",".join(row) for row in zip(*columns, strict=True)]
    return "\n".join(lines) + "\n"


def _one_line(value: object) -> str:
    return " ".join(str(value).split())[:300]
