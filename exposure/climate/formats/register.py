"""The register of formats: one line for each reader, tried from the top.

A new format is a module with ``recognises(source) -> bool`` and ``read_columns(source, request) -> Columns``
(a record of one place) or ``read_climate(source, request) -> Dataset`` (anything else), and one line here.
"""

import re
from importlib import import_module
from types import ModuleType
from typing import NamedTuple

from exposure.checks import RefusalError
from exposure.climate.source_file import Source
from exposure.doubts import doubt


class Format(NamedTuple):
    """A format that can be read."""

    name: str
    module: str
    title: str
    tried_on: str  # what the reader was tried on: a real file, or the format's documentation only
    uses: tuple[str, ...] = (
        "missing",
        "stamp",
        "mast_height",
        "mast_roughness",
        "rain_rule",
    )  # of what may be told


GRID = ("at", "columns", "rain_rule", "stamp", "mast_height", "mast_roughness")
REPORTS = ("missing", "stamp", "mast_height", "mast_roughness", "spread_rain", "rain_rule")
PAPER = "the format's documentation only"
FORMATS = (
    Format(
        "cf-grid",
        "cf_grid",
        "climate grid in NetCDF or Zarr with CF names (ERA5, ERA5-Land)",
        "a real file",
        (*GRID, "where"),
    ),
    Format(
        "grib", "grib", "GRIB fields on a regular grid (ERA5, ERA5-Land)", "fields written by ecCodes", GRID
    ),
    Format("epw", "epw", "EPW weather file", "real files", REPORTS),
    Format("tmy3", "tmy3", "TMY3 weather file", "a real file", REPORTS),
    Format("power", "power", "NASA POWER hourly point (JSON or CSV)", PAPER),
    Format("hourly-json", "hourly_json", "JSON with hourly and hourly_units", PAPER),
    Format("global-hourly", "global_hourly", "NOAA global-hourly CSV", PAPER, (*REPORTS, "where")),
    Format("ghcnh", "ghcnh", "NOAA GHCN hourly (joined by |)", PAPER, REPORTS),
    Format("isd-lite", "isd_lite", "NOAA ISD-Lite", PAPER, REPORTS),
    Format("knmi", "knmi", "KNMI hourly text", PAPER, (*REPORTS, "where")),
    Format(
        "station-csv",
        "station_csv",
        "station CSV with units in the header",
        "real files",
        (*REPORTS, "where", "columns", "time_zone"),
    ),
)

ENDINGS = {  # of a file's name -> the formats it promises
    ".nc": ("cf-grid",),
    ".nc4": ("cf-grid",),
    ".grib": ("grib",),
    ".grib2": ("grib",),
    ".grb": ("grib",),
    ".epw": ("epw",),
    ".json": ("power", "hourly-json"),
}


def other_than_named(name: str, entry: Format) -> list[str]:
    """That a file holds another format than its name promises, as a sentence; nothing where they agree.

    Examples
    --------
    >>> other_than_named("weather.epw", FORMATS[-1])
    ['weather.epw holds station CSV with units in the header, not what its name says; make sure that it is the right file.']
    >>> other_than_named("weather.csv", FORMATS[-1])
    []
    """
    plain = name.lower().removesuffix(".gz").removesuffix(".zip")
    promised = next((formats for ending, formats in ENDINGS.items() if plain.endswith(ending)), (entry.name,))
    if entry.name in promised:
        return []
    return [doubt("climate.other_than_named", name, title=entry.title)]


def format_module(entry: Format) -> ModuleType:
    """The reader's module, imported when first needed."""
    return import_module(f"exposure.climate.formats.{entry.module}")


def chosen_format(source: Source, named: str | None, columns: object) -> Format:
    """The format ``named``; else a table, where somebody said which ``columns`` of a text are which; else by content.

    Raises
    ------
    RefusalError
        As :func:`find_format` does.
    """
    if columns and named is None and source.is_text:
        named = "station-csv"
    return find_format(source, named)


def find_format(source: Source, asked: str | None = None) -> Format:
    """The format of ``source`` by its content, or the one ``asked`` for.

    Raises
    ------
    RefusalError
        When no format fits, listing those that exist.
    """
    if asked is not None:
        for entry in FORMATS:
            if entry.name == asked:
                return entry
        raise RefusalError(
            f"the format is {asked[:40]!r}",
            f"one of {', '.join(entry.name for entry in FORMATS)}",
            "Correct it.",
        )
    for entry in FORMATS:
        if format_module(entry).recognises(source):
            return entry
    header = source.first_lines[0] if source.first_lines else ""
    cells = [cell.strip().strip('"') for cell in re.split(r"[,;\t|]", header) if cell.strip()]
    if len(cells) >= 4 and not header.lstrip().startswith(("{", "<", "[")):
        raise RefusalError(
            f"{source.name} looks like a table of {len(cells)} columns ({', '.join(cells)[:160]}) with other names",
            "columns time, wind_speed [m/s], wind_from_direction [degree] and rain [mm]",
            "Say which is which, with units: time=NAME,wind_speed=NAME [m/s],...",
            parameter="columns",
        )
    if source.is_folder:
        raise RefusalError(
            f"the folder {source.name} holds no weather that can be read",
            "a folder of NetCDF files or a Zarr store, or one file",
            "Name the file, or the folder of the grid.",
        )
    first = header[:80] if source.is_text else "binary data"
    raise RefusalError(
        f"{source.name} starts with {first!r}, which is none of the known formats",
        "; ".join(entry.title for entry in FORMATS),
        "Check what the file is, or name its format.",
        parameter="format",
    )
