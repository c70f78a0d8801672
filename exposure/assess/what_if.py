"""What would change the figures: neighbours pulled down, eaves widened, a storey more, trees felled, half an estate."""

from dataclasses import replace
from typing import NamedTuple

import numpy as np
import xarray as xr

from exposure.assess.assessment import Assessment
from exposure.assess.building import assess_building
from exposure.assess.from_files import Surveyed, resurvey
from exposure.site.cover import TREES
from exposure.site.footprint import STOREY
from exposure.site.shelter import FAR
from exposure.wall.building import OUTSIDE_TABLE, Building, Wall
from exposure.wall.building_words import BuildingFile
from exposure.wall.eaves import with_overhang
from exposure.wall.roof import wall_shape

GRASS = 30
HEDGE = "A hedge or trees are never counted as shelter: they are cut, die and let wind through."


class Change(NamedTuple):
    """One elevation before and after."""

    name: str
    before: float  # wall spell index [L m-2]
    after: float
    class_before: str
    class_after: str


def neighbours_removed(surveyed: Surveyed) -> Surveyed:
    """All neighbours pulled down; where no neighbours were read, the given obstacle distances are dropped."""

    def bare(wall: Wall) -> Wall:
        return replace(wall, obstacle_distance=None, view=None)

    walls = tuple(bare(wall).otherwise(bare) for wall in surveyed.building.walls)
    return replace(surveyed, building=replace(surveyed.building, walls=walls))


def eaves_changed(surveyed: Surveyed, *, overhang: float) -> Surveyed:
    """Eaves that reach out by ``overhang`` mm on every eaves wall.

    The table knows about 350 mm and nothing else: less is outside it (0.5), more is credited no further.
    """
    walls = tuple(with_overhang(wall, overhang) for wall in surveyed.building.walls)
    return replace(surveyed, building=replace(surveyed.building, walls=walls))


def storey_added(surveyed: Surveyed) -> Surveyed:
    """One storey more: taller walls, the next row of the wall-factor table, and fewer neighbours as tall."""
    building = surveyed.building
    storeys = building.storeys + 1

    def taller_wall(wall: Wall) -> Wall:
        return replace(
            _seen_anew(wall),
            height=wall.height + STOREY,
            eaves_height=None if wall.eaves_height is None else wall.eaves_height + STOREY,
            shape=_taller(wall.shape, storeys),
        )

    walls = tuple(taller_wall(wall).otherwise(taller_wall) for wall in building.walls)
    taller = Building(building.name, walls, storeys, building.details)
    return _again(surveyed, taller)


def trees_felled(surveyed: Surveyed) -> Surveyed:
    """The trees of the land cover read as grass."""
    return _again(surveyed, surveyed.building, instead={TREES: GRASS})


def estate_half_built(surveyed: Surveyed, *, share: float = 0.5, seed: int = 1) -> Surveyed:
    """``share`` of the neighbours not built yet, drawn with a fixed seed."""
    if surveyed.neighbours is None:
        return surveyed
    gone = np.random.default_rng(seed).random(surveyed.neighbours.polygons.size) < share
    walls = tuple(_seen_anew(wall).otherwise(_seen_anew) for wall in surveyed.building.walls)
    return _again(
        replace(surveyed, neighbours=surveyed.neighbours.without(gone)),
        replace(surveyed.building, walls=walls),
    )


def changes(
    climate: xr.Dataset, before: Assessment, after: Surveyed, *, wet_hour: float | None = None
) -> list[Change]:
    """Each elevation's wall spell index and class before and after, the hardest afterwards first."""
    then = assess_building(climate, after.building, after.site, wet_hour=wet_hour)
    now = {one.wall.name: one for one in before.elevations}
    return [
        Change(
            one.wall.name,
            now[one.wall.name].wall_spell_index,
            one.wall_spell_index,
            now[one.wall.name].exposure_class,
            one.exposure_class,
        )
        for one in then.elevations
        if one.wall.name in now
    ]


def what_ifs(surveyed: Surveyed) -> dict[str, Surveyed]:
    """The what-ifs that mean something for this building, by their words."""
    found: dict[str, Surveyed] = {}
    if any(
        wall.obstacle_distance is not None and wall.obstacle_distance < FAR
        for wall in surveyed.building.walls
    ):
        found["the neighbours pulled down"] = neighbours_removed(surveyed)
    if surveyed.neighbours is not None and surveyed.neighbours.polygons.size:
        found["half the neighbours not built yet"] = estate_half_built(surveyed)
    if surveyed.cover is not None:
        found["the trees felled"] = trees_felled(surveyed)
    if any("eaves" in wall.shape for wall in surveyed.building.walls):
        found["eaves cut back to 100 mm"] = eaves_changed(surveyed, overhang=100)
    found["one storey more"] = storey_added(surveyed)
    return found


def _seen_anew(wall: Wall) -> Wall:
    """``wall`` without what its neighbours gave it, so that they are looked at again."""
    return wall if wall.view is None else replace(wall, obstacle_distance=None)


def _taller(shape: str, storeys: int) -> str:
    if shape == OUTSIDE_TABLE:
        return shape
    roof = "flat" if "flat roof" in shape else "gable"
    return wall_shape(storeys=storeys, roof=roof, gable_end="gable" in shape)


def _again(surveyed: Surveyed, building: Building, *, instead: dict[int, int] | None = None) -> Surveyed:
    file = BuildingFile(building, surveyed.place, dict(surveyed.words))
    return resurvey(
        file,
        ground=surveyed.ground,
        cover=surveyed.cover,
        neighbours=surveyed.neighbours,
        instead=instead,
    )
