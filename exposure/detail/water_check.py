"""A site water check of one elevation's windows, as a plan to print and fill in by hand."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from exposure.detail.cautions import cautions
from exposure.detail.openings import Opening
from exposure.detail.schedule_parts import Schedule, ScheduleLine, Step
from exposure.detail.water_steps import check_steps, on_film, rate_words, set_up
from exposure.detail.window_class import rated_words
from exposure.doubts import doubt
from exposure.figures import NO_BREAK, amount, number
from exposure.rain.wind_pressure import head_words, wind_of_pressure
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
    "Moisture before, %",
    "Moisture after, %",
    "Pass",
    "Name",
)
PASS_RULE = (
    "Passed when no water gets past the innermost plane, none onto framing, none inboard of the tray. "
    "Water that drains out of the tray to the outside is no failure."
)
BLANK_ROWS = 6
MORE_AFTER_A_LEAK = {"check one more too": 1, "stop, and check two more": 2}  # by the value of chk_fail


@dataclass(frozen=True)
class WaterCheck:
    """The plan: how many openings, how to set up, at what pressure and spray, how long, in which order."""

    elevation: str
    openings: int  # to check on this elevation
    of: int | None  # how many there are, where known
    first: str
    set_up: tuple[str, ...]
    pressure: float | None  # Pa; None when none is applied
    chamber: (
        float | None
    )  # Pa in a laboratory's chamber, at once or after a second failure; None where the window is wrong
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


def check_pressure(
    *, wanted: float, rating: float | None, level: int
) -> tuple[float | None, str, str | None]:
    """Pressure to apply [Pa], what to say of it, and why the check must not be run.

    At level 4: two thirds of the rating, or this elevation's pressure if higher, never above the rating.

    Examples
    --------
    >>> check_pressure(wanted=150, rating=300, level=4)[0], check_pressure(wanted=150, rating=300, level=3)[0]
    (200.0, None)
    >>> check_pressure(wanted=350, rating=300, level=4)[2] is None
    False
    """
    if rating is not None and wanted > rating:
        return (
            None,
            "None.",
            f"This elevation's pressure of {rated_words(ceil(wanted))} is above the window's rating of {rated_words(rating)}: "
            "the window is the wrong one. Do not test; ask for another.",
        )
    if level < CHAMBER_FROM:
        return None, "None: water alone at this level.", None
    if rating is None:
        wanted = _up(wanted)
        return (
            wanted,
            f"{rated_words(wanted)}, this elevation's pressure, since not every rating is known. Ask for the window's rating "
            "first and never go above it; once it is known, two thirds of it where that is more.",
            None,
        )
    value = _held(max(RATING_SHARE * rating, wanted), rating)
    return (
        value,
        f"{rated_words(value)}: two thirds of the rating, {rated_words(rating)} as told, or this elevation's pressure if "
        "higher. A window ordered instead is checked by its own rating.",
        None,
    )


def _chamber(wanted: float, rating: float | None) -> float | None:
    """Pressure for a laboratory's chamber: that of level 4, at least one step, never above the rating. [Pa]"""
    value, _, _ = check_pressure(wanted=wanted, rating=rating, level=CHAMBER_FROM)
    return None if value is None else min(max(value, LEAST_CHAMBER), rating or value + LEAST_CHAMBER)


def _held(value: float, rating: float) -> float:
    """A pressure to set at the gauge: up to the next 10 Pa, but never above the rating."""
    return min(_up(value), rating)


def _up(value: float) -> float:
    return 10.0 * ceil(value / 10)


def water_check(
    schedule: Schedule,
    *,
    pressure: float,
    openings: int | None = None,
    rating: float | None = None,
    sizes: Sequence[Opening] = (),
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
        Pressure the window was tested to. [Pa]
    sizes
        The elevation's openings, for the water and the minutes each size needs.
    """
    lines = {line.key: line for line in (*schedule.lines, *schedule.floor)}
    least, share = _figure(lines, "chk_min"), _figure(lines, "chk_pct")
    minutes, rate = _figure(lines, "chk_time"), _figure(lines, "chk_rate")
    applied, words, stop = check_pressure(wanted=pressure, rating=rating, level=schedule.level)
    first = bool(_figure(lines, "chk_first"))
    many = openings_to_check(least=least, share=share, number_of=openings)
    if first and many:  # a window and a door are never of one type
        many = max(many, len({one.door for one in sizes}))
    flags = []
    if rating is None and schedule.level >= CHAMBER_FROM:
        flags.append(doubt("detail.window_rating_unknown", schedule.elevation))
    if schedule.specific_design:
        flags.append(doubt("detail.check_needs_design", schedule.elevation))
    return WaterCheck(
        elevation=schedule.elevation,
        openings=many,
        of=openings,
        first="The first of each type, as soon as it is in, before the others; the rest of the wall may stand open."
        if first
        else "Any.",
        set_up=set_up(applied, rate, lines, sizes),
        pressure=applied,
        chamber=_chamber(pressure, rating),
        film=on_film(lines),
        pressure_words=words,
        fan_words=_fan_words(applied),
        rate=rate,
        rate_words=rate_words(rate, sizes),
        minutes=minutes,
        steps=check_steps(minutes, applied, sizes),
        pass_rule=PASS_RULE,
        on_failure=_on_failure(lines, schedule.level, left=None if openings is None else openings - many),
        record_columns=RECORD_COLUMNS,
        record_rows=max(BLANK_ROWS, many + 2),
        equivalents=_equivalents(),
        cautions=cautions("water check"),
        stop=stop,
        flags=tuple(flags),
    )


def _figure(lines: Mapping[str, ScheduleLine], key: str) -> float:
    return float(lines[key].value) if key in lines else 0.0


def _fan_words(applied: float | None) -> str:
    if applied is None:
        return "No fan."
    wind = f"{number(wind_of_pressure(applied))}{NO_BREAK}m/s square on one face"
    return (
        f"The chamber has a fan of its own; a fan in a door would need every other window in and shut. "
        f"As a wind of {wind}; {head_words(applied)} of water."
    )


def _on_failure(lines: Mapping[str, ScheduleLine], level: int, *, left: int | None) -> str:
    """What to do after a leak, in order; ``left`` is how many openings of the elevation the plan leaves unchecked."""
    order = lines["chk_fail"].build
    if left is not None and left < MORE_AFTER_A_LEAK.get(str(lines["chk_fail"].value), 0):
        order += " Where this elevation has none left to check, take openings of the same type on another."
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
