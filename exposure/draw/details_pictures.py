"""The pictures of a detailed building: bare membrane, and wetting and drying, in the arguments the pictures take."""

from collections.abc import Sequence

from exposure.detail.bare_wrap import BareWrap
from exposure.detail.wetting import WettingResult
from exposure.draw.bare_wrap import bare_wrap
from exposure.draw.wetting import WettingRow, wetting
from exposure.figures import NO_BREAK, whole


def bare_wrap_of(one: BareWrap, *, width: int = 400, prefix: str = "bare") -> str:
    """Rain on one elevation's bare membrane by starting week, the chosen start marked."""
    return bare_wrap(
        one.expected.tolist(),
        one.tenth.tolist(),
        best=one.best,
        weeks=one.weeks,
        chosen=one.start,
        width=width,
        title=f"Rain on the bare membrane of the {one.elevation}, by week of wrapping",
        prefix=prefix,
    )


def bare_wrap_caption(one: BareWrap) -> str:
    """What the lines of the bare-wrap picture are."""
    weeks = "week" if one.weeks == 1 else "weeks"
    return f"L/m² in the {one.weeks} {weeks} from the week shown. Line: expected. Dashes: one year in ten is above."


def hours_words(hours: float) -> str:
    """Hours of a year, whole, to the nearest ten from a thousand.

    Examples
    --------
    >>> hours_words(4312.0).replace(NO_BREAK, " "), hours_words(0.3).replace(NO_BREAK, " ")
    ('4,310 h', 'under 1 h')
    """
    if 0 < hours < 1:
        return f"under{NO_BREAK}1{NO_BREAK}h"
    return f"{whole(10 * round(hours / 10) if hours >= 1000 else hours)}{NO_BREAK}h"


def run_words(hours: float) -> str:
    """The longest wet run, in hours up to two days, then in days.

    Examples
    --------
    >>> run_words(30).replace(NO_BREAK, " "), run_words(150).replace(NO_BREAK, " ")
    ('30 h', '6 days')
    """
    return f"{whole(hours)}{NO_BREAK}h" if hours < 48 else f"{whole(hours / 24)}{NO_BREAK}days"


def wetting_of(
    results: Sequence[WettingResult],
    *,
    membrane: str = "open",
    outer: bool = False,
    width: int = 400,
    prefix: str = "wetting",
) -> str | None:
    """Hours wet for the ways to build one elevation, with one kind of membrane; None where there are none.

    Parameters
    ----------
    membrane
        ``open`` or ``closed`` to vapour.
    outer
        True for the outer face of the membrane, False for behind it.
    """
    rows = []
    for one in results:
        if one.way.membrane != membrane:
            continue
        hours = one.outer_hours_wet if outer else one.hours_wet
        longest = one.outer_longest_wet if outer else one.longest_wet
        weeks = one.outer_by_week if outer else one.by_week
        words = f"{hours_words(hours)} a year" + (f", longest {run_words(longest)}" if longest else "")
        rows.append(WettingRow(f"{one.way.option[:1].upper()}{one.way.option[1:]}", weeks.tolist(), words))
    if not rows:
        return None
    where = "on the outer face of the membrane" if outer else "behind the membrane"
    return wetting(
        rows,
        width=width,
        title=f"Hours wet {where}, week by week, {results[0].elevation}, membrane {membrane} to vapour",
        prefix=prefix,
    )
