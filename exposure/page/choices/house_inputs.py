"""Which building is asked about: an invented house, one drawn or read from a file, and what the reader told of it."""

from typing import Any

import numpy as np
import shapely
import streamlit as st

from exposure.assess.from_files import Surveyed, resurvey, survey_building
from exposure.assess.what_if import neighbours_removed
from exposure.page.choices.beside import neighbours_told
from exposure.page.choices.construction import details_of
from exposure.page.choices.house_file import standing_at, with_ground
from exposure.page.choices.inputs import ROOF_TOLD, SpotInUse, demo, houses, nearest_place, spot_in_use
from exposure.page.choices.own_files import house_words
from exposure.page.choices.state import (
    Beside,
    Box,
    BuildingChoice,
    House,
    HouseFile,
    Outline,
    PageState,
)
from exposure.page.choices.told import near_told, roof_words
from exposure.site.cover import COVER_REACH
from exposure.site.footprint import read_neighbours
from exposure.site.plane import DEGREES, LocalPlane
from exposure.site.raster import read_cover, read_ground
from exposure.site.relief import RELIEF_REACH
from exposure.wall.building_file import building_from_words

GROUND_CODES = {"1": "I", "2": "II", "3": "III", "4": "IV"}  # as the address writes a terrain category
SURVEYS_KEPT = 64
HOME = 1e-5  # degrees within which an invented house stands where it belongs
CLEAR = 1.0  # m round a building put down that are free of what stood there; our choice


def house_in_use(state: PageState, spot: SpotInUse) -> BuildingChoice:
    """The building of the address, else the first invented house of the nearest place."""
    if isinstance(state.building, Box | Outline | HouseFile):
        return state.building
    keys = {one["key"] for one in houses()}
    if isinstance(state.building, House) and state.building.key in keys:
        return state.building
    if not spot.invented:
        return House(houses()[0]["key"])  # a record of one's own changes the place, not the house
    near = nearest_place(spot.latitude, spot.longitude)[0]
    return House(next((one["key"] for one in houses() if one["place"] == near), houses()[0]["key"]))


def roof_of(state: PageState) -> str:
    """The form of the roof in force, as a building's file spells it."""
    return str(_plain_words(state, spot_in_use(state)).get("roof", ""))


def building_words(state: PageState, spot: SpotInUse) -> dict[str, Any]:
    """The building and its place as the table a building's file spells, with what is told of roof and neighbours."""
    words = _plain_words(state, spot)
    elevations = [wall.name for wall in building_from_words(words).building.walls]
    words |= roof_words(state, str(words.get("roof", "")), elevations)  # told here, it counts before a file's
    near = near_told(state, elevations)
    if not near:
        return words
    walls = dict(words.get("wall") or {})
    for name, away in near.items():
        walls[name] = {**walls.get(name, {}), "obstacle_distance": away}
    return words | {"wall": walls}


def _words_of_file(state: PageState, spot: SpotInUse, told: dict[str, Any]) -> dict[str, Any]:
    words = standing_at(told, latitude=spot.latitude, longitude=spot.longitude, name=spot.name)
    if state.ground:
        words["place"] = with_ground(words["place"], _ground_told(state))
    own, mine = dict(words.get("details") or {}), details_of(state)
    return words | {"name": state.name or words.get("name") or "Building", "details": {**own, **mine}}


def _ground_told(state: PageState) -> dict[str, str]:
    return {str(30 * k): GROUND_CODES[code] for k, code in enumerate(state.ground)}


