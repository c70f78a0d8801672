"""Watertightness of windows: the class to order, and what a pressure means.

Windows are ordered by the gust from any side, the published pressure, and by default all alike: one order for the
house, by its hardest wall (our choice). What a wall asks by itself stands beside it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil

from exposure.checks import RefusalError, check_between
from exposure.figures import NO_BREAK, listed, number, pascals
from exposure.rain.wind_pressure import head_words, velocity_pressure, wind_of_pressure
from exposure.tables import load_table, source_line, table_standing
from exposure.tables.standing import is_verified

STEP_ABOVE = 150.0  # Pa, steps of the classes above E750; EN 12208, published
TOP_OF_METHOD_B = 300.0  # Pa; partly protected windows go to class 7; EN 12208, published
LEAST_PASCALS = 10.0  # below this a bare figure is a class, 1 to 9; our choice
MOST_RATED = 5000.0  # Pa; our limit
PASCALS_PER_PSF = 47.880259  # pounds-force per square foot, by definition
FAN_TEST = 50.0  # Pa
BREEZE = 30 / 3.6  # m/s, the wind of a mild site check by common practice


@dataclass(frozen=True)
class WindowOrder:
    """What watertightness to order for one elevation's windows."""

    to_order: str  # class that holds the pressure the order follows
    pressure: float  # Pa, plain, for makers who use no classes: the gust on the house's hardest wall
    own_class: str  # class that this wall by itself asks
    own_pressure: float  # Pa, the gust on this wall
    mean_pressure: float  # Pa, the hourly mean on this wall
    never_below: str | None  # class that holds in the mean; None where the record is too weak to say so
    follows: str  # the pressure the order follows, in words
    meaning: tuple[str, ...]  # what 30 km/h, 50 Pa and a rating mean beside it
    source: str
    standing: str  # how the classes stand, see :mod:`exposure.tables.standing`
    hard_end: float | None = None  # Pa, the gust at the hard end of a weak record's band

    @property
    def verified(self) -> bool:
        """Whether the classes were compared with the standard itself."""
        return is_verified(self.standing)

    @property
    def rating(self) -> float:
        """Pressure up to which the class ordered is tight. [Pa]"""
        return float(self.to_order[1:]) if self.to_order.startswith("E") else rating_of(self.to_order)

    @property
    def in_words(self) -> str:
        """The order as a clause, with the pressure it follows and what this wall asks by itself."""
        said = f"order class {self.to_order} for {self.follows}"
        if self.own_class != self.to_order:
            said += f"; here alone class {self.own_class} ({pascals(self.own_pressure)})"
        return said


@dataclass(frozen=True)
class HouseOrder:
    """One window order for the whole house."""

    to_order: str
    pressure: float  # Pa
    harder: tuple[str, ...]  # elevations that ask it
    others: str | None  # hardest class among the rest; None when all ask the same
    follows: str
    indicative: bool = False  # the record is too weak to be sure of the gust
    hard_end: float | None = None  # Pa, the gust at the hard end of its band
    frames: str = ""  # what the frames need besides, as a sentence

    @property
    def in_words(self) -> str:
        """The order as a sentence, the harder elevations named, its doubt, and what the frames need besides."""
        said = f"{self._asked_by()}{self._how_weak() if self.indicative else ''}"
        return f"{said} {self.frames}".rstrip()

    def _how_weak(self) -> str:
        said = " This gust is the middle of what a weak record tells"
        hard = None if self.hard_end is None else class_to_order(self.hard_end)
        if self.hard_end is None or hard == self.to_order:
            return f"{said}: ask for the class above where you want to be sure."
        return f"{said}: the hard end of its band, {pascals(self.hard_end)}, would ask class {hard}."

    def _asked_by(self) -> str:
        said = f"Order all windows of the house to class {self.to_order} for {self.follows}"
        if self.others is None:
            return f"{said}: every elevation asks that class."
        ask = "asks" if len(self.harder) == 1 else "ask"
        return f"{said}: {listed(list(self.harder))} {ask} it, the others by themselves no more than class {self.others}."


def grooved(builds: Mapping[str, str], *, door: bool) -> bool:
    """Whether frames need a groove that takes the back of a metal cover or sill over the cavity.

    Parameters
    ----------
    builds
        What the rows of a schedule order, in words, by their keys.

    Examples
    --------
    >>> cover = {"sill_cover": "a metal cover, turned up into a groove of the threshold"}
    >>> grooved(cover, door=True), grooved(cover, door=False), grooved({}, door=True)
    (True, False, False)
    """
    cover = builds.get("sill_cover", "")
    return "groove of the frame" in cover or (door and bool(cover or "deck_sill" in builds))


