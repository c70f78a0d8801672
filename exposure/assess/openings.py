"""Each line of the openings list against its own elevation: the class to order, whether the offer does, what it needs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from exposure.assess.details_parts import BuildingDetails
from exposure.assess.table_text import csv_text
from exposure.checks import RefusalError, check_between
from exposure.detail.materials import ITEMS
from exposure.detail.openings import MOST_OPENINGS, Opening
from exposure.detail.take_off import OpeningTakeOff, opening_take_off
from exposure.detail.window_class import grooved
from exposure.site.plane import DEGREES, LocalPlane
from exposure.site.site_list import one_line
from exposure.wall import Wall
from exposure.wall.building import nearest_wall

IN_WALL = 2.0  # m; an opening farther from every elevation stands in a wall that is left out
TAKEN = tuple(one for one in ITEMS if one.field in OpeningTakeOff._fields)
CSV_COLUMNS = (
    "elevation",
    "opening",
    "width mm",
    "height mm",
    "count",
    "class to order",
    "never below",
    "gust Pa",
    "hourly mean Pa",
    "offered, rated Pa",
    "offer does",
    "groove for the cover",
    *(one.head for one in TAKEN),
)


@dataclass(frozen=True)
class OpeningOrder:
    """Openings of one size on one elevation: what to order for them, and what they add to the take-off."""

    opening: Opening
    to_order: str  # class that holds in the gust
    never_below: str | None  # class that holds in the hourly mean, where the record can say so
    gust: float  # Pa
    mean: float  # Pa
    rated: float | None  # Pa, of this line, else of the window looked at
    amounts: OpeningTakeOff
    groove: bool = False  # whether the frame needs one for a metal cover or sill over the cavity

    @property
    def does(self) -> bool | None:
        """Whether the product offered is tight to the gust; none while its rating is not known."""
        return None if self.rated is None else self.rated >= self.gust

    @property
    def verdict(self) -> str:
        """The same in words."""
        if self.rated is None:
            return "rating not known"
        if self.rated >= self.gust:
            return "does"
        return "not for the gust" if self.rated >= self.mean else "not even for the hourly mean"

    @property
    def kind(self) -> str:
        """Window or door, with its name where a model tells one."""
        kind = "door, level" if self.opening.level else "door" if self.opening.door else "window"
        return f"{kind} {self.opening.name}".rstrip()


def opening_orders(
    details: BuildingDetails, openings: Sequence[Opening], *, rating: float | None = None
) -> tuple[OpeningOrder, ...]:
    """What to order for each line of the openings list, in its order.

    Parameters
    ----------
    rating
        Pressure the window looked at was tested to, for lines that name none. [Pa]

    Raises
    ------
    LookupError
        For an elevation the building does not have; see :func:`check_openings`.
    """
    found = []
    for opening in openings:
        one = details.of(opening.elevation)
        order = one.window
        found.append(
            OpeningOrder(
                opening,
                order.to_order,
                order.never_below,
                order.pressure,
                order.mean_pressure,
                rating if opening.rated is None else opening.rated,
                opening_take_off(opening, one.schedule),
                grooved({line.key: line.build for line in one.schedule.lines}, door=opening.door),
            )
        )
    return tuple(found)


def openings_of_model(
    words: Mapping[str, Any], walls: Sequence[Wall], plane: LocalPlane
) -> tuple[Opening, ...]:
    """Windows and doors that a model tells, each on the elevation nearest to it; none where it tells none.

    Parameters
    ----------
    words
        The building's file as a table; ``openings`` holds of each where it stands (longitude, latitude), width and
        height [mm], whether it is a door, and its name.
    plane
        Of the walls' corners.

    Raises
    ------
    RefusalError
        For an opening that cannot be, or one in a wall that is left out.
    """
    found = []
    given = words.get("openings") or ()
    try:
        for one in given[:MOST_OPENINGS]:
            longitude, latitude = (
                check_between(value, "place of an opening", -180, 360, "degrees") for value in one["at"]
            )
            point = [float(value) for value in plane.to_metres(longitude, latitude, crs=DEGREES)]
            wall, away = nearest_wall(walls, point)
            width, height = (
                check_between(one[key], f"{key} of an opening", 100, 20_000, "mm")
                for key in ("width", "height")
            )
            name = one_line(one.get("name"))[:60]
            if away > IN_WALL:
                raise RefusalError(
                    f"the opening {name!r} stands {away:.1f} m from every elevation",
                    "openings in walls open to the weather",
                    "Give the openings as a list of your own.",
                )
            found.append(Opening(wall.name, width, height, door=one.get("door") is True, name=name))
    except RefusalError:
        raise
    except (AttributeError, KeyError, TypeError, ValueError) as error:
        raise RefusalError(
            "the openings of the building cannot be read", "openings as a model tells them", "Leave them out."
        ) from error
    return tuple(found)


def check_openings(openings: Sequence[Opening], walls: Sequence[Wall]) -> None:
    """Stop unless every opening stands on a wall that has room for it.

    Raises
    ------
    RefusalError
        For an elevation the building does not have, an opening larger than its wall, or too many of them.
    """
    by_name = {wall.name: wall for wall in walls}
    holes = dict.fromkeys(by_name, 0.0)
    for one in openings:
        wall = by_name.get(one.elevation)
        if wall is None:
            raise RefusalError(
                f"an opening on an elevation called {one.elevation[:60]!r}",
                f"one of {', '.join(by_name)}",
                "Correct the openings list.",
            )
        if one.width > 1000 * wall.length or one.height > 1000 * wall.height:
            raise RefusalError(
                f"an opening of {one.width:g} by {one.height:g} mm on the {wall.name} elevation, "
                f"{wall.length:.1f} by {wall.height:.1f} m",
                "openings smaller than their wall",
                "Correct the openings list; its sizes are width and height in millimetres.",
            )
        holes[wall.name] += one.width * one.height * one.count / 1e6
        if holes[wall.name] > wall.area:
            raise RefusalError(
                f"{holes[wall.name]:.0f} m2 of openings on the {wall.name} elevation of {wall.area:.0f} m2",
                "openings smaller than their wall",
                "Correct the openings list; its sizes are in millimetres.",
            )


def openings_csv(orders: Sequence[OpeningOrder]) -> str:
    """The orders as a table for a spreadsheet, one row each, with a heading row."""
    rows = [
        [
            one.opening.elevation,
            one.kind,
            f"{one.opening.width:g}",
            f"{one.opening.height:g}",
            one.opening.count,
            one.to_order,
            one.never_below or "",
            f"{one.gust:.0f}",
            f"{one.mean:.0f}",
            "" if one.rated is None else f"{one.rated:g}",
            one.verdict,
            "yes" if one.groove else "no",
            *(f"{getattr(one.amounts, item.field):.{0 if item.unit == 'piece' else 1}f}" for item in TAKEN),
        ]
        for one in orders
    ]
    return csv_text([CSV_COLUMNS, *rows])
