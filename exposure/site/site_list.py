"""A list of sites from a CSV or a GeoJSON of points; a row that cannot be used is set aside with the reason.

A planner's list comes from a spreadsheet: commas or semicolons, decimal points or commas, UTF-8 or UTF-16, degrees
with or without minutes. What is plain is read; what would be a guess is refused, row by row.
"""

import csv
import io
import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, BinaryIO, NamedTuple

from exposure.checks import RefusalError, check_between
from exposure.climate.source_file import Source, open_source
from exposure.doubts import doubt
from exposure.rain.hour import TERRAIN_SECTORS
from exposure.site.footprint import metres
from exposure.site.position_text import read_angle
from exposure.tables import load_table

MOST_SITES = 5000  # our choice
LONGEST_NAME = 200
COLUMNS = {  # what a column may be called, without its unit
    "name": ("name", "site", "place", "site name", "title", "label"),
    "latitude": ("latitude", "lat", "y"),
    "longitude": ("longitude", "lon", "long", "lng", "x"),
    "terrain": ("terrain", "ground", "terrain category"),
    "ground_height": ("ground height", "height above sea", "altitude", "elevation above sea"),
    "wall": ("wall", "reference wall", "wall shape", "shape"),
    "record": ("record", "weather record", "climate record"),
}
DIGITS = {"1": "I", "2": "II", "3": "III", "4": "IV"}
HEADER = "name,latitude,longitude,terrain,ground_height [m],wall"


@dataclass(frozen=True)
class ListedSite:
    """One row of a list: what it says of a site.

    Parameters
    ----------
    row
        Number of its row, as a spreadsheet counts (the header is 1), or of its feature.
    latitude, longitude
        In degrees, longitude from -180 to 180.
    terrain
        Category of each of the twelve sectors; None where the list does not say.
    ground_height
        Above the sea; None where the list does not say. [m]
    wall
        Shape of the reference wall there; None where the list does not say.
    record
        Its own weather record, a path; None where the list does not say.
    """

    row: int
    name: str
    latitude: float
    longitude: float
    terrain: tuple[str, ...] | None = None
    ground_height: float | None = None
    wall: str | None = None
    record: str | None = None


@dataclass(frozen=True)
class LeftOut:
    """A row that is not used, and why."""

    row: int
    name: str
    reason: RefusalError


class SiteList(NamedTuple):
    """The sites of a list, the rows left out, and what to know of the reading as sentences."""

    sites: tuple[ListedSite, ...]
    left_out: tuple[LeftOut, ...]
    notes: tuple[str, ...]


def read_site_list(
    source: str | Path | bytes | BinaryIO,
    *,
    shapes: Iterable[str],
    most: int = MOST_SITES,
    beside: str | Path | None = None,
) -> SiteList:
    r"""Read a list of sites.

    Parameters
    ----------
    source
        CSV (comma, semicolon or tab; UTF-8, UTF-16 or Windows text) with columns name, latitude, longitude and,
        where wished, terrain (one category I to IV, or twelve from north clockwise), ground_height [m] and wall;
        or GeoJSON of points with the same properties.
    shapes
        The reference walls that may be named.
    most
        Rows taken.
    beside
        Folder that the paths in a column ``record`` start from; None refuses a list that names records, as an
        upload must not open files of the machine it came to.

    Raises
    ------
    RefusalError
        When the whole list cannot be read, holds no row, or more than ``most``.

    Examples
    --------
    >>> found = read_site_list(b"name;lat;lon\nHarbour;48,44;-29,68\nNowhere;95;2\n", shapes=[])
    >>> found.sites[0].latitude, found.left_out[0].row
    (48.44, 3)
    """
    opened = open_source(source)
    text, notes = _text_of(opened)
    rows = (
        _features(text, opened.name)
        if text.lstrip()[:1] == "{"
        else list(_table_rows(text, opened.name, notes))
    )
    if not rows:
        raise RefusalError(
            f"{opened.name} holds no site", "one row a site", f"Write them below the header {HEADER}."
        )
    if len(rows) > most:
        raise RefusalError(f"{opened.name} holds {len(rows):,} sites", f"at most {most:,}", "Cut the list.")
    walls = {shape.lower(): shape for shape in shapes}
    sites, left_out = [], []
    for row, given in rows:
        if given.get("record") and beside is None:
            raise RefusalError(
                f"row {row} of {opened.name} names the record {one_line(given['record'])[:60]!r}",
                "a list that names no files of this machine",
                "Take the column out; a list with a record a site is compared in the terminal.",
            )
        try:
            one = _site_of(row, given, walls)
            sites.append(
                one if one.record is None else replace(one, record=str(Path(beside or "", one.record)))
            )
        except RefusalError as reason:
            left_out.append(LeftOut(row, one_line(given.get("name")), reason))
    return SiteList(_told_apart(sites), tuple(left_out), tuple(notes))


def one_line(value: object) -> str:
    """A name as one printable line; empty for nothing."""
    if value is None:
        return ""
    words = "".join(" " if letter.isspace() else letter for letter in str(value)[: 4 * LONGEST_NAME])
    return " ".join("".join(letter for letter in words if letter.isprintable()).split())[:LONGEST_NAME]


