"""Where, and with which weather; the building on its ground is in :mod:`exposure.page.choices.house_inputs`.

Derived from the planner's question: a place is only comparable when it is said which record and which ground
stand behind it, so each input carries its own line of proof.
"""

import json
import threading
from dataclasses import dataclass

import numpy as np
import shapely
import streamlit as st
import xarray as xr

from exposure.assess.building import rose_index
from exposure.assess.doubts import great_circle
from exposure.checks import RefusalError
from exposure.figures import position
from exposure.invented import InventedPlace, climate_at, invented_place
from exposure.invented.geography import (
    CELL_LATITUDE,
    CELL_LONGITUDE,
    Place,
    cell_latitudes,
    cell_longitudes,
    places,
)
from exposure.page.choices.session import RecordInUse, session
from exposure.page.choices.state import (
    PageState,
    key_of,
)
from exposure.region.invented_index import index_folder, index_invented_place

RECORDS_KEPT = 24  # columns of the invented grid kept in memory, 6 MB each
AT_THE_PLACE = 0.8  # km within which a spot is called by the place's name
INVENTED_RECORD = "invented"
NO_PLACE = "a place not told"
ROOF_TOLD = ("gables", "ridge_height", "pitch", "eaves")  # what an invented house may tell of its roof


@dataclass(frozen=True)
class SpotInUse:
    """The place asked about."""

    name: str
    latitude: float
    longitude: float
    invented: bool
    line: str  # its proof, in words
    told: bool = True  # whether the reader or the record says where it is


def demo() -> InventedPlace:
    """The invented place; made before, see :mod:`exposure.page.work.first_time`."""
    return invented_place(progress=False)


@st.cache_data(show_spinner=False)
def houses() -> list[dict]:
    """The invented houses: ``key``, ``name``, ``place``, ``height``, ``storeys``, ``roof`` and corners in degrees."""
    found = []
    for one in json.loads(demo().houses.read_text("utf-8"))["features"]:
        kept = {name: one["properties"][name] for name in ("name", "place", "height", "storeys", "roof")}
        kept |= {name: one["properties"][name] for name in ROOF_TOLD if name in one["properties"]}
        corners = one["geometry"]["coordinates"][0][:-1]
        middle = shapely.Polygon(corners).centroid  # where a footprint read from a file stands too
        found.append(
            {
                **kept,
                "key": key_of(kept["name"]),
                "corners": corners,
                "longitude": middle.x,
                "latitude": middle.y,
            }
        )
    return found


def home_of(place: str) -> tuple[float, float]:
    """Where the first invented house of a named place stands, else the place itself. [degree]"""
    found = next((one for one in houses() if one["place"] == place), None)
    if found is None:
        found = next(
            {"latitude": one.latitude, "longitude": one.longitude} for one in places() if one.name == place
        )
    return round(found["latitude"], 5), round(found["longitude"], 5)


def spot_in_use(state: PageState) -> SpotInUse:
    """Where: the place of the address, else the first invented house."""
    first = houses()[0]
    latitude, longitude = state.at or (first["latitude"], first["longitude"])
    east = (longitude + 180) % 360 - 180
    inside = invented_weather(state)
    near, away = nearest_place(latitude, east)
    if not inside:
        name = state.place_name or (position(latitude, east) if state.at else NO_PLACE)
        line = position(latitude, east) if state.at else "its position is not told"
        return SpotInUse(name, latitude, east, False, line, told=state.at is not None)
    if state.place_name:
        name = state.place_name
    elif away < AT_THE_PLACE:
        name = near
    else:
        name = f"{away:.0f} km from {near}" if away >= 1.5 else f"near {near}"
    return SpotInUse(name, latitude, east, inside, position(latitude, east))


def invented_weather(state: PageState) -> bool:
    """Whether the weather is made up; only then do the invented island's maps stand beside it."""
    if state.record == INVENTED_RECORD:
        return True
    own = session.records.get(state.record)
    return own is not None and own.invented and (state.at is None or on_island(state.at))


def record_in_use(state: PageState, spot: SpotInUse) -> RecordInUse:
    """Which weather: the invented grid's nearest cell, or a record opened in this session."""
    if state.record == INVENTED_RECORD:
        row, column = _cell_of_island(spot)
        climate, span = _invented_column(row, column)
        mark = f"{INVENTED_RECORD}-{row}-{column}"
        away = great_circle(
            latitude=spot.latitude,
            longitude=spot.longitude,
            to_latitude=climate.attrs["latitude"],
            to_longitude=climate.attrs["longitude"],
        )
        line = f"{span}, hourly, middle of the cell {away:.1f} km away"
        return RecordInUse(mark, "Invented grid", line, climate, True)
    own = own_record(state)
    if state.at is None and not own.invented:
        raise RefusalError(
            "a weather record that does not say where it was taken, and no place for the building",
            "the building's latitude and longitude: the sheets carry them, and they tell how far the record lies away",
            "Type them under Change.",
        )
    return own


