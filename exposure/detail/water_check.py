"""A site water check of one elevation's windows, as a plan to print and fill in by hand."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from exposure.detail.cautions import cautions
from exposure.detail.schedule_parts import Schedule, Step
from exposure.detail.window_class import rated_words
from exposure.doubts import doubt
from exposure.figures import NO_BREAK, amount, millimetres, number
from exposure.rain.pressure import head_of_water, wind_of_pressure
from exposure.tables import load_table
from exposure.tables.standing import standing_words

RATING_SHARE = 2 / 3  # of the product's rating, AAMA 502 (second hand)
FAN_MOST = 75.0  # Pa that a door fan usually reaches in a whole house; our choice
NOZZLE_METRES = 1.5  # m of joint in one go, AAMA 501.2 (from memory)
NOZZLE_MINUTES = 5  # min for that, the same
SPRAY_DISTANCE = 400  # mm from rack to face, so that the cones meet; our choice, the rack's maker decides
HAND_SPRAY_DISTANCE = 1000  # mm from a soft garden spray; our choice
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


@dataclass(frozen=True)
class WaterCheck:
    """The plan: how many openings, how to set up, at what pressure and spray, how long, in which order."""

    elevation: str
    openings: int  # to check on this elevation
    of: int | None  # how many there are, where known
    first: str
    set_up: tuple[str, ...]
    pressure: float | None  # Pa; None when none is applied
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

    From level 3: two thirds of the rating, or this elevation's pressure if higher, never above the rating.

    Examples
    --------
    >>> check_pressure(wanted=150, rating=300, level=3)[0], check_pressure(wanted=150, rating=300, level=2)[0]
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
    if level < 3:
        return None, "None: water alone at this level.", None
    if rating is None:
        wanted = _up(wanted)
        return (
            wanted,
            f"{rated_words(wanted)}, this elevation's pressure. Ask for the window's rating first and never go above it.",
            None,
        )
    value = _held(max(RATING_SHARE * rating, wanted), rating)
    return (
        value,
        f"{rated_words(value)}: two thirds of the rating, or this elevation's pressure if higher.",
        None,
    )


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
    """
    lines = {line.key: line for line in (*schedule.lines, *schedule.floor)}
    least, share = _figure(lines, "chk_min"), _figure(lines, "chk_pct")
    minutes, rate = _figure(lines, "chk_time"), _figure(lines, "chk_rate")
    applied, words, stop = check_pressure(wanted=pressure, rating=rating, level=schedule.level)
    many = openings_to_check(least=least, share=share, number_of=openings)
    flags = []
    if rating is None and schedule.level >= 3:
        flags.append(doubt("detail.window_rating_unknown", schedule.elevation))
    if schedule.specific_design:
        flags.append(doubt("detail.check_needs_design", schedule.elevation))
    return WaterCheck(
        elevation=schedule.elevation,
        openings=many,
        of=openings,
        first="The first of each type, as soon as it is in, before the others."
        if _figure(lines, "chk_first")
        else "Any.",
        set_up=_set_up(applied, rate, schedule.level),
        pressure=applied,
        pressure_words=words,
        fan_words=_fan_words(applied),
        rate=rate,
        rate_words=_rate_words(rate),
        minutes=minutes,
        steps=_steps(minutes, applied),
        pass_rule=PASS_RULE,
        on_failure=lines["chk_fail"].build if "chk_fail" in lines else "If it leaks, mend it.",
        record_columns=RECORD_COLUMNS,
        record_rows=max(BLANK_ROWS, many + 2),
        equivalents=_equivalents(),
        cautions=cautions("water check"),
        stop=stop,
        flags=tuple(flags),
    )


def _figure(lines: dict, key: str) -> float:
    return float(lines[key].value) if key in lines else 0.0


def _rate_words(rate: float) -> str:
    if not rate:
        return "A soft spray by hand, not measured at this level."
    return (
        f"{amount(rate, 'L/(m²·min)')}, that is {number(rate * 60)}{NO_BREAK}L an hour on each square metre"
    )


def _set_up(applied: float | None, rate: float, level: int) -> tuple[str, ...]:
    if applied is None:
        return (
            f"A garden spray set soft, {millimetres(HAND_SPRAY_DISTANCE)} off, no jet at a joint.",
            "Lining off, inner seal in place, a light and a second person inside.",
            *(() if level < 2 else ("Catch and measure a minute of spray in a bucket to know the rate.",)),
        )
    return (
        f"Spray rack {millimetres(SPRAY_DISTANCE)} off, or as its maker says, set to "
        f"{amount(rate, 'L/(m²·min)')} and calibrated with a catch box.",
        "Sheet and frame sealed round the opening inside for a chamber, or a fan in a door with all other windows shut.",
        "Gauge zeroed with the fan off; its tube away from the water.",
        "Lining off, inner seal in place, a light and a second person inside the room, outside the chamber.",
    )


def _fan_words(applied: float | None) -> str:
    if applied is None:
        return "No fan."
    wind = f"{number(wind_of_pressure(applied))}{NO_BREAK}m/s square on one face"
    head = millimetres(float(head_of_water(applied)))
    if applied <= FAN_MOST:
        return (
            f"Set the fan to {rated_words(applied)} of suction indoors, as a wind of {wind}; {head} of water."
        )
    return (
        f"A door fan seldom reaches {rated_words(applied)}: use a chamber with its own fan. As a wind of {wind}; "
        f"{head} of water."
    )


def _steps(minutes: float, applied: float | None) -> tuple[Step, ...]:
    length = f"{number(minutes)}{NO_BREAK}min"
    steps = [
        Step(
            "Read the moisture of frame and sill inside.",
            "Write it down.",
            "Circuits near the wetting off and locked.",
        ),
        Step("Wet the sill joint alone first.", "", "A second person watches inside."),
        Step("Then the jambs, from the bottom up.", "", ""),
        Step("Then the head, then the joint of frame and wall.", "", ""),
        Step(
            f"Then the whole opening and the joint to the wall for {length}.",
            "Write down start and end.",
            "Stop at the first water inside.",
        ),
    ]
    if applied is not None:
        steps[4:5] = [
            Step(
                f"Spray the whole opening and the joint to the wall without pressure for {length}.",
                "Write down start and end.",
                "Stop at the first water inside.",
            ),
            Step(
                f"Raise the pressure in steps of 50\u00a0Pa to {rated_words(applied)}, and hold it with the water on for {length}.",
                "Write down pressure, start and end.",
                "Burners off; nobody in front of the glass; never above the window's rating.",
            ),
        ]
    steps += [
        Step(
            f"Water off. Watch for {number(max(minutes, 15))}{NO_BREAK}min more.",
            "Write down what is seen.",
            "",
        ),
        Step(
            "Read the moisture again, and once more next day. Close nothing in until it is dry.",
            "Write it down and sign.",
            "",
        ),
        Step(
            f"To find a leak in a fixed joint: nozzle, bottom up, {NOZZLE_METRES:g}{NO_BREAK}m in {NOZZLE_MINUTES}{NO_BREAK}min; "
            "not on opening lights or open joints.",
            "",
            "",
        ),
    ]
    return tuple(steps)


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


def water_check_table(check: WaterCheck) -> Sequence[Sequence[str]]:
    """Record table with one heading row and blank rows to fill in by hand."""
    return [list(check.record_columns), *([""] * len(check.record_columns) for _ in range(check.record_rows))]