def groove_words(builds: Mapping[str, Mapping[str, str]]) -> str:
    """Which frames to have made with that groove, as a sentence; empty where none.

    Parameters
    ----------
    builds
        As in :func:`grooved`, by elevation.

    Examples
    --------
    >>> groove_words({"south": {"deck_sill": "a metal sill"}, "north": {}}).partition(",")[0]
    'Have doors to a closed deck on south made with a groove along the foot of the face'
    """
    said = []
    windows = [name for name, rows in builds.items() if grooved(rows, door=False)]
    decks = [name for name, rows in builds.items() if "deck_sill" in rows and "sill_cover" not in rows]
    rest = [name for name in builds if name not in (*windows, *decks)]
    doors = [name for name in rest if grooved(builds[name], door=True)]
    kinds = (
        ("windows and doors", windows, "cover or sill"),
        ("doors", doors, "cover or sill"),
        ("doors to a closed deck", decks, "sill"),
    )
    for what, names, metal in kinds:
        if names:
            where = f" on {listed(names)}" if len(names) < len(builds) else ""
            said.append(
                f"Have {what}{where} made with a groove along the foot of the face, for the metal {metal} over the cavity."
            )
    return " ".join(said)


def house_order(orders: Mapping[str, WindowOrder], *, frames: str = "") -> HouseOrder:
    """The one order of a house from those of its elevations, by name; ``frames`` says what they need besides.

    Examples
    --------
    >>> orders = {name: window_order(mean=gust / 2, gust=gust, house_gust=414.0)
    ...           for name, gust in (("north", 120.0), ("south", 414.0))}
    >>> found = house_order(orders)
    >>> found.to_order, found.harder, found.others
    ('8', ('south',), '4')
    """
    first = next(iter(orders.values()))
    by_class = {name: order.own_class for name, order in orders.items()}
    harder = tuple(name for name, own in by_class.items() if own == first.to_order)
    rest = [order.own_pressure for name, order in orders.items() if name not in harder]
    follows = max(orders.values(), key=lambda order: order.own_pressure).follows
    return HouseOrder(
        first.to_order,
        first.pressure,
        harder,
        class_to_order(max(rest)) if rest else None,
        follows,
        indicative=any(order.never_below is None for order in orders.values()),
        hard_end=max(
            (order.hard_end for order in orders.values() if order.hard_end is not None), default=None
        ),
        frames=frames,
    )


def class_passed(tight_up_to: float) -> str:
    """Class of a window that is tight up to a pressure [Pa]; EN 12208.

    Examples
    --------
    >>> [class_passed(pressure) for pressure in (149, 150, 599, 600, 750, 900)]
    ['3', '4', '8', '9', 'E750', 'E900']
    """
    check_between(tight_up_to, "pressure a window is tight to", 0, 1e5, "Pa")
    rows = load_table("window_class")["row"]
    top = rows[-1]["pressure"]
    if tight_up_to >= top + STEP_ABOVE:
        return f"E{top + STEP_ABOVE * int((tight_up_to - top) // STEP_ABOVE):.0f}"
    return [row["class"] for row in rows if row["pressure"] <= tight_up_to][-1]


def class_to_order(pressure: float) -> str:
    """Lowest class that is tight up to at least ``pressure`` [Pa].

    Examples
    --------
    >>> [class_to_order(pressure) for pressure in (0, 1, 290, 640, 751)]
    ['1', '2', '7', 'E750', 'E900']
    """
    check_between(pressure, "pressure on a window", 0, 1e5, "Pa")
    rows = load_table("window_class")["row"]
    for row in rows:
        if row["pressure"] >= pressure:
            return row["class"]
    top = rows[-1]["pressure"]
    return f"E{top + STEP_ABOVE * ceil((pressure - top) / STEP_ABOVE):.0f}"


def rating_of(text: str, name: str = "rating") -> float:
    """Pressure a window was tested to [Pa], from pascals or from a class of EN 12208, with or without its letter.

    Raises
    ------
    RefusalError
        For anything else.

    Examples
    --------
    >>> [rating_of(text) for text in ("300", "450 Pa", "7", "9A", "E750")]
    [300.0, 450.0, 300.0, 600.0, 750.0]
    """
    word = text.strip().upper().removesuffix("PA").strip()
    rows = load_table("window_class")["row"]
    by_class = {row["class"]: float(row["pressure"]) for row in rows}
    bare = word[:-1] if word[:-1] in by_class and word[-1] in "AB" else word
    if bare in by_class:
        return by_class[bare]
    figure = word.removeprefix("E")
    if figure.replace(".", "", 1).isascii() and figure.replace(".", "", 1).isdigit():
        value = float(figure)
        top = rows[-1]["pressure"]
        named = word.startswith("E")
        if (named and value >= top and (value - top) % STEP_ABOVE == 0 and value <= MOST_RATED) or (
            not named and (value == 0 or LEAST_PASCALS <= value <= MOST_RATED)
        ):
            return value
    raise RefusalError(
        f"{name} is {text[:40]!r}",
        f"pascals from {LEAST_PASCALS:g} to {MOST_RATED:g}, or a class of EN 12208 such as 7A or E750",
        "Read it off the maker's declaration.",
    )