def read_ahead(state: PageState, spot: SpotInUse) -> None:
    """Have the cell of the invented grid read, and its rose made, beside the page while the ground is surveyed.

    Raises
    ------
    RefusalError
        As :func:`record_in_use`.
    """
    if state.record != INVENTED_RECORD:
        record_in_use(state, spot)
        return
    cell = _cell_of_island(spot)
    threading.Thread(target=_rose_of_cell, args=cell, name="reading ahead", daemon=True).start()


def rose_of_spot(state: PageState, spot: SpotInUse) -> xr.Dataset | None:
    """The index all round of the invented grid's cell; None for a record of the reader's own."""
    return _rose_of_cell(*_cell_of_island(spot)) if state.record == INVENTED_RECORD else None


def _cell_of_island(spot: SpotInUse) -> tuple[int, int]:
    """Row and column of the invented grid's cell at a place on it."""
    if not _on_island(spot.latitude, spot.longitude):
        west, south, east, north = island_box()
        raise RefusalError(
            f"the place {spot.latitude:g}, {spot.longitude:g} with the invented weather",
            f"a place on the invented grid, latitude {south:g} to {north:g}, longitude {west:g} to {east:g}",
            "Choose one of the invented places under Change, or open a weather record of your own.",
        )
    return _cell(spot.latitude, spot.longitude)


def own_record(state: PageState) -> RecordInUse:
    """The record opened in this session that the choices name.

    Raises
    ------
    RefusalError
        When this session does not hold it.
    """
    own = session.records.get(state.record)
    if own is None:
        raise RefusalError(
            "the address names a weather record that this page does not hold",
            "a record opened on this page since it was loaded; a record does not travel in an address",
            "Open the file again under Change, or choose the invented weather there.",
        )
    return own


def _cell(latitude: float, longitude: float) -> tuple[int, int]:
    """Row and column of the grid's cell nearest to a spot."""
    return (
        int(np.argmin(abs(cell_latitudes() - latitude))),
        int(np.argmin(abs(cell_longitudes() - longitude))),
    )


# Kept as it is, not as a copy: it is never written to.
@st.cache_resource(max_entries=RECORDS_KEPT, show_spinner=False)
def _invented_column(row: int, column: int) -> tuple[xr.Dataset, str]:
    climate = climate_at(demo(), float(cell_latitudes()[row]), float(cell_longitudes()[column]))
    first, last = (str(climate["time"].values[place])[:4] for place in (0, -1))
    return climate, f"{first} to {last}"


# Kept as it is, too: every place in a cell has the same.
@st.cache_resource(max_entries=RECORDS_KEPT, show_spinner=False)
def _rose_of_cell(row: int, column: int) -> xr.Dataset:
    return rose_index(_invented_column(row, column)[0])


def on_island(at: tuple[float, float]) -> bool:
    """Whether a position, latitude and longitude, lies on the invented grid. [degree]"""
    return _on_island(at[0], (at[1] + 180) % 360 - 180)


def _on_island(latitude: float, longitude: float) -> bool:
    west, south, east, north = island_box()
    return west <= longitude <= east and south <= latitude <= north


def island_box() -> tuple[float, float, float, float]:
    """West, south, east and north edge of the invented grid. [degree]"""
    latitudes, longitudes = cell_latitudes(), cell_longitudes()
    return (
        float(longitudes[0] - CELL_LONGITUDE / 2),
        float(latitudes[0] - CELL_LATITUDE / 2),
        float(longitudes[-1] + CELL_LONGITUDE / 2),
        float(latitudes[-1] + CELL_LATITUDE / 2),
    )


def nearest_place(latitude: float, longitude: float) -> tuple[str, float]:
    """The invented place nearest to a position, and how far it is. [km]"""

    def away(place: Place) -> float:
        return great_circle(
            latitude=latitude, longitude=longitude, to_latitude=place.latitude, to_longitude=place.longitude
        )

    near = min(places(), key=away)
    return near.name, away(near)


def region_index() -> xr.Dataset | None:
    """The open-field index over the whole invented grid; None until it has been worked out.

    Working it out takes a compiler, which this server never waits for: another process does it, see
    :mod:`exposure.page.work.first_time`.
    """
    return _kept_index() if region_is_made() else None


def region_is_made() -> bool:
    """Whether the index over the whole grid lies in the cache."""
    return index_folder(demo()).is_dir()


@st.cache_resource(show_spinner=False)
def _kept_index() -> xr.Dataset:
    return index_invented_place(demo())


def region_figure(state: PageState, spot: SpotInUse) -> tuple[float, float] | None:
    """What the hardest hit wall in an open field gets at a spot, and the way it faces. [L m-2, degree]

    Read from the region's index, so that a click is answered at once; the assessment follows. None with a record
    of the reader's own: the region's index is of the invented weather.
    """
    if state.record != INVENTED_RECORD or not _on_island(spot.latitude, spot.longitude):
        return None
    index = region_index()
    if index is None:
        return None
    row, column = _cell(spot.latitude, spot.longitude)
    name = {"year": "airfield_annual_index", "spell": "airfield_spell_index"}[state.measure]
    values = index[name].isel(latitude=row, longitude=column).values
    worst = int(np.argmax(values))
    return float(values[worst]), float(index["orientation"][worst])
