"""The choices as the words of an address, and read back from one.

Derived from all three questions: an address is sent to a colleague, kept, and typed wrongly. It is input like any
other: what it holds wrongly is left out and told in a sentence, never obeyed.
"""

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields

from exposure.climate.request import KINDS, RAIN_RULES
from exposure.page.choices.state import (
    CHIPS,
    INVENTED_TOWN,
    LONGEST_NAME,
    LONGEST_SPOT_NAME,
    MEASURES,
    MOST_BESIDE,
    MOST_CORNERS,
    MOST_DETAILS,
    MOST_OFFICE_RULES,
    MOST_PLACES,
    NEIGHBOURS,
    PARTS,
    ROOFS,
    SQUARES,
    TERRAINS,
    VIEWS,
    WORST,
    Beside,
    Box,
    BuildingChoice,
    House,
    HouseFile,
    NamedSpot,
    Outline,
    PageState,
    short_name,
)
from exposure.page.work.compare_work import FILES
from exposure.wall.building import wall_shapes


def to_query(state: PageState) -> dict[str, str]:
    """The address's parameters for ``state``; what stands at its usual value is left out.

    Examples
    --------
    >>> to_query(PageState(view="site", at=(-41.32, -12.08), elevation="south-west"))
    {'view': 'site', 'at': '-41.32,-12.08', 'e': 'south-west'}
    """
    usual = PageState()
    query = {}
    for key, (name, _, write) in _PARTS.items():
        value = getattr(state, name)
        if value != getattr(usual, name):
            query[key] = write(value)
    return query


def from_query(query: Mapping[str, str]) -> PageState:
    """The choices an address holds; each part that cannot be read is left out and noted.

    Examples
    --------
    >>> from_query({"at": "-41.32,-12.08", "view": "site"}).at
    (-41.32, -12.08)
    >>> from_query({"at": "here"}).notes
    ('The address held a place that cannot be read; it was left out.',)
    """
    found: dict[str, object] = {}
    notes = []
    for key, (name, read, _) in _PARTS.items():
        if key not in query:
            continue
        try:
            found[name] = read(str(query[key]))
        except (ValueError, KeyError, OverflowError):
            notes.append(f"The address held {_MEANING[name]} that cannot be read; it was left out.")
    return PageState(**found, notes=tuple(notes))  # type: ignore[arg-type]  # _PARTS reads each to its type


def _number(text: str, low: float, high: float) -> float:
    if len(text) > 12 or not re.fullmatch(r"-?\d+(\.\d+)?", text):
        raise ValueError(text)
    value = float(text)
    if not low <= value <= high or not math.isfinite(value):
        raise ValueError(text)
    return value


