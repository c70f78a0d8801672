"""Weather of many places from a command's arguments: a grid, one record for all, or the invented place."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from exposure.checks import RefusalError
from exposure.cli.source_arguments import open_from_arguments

if TYPE_CHECKING:  # what reads rasters is loaded only when a command runs
    from exposure.assess.site_weather import GridWeather, OneRecord

IDLE_WITH_GRID = ("missing", "time_zone", "spread_rain")  # they tell of tables
TOLD_OF_GRID = ("format", "kind", "columns", "stamp", "rain_rule", "mast_height", "mast_roughness")


def weather_of_places(
    options: argparse.Namespace, *, own_records: bool
) -> "tuple[GridWeather | OneRecord | None, str | Path | None, str | Path | None]":
    """Where the weather comes from, and the rasters to survey with; options for records do not idle beside a grid."""
    from exposure.assess.site_weather import GridWeather, OneRecord
    from exposure.cli.source_arguments import request_of
    from exposure.climate.formats.register import chosen_format
    from exposure.climate.source_file import open_source

    if options.at is not None:
        raise RefusalError(
            "--at was given", "the positions in the list", "Leave it out: each site takes its nearest cell."
        )
    if own_records and options.scale_with:
        raise RefusalError(
            "--scale-with with records in the list",
            "one record for all",
            "Leave it out, or scale them first.",
        )
    if options.climate is None:
        if not own_records:
            raise RefusalError(
                "no weather was given, and no row names a record",
                "hourly wind and rain",
                "Give a grid or record for all, or a column 'record' with the path of each site's own.",
                parameter="climate",
            )
        return None, options.ground, options.cover
    idle = () if own_records else IDLE_WITH_GRID
    if options.climate == "invented" and not Path(options.climate).exists():
        from exposure.invented import invented_place
        from exposure.invented.place_files import INVENTED_FLAG

        _refuse_idle(
            options,
            (*idle, *(() if own_records else ("where", *TOLD_OF_GRID)), "scale_with"),
            "the invented place",
        )
        place = invented_place()
        return (
            GridWeather(place.climate, flags=(INVENTED_FLAG,)),
            options.ground or place.height,
            options.cover or place.cover,
        )
    source = open_source(options.climate)
    form = chosen_format(source, options.format, options.columns).name
    if form == "grib":
        raise RefusalError(
            "the weather is GRIB",
            "NetCDF or Zarr for many sites at once",
            "Get the same fields as NetCDF, or turn them into it.",
        )
    if form != "cf-grid":
        return OneRecord(open_from_arguments(options, options.climate)), options.ground, options.cover
    if options.scale_with:
        raise RefusalError(
            "--scale-with with a grid", "one place", "Leave it out: one station cannot scale a region."
        )
    _refuse_idle(options, idle, "a grid")
    return GridWeather(options.climate, request_of(options)), options.ground, options.cover


def _refuse_idle(options: argparse.Namespace, names: tuple[str, ...], weather: str) -> None:
    """Stop at an option that would do nothing, rather than let someone believe that it did."""
    for name in names:
        if getattr(options, name) is not None:
            flag = f"--{name.replace('_', '-')}"
            raise RefusalError(
                f"{flag} was given, and {weather} has no use for it",
                "options that apply",
                f"Leave {flag} out.",
            )
