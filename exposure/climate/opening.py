"""Open weather from any known source as the one hourly Dataset."""

import warnings
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import BinaryIO

import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.dataset_door import climate_of_dataset
from exposure.climate.formats.register import Format, chosen_format, format_module, other_than_named
from exposure.climate.quality.checks import passed
from exposure.climate.record import hourly_climate
from exposure.climate.request import Request, kind_of, pairs_of
from exposure.climate.source_file import Source, open_source
from exposure.climate.told_in_vain import refuse_rules_of_grids, told_in_vain
from exposure.doubts import with_flags


def open_climate(
    source: str | Path | bytes | BinaryIO | xr.Dataset,
    *,
    at: tuple[float, float] | None = None,
    format: str | None = None,
    kind: str | None = None,
    columns: str | Mapping[str, str] | None = None,
    where: str | Mapping[str, str] | None = None,
    missing: Sequence[float] = (),
    stamp: str | None = None,
    time_zone: float | None = None,
    spread_rain: str | None = None,
    rain_rule: str | None = None,
    mast_height: float | None = None,
    mast_roughness: float | None = None,
) -> xr.Dataset:
    r"""Open hourly wind and rain of one place, whatever the source, or refuse it for a reason one can act on.

    Parameters
    ----------
    source
        A file, a folder, the address of a Zarr store (``s3://...``, ``https://...``), or the bytes of an
        upload. Files may be packed with gzip or zip. The format is told from the content. Or an open Dataset: a
        climate Dataset as this function gives it, or a grid with CF names, lazy as it may be.
    at
        Latitude and longitude of the point wanted from a grid; the nearest cell is taken. [degree] An open Dataset of
        many places may go without: it comes back with all of them, lazy where it was, rain and wind only, and with
        the doubt that nobody looked each of them through. Its time must not be split into chunks.
    format
        Name of a format in :data:`exposure.climate.formats.register.FORMATS`, to override what the content says.
    kind
        ``"gauge"``, ``"reanalysis"``, ``"model"``, ``"typical year"`` (or ``"typical"``) or ``"invented"``, to
        override the format. A table that does not say is taken for a gauge, and doubted where its rain looks
        otherwise (:mod:`exposure.climate.quality.kind_of_record`).
    columns
        Which column holds which term, with its unit where the header gives none, e.g.
        ``{"time": "time_hour", "rain": "precip [in]"}`` or the same as ``"time=time_hour,rain=precip [in]"``.
    where
        Rows to keep, e.g. ``"origin=EWR"`` for one station of several.
    missing
        Numbers that stand for missing.
    stamp
        ``"end"`` (default) or ``"start"``: what a stamp is of its interval.
    time_zone
        Hours local standard time is ahead of UTC, for stamps without a zone; without it they are UTC. [h]
    spread_rain
        ``"evenly"`` shares rain measured over 3 or 6 h among its hours; otherwise it is refused.
    rain_rule
        For grids that do not say: ``"hour"``, ``"since 00 UTC"`` or ``"rate"``.
    mast_height, mast_roughness
        Height of the anemometer [m] and roughness length of the ground around it [m] (farmland by default);
        a mast that is not 10 m high is corrected by the logarithmic law.

    Returns
    -------
    xarray.Dataset
        Along ``time`` (whole hours, ascending, gaps allowed): ``rain`` [mm in the hour ending at time],
        ``wind_speed`` [m s-1], ``wind_from_direction`` [degree] and, where known, ``air_temperature`` [degC],
        ``relative_humidity`` [%], ``snowfall`` and ``convective_rain`` [mm]. Attributes: ``source``,
        ``licence``, ``kind``, ``flags`` (sentences), ``format`` and, where known, ``file`` (its own name),
        ``latitude``, ``longitude``, ``ground_height`` [m], ``time_zone``, ``distance`` [km from the point asked for].
        ``wind_doubtful`` (true or false) marks hours whose wind is likelier a fault than weather.

    Raises
    ------
    RefusalError
        The only exception for bad input: what came, what was expected, what to do.

    Examples
    --------
    >>> record = b"time,wind_speed [m/s],wind_from_direction [degree],rain [mm]\n" + b"".join(
    ...     b"2020-01-01T%02d:00Z,5,240,0.2\n" % hour for hour in range(24))
    >>> climate = open_climate(record)
    >>> climate.sizes["time"], climate["rain"].attrs["units"], climate.attrs["kind"]
    (24, 'mm', 'gauge')
    """
    request = Request(
        at=at,
        kind=None if kind is None else kind_of(kind),
        columns=pairs_of(columns, "columns"),
        where=pairs_of(where, "where"),
        missing=tuple(float(code) for code in missing),
        stamp=stamp,
        time_zone=time_zone,
        spread_rain=spread_rain,
        rain_rule=rain_rule,
        mast_height=mast_height,
        mast_roughness=mast_roughness,
    )
    hourly = rain_rule is not None
    if isinstance(source, xr.Dataset):
        return _of_dataset(source, request, rain_is_hourly=hourly)
    opened = open_source(source)
    entry = chosen_format(opened, format, columns)
    return _of_source(opened, entry, request, rain_is_hourly=hourly)


def _of_dataset(source: xr.Dataset, request: Request, *, rain_is_hourly: bool) -> xr.Dataset:
    """The climate of an open Dataset."""
    try:
        climate = climate_of_dataset(source, request)
        if climate["rain"].dims == ("time",):
            climate = passed(climate, rain_is_hourly=rain_is_hourly)
    except (RefusalError, MemoryError):
        raise
    except Exception as error:  # what stands behind a lazy Dataset can fail anywhere; the cause stays chained
        raise RefusalError(
            f"the Dataset cannot be read ({type(error).__name__}: {str(error)[:120]})",
            "hourly wind and rain with CF names along time",
            "Mend it, or open its file by name.",
        ) from error
    climate.attrs.setdefault("format", "dataset")
    return with_flags(climate, climate.attrs["flags"])


def _of_source(opened: Source, entry: Format, request: Request, *, rain_is_hourly: bool) -> xr.Dataset:
    """The climate of a file in the format found or named."""
    module = format_module(entry)
    told = other_than_named(opened.name, entry)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if hasattr(module, "read_climate"):
                climate = module.read_climate(opened, request)
            else:
                refuse_rules_of_grids(request, entry)
                climate = hourly_climate(module.read_columns(opened, request), request)
            told += told_in_vain(request, entry, climate)
            climate.attrs["flags"] = [*told, *climate.attrs["flags"]]
            climate = passed(climate, rain_is_hourly=rain_is_hourly)
    except RefusalError:
        raise
    except MemoryError as error:
        raise RefusalError(
            f"{opened.name} needs more memory than there is",
            "a record of one place",
            "Cut it to fewer years.",
        ) from error
    except Exception as error:  # a damaged file can stop a parser anywhere; the cause stays chained
        raise RefusalError(
            f"{opened.name} cannot be read as {entry.title} ({type(error).__name__}: {str(error)[:120]})",
            f"a whole file in that format ({entry.tried_on})",
            "Get the file again, or name its format.",
            parameter="format",
        ) from error
    climate.attrs.setdefault("format", entry.name)
    if opened.given_name:
        climate.attrs["file"] = opened.given_name
    return with_flags(climate, climate.attrs["flags"])
