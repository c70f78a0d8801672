"""A site water check of one elevation's windows, as a plan to print and fill in by hand."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil, inf
from typing import NamedTuple

from exposure.detail.cautions import cautions
from exposure.detail.openings import Opening
from exposure.detail.schedule_parts import Schedule, ScheduleLine, Step
from exposure.detail.water_steps import check_steps, on_film, rate_words, set_up
from exposure.detail.window_class import WindowOrder, rated_words
from exposure.doubts import doubt
from exposure.figures import NO_BREAK, amount, listed, millimetres, number, pascals, shown_pascals
from exposure.rain.wind_pressure import head_told, head_words, wind_of_pressure
from exposure.tables import load_table
from exposure.tables.standing import standing_words

RATING_SHARE = 2 / 3  # of the product's rating, AAMA 502 (second hand)
CHAMBER_FROM = (
    4  # level from which pressure is asked at once; below it only after a second failure; our choice
)
LEAST_CHAMBER = 50.0  # Pa, the first step of EN 12208; less shows no more than water alone; our choice
RECORD_COLUMNS = (
    "Opening",
    "Date, time",
    "Pressure, Pa",
    "Spray, L/min",
    "Started",
    "Ended",
    "Water seen where",
    "Tray drains outside",
    "Moisture before, %",
    "Moisture after, %",
    "Next day",
    "Pass",
    "Name",
)
PASS_RULE = (
    "Passed when no water gets past the innermost plane, none onto framing, none inboard of the tray. "
    "Water that drains out of the tray to the outside is no failure."
)
AT_DOORS = "Where this pressure lifts water higher than the back of a door's tray stands, there the inner seal alone keeps it out."
BLANK_ROWS = 6
MORE_AFTER_A_LEAK = {"check one more too": 1, "stop, and check two more": 2}  # by the value of chk_fail


class RatedPressure(NamedTuple):
    """Pressure of a check for openings of one rating."""

    rating: float | None  # Pa; None is not known
    applied: float  # Pa


@dataclass(frozen=True)
class WaterCheck:
    """The plan: how many openings, how to set up, at what pressure and spray, how long, in which order."""

    elevation: str
    openings: int  # to check on this elevation
    of: int | None  # how many there are, where known
    first: str
    set_up: tuple[str, ...]
    pressures: tuple[RatedPressure, ...]  # one for each rating among the openings; empty when none is applied
    chamber: tuple[
        RatedPressure, ...
    ]  # in a laboratory's, at once or after a second failure; empty where none is sent there or a window is wrong
    film: bool  # the chamber would stand on membrane over open studs
    pressure_words: str
    fan_words: str
    rate: float  # L/(m2 min); 0 where a soft spray by hand is enough
    rate_words: str
    minutes: float
    steps: tuple[Step, ...]
    pass_rule: str
    on_failure: str
    record_columns: tuple[str, ...]
    record_rows: int
    equivalents: tuple[str, ...]
    cautions: tuple[str, ...]
    stop: str | None  # why the check may not be run at all
    flags: tuple[str, ...]

    @property
    def pressure(self) -> float | None:
        """The highest pressure applied; None when none is. [Pa]"""
        return max((one.applied for one in self.pressures), default=None)


def openings_to_check(*, least: float, share: float, number_of: int | None) -> int:
    """How many openings to check: a least count and a share of the rest. ``share`` in percent.

    Examples
    --------
    >>> openings_to_check(least=3, share=10, number_of=15), openings_to_check(least=3, share=10, number_of=2)
    (5, 2)
    """
    if number_of is None:
        return int(least)
    return int(min(number_of, least + ceil(round(share / 100 * max(number_of - least, 0), 9))))


def check_pressure(*, wanted: float, rating: float | None, level: int) -> tuple[float | None, str | None]:
    """Pressure to apply to openings of one rating [Pa], and why the check must not be run.

    At level 4: two thirds of the rating, or this elevation's pressure if higher, at least one step of such a test, never
    above the rating.

    Parameters
    ----------
    wanted
        This elevation's pressure; told up to the next 10 Pa, here as on every sheet. [Pa]
    rating
        Pressure the window was tested to; None is not known. [Pa]

    Examples
    --------
    >>> check_pressure(wanted=150, rating=300, level=4), check_pressure(wanted=150, rating=300, level=3)
    ((200.0, None), (None, None))
    >>> check_pressure(wanted=350, rating=300, level=4)[1] is None
    False
    """
    if rating is not None and wanted > rating:
        return None, (
            f"This elevation's pressure of {_told_above(wanted, rating)} is above the window's rating of {rated_words(rating)}: "
            "the window is the wrong one. Do not test; ask for another."
        )
    if level < CHAMBER_FROM:
        return None, None
    least = max(RATING_SHARE * (rating or 0.0), wanted, LEAST_CHAMBER)
    return min(shown_pascals(least), rating or inf), None


def _told_above(wanted: float, rating: float) -> str:
    """A pressure above a rating, so told that it reads as above it."""
    return pascals(wanted) if shown_pascals(wanted) > rating else rated_words(ceil(wanted))


def _pressures(
    wanted: float, ratings: Sequence[float | None], level: int
) -> tuple[tuple[RatedPressure, ...], str | None]:
    """The pressure of each rating, the highest rating first and the unknown last; none where one window is wrong."""
    found = []
    for rating in sorted(set(ratings), key=lambda one: (one is None, -(one or 0.0))):
        applied, stop = check_pressure(wanted=wanted, rating=rating, level=level)
        if stop:
            return (), stop
        if applied is not None:
            found.append(RatedPressure(rating, applied))
    return tuple(found), None


def pressure_words(
    pressures: Sequence[RatedPressure],
    *,
    stopped: bool = False,
    ordered: float | None = None,
    doors: bool = False,
    later: RatedPressure | None = None,
    back: float = inf,
) -> str:
    """What to say of the pressures of a check.

    Parameters
    ----------
    ordered
        Rating of the class that is ordered in place of windows that do not hold the gust; None where all told ones stay. [Pa]
    doors
        Whether one may be a door, the back of whose tray stands no higher than its floor lets it.
    later
        What a window of the class ordered is checked by, where one of unknown rating may be of it.
    back
        How high the backs of the trays stand. [mm]

    Examples
    --------
    >>> print(pressure_words([RatedPressure(900.0, 600.0)]).partition(":")[0].replace(NO_BREAK, " "))
    600 Pa
    >>> print(pressure_words([RatedPressure(900.0, 600.0), RatedPressure(None, 310.0)]).partition(":")[0].replace(NO_BREAK, " "))
    600 Pa where the rating is 900 Pa as told
    """
    if not pressures:
        return "None." if stopped else "None: water alone at this level."
    several = len(pressures) > 1
    said, after = [], []
    for rating, applied in pressures:
        if rating is None:
            where = "where a rating is not known" if several else "since no rating is known"
            what = "this elevation's pressure" if applied > LEAST_CHAMBER else "the first step of such a test"
            said.append(f"{rated_words(applied)}, {what}, {where}")
            after.append(
                "Ask for the window's rating first and never go above it; once it is known, two thirds of it where that is more"
                + (
                    f": {rated_words(later.applied)}, {head_words(later.applied)} of water, for the {rated_words(later.rating)} of the class ordered."
                    if later and later.rating and later.applied > applied
                    else "."
                )
            )
        else:
            known = f"{rated_words(rating)} as {'ordered' if rating == ordered else 'told'}"
            two_thirds = f"two thirds of {'it' if several else f'the rating, {known}'}"
            where = f" where the rating is {known}" if several else ""
            said.append(
                f"{rated_words(applied)}{where}: {two_thirds}, or this elevation's pressure if higher"
            )
    if ordered is None and any(rating is not None for rating, _ in pressures):
        after.append("A window ordered instead is checked by its own rating.")
    if max(head_told(one.applied) for one in (*pressures, *([later] if later else []))) > back:
        after.append(
            f"Above {millimetres(back)} of water, where the back of the tray ends, the inner seal alone keeps it out."
        )
    if doors:
        after.append(AT_DOORS)
    return f"{'; '.join(said)}. {' '.join(after)}"


def by_rating(pressures: Sequence[RatedPressure]) -> str:
    """The pressures of a check in few words, each with its rating where they are several or it is not known.

    Examples
    --------
    >>> by_rating([RatedPressure(900.0, 600.0), RatedPressure(None, 310.0)]).replace(NO_BREAK, " ")
    '600 Pa (rated 900 Pa) or 310 Pa (rating not known)'
    """
    if len(pressures) == 1 and pressures[0].rating is not None:
        return rated_words(pressures[0].applied)
    return " or ".join(
        f"{rated_words(applied)} ({'rating not known' if rating is None else f'rated {rated_words(rating)}'})"
        for rating, applied in pressures
    )


def water_check(
    schedule: Schedule,
    *,
    pressure: float,
    openings: int | None = None,
    rating: float | None = None,
    sizes: Sequence[Opening] = (),
    window: WindowOrder | None = None,
) -> WaterCheck:
    """Plan of the water check for an elevation.

    Parameters
    ----------
    schedule
        The elevation's schedule; its lines on the water check are followed.
    pressure
        Hourly mean driving-rain wind pressure the details follow. [Pa]
    openings
        How many windows and doors the elevation has.
    rating
        Pressure the windows were tested to whose own rating is not listed; None is not known. [Pa]
    sizes
        The elevation's openings, for the pressure of each rating, and the water and the minutes each size needs.
    window
        What is ordered for the elevation: it stands in place of windows told that do not hold the gust. None takes all as told.
    """
    lines = {line.key: line for line in (*schedule.lines, *schedule.floor)}
    least, share = _figure(lines, "chk_min"), _figure(lines, "chk_pct")
    minutes, rate = _figure(lines, "chk_time"), _figure(lines, "chk_rate")
    ratings = [rating if one.rated is None else one.rated for one in sizes] or [rating]
    _, stop = _pressures(pressure, ratings, schedule.level)
    standing = ratings if stop or window is None else [_that_stays(one, window) for one in ratings]
    ordered = window.rating if window is not None and standing != ratings else None
    applied, _ = _pressures(pressure, standing, schedule.level)
    at_class = _pressures(pressure, [window.rating], schedule.level)[0] if window is not None else ()
    first = bool(_figure(lines, "chk_first"))
    many = openings_to_check(least=least, share=share, number_of=openings)
    types = sorted({one.door for one in sizes})
    if first and many:
        many = max(many, len(types))
    flags = []
    if None in ratings and openings != 0 and schedule.level >= CHAMBER_FROM:
        flags.append(doubt("detail.window_rating_unknown", schedule.elevation))
    if schedule.specific_design:
        flags.append(doubt("detail.check_needs_design", schedule.elevation))
    return WaterCheck(
        elevation=schedule.elevation,
        openings=many,
        of=openings,
        first=_first_words(types, openings, leaf="before any is lined" in lines["chk_first"].build)
        if first
        else "Any.",
        set_up=set_up(bool(applied), rate, lines, sizes),
        pressures=applied,
        chamber=_pressures(pressure, standing, CHAMBER_FROM)[0] if least and schedule.level > 1 else (),
        film=on_film(lines),
        pressure_words=pressure_words(
            applied,
            stopped=stop is not None,
            ordered=ordered,
            doors="door_sill" in lines and (True in types or not sizes),
            later=next(iter(at_class), None) if None in standing else None,
            back=_figure(lines, "back_dam") or inf,
        ),
        fan_words=_fan_words(applied, smoke="smoke" in lines),
        rate=rate,
        rate_words=rate_words(rate, sizes, pressed=bool(applied)),
        minutes=minutes,
        steps=check_steps(minutes, by_rating(applied) if applied else "", sizes),
        pass_rule=PASS_RULE,
        on_failure=_on_failure(lines, schedule.level, left=None if openings is None else openings - many),
        record_columns=RECORD_COLUMNS,
        record_rows=max(BLANK_ROWS, many + 2),
        equivalents=_equivalents(),
        cautions=cautions("water check"),
        stop=stop,
        flags=tuple(flags),
    )


def _that_stays(rating: float | None, window: WindowOrder) -> float | None:
    """The rating of the window that will stand there: as told, or of the class ordered where that does not hold the gust. [Pa]"""
    return window.rating if rating is not None and rating < window.pressure else rating


def _figure(lines: Mapping[str, ScheduleLine], key: str) -> float:
    return float(lines[key].value) if key in lines else 0.0


def _first_words(doors: Sequence[bool], many: int | None, *, leaf: bool = False) -> str:
    """Which openings are checked first: a window and a door are never of one type, and sizes make none.

    Parameters
    ----------
    doors
        Whether windows (False) and doors (True) are listed.
    many
        How many openings the elevation has, where known.
    leaf
        Whether they stand behind an outer leaf, which is built up round all of them together.
    """
    which = listed(
        [f"the first {'door' if door else 'window'}" for door in doors] or ["the first of each type"]
    )
    each = ", each" if len(doors) > 1 else ","
    before = ", before any is lined" if leaf else ", before the others" if many != 1 else ""
    return (
        f"{which[:1].upper()}{which[1:]}{each} at the step of its order of work that checks with water{before}; "
        "the rest of the wall may stand open."
    )


def _fan_words(pressures: Sequence[RatedPressure], *, smoke: bool) -> str:
    if not pressures:
        return "No fan but the one for the smoke." if smoke else "No fan."
    each = [
        f"{rated_words(one.applied)} is as a wind of {number(wind_of_pressure(one.applied))}{NO_BREAK}m/s square on one face "
        f"and {head_words(one.applied)} of water"
        for one in pressures
    ]
    return (
        "The chamber has a fan of its own; a fan in a door would need every other window in and shut. "
        f"{'; '.join(each)}."
    )


def _on_failure(lines: Mapping[str, ScheduleLine], level: int, *, left: int | None) -> str:
    """What to do after a leak, in order; ``left`` is how many openings of the elevation the plan leaves unchecked."""
    order = lines["chk_fail"].build
    if left is not None and left < MORE_AFTER_A_LEAK.get(str(lines["chk_fail"].value), 0):
        order += " Where this elevation has none left to check, take openings of the same type on another; where the house has none, the mended one alone."
    again = (
        "First mask part after part to find the place; dry it, mend it, let sealant cure as long as its maker says, "
        "and begin again at step 1."
    )
    chamber = " If it leaks a second time, have it checked in a chamber under pressure."
    return f"{order} {again}{chamber if 1 < level < CHAMBER_FROM else ''}"


def _equivalents() -> tuple[str, ...]:
    said: list[str] = []
    for row in load_table("water_test")["row"]:
        rate = f"{amount(row['rate'], 'L/(m²·min)')}, " if row["rate"] else ""
        note = f" ({row['note']})" if row["note"] else ""
        said.append(
            f"{row['method']}: {row['what']} {rate}{amount(row['minutes'], 'min')}, pressure: {row['pressure']}; "
            f"{standing_words(row['standing'])}{note}."
        )
    return tuple(said)