def _plain_words(state: PageState, spot: SpotInUse) -> dict[str, Any]:
    told = house_words(state)
    if told is not None:
        return _words_of_file(state, spot, told)
    choice = house_in_use(state, spot)
    assert not isinstance(choice, HouseFile)
    place: dict[str, Any] = {"name": spot.name, "latitude": spot.latitude, "longitude": spot.longitude}
    if state.ground:
        place["terrain"] = _ground_told(state)
    words: dict[str, Any] = {"name": state.name or "Building", "place": place, "details": details_of(state)}
    if isinstance(choice, House):
        house = next(one for one in houses() if one["key"] == choice.key)
        if _at_home(house, spot):  # the address rounds where it stands
            place |= {"latitude": house["latitude"], "longitude": house["longitude"]}
        shift = (place["longitude"] - house["longitude"], place["latitude"] - house["latitude"])
        corners = [[x + shift[0], y + shift[1]] for x, y in house["corners"]]
        return words | {
            "name": state.name or house["name"],
            "height": house["height"],
            "storeys": house["storeys"],
            "roof": house["roof"],
            **{name: house[name] for name in ROOF_TOLD if name in house},
            "footprint": {"corners": corners},
        }
    words |= {"height": choice.height, "storeys": choice.storeys, "roof": choice.roof}
    if isinstance(choice, Box):
        sizes = {"length": choice.length, "width": choice.width, "bearing": choice.bearing}
        return words | {"footprint": sizes}
    plane = LocalPlane(latitude=spot.latitude, longitude=spot.longitude)
    east, north = zip(*choice.corners, strict=True)
    longitude, latitude = plane.to_crs(np.array(east), np.array(north), crs=DEGREES)
    return words | {"footprint": {"corners": np.column_stack([longitude, latitude]).round(9).tolist()}}


def _at_home(house: dict[str, Any], spot: SpotInUse) -> bool:
    return abs(house["latitude"] - spot.latitude) < HOME and abs(house["longitude"] - spot.longitude) < HOME


def surveyed_building(state: PageState, spot: SpotInUse) -> Surveyed:
    """The building on its surveyed ground: from the invented island's maps there, from the reader's words elsewhere."""
    words = building_words(state, spot)
    choice = house_in_use(state, spot)
    own_house = next(
        (one for one in houses() if isinstance(choice, House) and one["key"] == choice.key), None
    )
    at_home = own_house is not None and _at_home(own_house, spot)
    surveyed = _survey(repr((words, state.beside)), words, spot.invented, at_home, state.beside)
    return neighbours_removed(surveyed) if state.neighbours == "none" else surveyed


@st.cache_resource(max_entries=SURVEYS_KEPT, show_spinner=False)
def _survey(
    text: str, _words: dict[str, Any], on_island: bool, at_home: bool, _beside: tuple[Beside, ...]
) -> Surveyed:
    if on_island:
        return _put_down(_words, at_home=at_home, beside=_beside)
    place = building_from_words(_words).place
    if not _beside or place.footprint is None:
        return survey_building(_words)
    around = neighbours_told(_beside, place.plane, own=place.footprint)
    file = building_from_words(_words, neighbours=around)
    return resurvey(file, ground=None, cover=None, neighbours=around)


def _put_down(words: dict[str, Any], *, at_home: bool, beside: tuple[Beside, ...]) -> Surveyed:
    """A building on the island; what overlaps the outline of one that does not stand there is taken away."""
    maps = demo()
    place = building_from_words(words).place
    if place.footprint is None:  # a list of elevations alone
        return survey_building(words, ground=maps.height, cover=maps.cover)
    if at_home and not beside:
        return survey_building(words, ground=maps.height, cover=maps.cover, neighbours=maps.houses)
    own = place.footprint if at_home else shapely.box(9000, 9000, 9001, 9001)
    around = read_neighbours(maps.houses, place.plane, own=own)
    if not at_home:
        around = around.without(shapely.intersects(around.polygons, place.footprint.buffer(CLEAR)))
    if beside:
        around = around.also(neighbours_told(beside, place.plane, own=place.footprint))
    return resurvey(
        building_from_words(words, neighbours=around),
        ground=read_ground(maps.height, plane=place.plane, reach=RELIEF_REACH * 1.1),
        cover=read_cover(maps.cover, plane=place.plane, reach=COVER_REACH * 1.02),
        neighbours=around,
    )
