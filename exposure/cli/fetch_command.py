"""``exposure fetch``: a point record from an open service, year by year."""

import argparse
import re
from pathlib import Path

from exposure.checks import RefusalError, check_between
from exposure.cli.output import tell
from exposure.cli.source_arguments import point_of

READS = ()
WRITES: dict[str, tuple[str, ...]] = {"out": ()}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument(
        "service", metavar="SERVICE", help="nasa-power, open-meteo or era5 (see: exposure sources)"
    )
    parser.add_argument("--at", required=True, metavar="LAT,LON", help="the point, in degrees")
    parser.add_argument(
        "--years", required=True, metavar="FIRST-LAST", help="such as 2001-2020, or 2001,2003"
    )
    parser.add_argument(
        "--out", metavar="FILE", help="station CSV to write (default: SERVICE_LAT_LON.csv here)"
    )
    parser.add_argument(
        "--cache", metavar="FOLDER", help="where the years are kept (default: your cache folder)"
    )
    parser.add_argument("--address", metavar="URL", help="another address that answers alike")


def run(options: argparse.Namespace) -> None:
    """Fetch, join and write."""
    from exposure.climate.formats.station_writing import write_station_csv
    from exposure.climate.services.fetching import fetch_point
    from exposure.climate.services.service import find_service

    point = point_of(options.at)
    assert point is not None  # --at is required
    latitude = check_between(point[0], "latitude", -90, 90, "degrees (latitude comes first)")
    longitude = check_between(point[1], "longitude", -180, 360, "degrees")
    longitude = (longitude + 180) % 360 - 180
    years = years_of(options.years)
    service = find_service(options.service, options.address)
    climate = fetch_point(
        service,
        latitude=latitude,
        longitude=longitude,
        years=years,
        folder=Path(options.cache) if options.cache else None,
    )
    target = Path(options.out or f"{options.service}_{latitude:g}_{longitude:g}.csv")
    write_station_csv(climate, target, notes={"attribution": service.source.attribution})
    tell(f"{target}: {climate.sizes['time']:,} hours from {service.source.title}.")
    tell(f"Licence: {service.source.licence}")
    tell(f"Say where it is from: {service.source.attribution}")
    for flag in climate.attrs["flags"]:
        tell(f"Flag: {flag}")


def years_of(text: str) -> list[int]:
    """Years out of ``"2001-2020"`` or ``"2001,2003"``.

    Examples
    --------
    >>> years_of("2001-2003"), years_of("1999,2005")
    ([2001, 2002, 2003], [1999, 2005])
    """
    years: list[int] = []
    for part in text.split(","):
        match = re.fullmatch(r"\s*(\d{4})\s*(?:-\s*(\d{4})\s*)?", part)
        if match is None or (match[2] and int(match[2]) < int(match[1])):
            raise RefusalError(f"the years are {text[:40]!r}", "such as 2001-2020", "Correct --years.")
        years += range(int(match[1]), int(match[2] or match[1]) + 1)
    return years
