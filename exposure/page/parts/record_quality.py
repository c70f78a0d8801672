"""Whether a record can be trusted: what it holds line by line, each doubt under its line, with the picture that explains it."""

from math import isfinite

import xarray as xr

from exposure.climate.quality.checks import suspicions
from exposure.climate.summary import summary_of
from exposure.draw.record_pictures import coverage_strip, monthly_rain, wind_and_rain_roses
from exposure.figures import percent, whole
from exposure.page.markup import Marked, doubts, folded, kept_wide, plate, say

KNOWN = frozenset(  # suspicions that a look at what is known explains
    (
        "rain-missing",
        "wind-missing-in-rain",
        "thin-months",
        "duplicated-years",
        "not-hourly",
        "rain-stops",
        "rain-pauses",
    )
)
WAYS = frozenset(
    (
        "direction-steps",
        "north-told-twice",
        "variable-wind",
        "calm-with-direction",
        "direction-towards",
        "stuck-wind",
    )
)
AMOUNTS = frozenset(
    (
        "rain-unlikely-total",
        "rain-like-inches",
        "rain-all-zero",
        "rain-steps",
        "stuck-rain",
        "sentinels-left-in",
    )
)


def record_quality(climate: xr.Dataset) -> Marked:
    """Three lines on a record, each with its doubts and its picture, open where one is grave; then every other doubt.

    Parameters
    ----------
    climate
        As :func:`exposure.climate.opening.open_climate` gives it.
    """
    told, found = summary_of(climate), suspicions(climate)
    several = len(told.rain_coverage)

    def line(words: str, kinds: frozenset[str], picture: str, name: str) -> Marked:
        mine = [one for one in found if one.name in kinds]
        inside = kept_wide(plate(picture), name)
        opened = any(one.grave for one in mine)
        return f"<p>{say(words)}</p>{doubts(one.sentence for one in mine)}{folded(say(name), inside, opened=opened)}"

    source = f"{told.source[:1].upper()}{told.source[1:]}"
    return (
        line(
            f"{source}: {told.hours:,} hours from {_hour(told.first)} to {_hour(told.last)}; rain known in "
            f"{percent(told.rain_known)}, wind in {percent(told.wind_known)}.",
            KNOWN,
            coverage_strip(told.rain_coverage, told.wind_coverage),
            "What is known, by month",
        )
        + line(
            f"Mean wind {told.mean_speed:.1f} m/s; "
            + (
                f"rain comes from {told.rain_direction:.0f} degrees in the mean."
                if isfinite(told.rain_direction)
                else "no rain comes with wind."
            ),
            WAYS,
            wind_and_rain_roses(
                told.rose_all,
                told.rose_wet,
                rain_direction=told.rain_direction,
                rain_concentration=told.rain_concentration,
            ),
            "Where wind and rain come from",
        )
        + line(
            f"{whole(told.rain_year)} mm of rain a year.",
            AMOUNTS,
            monthly_rain(told.monthly_rain, years=several),
            "Rain by month",
        )
        + (
            doubts(one.sentence for one in found if one.name not in KNOWN | WAYS | AMOUNTS)
            if found
            else "<p>No suspicion about this record.</p>"
        )
    )


def _hour(stamp: object) -> str:
    """A time stamp without the hour where it is midnight, as a reader says it."""
    text = str(stamp)[:16].replace("T", " ")
    return text.removesuffix(" 00:00")