def _text_of(opened: Source) -> tuple[str, list[str]]:
    raw = opened.read()
    if b"\0" in raw[:200] and raw[:2] not in (b"\xff\xfe", b"\xfe\xff"):
        for coding in ("utf-16-le", "utf-16-be"):
            nulls = raw[1:200:2] if coding == "utf-16-le" else raw[0:200:2]
            if nulls and nulls.count(0) > len(nulls) * 0.8:
                try:
                    return raw.decode(coding), []
                except UnicodeDecodeError:
                    break
        raise RefusalError(
            f"{opened.name} holds binary data",
            "a CSV or GeoJSON list of sites",
            "Save the spreadsheet as CSV (UTF-8).",
        )
    if raw[:2] not in (b"\xff\xfe", b"\xfe\xff"):
        try:
            return raw.decode("utf-8-sig"), []
        except UnicodeDecodeError:
            return raw.decode("cp1252", errors="replace"), [doubt("site.list_as_windows_text")]
    return opened.text(long_lines=True).removeprefix("\ufeff"), []


def _table_rows(text: str, name: str, notes: list[str]) -> Iterator[tuple[int, dict[str, Any]]]:
    """Rows of a CSV as what they give by our column names, with their number in a spreadsheet."""
    lines = text.splitlines()
    first = next((i for i, line in enumerate(lines) if line.strip()), None)
    if first is None:
        return
    told = re.fullmatch(r'"?sep=(.)"?', lines[first].strip())
    mark = told[1] if told else max(";\t|,", key=lines[first].count)
    start = first + (1 if told else 0)
    read = csv.reader(io.StringIO("\n".join(lines[start:])), delimiter=mark, skipinitialspace=True)
    try:
        head = next(read, [])
        columns = _columns(head, name, notes)
        for cells in read:
            if not any(cell.strip() for cell in cells):
                continue
            given: dict[str, Any] = {
                term: cells[place].strip() for term, place in columns.items() if place < len(cells)
            }
            if len(cells) > len(head):
                given["too wide"] = (len(cells), len(head))
            yield start + read.line_num, given
    except csv.Error as error:
        raise RefusalError(
            f"{name} cannot be read as a table near line {start + read.line_num} ({error})",
            "one row a line",
            "Mend it.",
        ) from error


def _column_name(text: str) -> str:
    """A column's name without its unit, as :data:`COLUMNS` spells it."""
    plain = re.sub(r"[\[(][^\[\]()]*[\])]", "", text[:LONGEST_NAME])
    return plain.replace("_", " ").strip().lower()


def _columns(head: list[str], name: str, notes: list[str]) -> dict[str, int]:
    """Where each of our columns stands."""
    found: dict[str, int] = {}
    words = [_column_name(cell) for cell in head]
    for term, names in COLUMNS.items():
        known = next((one for one in names if one in words), None)  # the plainest name wins: lat before y
        if known is None:
            continue
        if words.count(known) > 1:
            raise RefusalError(f"{name} has two columns {known!r}", "one", "Remove or rename one.")
        found[term] = words.index(known)
    if "ground_height" in found:
        cell = head[found["ground_height"]]
        unit = re.search(r"[\[(]([^\[\]()]*)[\])]", cell[:LONGEST_NAME])
        if unit and unit[1].strip() not in ("m", "metres", "meters"):
            raise RefusalError(
                f"the column {one_line(cell)!r} is in {unit[1][:20]!r}",
                "ground height in m",
                "Convert it, and write [m].",
            )
    others = [one_line(cell) for place, cell in enumerate(head) if place not in found.values()]
    missing = [term for term in ("latitude", "longitude") if term not in found]
    if missing:
        raise RefusalError(
            f"the header of {name} is {', '.join(map(one_line, head))[:120]!r}, without {' and '.join(missing)}",
            f"a first row such as {HEADER}",
            "Name the columns so; further ones are left out.",
        )
    if any(others):
        notes.append(doubt("site.list_columns_not_used", names=", ".join(filter(None, others))[:300]))
    return found


def _features(text: str, name: str) -> list[tuple[int, dict[str, Any]]]:
    try:
        table = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise RefusalError(f"{name} is no whole JSON ({str(error)[:60]})", "GeoJSON", "Mend it.") from error
    features = table.get("features") if table.get("type") == "FeatureCollection" else None
    if not isinstance(features, list):
        raise RefusalError(
            f"{name} is JSON without features", "a GeoJSON FeatureCollection of points", "Export it so."
        )
    system = json.dumps(table.get("crs", ""))
    if system != '""' and not re.search(r"CRS84|EPSG:+4326", system):
        raise RefusalError(
            f"{name} is in the coordinate system {system[:80]}",
            "longitude and latitude (EPSG:4326)",
            "Export it so.",
        )
    return [(number, _feature(one)) for number, one in enumerate(features, start=1)]


