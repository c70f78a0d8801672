"""A building assessed from files: its own, the ground, the land cover and the neighbours, in the order they need."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import xarray as xr

from exposure.assess.assessment import Assessment
from exposure.assess.building import assess_building
from exposure.assess.schedules import told_circumstances
from exposure.checks import RefusalError
from exposure.doubts import doubt
from exposure.site.cover import COVER_REACH
from exposure.site.footprint import Neighbours, read_neighbours
from exposure.site.raster import Raster, read_cover, read_ground
from exposure.site.relief import RELIEF_REACH
from exposure.site.survey import PlaceInputs, survey_site, town_sectors
from exposure.wall import Building, Site
from exposure.wall.building_file import read_words
from exposure.wall.building_words import BuildingFile, building_from_words
from exposure.wall.sheltered import sheltered_walls


@dataclass(frozen=True)
class Surveyed:
    """A building on its surveyed site, with what it was surveyed from, so that a what-if need not read again."""

    building: Building
    site: Site
    place: PlaceInputs
    words: Mapping[str, Any]
    ground: Raster | None = None
    cover: Raster | None = None
    neighbours: Neighbours | None = None

    @property
    def flags(self) -> tuple[str, ...]:
        """What was assumed or is doubtful about building, neighbours and site."""
        around = () if self.neighbours is None else self.neighbours.flags
        return tuple(dict.fromkeys([*self.place.notes, *around, *self.site.flags]))


def survey_building(
    path: str | Path | Mapping[str, Any],
    *,
    name: str | None = None,
    ground: str | Path | None = None,
    cover: str | Path | None = None,
    neighbours: str | Path | None = None,
) -> Surveyed:
    """Read a building's file and survey its site.

    Parameters
    ----------
    path
        The building's file (:func:`exposure.wall.building_file.read_building`), or its words as a table.
    name
        Which building, where the file holds several.
    ground, cover
        Rasters of ground height [m] and of land cover (ESA WorldCover classes).
    neighbours
        Vector file of footprints around; the building itself may be among them.

    Raises
    ------
    RefusalError
        For any input that would make the answer wrong.

    Examples
    --------
    >>> house = {
    ...     "name": "House", "height": 5.6, "storeys": 2, "roof": "hip",
    ...     "place": {"latitude": 48.4, "longitude": -29.7, "terrain": "II"},
    ...     "footprint": {"length": 12, "width": 8, "bearing": 90},
    ... }
    >>> found = survey_building(house)
    >>> found.building.walls[0].untold[0].what, found.site.categories[0]
    ('eaves', 'II')
    """
    words = dict(path) if isinstance(path, Mapping) else read_words(path, name=name)
    file = building_from_words(words)
    for wall in file.building.walls:
        told_circumstances(file.building.details, wall.name, file.building)  # nonsense is refused here
    plane = file.place.plane
    around = None
    if neighbours is not None:
        if file.place.footprint is None:
            raise RefusalError(
                f"{file.building.name} has no outline to set among its neighbours",
                "a footprint",
                "Give its corners under [footprint], or leave the neighbours out.",
            )
        around = read_neighbours(neighbours, plane, own=file.place.footprint)
        file = building_from_words(words, neighbours=around)
    return resurvey(
        file,
        ground=None if ground is None else read_ground(ground, plane=plane, reach=RELIEF_REACH * 1.1),
        cover=None if cover is None else read_cover(cover, plane=plane, reach=COVER_REACH * 1.02),
        neighbours=around,
    )


def resurvey(
    file: BuildingFile,
    *,
    ground: Raster | None,
    cover: Raster | None,
    neighbours: Neighbours | None,
    instead: Mapping[int, int] | None = None,
) -> Surveyed:
    """Survey with rasters and neighbours that are in memory already."""
    building, place, words = file
    site = survey_site(
        place,
        height=min(wall.height for wall in building.walls),  # nearest the ground a hill speeds the wind most
        ground=ground,
        cover=cover,
        towns=None if neighbours is None else town_sectors(neighbours),
        instead=instead,
    )
    notes = [*place.notes]
    if neighbours is None:
        notes.append(doubt("site.neighbours_not_told"))
    else:
        walls = sheltered_walls(building.walls, neighbours, plane=place.plane, ground=ground)
        building = replace(building, walls=walls)
        notes.extend(neighbours.flags)
    site = replace(site, flags=tuple(dict.fromkeys([*notes, *site.flags])))
    return Surveyed(building, site, place, words, ground, cover, neighbours)


def assess_file(
    path: str | Path | Mapping[str, Any],
    climate: xr.Dataset | Callable[[Site], xr.Dataset],
    *,
    name: str | None = None,
    ground: str | Path | None = None,
    cover: str | Path | None = None,
    neighbours: str | Path | None = None,
    wet_hour: float | None = None,
    nearby: Sequence[xr.Dataset] = (),
) -> tuple[Assessment, Surveyed]:
    """One building from its file to its assessment.

    Parameters
    ----------
    climate
        An hourly record, or a function that gives one for the site (a grid's nearest cell).
    nearby
        See :func:`exposure.assess.assess_building`; the rest as :func:`survey_building`.
    """
    surveyed = survey_building(path, name=name, ground=ground, cover=cover, neighbours=neighbours)
    record = climate(surveyed.site) if callable(climate) else climate
    return assess_building(
        record, surveyed.building, surveyed.site, wet_hour=wet_hour, nearby=nearby
    ), surveyed
