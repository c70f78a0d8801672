"""The sentences of a sheet: leads, inputs, doubts and cautions of a building and its elevations."""

from collections.abc import Iterable, Sequence

from exposure.assess import Assessment
from exposure.assess.details_parts import BuildingDetails, ElevationDetails
from exposure.detail import Schedule
from exposure.detail.water_check import WaterCheck
from exposure.draw.lettering import clean
from exposure.draw.printed_factors import factor_words, start_words
from exposure.figures import (
    degrees,
    listed,
    litres_with_band,
    metres,
    pascals,
    position,
    pressure_band,
    share_words,
)
from exposure.paper.provenance import in_order
from exposure.rain.pressure import WallPressure
from exposure.rain.wind_pressure import head_words
from exposure.wall import WallExposure
from exposure.wall.classes import class_limits

LONGEST_SENTENCE = 400  # a name of ten thousand letters in a doubt may not push the rest off the sheet
COUNTS = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


def count_words(number: int) -> str:
    """A small count in words.

    Examples
    --------
    >>> count_words(6), count_words(14)
    ('six', '14')
    """
    return COUNTS[number] if number < len(COUNTS) else f"{number}"


def class_words(one: WallExposure) -> str:
    """Class with every other it could be, by its band or counting light rain, and which way."""
    return one.in_words


def figures_words(one: WallExposure) -> str:
    """Both indices of an elevation with their bands."""
    return (
        f"{litres_with_band(one.wall_spell_index, one.spell_band)} {one.spell_label}, "
        f"{litres_with_band(one.wall_annual_index, one.annual_band)} a year"
    )


def rank_words(assessment: Assessment, one: WallExposure) -> str:
    """Where an elevation stands among the others, and how often it would be the worst."""
    number = len(assessment.elevations)
    if number == 1:
        return "The only elevation given."
    share = share_words(one.worst_share) if one.worst_share is not None else None
    alike = assessment.alike(assessment.worst)
    names = listed([clean(other.wall.name, most=40) for other in alike])
    if one in alike:
        worst = f"The worst of {count_words(number)} elevations"
        if len(alike) > 1:
            worst = f"{'Both' if len(alike) == 2 else 'All'} {names} are hit alike, the hardest of {count_words(number)} elevations"
            return f"{worst}: one of them is the worst in {share} resamples." if share else f"{worst}."
        return f"{worst} in {share} resamples." if share else f"{worst}."
    words = f"The worst {'is the' if len(alike) == 1 else 'are'} {names}"
    if one.worst_share:
        words += f"; this one in {share} resamples"
    return f"{words}."


def limit_words(one: WallExposure) -> str:
    """A note where the printed figure and the class seem to disagree, because the class is decided unrounded."""
    for limit, _ in class_limits()[1:]:
        value = one.wall_spell_index
        if value < limit <= round(value):
            return f" Just under the limit of {limit:g}."
    return ""


def details_class_words(one: WallExposure) -> str:
    """Why the details follow another class than the exposure's, empty when they do not."""
    if one.class_for_details == one.exposure_class:
        return ""
    why = (
        f"without its neighbours it would be {one.class_in_the_open}"
        if one.class_in_the_open != one.exposure_class
        else "a short record carries the lowest class only where twice its figure stays in it"
    )
    return f" The details follow {one.class_for_details}, since {why}."


def level_words(schedule: Schedule) -> str:
    """The level to build to and what took it above the wall's class, or that none may be read here."""
    if schedule.specific_design:
        return "Specific design needed: no schedule is given."
    return f"Build to {schedule.axes}.{f' Wetness {schedule.taken_to}.' if schedule.taken_to else ''}"


def raised_words(schedule: Schedule) -> list[str]:
    """Why the level was raised, as one sentence; empty when it was not."""
    top = ", never above 4," if 4 in (schedule.wetness_level, schedule.pressure_level) else ""
    return [f"Raised one level{top} because {'; '.join(schedule.raised)}."] if schedule.raised else []


def followed_words(pressure: WallPressure, design: float, *, tested: bool) -> str:
    """What upstands follow, as pressure and as water: the hourly mean, and a tray whose inner seal is not tested its gust.

    Parameters
    ----------
    design
        Hourly mean. [Pa]
    tested
        Whether the inner seal is to be tested.
    """
    said = f"{pascals(design)}, {head_words(design)} of water"
    if tested:
        return said
    gust = design * pressure.gust_factor
    return f"{said}; the window tray its gust, {pascals(gust)}, {head_words(gust)}"


def pressure_words(pressure: WallPressure, design: float, *, tested: bool) -> str:
    """Wind with rain square on an elevation, and what the upstands follow; see :func:`followed_words`."""
    return (
        f"Upstands follow {followed_words(pressure, design, tested=tested)}. "
        f"In heavy rain square on this wall {pascals(pressure.facing)}."
    )


