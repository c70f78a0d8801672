"""What the reader chose, as one frozen value that travels in the address bar.

Derived from all three questions: an answer that cannot be sent to a colleague, or found again with the back
button, is asked twice. Everything that changes an answer stands here and only here; what is too large or too
private for an address (a weather file, a drawn outline of many corners) stays in the session and is named here
by a short mark, so that the page can say that it is missing.

How they are written in the address stands in :mod:`exposure.page.choices.query`.
"""

import re
from dataclasses import dataclass, field, replace
from typing import NamedTuple

VIEWS = {"desk": "Desk", "compare": "Compare", "town": "Town", "site": "On site", "print": "Print"}
PARTS = {  # under the answer, one open at a time
    "build": "All there is to build",
    "place": "The place",
    "why": "Why these figures",
    "work": "Work on site",
    "windows": "Windows and doors",
}
CHIPS = (
    "eaves",
    "roof",
    "ground",
    "neighbours",
    "openings",
    "record",
    "built",
)  # what is assumed, beside the answer
MEASURES = {"year": "A year", "spell": "Worst spell"}
NEIGHBOURS = {"mapped": "as mapped", "none": "taken away"}
LONGEST_NAME = 80
LONGEST_SPOT_NAME = 40
MOST_CORNERS = 40
MOST_PLACES = 6
MOST_BESIDE = 8
MOST_DETAILS = 120
MOST_OFFICE_RULES = 3
WORST = "worst"
ROOFS = ("gable", "hip", "flat")
INVENTED_TOWN = "invented"
TERRAINS = ("I", "II", "III", "IV")
SQUARES = (100.0, 250.0, 500.0, 1000.0)  # m, sides of squares that shares of a town are told of


@dataclass(frozen=True)
class House:
    """One of the invented houses, where it stands, by its key."""

    key: str


@dataclass(frozen=True)
class Box:
    """A rectangular building by its sizes. [m, degree]"""

    length: float = 12.0
    width: float = 8.0
    bearing: float = 45.0
    height: float = 6.0
    storeys: int = 2
    roof: str = "gable"


@dataclass(frozen=True)
class Outline:
    """A drawn or uploaded plan: corners in metres east and north of the place."""

    corners: tuple[tuple[float, float], ...]
    height: float = 6.0
    storeys: int = 2
    roof: str = "gable"


@dataclass(frozen=True)
class HouseFile:
    """A building's file opened in this session, by its mark."""

    mark: str


BuildingChoice = House | Box | Outline | HouseFile


class NamedSpot(NamedTuple):
    """A place to compare, in degrees; without a name it is called by what lies near."""

    latitude: float
    longitude: float
    name: str = ""


class Beside(NamedTuple):
    """A building beside the house: its middle in degrees, corners in metres east and north of it, its height in metres."""

    latitude: float
    longitude: float
    corners: tuple[tuple[float, float], ...]
    height: float


@dataclass(frozen=True)
class PageState:
    """Every choice that changes what the page says."""

    view: str = "desk"
    open: str = ""  # the one part, or the one assumption, that is open
    row: str = ""  # place of the schedule shown
    at: tuple[float, float] | None = None  # latitude, longitude; none: the first invented place
    place_name: str = ""  # the reader's name for the place
    record: str = "invented"  # or the short mark of a record in this session
    building: BuildingChoice | None = None  # none: the invented house at the place
    name: str = ""  # the reader's name for the building
    elevation: str = ""  # empty: the worst
    measure: str = "year"
    facing: str = WORST  # or a whole number of degrees
    ground: str = ""  # empty: as mapped; or twelve digits 1 to 4, from north clockwise
    neighbours: str = "mapped"
    beside: tuple[Beside, ...] = ()  # buildings the reader drew or typed
    details: tuple[tuple[str, str], ...] = ()  # answers about how it is built, and the local rules asked
    openings: str = ""  # short mark of an openings list in this session
    prices: str = ""  # short mark of a price file in this session
    office: tuple[str, ...] = ()  # short marks of rules of the reader's office in this session
    rating: float | None = None  # what the window looked at was tested to [Pa]
    bare_from: str = ""  # month and day, mm-dd
    bare_weeks: int = 4
    places: tuple["NamedSpot", ...] = ()  # to compare; empty: the named ones
    reference: str = "two-storey gable"  # the wall put on every place
    compare_files: tuple[str, ...] = ()  # short marks of files for the comparison in this session
    grid_kind: str = ""  # kind of record of the grid among them; empty: as it says
    grid_rain: str = ""  # how its rain adds up; empty: as it says
    grid_rows: str = ""  # which of its members
    town: str = ""  # the invented one, or the short mark of footprints in this session; empty: none yet
    town_areas: str = ""  # short mark of districts in this session
    town_squares: float = 0.0  # side of squares to sum walls over [m]; none: the whole alone
    town_height: float | None = None  # of buildings that tell none [m]
    town_column: str = ""  # the property that holds the height
    town_weight: str = ""  # the property to sum buildings by
    town_ground: str = ""  # terrain category of buildings that tell none
    turn: int = field(default=0, compare=False)  # how often the reader went back or forward in this session
    notes: tuple[str, ...] = field(default=(), compare=False)  # what the address held wrongly

    def with_(self, **changes: object) -> "PageState":
        """The same choices but for ``changes``; doubts about the address are not carried on."""
        return replace(self, notes=(), **changes)  # type: ignore[arg-type]  # a name that is no field raises


def key_of(name: str) -> str:
    """A name as the address carries it.

    Examples
    --------
    >>> key_of("Ness Light Cottage")
    'ness-light-cottage'
    """
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")


def plain_file_name(name: str, *, instead: str) -> str:
    """A name to keep a file under that holds nothing but letters, figures and plain signs; ``instead`` where none is left.

    Examples
    --------
    >>> plain_file_name("../my town;$(x).gpkg", instead="footprints")
    'my_town_x_.gpkg'
    >>> plain_file_name("..", instead="footprints")
    'footprints'
    """
    return re.sub(r"[^\w.-]+", "_", name, flags=re.ASCII).strip("._- ")[-60:].lstrip("._-") or instead


def short_name(text: str, longest: int = LONGEST_NAME) -> str:
    """``text`` as one printable line of at most ``longest`` characters.

    Control characters and marks that turn the reading direction go: they could make a label say something else.

    Examples
    --------
    >>> short_name("  Wrack" + chr(10) + "House " + chr(0x202E) + "x")
    'Wrack House x'
    """
    plain = "".join(" " if char.isspace() else char for char in text[: longest * 4])
    kept = "".join(char for char in plain if char.isprintable())
    line = re.sub(" +", " ", kept).strip()
    return line if len(line) <= longest else line[: longest - 1].rstrip() + "…"
