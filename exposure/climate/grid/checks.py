"""The checks every climate grid passes, whoever asks: one cell, a list of places or a whole region."""

from dataclasses import replace

import numpy as np

from exposure.checks import RefusalError
from exposure.climate.grid.names import EVERY_HOUR, SINCE_MIDNIGHT, GridVariables
from exposure.climate.running_totals import RunningTotal, is_hourly, running_total
from exposure.doubts import Doubt, doubt, has_doubt
from exposure.terms import MOST_IMPOSSIBLE

MIDNIGHT = RunningTotal(24, 1)  # how ERA5-Land sets its totals back: the first hour of a day is stamped 01


def settle_rain_rule(names: GridVariables, steps: np.ndarray) -> GridVariables:
    """How the rain adds up, by what it does rather than by what the file calls itself.

    Parameters
    ----------
    steps
        Of the rain as it stands in the file, in mm (:func:`exposure.climate.running_totals.count_steps`). Where they are
        too few to tell, what the file declares holds.

    Returns
    -------
    GridVariables
        With the rule that holds, and the doubts it brings among its notes.

    Raises
    ------
    RefusalError
        For a running total that is not set back once a day after 00 UTC; for hours told to be a total, and a total
        not told to be one.

    Examples
    --------
    Rain of single hours in a file that calls itself ERA5-Land is not taken apart a second time:

    >>> from exposure.climate.running_totals import count_steps
    >>> from exposure.climate.units import Conversion
    >>> names = GridVariables({"rain": "tp"}, {"rain": Conversion(1.0)}, SINCE_MIDNIGHT, "time", "latitude",
    ...     "longitude", "regular", "standard", notes=(doubt("climate.rain_since_midnight"),))
    >>> hours = np.arange(24 * 30)
    >>> settled = settle_rain_rule(names, count_steps(np.sin(hours) ** 2, hours))
    >>> settled.rain_rule, [note.key for note in settled.notes]
    ('hour', ['climate.rain_already_hourly'])
    """
    told = has_doubt(names.notes, "climate.rain_rule_told")
    found = running_total(steps)
    if names.rain_rule == SINCE_MIDNIGHT:
        if found is not None and found not in (MIDNIGHT, RunningTotal(0, 0)):
            raise _total(names.rain, found)
        if found is not None or not is_hourly(steps):
            return names
        if told:
            raise RefusalError(
                f"{names.rain} rises and falls at any hour of the day: it is rain of single hours",
                "totals since 00 UTC, as told",
                "Leave the rain rule out.",
                parameter="rain_rule",
            )
        notes = [note for note in names.notes if not has_doubt([note], "climate.rain_since_midnight")]
        return replace(names, rain_rule=EVERY_HOUR, notes=(*notes, doubt("climate.rain_already_hourly")))
    if found is None:
        return names
    if told:
        return replace(names, notes=(*names.notes, doubt("climate.running_total_as_told", how=found.words)))
    raise _total(names.rain, found)


def _total(rain: str, found: RunningTotal) -> RefusalError:
    return RefusalError(
        f"{rain} grows and falls back {found.words}: it is a running total",
        "rain of each hour, or a file that says how it adds up",
        "If it is ERA5-Land, say that its rain adds up 'since 00 UTC'; if it truly is hourly, say 'hour'."
        if found == MIDNIGHT
        else "Take the differences of consecutive hours first; if it truly is hourly, say 'hour'.",
        parameter="rain_rule",
    )


def refuse_impossible(impossible: int, hours: int) -> None:
    """Stop where more than 0.1 % of ``hours`` hold wind or rain that cannot be.

    Raises
    ------
    RefusalError
        Says how many.

    Examples
    --------
    >>> refuse_impossible(8, 8760)
    """
    if impossible > MOST_IMPOSSIBLE * hours:
        raise RefusalError(
            f"{impossible:,} of {hours:,} hours hold impossible wind or rain",
            f"at most {MOST_IMPOSSIBLE:.1%}",
            "Check the units the file declares and how its rain adds up.",
            parameter="rain_rule",
        )


def snow_doubts(names: GridVariables) -> list[Doubt]:
    """What is said of snow in the rain.

    Examples
    --------
    >>> from exposure.climate.units import Conversion
    >>> names = GridVariables({"rain": "tp"}, {"rain": Conversion(1.0)}, "hour", "time", "lat", "lon", "point", "standard")
    >>> [told.key for told in snow_doubts(names)]
    ['climate.snow_in_rain']
    """
    if names.rain_is_liquid:
        return []
    return [doubt("climate.snow_taken_off" if "snowfall" in names.names else "climate.snow_in_rain")]