def any_side_words(pressure: WallPressure, height: float) -> str:
    """Wind with heavy rain from whichever side at the top of a wall, over the hardest ground round the house, and in a gust.

    Parameters
    ----------
    height
        Of the wall. [m]
    """
    return (
        f"In heavy rain {pressure.likelihood}, from any side, {metres(height)} up: {pascals(pressure.any_direction)} "
        f"({pressure_band(pressure.any_direction_range)}), {head_words(pressure.any_direction)}; "
        f"in a gust from any side {pascals(pressure.any_direction_gust)}, {head_words(pressure.any_direction_gust)}."
    )


def wall_inputs(one: WallExposure) -> str:
    """What was put in for one wall."""
    wall = one.wall
    kind = f"{wall.shape} ({clean(wall.factor_reason, most=120)})" if wall.factor_reason else wall.shape
    words = (
        f"Faces {degrees(wall.orientation)}, {metres(wall.length)} long, {metres(wall.height)} high, {kind}"
    )
    if wall.obstacle_distance is not None:
        words += f", neighbour at {metres(wall.obstacle_distance, decimals=0)}"
    return f"{words}."


def place_inputs(assessment: Assessment) -> str:
    """Where the building stands."""
    site = assessment.site
    words = f"{clean(site.name, most=60)}, {position(site.latitude, site.longitude)}"
    if site.ground_height is not None:
        words += f", ground height {metres(site.ground_height, decimals=0)}"
    if site.sea_distance is not None:
        words += f", sea at {metres(site.sea_distance, decimals=0)}"
    return f"{words}."


def own_flags(one: ElevationDetails) -> list[str]:
    """Every doubt about one elevation besides the spread of its figure."""
    return in_order([*one.exposure.flags, *one.pressure.flags, *one.schedule.flags])


def shared_flags(details: BuildingDetails) -> list[str]:
    """What is doubtful on every elevation, and so stands on the building's page."""
    first, *others = [own_flags(one) for one in details.elevations]
    return [flag for flag in first if all(flag in flags for flags in others)]


def printed_factors(exposure: WallExposure) -> list[str]:
    """An elevation's factors as printed: both indices multiply back with them."""
    values = [factor.value for factor in exposure.factors]
    starts = [exposure.airfield_annual_index, exposure.airfield_spell_index]
    return factor_words(values, [(start_words(start, values)[1], start) for start in starts])


def factors_in_words(elevations: Sequence[WallExposure]) -> dict[str, list[str]]:
    """The factors of each elevation as printed, by its name; one that several share has the digits of the longest."""
    keys = {
        one.wall.name: [(factor.name, round(factor.value, 9)) for factor in one.factors] for one in elevations
    }
    longest: dict[tuple[str, float], str] = {}
    for one in elevations:
        for key, said in zip(keys[one.wall.name], printed_factors(one), strict=True):
            longest[key] = max(longest.get(key, ""), said, key=len)
    return {name: [longest[key] for key in mine] for name, mine in keys.items()}


def joined(sentences: Iterable[str]) -> str:
    """Sentences behind one another, each with its stop.

    Examples
    --------
    >>> joined(["One", "Two.", "Three"])
    'One. Two. Three.'
    """
    said = [sentence for sentence in (clean(one, most=LONGEST_SENTENCE) for one in sentences) if sentence]
    return " ".join(sentence if sentence.endswith((".", "?", "!")) else f"{sentence}." for sentence in said)


def openings_words(check: WaterCheck) -> str:
    """How many openings a water check asks for, in words.

    Examples
    --------
    >>> from types import SimpleNamespace as Check
    >>> openings_words(Check(openings=0, of=None)), openings_words(Check(openings=1, of=4))
    ('No spray asked for at this level: look over every opening, and spray any you doubt', '1 of 4 openings')
    >>> openings_words(Check(openings=1, of=1))
    'The one opening'
    >>> openings_words(Check(openings=0, of=0, rate=2.0))
    'No opening is listed here: check what there is by the steps below'
    >>> openings_words(Check(openings=0, of=0, rate=0.0))
    'No opening is listed here, nor is a spray asked for at this level: look over what there is, and spray any you doubt'
    """
    if check.of == 0 and not check.rate:
        return "No opening is listed here, nor is a spray asked for at this level: look over what there is, and spray any you doubt"
    if check.of == 0:
        return "No opening is listed here: check what there is by the steps below"
    if not check.openings:
        return "No spray asked for at this level: look over every opening, and spray any you doubt"
    if check.of == 1:
        return "The one opening"
    if check.of is not None:
        return f"{check.openings} of {check.of} openings"
    return f"{check.openings} opening{'' if check.openings == 1 else 's'}"
