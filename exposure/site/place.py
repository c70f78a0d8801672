"""A site: where it is, and its ground and hills by the sector the wind comes from."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from exposure.checks import RefusalError, check_between
from exposure.rain.hour import TERRAIN_SECTORS
from exposure.site.sector import SectorGround, SectorHill
from exposure.tables import load_table


@dataclass(frozen=True)
class Site:
    """The place a building stands on.

    Parameters
    ----------
    name
        What people call it.
    latitude, longitude
        Of the building. [degree]
    terrain
        Terrain category for each of twelve sectors centred on 0, 30, ... 330; one string means all alike.
    topography
        Topography coefficient for each sector; one number means all alike. [1]
    ground_height
        Height of the ground above the sea, where known. [m]
    sea_distance
        To the sea, where known. [m]
    flags
        Doubts about the ground or the hills, as sentences.
    untold
        Sectors whose ground nobody told (``terrain``) and whose hills nobody told (``hills``), by number.
    grounds, hills
        What was found in each of the twelve sectors, where rasters were read; for sheets and pictures.

    Examples
    --------
    >>> Site(name="Open field", latitude=-41.3, longitude=12.1, terrain="II").terrain[3]
    'II'
    """

    name: str
    latitude: float
    longitude: float
    terrain: tuple[str, ...] | str = "II"
    topography: tuple[float, ...] | float = 1.0
    ground_height: float | None = None
    sea_distance: float | None = None
    flags: tuple[str, ...] = field(default=())
    grounds: tuple[SectorGround, ...] = field(default=(), repr=False)
    hills: tuple[SectorHill, ...] = field(default=(), repr=False)
    untold: Mapping[str, tuple[int, ...]] = field(default_factory=dict, repr=False)

    def __post_init__(self) -> None:
        check_between(self.latitude, "latitude", -90, 90, "degrees")
        check_between(self.longitude, "longitude", -180, 360, "degrees")
        terrain = (self.terrain,) * TERRAIN_SECTORS if isinstance(self.terrain, str) else tuple(self.terrain)
        hills = self.topography
        hills = (
            (float(hills),) * TERRAIN_SECTORS if isinstance(hills, int | float) else tuple(map(float, hills))
        )
        if len(terrain) != TERRAIN_SECTORS or len(hills) != TERRAIN_SECTORS:
            raise RefusalError(
                f"{len(terrain)} terrain categories and {len(hills)} topography coefficients",
                "twelve of each, for sectors centred on 0, 30, ... 330",
                "Give twelve, or one for all.",
            )
        known = [row["category"] for row in load_table("terrain")["row"]]
        for category in terrain:
            if category not in known:
                raise RefusalError(
                    f"terrain category {category!r}", f"one of {', '.join(known)}", "Correct the site."
                )
        for value in hills:
            check_between(value, "topography coefficient", 1, 1.6, "")
        object.__setattr__(self, "terrain", terrain)
        object.__setattr__(self, "topography", hills)

    @property
    def categories(self) -> tuple[str, ...]:
        """Terrain category of each of the twelve sectors."""
        return tuple(self.terrain)

    @property
    def hill_coefficients(self) -> tuple[float, ...]:
        """Topography coefficient of each of the twelve sectors."""
        assert isinstance(self.topography, tuple)  # set so when made
        return self.topography
