"""Point services asked year by year: what a piece is, how it is asked for, and when an answer is one.

Written from the services' documentation; neither live service could be reached when this was written.
"""

import json
import tempfile
from abc import ABC, abstractmethod
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlencode

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.opening import open_climate
from exposure.climate.services.catalogue import OpenSource, find_source
from exposure.climate.services.download import PieceMissingError, download

FARTHEST_ANSWER = 1.0  # degrees between the point asked for and the one answered; our choice
LEAST_OF_YEAR = 0.5  # share of a year's hours without which it counts as missing; our choice


@dataclass(frozen=True)
class Place:
    """A point on the earth. [degree]"""

    latitude: float
    longitude: float


class Service(ABC):
    """A service that gives one year of one point at a time."""

    suffix = ".json"

    def __init__(self, source: OpenSource, address: str | None = None) -> None:
        self.source = source
        self.address = address or source.address

    @abstractmethod
    def ask(self, place: Place, year: int) -> bytes:
        """The answer for one year, as it came.

        Raises
        ------
        PieceMissingError
            When the service has no such year.
        RefusalError
            When it cannot be had.
        """

    def read(self, raw: bytes, place: Place) -> xr.Dataset:
        """The climate in an answer."""
        return open_climate(raw, format=self.source.format)

    def check(self, raw: bytes, place: Place, year: int) -> None:
        """Stop unless ``raw`` holds the year and place asked for."""
        climate = self.read(raw, place)
        there = (climate.attrs.get("latitude"), climate.attrs.get("longitude"))
        if None not in there:
            away = max(
                abs(float(str(there[0])) - place.latitude),
                abs((float(str(there[1])) - place.longitude + 180) % 360 - 180),
            )
            if away > FARTHEST_ANSWER:
                raise RefusalError(
                    f"the answer is for {there[0]}, {there[1]}", "the point asked for", "Try again."
                )
        of_year = climate["time"].dt.year.values == year
        known = of_year & np.isfinite(climate["rain"].values)
        if known.sum() < LEAST_OF_YEAR * 8760:
            raise PieceMissingError(f"{int(known.sum())} hours of {year}")


class PowerService(Service):
    """NASA POWER hourly, JSON in UTC."""

    def ask(self, place: Place, year: int) -> bytes:
        """One year of the hourly point service."""
        query = {
            "parameters": "WS10M,WD10M,PRECTOTCORR,T2M,RH2M",
            "community": "RE",
            "latitude": f"{place.latitude:g}",
            "longitude": f"{place.longitude:g}",
            "start": f"{year}0101",
            "end": f"{year}1231",
            "format": "JSON",
            "time-standard": "UTC",
        }
        return download(f"{self.address}?{urlencode(query)}", check=_is_json)


class HourlyJsonService(Service):
    """An archive that answers with hourly and hourly_units."""

    def ask(self, place: Place, year: int) -> bytes:
        """One year of the archive."""
        query = {
            "latitude": f"{place.latitude:g}",
            "longitude": f"{place.longitude:g}",
            "start_date": f"{year}-01-01",
            "end_date": f"{year}-12-31",
            "hourly": "wind_speed_10m,wind_direction_10m,rain,temperature_2m,relative_humidity_2m",
            "wind_speed_unit": "ms",
            "precipitation_unit": "mm",
            "timezone": "GMT",
        }
        return download(f"{self.address}?{urlencode(query)}", check=_is_json)


class StoreService(Service):
    """ERA5 from the Climate Data Store, through the package ``cdsapi`` (extra ``cds``) and the user's own key."""

    suffix = ".nc"
    VARIABLES = (
        "10m_u_component_of_wind",
        "10m_v_component_of_wind",
        "total_precipitation",
        "snowfall",
        "convective_precipitation",
        "2m_temperature",
        "2m_dewpoint_temperature",
    )

    def ask(self, place: Place, year: int) -> bytes:
        """One year of the cells around the point, as NetCDF."""
        try:
            import cdsapi
        except ImportError as error:
            raise RefusalError(
                "the package cdsapi is not installed",
                "the extra 'cds' and a key of the Climate Data Store",
                "Install it: pip install 'driving-rain-exposure[cds]', and store your key as its manual says.",
            ) from error
        request = {
            "product_type": ["reanalysis"],
            "variable": list(self.VARIABLES),
            "year": [str(year)],
            "month": [f"{month:02d}" for month in range(1, 13)],
            "day": [f"{day:02d}" for day in range(1, 32)],
            "time": [f"{hour:02d}:00" for hour in range(24)],
            "data_format": "netcdf",
            "download_format": "unarchived",
            "area": [
                place.latitude + 0.25,
                place.longitude - 0.25,
                place.latitude - 0.25,
                place.longitude + 0.25,
            ],
        }
        with tempfile.TemporaryDirectory() as folder:
            target = Path(folder) / "piece.nc"
            try:
                cdsapi.Client(quiet=True).retrieve(self.source.dataset, request, str(target))
                return target.read_bytes()
            except Exception as error:  # the client raises whatever its transport raises
                raise RefusalError(
                    f"the store did not give {year} ({type(error).__name__}: {str(error)[:120]})",
                    "one year of ERA5",
                    "Check your key and the terms you must accept on the store's page, and run again: years "
                    "already here are kept.",
                ) from error

    def read(self, raw: bytes, place: Place) -> xr.Dataset:
        """The cell nearest to the point."""
        return open_climate(raw, at=(place.latitude, place.longitude))


SERVICES: dict[str, type[Service]] = {
    "nasa-power": PowerService,
    "open-meteo": HourlyJsonService,
    "era5": StoreService,
}


def find_service(name: str, address: str | None = None) -> Service:
    """The service called ``name``, at its own address or another that answers alike.

    Raises
    ------
    RefusalError
        When it cannot be fetched from.
    """
    if name not in SERVICES:
        raise RefusalError(
            f"the service is {name[:40]!r}", f"one of {', '.join(SERVICES)}", "Correct the name."
        )
    return SERVICES[name](find_source(name), address)


def _is_json(raw: bytes) -> str | None:
    """Why ``raw`` is no whole JSON answer, None when it is one."""
    start = raw[:200].lstrip()
    if start[:1] == b"<":
        return "it sent a web page instead of data"
    try:
        content = json.loads(raw)
    except (ValueError, RecursionError):
        return "its answer is cut off or no JSON"
    return None if isinstance(content, dict) else "its answer is no record"
