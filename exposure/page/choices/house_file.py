"""A building's file of the reader's own: opened like the terminal opens it, kept as its words, put where the page asks.

Derived from the designer's question which elevation is worst: a house that was described once is not described again
on a form, and what its file tells of roof, ground and details counts here as it counts in the terminal.
"""

import json
import re
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from exposure.assess.from_files import survey_building
from exposure.checks import RefusalError
from exposure.page.choices.state import MOST_CORNERS, HouseFile, PageState, short_name
from exposure.page.work.beside import do_beside
from exposure.page.work.long_work import Tell
from exposure.page.work.model_work import WORDS
from exposure.site.plane import DEGREES, LocalPlane
from exposure.wall.building_file import read_words
from exposure.wall.model_parts import LARGEST as LARGEST_MODEL

LARGEST = 1_000_000  # bytes of an upload that is no model
MODEL = ".ifc"
ENDINGS = (".toml", ".json", ".geojson", ".gpkg", MODEL)
SAME_PLACE = 1e-5  # degrees within which the house stands where its file puts it
YES_NO = {True: "yes", False: "no"}


def words_of_upload(
    content: bytes, file_name: str, *, which: str = "", tell: Tell = lambda _share, _words: None
) -> str:
    """The words of the one building in an uploaded file, as JSON text; a model is read in a process of its own.

    Parameters
    ----------
    which
        Name of the building, where the file holds several.
    tell
        Called often while a model is read; what it raises ends the reading.

    Raises
    ------
    RefusalError
        When the file is too large, of another kind, or describes no building that can be assessed.
    """
    stem, ending = Path(file_name).stem, Path(file_name).suffix.lower()
    if ending not in ENDINGS:
        raise RefusalError(
            f"a file ending in {short_name(ending, 20)!r}", ", ".join(ENDINGS), "Choose a building's file."
        )
    check_upload(len(content), file_name)
    plain = re.sub(r"[^\w -]", "-", short_name(stem, 60)) or "house"
    with tempfile.TemporaryDirectory(prefix="exposure-house-") as name:
        path = Path(name) / f"{plain}{ending}"
        path.write_bytes(content)
        if ending == MODEL:
            asked = {"model": path.name, "which": which}
            do_beside("exposure.page.work.model_work", path.parent, asked, tell, result=WORDS)
            text = (path.parent / WORDS).read_text("utf-8")
        else:
            words = read_words(path, name=which or None)
            text = json.dumps(words, ensure_ascii=False, default=str)
    check_words(text)
    return text


def is_model(file_name: str) -> bool:
    """Whether a file's name is that of a building model."""
    return Path(file_name).suffix.lower() == MODEL


def check_upload(size: int, file_name: str) -> None:
    """Stop when an upload of ``size`` bytes is too large for one building; asked before it is read."""
    most = LARGEST_MODEL if is_model(file_name) else LARGEST
    if size > most:
        raise RefusalError(
            f"a file of {size:,} bytes", f"at most {most:,} bytes", "Cut the building out of it."
        )


def check_words(text: str) -> None:
    """Stop when the words describe no building that the page can assess."""
    words = words_in(text)
    walls = survey_building(words).building.walls
    if len(walls) > MOST_CORNERS:
        raise RefusalError(
            f"a building of {len(walls)} elevations", f"at most {MOST_CORNERS}", "Simplify its outline."
        )


def words_in(text: str) -> dict[str, Any]:
    """The table a kept text holds.

    Raises
    ------
    RefusalError
        When it is no table.
    """
    try:
        words = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise RefusalError("a building that is no JSON text", "a table", "Open its file again.") from error
    if not isinstance(words, dict):
        raise RefusalError("a building that is no table", "a table", "Open its file again.")
    return words


def place_in(words: Mapping[str, Any]) -> tuple[float, float]:
    """Latitude and longitude that the words tell, as an address carries them. [degree]

    Examples
    --------
    >>> place_in({"place": {"latitude": 48.4350001, "longitude": 330.32}})
    (48.435, -29.68)
    """
    place = words["place"]
    east = (float(place["longitude"]) + 180) % 360 - 180
    return round(float(place["latitude"]), 5), round(east, 5)


def standing_at(words: Mapping[str, Any], *, latitude: float, longitude: float, name: str) -> dict[str, Any]:
    """The words for a place: untouched where the file puts the house, else moved with its outline. [degree]

    What the file says of its own ground holds for its own place alone; moved, the house leaves it behind.

    Examples
    --------
    >>> house = {"place": {"latitude": 50.0, "longitude": 8.0, "terrain": "III"}, "footprint": {"length": 9}}
    >>> standing_at(house, latitude=50.0, longitude=8.0, name="Mill")["place"]["terrain"]
    'III'
    >>> standing_at(house, latitude=51.0, longitude=8.0, name="Mill")["place"]
    {'name': 'Mill', 'latitude': 51.0, 'longitude': 8.0}
    """
    at = place_in(words)
    place = dict(words["place"])
    if abs(at[0] - latitude) < SAME_PLACE and abs(at[1] - longitude) < SAME_PLACE:
        return {**words, "place": {**place, "name": name}}
    found = {**words, "place": {"name": name, "latitude": latitude, "longitude": longitude}}
    outline = words.get("footprint", {})
    if "corners" in outline:
        old = LocalPlane(latitude=float(place["latitude"]), longitude=float(place["longitude"]))
        new = LocalPlane(latitude=latitude, longitude=longitude)
        courts = [_moved(ring, old, new) for ring in outline.get("courtyards", [])]
        corners = _moved(outline["corners"], old, new)
        found["footprint"] = {"corners": corners, **({"courtyards": courts} if courts else {})}
    return found


def _moved(ring: list, old: LocalPlane, new: LocalPlane) -> list[list[float]]:
    corners = np.asarray(ring, dtype=float)[:, :2]
    east, north = old.to_metres(corners[:, 0], corners[:, 1], crs=DEGREES)
    longitude, latitude = new.to_crs(np.asarray(east), np.asarray(north), crs=DEGREES)
    return np.column_stack([longitude, latitude]).round(9).tolist()


def with_ground(place: Mapping[str, Any], terrain: Mapping[str, str]) -> dict[str, Any]:
    """A place's words with the ground the reader told on the page, which counts before the file's.

    Examples
    --------
    >>> with_ground({"terrain": "II", "sector": {"240": {"terrain": "I", "topography": 1.1}}}, {"0": "III"})
    {'terrain': {'0': 'III'}, 'sector': {'240': {'topography': 1.1}}}
    """
    sectors = {
        bearing: {key: value for key, value in told.items() if key != "terrain"}
        for bearing, told in place.get("sector", {}).items()
    }
    return {**place, "terrain": dict(terrain), **({"sector": sectors} if sectors else {})}


def answers_in(words: Mapping[str, Any]) -> dict[str, str]:
    """The file's own answers about how it is built, as the page's questions spell them.

    Examples
    --------
    >>> answers_in({"details": {"parapet": True, "window_depth": 70.0, "elevations": {}}})
    {'parapet': 'yes', 'window_depth': '70'}
    """
    found = {}
    for name, value in dict(words.get("details") or {}).items():
        if isinstance(value, bool):
            found[name] = YES_NO[value]
        elif isinstance(value, int | float):
            found[name] = f"{value:g}"
        elif isinstance(value, str):
            found[name] = short_name(value)
    return found


def house_mark(state: PageState) -> str:
    """Mark of the building's file in force; empty when the building is none."""
    return state.building.mark if isinstance(state.building, HouseFile) else ""
