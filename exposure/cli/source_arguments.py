"""The arguments that name a source of weather, the same for every command that reads one."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from exposure.checks import RefusalError
from exposure.climate.request import KINDS, SPREAD_RULES, STAMPS, Request, kind_of, pairs_of

if TYPE_CHECKING:
    import xarray as xr

INVENTED = "invented"  # the word for the weather of the demo's place


def add_source_arguments(
    parser: argparse.ArgumentParser, *, positional: bool = True, point: bool = True
) -> None:
    """Add SOURCE and what may be told about it; read them back with :func:`open_from_arguments`.

    With ``positional=False`` the SOURCE itself is left to the caller; with ``point=False`` the help does not offer a
    point, because the command has its own.
    """
    if positional:
        parser.add_argument(
            "source",
            metavar="SOURCE",
            help="file, folder or Zarr address with hourly wind and rain ('-' is stdin)",
        )
    group = parser.add_argument_group("about the source")
    group.add_argument(
        "--at",
        metavar="LAT,LON",
        help="point to take from a grid, in degrees; the grid cell (square) nearest to it is read"
        if point
        else argparse.SUPPRESS,
    )
    group.add_argument(
        "--format", metavar="NAME", help="format, where the content does not tell (see: exposure sources)"
    )
    group.add_argument(
        "--kind",
        type=kind_of,
        choices=KINDS,
        metavar="KIND",
        help=f"kind of record, where the format does not tell: {', '.join(KINDS)}",
    )
    group.add_argument(
        "--columns",
        action="append",
        metavar="TERM=NAME [unit],...",
        help='which column holds what, with its unit, e.g. "time=time_hour,rain=precip [in]"; time may be joined from date+clock or '
        "year+month+day+hour(+minute)",
    )
    group.add_argument(
        "--where", action="append", metavar="COLUMN=TEXT", help="rows to keep, e.g. origin=EWR"
    )
    group.add_argument(
        "--missing", metavar="NUMBER,...", help="numbers that stand for missing, e.g. --missing=-999,9999"
    )
    group.add_argument(
        "--stamp", choices=STAMPS, help="whether a stamp is the end (default) or start of its hour"
    )
    group.add_argument("--time-zone", type=float, metavar="HOURS", help="hours local time is ahead of UTC")
    group.add_argument(
        "--spread-rain", choices=SPREAD_RULES, help="share rain measured over 3 or 6 h among its hours"
    )
    group.add_argument("--rain-rule", metavar="RULE", help="rain of a grid: 'hour', 'since 00 UTC' or 'rate'")
    group.add_argument(
        "--scale-with",
        metavar="STATION",
        help="station record to scale a grid's wind and rain to: its windy and wet hours become as strong as there",
    )
    group.add_argument(
        "--scale-columns", metavar="TERM=NAME [unit],...", help="columns of that station record"
    )
    group.add_argument("--scale-where", metavar="COLUMN=TEXT", help="rows of that station record to keep")
    group.add_argument(
        "--mast-height",
        type=float,
        metavar="M",
        help="height of the anemometer above ground, in metres, where it is not 10",
    )
    group.add_argument(
        "--mast-roughness",
        type=float,
        metavar="M",
        help="roughness length of the ground around the mast, in metres (default 0.05, farmland)",
    )


def add_wet_hour(parser: argparse.ArgumentParser) -> None:
    """Add ``--wet-hour``."""
    parser.add_argument(
        "--wet-hour",
        type=float,
        metavar="MM",
        help="least rain in an hour that counts (gauge 0, other kinds 0.1)",
    )


def add_json(parser: argparse.ArgumentParser) -> None:
    """Add ``--json``."""
    parser.add_argument(
        "--json", metavar="FILE|-", help="write the figures as JSON, to a file or to the screen (-)"
    )


def _invented_weather(point: tuple[float, float] | None) -> "xr.Dataset":
    """Weather of the invented place, which has to be named by its word."""
    from exposure.invented import climate_at, invented_place

    if point is None:
        raise RefusalError(
            "the invented place without a point in it", "latitude and longitude", "Write --at 48.435,-29.68."
        )
    return climate_at(invented_place(), *point)


def open_from_arguments(options: argparse.Namespace, source: str | None = None) -> "xr.Dataset":
    """Open the climate that ``options`` name; ``source`` stands in for ``options.source`` when given.

    Raises
    ------
    RefusalError
        When an argument or the source itself cannot be read.

    Examples
    --------
    >>> parser = argparse.ArgumentParser()
    >>> add_source_arguments(parser)
    >>> open_from_arguments(parser.parse_args(["weather.csv", "--at", "52"]))
    Traceback (most recent call last):
    exposure.checks.RefusalError: --at is '52'; expected latitude and longitude, such as 52.1,4.3. Write --at LAT,LON.
    """
    from exposure.climate.opening import open_climate

    named = options.source if source is None else source
    if named == INVENTED and not Path(INVENTED).exists():
        return _invented_weather(point_of(options.at))
    if named == "-":
        import sys

        if sys.stdin is None:
            raise RefusalError(
                "standard input is closed", "a record through a pipe", "Name a file instead of '-'."
            )
        named = sys.stdin.buffer
    climate = open_climate(named, at=point_of(options.at), **told_of_records(options))
    if not options.scale_with:
        if options.scale_columns or options.scale_where:
            raise RefusalError(
                "columns or rows of a station are told and no station to scale with",
                "the station's record",
                "Add --scale-with STATION, or leave --scale-columns and --scale-where out.",
            )
        return climate
    from exposure.climate.scaling import scale_with

    station = open_climate(options.scale_with, columns=options.scale_columns, where=options.scale_where)
    return scale_with(climate, station).climate


def told_of_records(options: argparse.Namespace) -> dict[str, Any]:
    """What ``options`` tell of a record, as arguments of :func:`exposure.climate.opening.open_climate`.

    Raises
    ------
    RefusalError
        For an argument that cannot be read.
    """
    return {
        "format": options.format,
        "kind": options.kind,
        "columns": ",".join(options.columns) if options.columns else None,
        "where": ",".join(options.where) if options.where else None,
        "missing": _numbers(options.missing),
        "stamp": options.stamp,
        "time_zone": options.time_zone,
        "spread_rain": options.spread_rain,
        "rain_rule": options.rain_rule,
        "mast_height": options.mast_height,
        "mast_roughness": options.mast_roughness,
    }


def request_of(options: argparse.Namespace) -> Request:
    """How a grid is to be read, as ``options`` say; which point is left open.

    Raises
    ------
    RefusalError
        For an argument that cannot be read.
    """
    return Request(
        kind=options.kind,
        columns=pairs_of(",".join(options.columns) if options.columns else None, "columns"),
        where=pairs_of(",".join(options.where) if options.where else None, "where"),
        stamp=options.stamp,
        rain_rule=options.rain_rule,
        mast_height=options.mast_height,
        mast_roughness=options.mast_roughness,
    )


def point_of(text: str | None) -> tuple[float, float] | None:
    """Latitude and longitude out of ``"LAT,LON"``; None for None.

    Examples
    --------
    >>> point_of("52.1, 4.3")
    (52.1, 4.3)
    """
    if text is None:
        return None
    try:
        latitude, longitude = (float(part) for part in text.replace(";", ",").split(","))
    except ValueError as error:
        raise RefusalError(
            f"--at is {text[:40]!r}",
            "latitude and longitude, such as 52.1,4.3",
            "Write --at LAT,LON.",
        ) from error
    return latitude, longitude


def _numbers(text: str | None) -> tuple[float, ...]:
    try:
        return tuple(float(part) for part in text.split(",")) if text else ()
    except ValueError as error:
        raise RefusalError(
            f"--missing is {text[:40]!r}" if text else "--missing is empty",
            "numbers joined by commas",
            "Correct it.",
        ) from error