def pascals_of_psf(pounds: float) -> float:
    """Pressure in pascals of pounds-force per square foot.

    Examples
    --------
    >>> round(pascals_of_psf(6.24), 1)
    298.8
    """
    return pounds * PASCALS_PER_PSF


def litres_of_gallons(gallons: float) -> float:
    """Spray in L/(m2 min) of US gallons per square foot and hour.

    Examples
    --------
    >>> round(litres_of_gallons(5.0), 3)
    3.395
    """
    return gallons * 3.785411784 / 0.09290304 / 60


def rated_words(rating: float) -> str:
    """A product's rating as it was declared, never rounded up. [Pa]

    Examples
    --------
    >>> rated_words(95.5).replace(NO_BREAK, "_"), rated_words(1050.0).replace(NO_BREAK, "_")
    ('95.5_Pa', '1,050_Pa')
    """
    return f"{rating:,.10g}{NO_BREAK}Pa"


def window_order(
    *,
    mean: float,
    gust: float,
    house_gust: float | None = None,
    indicative: bool = False,
    hard_end: float | None = None,
    rating: float | None = None,
) -> WindowOrder:
    """What to order for windows of a wall under an hourly mean and a gust from any side. [Pa]

    The class follows the gust, since a window leaks within seconds (our choice). Exposed windows are tested by
    method A.

    Parameters
    ----------
    house_gust
        Gust on the hardest wall of the house, which the order then follows; never less than ``gust``. [Pa]
    indicative
        True for a weak record: no class is then called the one never to go below.
    hard_end
        Gust at the hard end of the band in which ``gust`` lies; told where the record is weak. [Pa]
    rating
        Pressure a product was tested to, when one is looked at. [Pa]

    Examples
    --------
    >>> order = window_order(mean=180.0, gust=414.0)
    >>> order.to_order, order.never_below
    ('8', '5')
    >>> order = window_order(mean=60.0, gust=120.0, house_gust=414.0, indicative=True)
    >>> order.to_order, order.own_class, order.never_below
    ('8', '4', None)
    """
    follows = gust if house_gust is None else max(house_gust, gust)
    breeze = float(velocity_pressure(BREEZE))
    meaning = [
        f"30\u00a0km/h of wind is {number(breeze)}\u00a0Pa: {_share(breeze, follows)} of the gust it is ordered for.",
        f"A fan test at 50\u00a0Pa is a wind of about {number(wind_of_pressure(FAN_TEST))}\u00a0m/s square on one face, "
        f"{head_words(FAN_TEST)} of water: {_share(FAN_TEST, follows)} of that gust.",
        "A test pressure is a steady difference across the window, not the wind that causes it on a real wall.",
    ]
    if rating is not None:
        enough = (
            f"holds the gust of {pascals(follows)}"
            if rating >= follows
            else f"does not hold the gust of {pascals(follows)}"
        )
        meaning.append(
            f"A product tight to {rated_words(rating)} is of class {class_passed(rating)}: "
            f"{head_words(rating)} of water; it {enough}."
        )
    if follows > TOP_OF_METHOD_B:
        meaning.append(
            "Method B of the standard, for partly protected windows, ends below this pressure: ask for A."
        )
    hardest = house_gust is not None and house_gust > gust
    where = "the gust on the hardest elevation" if hardest else "the gust from any side"
    return WindowOrder(
        to_order=class_to_order(follows),
        pressure=follows,
        own_class=class_to_order(gust),
        own_pressure=gust,
        mean_pressure=mean,
        never_below=None if indicative else class_to_order(mean),
        follows=f"{pascals(follows)}, {where}",
        meaning=tuple(meaning),
        source=f"{source_line('window_class')}; choosing by the gust is ours",
        standing=table_standing("window_class"),
        hard_end=hard_end if indicative else None,
    )


def _share(part: float, whole: float) -> str:
    if whole <= 0:
        return "more than all"
    if part >= whole:
        return "as much as all"
    return f"{100 * part / whole:.0f}\u00a0%"