def _plain(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def _one_of(known: Iterable[str]) -> Callable[[str], str]:
    allowed = frozenset(known)

    def read(text: str) -> str:
        if text not in allowed:
            raise ValueError(text)
        return text

    return read


def _matching(pattern: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        if len(text) > LONGEST_NAME or not re.fullmatch(pattern, text):
            raise ValueError(text)
        return text

    return read


def _read_point(text: str) -> tuple[float, float]:
    latitude, longitude = text.split(",")
    return _number(latitude, -90, 90), _number(longitude, -180, 360)


def _write_point(point: tuple[float, float]) -> str:
    return f"{_plain(point[0], 5)},{_plain(point[1], 5)}"


def _read_spots(text: str) -> tuple[NamedSpot, ...]:
    pieces = text.split("~")
    if len(pieces) > MOST_PLACES:
        raise ValueError(text)
    return tuple(read_spot(piece) for piece in pieces)


def read_spot(text: str) -> NamedSpot:
    """A place to compare as the address writes it; ValueError for anything else.

    Examples
    --------
    >>> read_spot("48.44,-29.68,Mill, upper field")
    NamedSpot(latitude=48.44, longitude=-29.68, name='Mill, upper field')
    """
    latitude, longitude, *name = text.split(",", 2)
    return NamedSpot(*_read_point(f"{latitude},{longitude}"), spot_name(name[0] if name else ""))


def write_spot(spot: NamedSpot) -> str:
    """A place to compare as one word of the address."""
    name = spot_name(spot.name)
    return _write_point((spot.latitude, spot.longitude)) + (f",{name}" if name else "")


def spot_name(text: str) -> str:
    """A name of a place to compare as the address can carry it.

    Examples
    --------
    >>> spot_name("Mill ~ upper field")
    'Mill upper field'
    """
    return short_name(text.replace("~", " "), LONGEST_SPOT_NAME)


def _read_beside(text: str) -> tuple[Beside, ...]:
    pieces = text.split("~")
    if len(pieces) > MOST_BESIDE:
        raise ValueError(text)
    return tuple(_read_one_beside(piece) for piece in pieces)


def _read_one_beside(text: str) -> Beside:
    latitude, longitude, height, *rest = text.split(",")
    metres = [_number(one, -500, 500) for one in rest]
    corners = tuple(zip(metres[::2], metres[1::2], strict=True))
    if not 3 <= len(corners) <= MOST_CORNERS:
        raise ValueError(text)
    return Beside(*_read_point(f"{latitude},{longitude}"), corners, _number(height, 2, 200))


def _write_one_beside(one: Beside) -> str:
    corners = ",".join(_plain(value, 2) for corner in one.corners for value in corner)
    return f"{_write_point((one.latitude, one.longitude))},{_plain(one.height, 2)},{corners}"


def _read_marks(text: str) -> tuple[str, ...]:
    marks = tuple(dict.fromkeys(text.split("~")))
    if len(marks) > MOST_OFFICE_RULES or not all(re.fullmatch(r"rule-[0-9a-f]{12}", one) for one in marks):
        raise ValueError(text)
    return marks


def _read_compare_files(text: str) -> tuple[str, ...]:
    marks = tuple(text.split("~"))
    kinds = {mark.partition("-")[0] for mark in marks}
    known = all(re.fullmatch(rf"({'|'.join(FILES)})-[0-9a-f]{{12}}", one) for one in marks)
    if not known or len(kinds) < len(marks):  # one of a kind
        raise ValueError(text)
    return marks


def _read_facing(text: str) -> str:
    return WORST if text == WORST else str(int(_number(text, 0, 359)))


def _read_bare_from(text: str) -> str:
    if not re.fullmatch(r"\d\d-\d\d", text):
        raise ValueError(text)
    month, day = map(int, text.split("-"))
    if not (1 <= month <= 12 and 1 <= day <= 31):
        raise ValueError(text)
    return text


def _read_name(text: str) -> str:
    return short_name(text)


def _read_building(text: str) -> BuildingChoice:
    kind, _, rest = text.partition(".")
    if kind == "house":
        return House(_matching(r"[a-z0-9-]+")(rest))
    if kind == "file":
        return HouseFile(_matching(r"building-[0-9a-f]{12}")(rest))
    parts = rest.split("_")
    if kind == "box":
        length, width, bearing, height, storeys, roof = parts
        return Box(
            _number(length, 1, 500),
            _number(width, 1, 500),
            _number(bearing, 0, 360),
            _number(height, 1, 200),
            int(_number(storeys, 1, 60)),
            _one_of(ROOFS)(roof),
        )
    if kind == "plan":
        corners, height, storeys, roof = parts
        pairs = [corner.split(",") for corner in corners.split("~")]
        if not 3 <= len(pairs) <= MOST_CORNERS:
            raise ValueError(text)
        return Outline(
            tuple((_number(east, -5000, 5000), _number(north, -5000, 5000)) for east, north in pairs),
            _number(height, 1, 200),
            int(_number(storeys, 1, 60)),
            _one_of(ROOFS)(roof),
        )
    raise ValueError(text)


def write_building(choice: BuildingChoice | None) -> str:
    """One short word for a building, as the address carries it.

    Examples
    --------
    >>> write_building(Box())
    'box.12_8_45_6_2_gable'
    """
    if choice is None:
        return ""
    if isinstance(choice, House):
        return f"house.{choice.key}"
    if isinstance(choice, HouseFile):
        return f"file.{choice.mark}"
    tail = f"{_plain(choice.height, 2)}_{choice.storeys}_{choice.roof}"
    if isinstance(choice, Box):
        return f"box.{_plain(choice.length, 2)}_{_plain(choice.width, 2)}_{_plain(choice.bearing, 1)}_{tail}"
    corners = "~".join(f"{_plain(east, 2)},{_plain(north, 2)}" for east, north in choice.corners)
    return f"plan.{corners}_{tail}"


def _read_details(text: str) -> tuple[tuple[str, str], ...]:
    """Answers as ``name:value`` between tildes; what they mean is checked where they are used."""
    pieces = text.split("~")
    if len(pieces) > MOST_DETAILS:
        raise ValueError(text)
    answers = {}
    for piece in pieces:
        name, colon, value = piece.partition(":")
        if not colon or not re.fullmatch(r"[a-z0-9_.-]{1,60}", name):
            raise ValueError(text)
        answers[name] = short_name(value)
    return tuple(sorted(answers.items()))


def write_details(answers: tuple[tuple[str, str], ...]) -> str:
    """Answers as one word of the address.

    Examples
    --------
    >>> write_details((("eaves", "600"), ("storeys", "2")))
    'eaves:600~storeys:2'
    """
    return "~".join(f"{name}:{value.replace('~', ' ')}" for name, value in answers)


# key in the address -> attribute, how to read it, how to write it
_PARTS: dict[str, tuple[str, Callable[[str], object], Callable]] = {
    "view": ("view", _one_of(VIEWS), str),
    "part": ("open", _one_of((*PARTS, *CHIPS)), str),
    "row": ("row", _read_name, str),
    "at": ("at", _read_point, _write_point),
    "pn": ("place_name", _read_name, str),
    "w": ("record", _matching(r"invented|[a-z]+-[0-9a-f]{12}"), str),
    "b": ("building", _read_building, write_building),
    "name": ("name", _read_name, str),
    "e": ("elevation", _read_name, str),
    "i": ("measure", _one_of(MEASURES), str),
    "f": ("facing", _read_facing, str),
    "g": ("ground", _matching(r"[1-4]{12}"), str),
    "n": ("neighbours", _one_of(NEIGHBOURS), str),
    "nb": ("beside", _read_beside, lambda beside: "~".join(map(_write_one_beside, beside))),
    "d": ("details", _read_details, write_details),
    "o": ("openings", _matching(r"openings-[0-9a-f]{12}"), str),
    "pr": ("prices", _matching(r"prices-[0-9a-f]{12}"), str),
    "r": ("office", _read_marks, "~".join),
    "rated": ("rating", lambda text: _number(text, 0, 5000), lambda pascals: _plain(pascals, 1)),
    "bare": ("bare_from", _read_bare_from, str),
    "weeks": ("bare_weeks", lambda text: int(_number(text, 1, 52)), str),
    "rw": ("reference", _one_of(wall_shapes()), str),
    "cf": ("compare_files", _read_compare_files, "~".join),
    "gk": ("grid_kind", _one_of(KINDS), str),
    "gr": ("grid_rain", _one_of(RAIN_RULES), str),
    "gw": ("grid_rows", _read_name, str),
    "t": ("town", _matching(rf"{INVENTED_TOWN}|town-[0-9a-f]{{12}}"), str),
    "ta": ("town_areas", _matching(r"areas-[0-9a-f]{12}"), str),
    "ts": (
        "town_squares",
        lambda text: float(_one_of(f"{size:g}" for size in SQUARES)(text)),
        lambda size: f"{size:g}",
    ),
    "th": ("town_height", lambda text: _number(text, 2, 200), lambda height: _plain(height, 2)),
    "tc": ("town_column", _read_name, str),
    "tw": ("town_weight", _read_name, str),
    "tg": ("town_ground", _one_of(TERRAINS), str),
    "c": ("places", _read_spots, lambda spots: "~".join(map(write_spot, spots))),
}
_MEANING = {
    "view": "a view",
    "open": "a part",
    "row": "a place of the schedule",
    "at": "a place",
    "place_name": "a name of the place",
    "record": "a weather record",
    "building": "a building",
    "name": "a name",
    "elevation": "an elevation",
    "measure": "a measure",
    "facing": "a facing",
    "ground": "a ground",
    "neighbours": "a choice about neighbours",
    "beside": "a building beside",
    "details": "an answer about the building",
    "openings": "an openings list",
    "prices": "a price file",
    "office": "a rule of an office",
    "rating": "a window's rating",
    "bare_from": "a date",
    "bare_weeks": "a number of weeks",
    "places": "places to compare",
    "reference": "a reference wall",
    "compare_files": "files for a comparison",
    "grid_kind": "a kind of record",
    "grid_rain": "a rule how rain adds up",
    "grid_rows": "a member of a grid",
    "town": "a town",
    "town_areas": "districts of a town",
    "town_squares": "a size of squares",
    "town_height": "a height",
    "town_column": "a property",
    "town_weight": "a property",
    "town_ground": "a ground",
}
_TOLD = {one.name for one in fields(PageState)} - {"notes", "turn"}
assert {name for name, _, _ in _PARTS.values()} == _TOLD, "every choice has a key in the address"
assert set(_MEANING) == _TOLD, "every choice has words for an address that cannot be read"
