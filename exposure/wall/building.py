"""A building and its elevations (the faces of the building)."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import cos, hypot, inf, radians, sin

from exposure.checks import RefusalError, check_between
from exposure.rain.orientation import COMPASS
from exposure.site.sector import View
from exposure.tables import load_table

OUTSIDE_TABLE = "outside the table"
HIGHEST = 220.0  # m; no wall or ridge is taken higher
STEEP = 45.0  # degrees of pitch, taken where none is told; our choice
EAVES, GABLE = "eaves", "gable"  # how a wall ends under a pitched roof


def compass_name(orientation: float) -> str:
    """Name of the compass point nearest to ``orientation``.

    Examples
    --------
    >>> compass_name(236)
    'south-west'
    """
    return COMPASS[round(orientation / 45) % 8]


def wall_shapes() -> list[str]:
    """The six kinds of wall the wall-factor table knows."""
    return list(dict.fromkeys(row["shape"] for row in load_table("wall_factor")["row"]))


@dataclass(frozen=True)
class Untold:
    """Something of an elevation that nobody told: what was taken instead, and what the elevation would be if told.

    Parameters
    ----------
    what
        ``eaves``, ``roof``, ``ridges``, ``ridge height`` or ``shape``.
    taken
        What was taken, the harder side, in a few words.
    answers
        Words of each answer that could be given, and the elevation as it would then be; empty where that is
        no longer known (a result read back).
    """

    what: str
    taken: str
    answers: tuple[tuple[str, "Wall"], ...] = ()


@dataclass(frozen=True)
class Wall:
    """One elevation.

    Parameters
    ----------
    name
        E.g. ``south-west``; unique in its building.
    orientation
        Direction it faces, its outward normal, clockwise from true north. [degree]
    length
        Along the ground. [m]
    height
        Of its top above the ground; of a gable, its ridge. [m]
    shape
        One of :func:`wall_shapes`, or ``outside the table`` with ``wall_factor`` chosen by the user.
    wall_factor
        The user's own value for a wall outside the table. [1]
    obstacle_distance
        To the nearest obstacle that counts as shelter, None when there is none. [m]
    start, end
        Its corners seen from outside, left then right (counter-clockwise round the building),
        metres east and north of a point of the building's own.
    flags
        Doubts, as sentences.
    view
        What stands in front of it, where the neighbours were looked at.
    eaves_height
        Where a gable's slopes begin, above the ground; None for a wall that is as tall all along. [m]
    factor_reason
        Why its wall factor is neither the table's nor the user's own choice; empty where it is one of these.
    untold
        What nobody told of it.

    Examples
    --------
    >>> Wall(name="south-west", orientation=225, length=9, height=6, shape="two-storey gable").orientation
    225.0
    """

    name: str
    orientation: float
    length: float
    height: float
    shape: str = "two-storey gable"
    wall_factor: float | None = None
    obstacle_distance: float | None = None
    start: tuple[float, float] | None = None
    end: tuple[float, float] | None = None
    flags: tuple[str, ...] = field(default=())
    view: View | None = None
    eaves_height: float | None = None
    factor_reason: str = ""
    untold: tuple[Untold, ...] = field(default=(), repr=False)

    def __post_init__(self) -> None:
        turn = check_between(self.orientation, f"orientation of {self.name}", -360, 720, "degrees") % 360.0
        object.__setattr__(self, "orientation", turn)
        for name, low, high in (("length", 0.1, 2000), ("height", 0.5, HIGHEST)):
            size = check_between(getattr(self, name), f"{name} of {self.name}", low, high, "m")
            object.__setattr__(self, name, size)
        if self.shape == OUTSIDE_TABLE and self.wall_factor is None:
            object.__setattr__(self, "wall_factor", 0.5)
        if self.wall_factor is not None:
            check_between(self.wall_factor, f"wall factor of {self.name}", 0, 1, "")
        elif self.shape not in wall_shapes():
            raise RefusalError(
                f"wall shape {self.shape!r}",
                f"one of {', '.join(wall_shapes())}, or {OUTSIDE_TABLE}",
                "Correct the shape of the wall.",
            )
        if self.eaves_height is not None:
            check_between(self.eaves_height, f"eaves height of {self.name}", 0.3, self.height, "m")

    def otherwise(self, change: Callable[["Wall"], "Wall"]) -> "Wall":
        """Return the same wall with ``change`` made to each answer of what was not told."""
        untold = tuple(
            replace(one, answers=tuple((words, change(other)) for words, other in one.answers))
            for one in self.untold
        )
        return replace(self, untold=untold)

    @property
    def tops(self) -> tuple[str, ...]:
        """How the wall may end under its roof: ``eaves``, ``gable``, or both where nobody told, and under a flat roof.

        Examples
        --------
        >>> Wall(name="east", orientation=90, length=8, height=9, eaves_height=5).tops
        ('gable',)
        """
        untold = any(one.what in ("roof", "ridges", "shape") for one in self.untold)
        own_factor = self.wall_factor is not None and not self.factor_reason  # its shape may be anything
        if EAVES in self.shape:
            return (EAVES,)
        if untold or own_factor or "flat" in self.shape:
            return (EAVES, GABLE)
        return (GABLE,) if GABLE in self.shape or self.eaves_height is not None else (EAVES,)

    @property
    def area(self) -> float:
        """Of the wall, its gable as a triangle where the height of the eaves is known. [m2]

        Examples
        --------
        >>> Wall(name="east", orientation=90, length=8, height=9, eaves_height=5).area
        56.0
        """
        eaves = self.height if self.eaves_height is None else self.eaves_height
        return self.length * (eaves + self.height) / 2


@dataclass(frozen=True)
class Building:
    """A named building and its elevations.

    ``details`` holds what the detail schedule needs beyond exposure (wall type, window position, eaves ...),
    as read from the building's file; :mod:`exposure.detail` checks and uses it.
    """

    name: str
    walls: tuple[Wall, ...]
    storeys: int = 2
    details: Mapping[str, object] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "walls", tuple(self.walls))
        names = [wall.name for wall in self.walls]
        if not names or len(set(names)) != len(names):
            raise RefusalError(
                f"elevations named {names}", "one or more elevations, each with its own name", "Rename them."
            )


def nearest_wall(walls: Sequence[Wall], point: Sequence[float]) -> tuple[Wall, float]:
    """The elevation nearest to a point of the building's plane, and how far it is. [m]

    Elevations without corners are left out.

    Examples
    --------
    >>> house = box_building(name="House", length=12, width=8, bearing=90, height=6)
    >>> wall, away = nearest_wall(house.walls, (2.0, -3.8))
    >>> wall.name, round(away, 3)
    ('south', 0.2)
    """

    def away(wall: Wall) -> float:
        if wall.start is None or wall.end is None:
            return inf
        run = (wall.end[0] - wall.start[0], wall.end[1] - wall.start[1])
        to = (point[0] - wall.start[0], point[1] - wall.start[1])
        share = min(max((to[0] * run[0] + to[1] * run[1]) / max(run[0] ** 2 + run[1] ** 2, 1e-12), 0.0), 1.0)
        return hypot(to[0] - share * run[0], to[1] - share * run[1])

    best = min(walls, key=away)
    return best, away(best)


def box_building(
    *,
    name: str,
    length: float,
    width: float,
    bearing: float,
    height: float,
    storeys: int = 2,
) -> Building:
    """A rectangular house from its length, width and the bearing of its long side.

    The long sides are eaves walls, the short ends gables.

    Examples
    --------
    >>> house = box_building(name="House", length=12, width=8, bearing=45, height=6)
    >>> [(wall.name, wall.orientation, wall.length) for wall in house.walls]
    [('south-east', 135.0, 12.0), ('south-west', 225.0, 8.0), ('north-west', 315.0, 12.0), ('north-east', 45.0, 8.0)]
    """
    count = "three" if storeys >= 3 else "two"
    ends = f"{count}-storey gable"
    along = (sin(radians(bearing)), cos(radians(bearing)))
    right = (sin(radians(bearing + 90)), cos(radians(bearing + 90)))

    def corner(forward: float, sideways: float) -> tuple[float, float]:
        return (
            forward * length / 2 * along[0] + sideways * width / 2 * right[0],
            forward * length / 2 * along[1] + sideways * width / 2 * right[1],
        )

    corners = [corner(-1, 1), corner(1, 1), corner(1, -1), corner(-1, -1)]  # counter-clockwise
    faces = [
        (bearing + 90, length, f"{count}-storey eaves wall", corners[0], corners[1]),
        (bearing + 180, width, ends, corners[3], corners[0]),
        (bearing + 270, length, f"{count}-storey eaves wall", corners[2], corners[3]),
        (bearing, width, ends, corners[1], corners[2]),
    ]
    return Building(
        name,
        tuple(
            Wall(
                name=compass_name(facing % 360),
                orientation=facing,
                length=size,
                height=height,
                shape=shape,
                start=start,
                end=end,
            )
            for facing, size, shape, start, end in faces
        ),
        storeys,
    )
