"""What was found around a building: ground and hill of each sector of thirty degrees, and each wall's view."""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class SectorGround:
    """Terrain category of a sector and why.

    Parameters
    ----------
    bearing
        Middle of the sector. [degree]
    category
        I to IV.
    shares
        Share of the ground within 1 km by what it is (``trees``, ``open water``, ...).
    open_water
        Share of the sector within 2 km that is open water.
    sea_distance
        To open water in this sector; None when none was found. [m]
    known
        Share of the sector within 1 km that the raster tells.
    reach
        How far the raster tells along the middle of the sector. [m]
    reason
        One sentence.
    """

    bearing: float
    category: str
    shares: Mapping[str, float]
    open_water: float
    sea_distance: float | None
    known: float
    reason: str
    reach: float = float("inf")


@dataclass(frozen=True)
class SectorHill:
    """Hill, ridge or escarpment that a sector's wind meets, by the terms of the standard.

    Parameters
    ----------
    bearing
        Of the profile that governs. [degree]
    coefficient
        Topography coefficient at the building. [1]
    shape
        ``flat``, ``hill``, ``ridge`` or ``escarpment``.
    slope, rise, upwind_length, downwind_length
        Of the feature. [1, m, m, m]
    position
        Of the building downwind of the crest; negative before it. [m]
    shape_factor
        s, 0 to 1.
    along, ground
        The profile: metres downwind of the building (negative: upwind), and ground height. [m]
    foot, crest
        Where along the profile they lie. [m]
    """

    bearing: float
    coefficient: float = 1.0
    shape: str = "flat"
    slope: float = 0.0
    rise: float = 0.0
    upwind_length: float = 0.0
    downwind_length: float = 0.0
    position: float = 0.0
    shape_factor: float = 0.0
    along: tuple[float, ...] = field(default=(), repr=False)
    ground: tuple[float, ...] = field(default=(), repr=False)
    foot: float | None = None
    crest: float | None = None

    @property
    def in_words(self) -> str:
        """One line for a reader.

        Examples
        --------
        >>> SectorHill(240.0).in_words
        'flat'
        """
        if self.shape == "flat":
            return "flat"
        where = (
            "at the crest"
            if abs(self.position) < 1
            else (f"{abs(self.position):.0f} m {'behind' if self.position > 0 else 'before'} the crest")
        )
        return f"{self.shape}, {self.rise:.0f} m rise, slope 1 in {1 / self.slope:.0f}, {where}"


@dataclass(frozen=True)
class View:
    """What stands in front of one elevation.

    Parameters
    ----------
    nearest
        Distance in front of the wall to the nearest obstacle as tall as the wall, however small. [m]
    filled
        Share of the view that such obstacles fill within 120 m.
    distance
        At which they have filled half the view; None when they never do, or shelter is not allowed. [m]
    street, rows
        Wind may be led along a street to the wall; the neighbours are rows of similar buildings.
    reason
        For the reader.
    rays
        For the picture: start and end of each ray from the middle of the wall, and whether it was stopped.
    """

    nearest: float | None
    filled: float
    distance: float | None
    street: bool
    rows: bool
    reason: str
    rays: tuple[tuple[float, float, float, float, bool], ...] = ()