def _feature(feature: object) -> dict[str, Any]:
    given: dict[str, Any] = {}
    one = feature if isinstance(feature, Mapping) else {}
    properties = one.get("properties")
    for key, value in (properties if isinstance(properties, Mapping) else {}).items():
        words = _column_name(str(key))
        term = next((term for term, names in COLUMNS.items() if words in names), None)
        if term in ("name", "terrain", "ground_height", "wall", "record") and value is not None:
            given.setdefault(
                term, " ".join(map(str, value)) if isinstance(value, list) else str(value).strip()
            )
    shape = one.get("geometry")
    corner = shape.get("coordinates") if isinstance(shape, Mapping) and shape.get("type") == "Point" else None
    numbers = (
        isinstance(corner, list)
        and len(corner) >= 2
        and all(isinstance(part, int | float) and not isinstance(part, bool) for part in corner[:2])
    )
    if numbers and corner is not None:
        given |= {"longitude": f"{corner[0]:.9f}", "latitude": f"{corner[1]:.9f}"}
    else:
        given["no point"] = (
            str(shape.get("type", "nothing"))[:30] if isinstance(shape, Mapping) else "nothing"
        )
    return given


def _site_of(row: int, given: Mapping[str, Any], walls: Mapping[str, str]) -> ListedSite:
    if "too wide" in given:
        cells, heads = given["too wide"]
        raise RefusalError(
            f"row {row} has {cells} cells",
            f"{heads}, as the header",
            "Put a text that holds the separator in quotes.",
        )
    if "no point" in given:
        raise RefusalError(
            f"feature {row} is of the shape {given['no point']!r}", "a point", "Give one point a site."
        )
    for term in ("latitude", "longitude"):
        if not given.get(term):
            raise RefusalError(f"row {row} has no {term}", "degrees", f"Write its {term}.")
    latitude, longitude = (read_angle(given[term], term) for term in ("latitude", "longitude"))
    if latitude == 0 and longitude == 0:
        raise RefusalError(
            f"row {row} lies at 0, 0, where an empty cell ends up",
            "a position on land",
            "Write its position.",
        )
    height = given.get("ground_height") or None
    return ListedSite(
        row=row,
        name=one_line(given.get("name")),
        latitude=latitude,
        longitude=round((longitude + 180) % 360 - 180, 9),
        terrain=_terrain(given.get("terrain", ""), row),
        ground_height=None if height is None else _height(str(height), row),
        wall=_wall(given.get("wall", ""), row, walls),
        record=_record(given.get("record"), row),
    )


def _height(text: str, row: int) -> float:
    plain = text.strip()
    value = metres(plain.lstrip("-\u2212"))
    if value is None:
        raise RefusalError(
            f"row {row} has the ground height {plain[:40]!r}", "metres above the sea", "Correct it."
        )
    value = -value if plain[:1] in "-\u2212" else value
    return check_between(value, f"the ground height of row {row}", -500, 9000, "m")


def _terrain(text: str, row: int) -> tuple[str, ...] | None:
    """Twelve categories out of one, twelve digits, or twelve words."""
    known = [entry["category"] for entry in load_table("terrain")["row"]]
    words = [word for word in re.split(r"[\s,;/|]+", str(text).strip().upper()) if word]
    if not words:
        return None
    if len(words) == 1 and re.fullmatch(r"[1-4]{12}", words[0]):
        words = list(words[0])
    words = [DIGITS.get(word.removesuffix(".0"), word) for word in words]
    if len(words) == 1:
        words *= TERRAIN_SECTORS
    if len(words) != TERRAIN_SECTORS or any(word not in known for word in words):
        raise RefusalError(
            f"row {row} has the terrain {str(text)[:60]!r}",
            f"one of {', '.join(known)}, or twelve of them from north clockwise",
            "Correct it, or leave it empty.",
        )
    return tuple(words)


def _wall(text: str, row: int, walls: Mapping[str, str]) -> str | None:
    words = " ".join(str(text).split()).lower()
    if not words:
        return None
    if words not in walls:
        raise RefusalError(
            f"row {row} has the wall {str(text)[:60]!r}",
            f"one of {', '.join(walls.values())}",
            "Correct it, or leave it empty.",
        )
    return walls[words]


def _record(given: object, row: int) -> str | None:
    text = str(given or "").strip()
    if "://" in text or "\0" in text:
        raise RefusalError(f"row {row} has the record {text[:60]!r}", "the path of a file", "Name the file.")
    return text or None


def _told_apart(sites: list[ListedSite]) -> tuple[ListedSite, ...]:
    """The sites with names that differ: a name given twice gets its row behind it, no name its position."""
    plain = [
        one.name
        or f"{abs(one.latitude):.4f}° {'S' if one.latitude < 0 else 'N'}, "
        f"{abs(one.longitude):.4f}° {'W' if one.longitude < 0 else 'E'}"
        for one in sites
    ]
    count: dict[str, int] = {}
    for name in plain:
        count[name.lower()] = count.get(name.lower(), 0) + 1
    return tuple(
        replace(one, name=name if count[name.lower()] == 1 else f"{name} (row {one.row})")
        for one, name in zip(sites, plain, strict=True)
    )
