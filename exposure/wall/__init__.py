"""The building's elevations, and the airfield index times four factors: the wall index and its class."""

from exposure.site.place import Site
from exposure.wall.building import Building, Wall
from exposure.wall.index import Factor, WallExposure

__all__ = ["Building", "Factor", "Site", "Wall", "WallExposure"]
