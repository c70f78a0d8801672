"""A weather record as seen before it is trusted: what is there, where wind and rain come from, rain by month.

Three pictures of one width, ink on paper: a strip of coverage, two roses to one scale, and monthly rain with its
range over the years.
"""

from collections.abc import Mapping, Sequence
from math import isfinite

from exposure.draw.drawing import (
    compass_letters,
    filled,
    month_letters,
    path,
    picture,
    polar,
    rectangle,
    stroke,
    text,
)
from exposure.draw.lettering import clean
from exposure.draw.months import MONTH_NAMES
from exposure.draw.palette import HAIR, INK, PAPER, RAIN, SOFT, STREAM, TROUGH
from exposure.draw.rose import round_step

WIDTH = 640
LEFT = 62.0
MOST_ROWS = 80  # years drawn; a longer record shows its last ones


def coverage_strip(
    rain: Mapping[int, Sequence[float]],
    wind: Mapping[int, Sequence[float]],
    *,
    typical: bool = False,
    title: str = "What is known, month by month",
    prefix: str = "coverage",
) -> str:
    """Draw one row a year: each month's cell filled from below by the share of its hours that are known.

    Parameters
    ----------
    rain, wind
        Year -> share of the hours of each month in which rain or wind speed is known; NaN outside the record.

    Examples
    --------
    >>> svg = coverage_strip({2020: [1.0] * 12}, {2020: [1.0] * 11 + [0.5]})
    >>> "Rain known in 100 % of the hours, wind in 96 %; thinnest: 2020 December, 50 %." in svg
    True
    """
    years = sorted(rain)[-MOST_ROWS:]
    tall = 26.0 if len(years) <= 12 else 16.0 if len(years) <= 40 else 12.0
    right = WIDTH - 14.0
    cell = (right - LEFT) / 12
    top = 52.0
    parts = [_key(top - 26)]
    for row, year in enumerate(years):
        low = top + (row + 1) * tall - 2
        high = tall - 4
        if len(years) <= 40 or row % 5 == 0:
            words = "typical" if typical else f"{year}"
            parts.append(text(LEFT - 8, low - (high - 10) / 2 - 1, words, size=12, anchor="end", colour=SOFT))
        for month in range(12):
            left = LEFT + month * cell
            if not isfinite(rain[year][month]):
                continue
            parts.append(filled(rectangle(left + 1, low - high, cell - 2, high), TROUGH))
            half = (cell - 3) / 2
            for share, colour, at in (
                (rain[year][month], RAIN, left + 1),
                (wind[year][month], SOFT, left + 2 + half),
            ):
                if share > 0:
                    parts.append(filled(rectangle(at, low - high * share, half, high * share), colour))
            parts.append(
                stroke(
                    path(rectangle(left + 1, low - high, cell - 2, high), close=True), colour=HAIR, width=0.75
                )
            )
    bottom = top + len(years) * tall
    parts.append(month_letters(LEFT, right, bottom + 16))
    return picture(
        text(10, 17, title, size=14, bold=True) + "".join(parts),
        width=WIDTH,
        height=bottom + 24,
        title=title,
        desc=_coverage_sentence(rain, wind),
        prefix=prefix,
    )


def _key(y: float) -> str:
    return (
        filled(rectangle(LEFT, y, 12, 10), RAIN)
        + text(LEFT + 18, y + 10, "rain known", size=12, colour=SOFT)
        + filled(rectangle(LEFT + 112, y, 12, 10), SOFT)
        + text(LEFT + 130, y + 10, "wind known", size=12, colour=SOFT)
        + text(LEFT + 232, y + 10, "(full cell = every hour of the month)", size=12, colour=SOFT)
    )


def _coverage_sentence(rain: Mapping[int, Sequence[float]], wind: Mapping[int, Sequence[float]]) -> str:
    def mean(shares: Mapping[int, Sequence[float]]) -> float:
        known = [share for row in shares.values() for share in row if isfinite(share)]
        return 100 * sum(known) / len(known) if known else 0.0

    thinnest = min(
        (
            (share, year, month)
            for table in (rain, wind)
            for year, row in table.items()
            for month, share in enumerate(row)
            if isfinite(share)
        ),
        default=(0.0, 0, 0),
    )
    share, year, month = thinnest
    return (
        f"Rain known in {mean(rain):.0f} % of the hours, wind in {mean(wind):.0f} %; thinnest: {year} "
        f"{MONTH_NAMES[month]}, {100 * share:.0f} %."
    )


def wind_and_rain_roses(
    all_hours: Sequence[float],
    rain: Sequence[float],
    *,
    rain_direction: float,
    rain_concentration: float,
    title: str = "Where the wind comes from, and where the rain comes from",
    prefix: str = "roses",
) -> str:
    """Draw the share of all windy hours and the share of the rain from each direction, to one scale.

    Parameters
    ----------
    all_hours, rain
        Shares from evenly spaced directions, from north clockwise; each adds up to one.
    rain_direction, rain_concentration
        Mean direction of the wind weighted by rain [degree], and how much it gathers there (0 to 1).

    Examples
    --------
    >>> svg = wind_and_rain_roses([0.25] * 4, [0.7, 0.1, 0.1, 0.1], rain_direction=0, rain_concentration=0.6)
    >>> "most rain with wind from 0°: 70 %" in svg
    True
    """
    size, gap = 300.0, 40.0
    top = max(*all_hours, *rain, 1e-9)
    step = round_step(100 * top, most_rings=4) / 100
    quiet = min(
        (45.0, 135.0, 225.0, 315.0), key=lambda turn: _share_near(all_hours, turn) + _share_near(rain, turn)
    )
    parts = []
    for place, (shares, words, colour) in enumerate(
        ((all_hours, "all hours with wind", SOFT), (rain, "hours with rain, weighted by it", RAIN))
    ):
        centre = (size / 2 + place * (size + gap), size / 2 + 44)
        radius = size / 2 - 28
        for ring in range(1, int(top / step + 1e-9) + 1):
            r = radius * ring * step / top
            parts.append(
                f'<circle cx="{centre[0]:.1f}" cy="{centre[1]:.1f}" r="{r:.1f}" fill="none" stroke="{HAIR}" stroke-width="0.75"/>'
            )
        number = len(shares)
        half = 180 / number * 0.82
        for sector, share in enumerate(shares):
            if share <= 0:
                continue
            bearing = sector * 360 / number
            edge = [
                polar(centre, radius * share / top, bearing + turn)
                for turn in (-half, -half / 3, half / 3, half)
            ]
            parts.append(filled([centre, *edge], colour))
        for ring in range(1, int(top / step + 1e-9) + 1):
            x, y = polar(centre, radius * ring * step / top, quiet)
            label = f"{100 * ring * step:g} %"
            parts.append(filled(rectangle(x - 15, y - 8, 30, 14), PAPER))
            parts.append(text(x, y + 4, label, size=12, anchor="middle", colour=SOFT))
        if place == 1 and isfinite(rain_direction) and rain_concentration > 0.05:
            parts.append(
                stroke(
                    path(
                        [
                            polar(centre, radius + 2, rain_direction),
                            polar(centre, radius * 0.55, rain_direction),
                        ]
                    ),
                    width=2.5,
                )
            )
        parts.append(compass_letters(centre, radius + 14))
        parts.append(text(centre[0], 38, words, size=13, anchor="middle", colour=INK))
    most = max(range(len(rain)), key=rain.__getitem__)
    usual = max(range(len(all_hours)), key=all_hours.__getitem__)
    turn = 360 / len(rain)
    mean = (
        f"mean direction {rain_direction:.0f}°, gathered {rain_concentration:.2f} of 1 (heavy stroke)"
        if isfinite(rain_direction)
        else "no rain with wind"
    )
    parts.append(text(WIDTH / 2, size + 62, f"Rain: {mean}.", size=13, anchor="middle", colour=INK))
    desc = (
        f"Wind blows most from {usual * turn:g}° ({100 * all_hours[usual]:.0f} % of windy hours); most rain with wind "
        f"from {most * turn:g}°: {100 * rain[most]:.0f} % of it; {mean}."
    )
    return picture(
        text(10, 17, title, size=14, bold=True) + "".join(parts),
        width=WIDTH,
        height=size + 74,
        title=title,
        desc=desc,
        prefix=prefix,
    )


def _share_near(shares: Sequence[float], bearing: float) -> float:
    """Largest share within 30 degrees of ``bearing``."""
    turn = 360 / len(shares)
    return max(
        (
            share
            for place, share in enumerate(shares)
            if abs((place * turn - bearing + 180) % 360 - 180) <= 30
        ),
        default=0.0,
    )


def monthly_rain(
    months: Sequence[tuple[float, float, float]],
    *,
    years: int,
    title: str = "Rain by month, mm",
    prefix: str = "monthly-rain",
) -> str:
    """Draw twelve bars of mean monthly rain, each with the range over its years.

    Parameters
    ----------
    months
        Mean, least and most of each month, January first; NaN where no whole month is known. [mm]
    years
        Number of years of the record; with one there is no range to draw.

    Examples
    --------
    >>> "wettest July, 12 mm" in monthly_rain([(5, 4, 6)] * 6 + [(12, 8, 20)] + [(5, 4, 6)] * 5, years=3)
    True
    """
    known = [row for row in months if isfinite(row[0])]
    top = max((row[2] for row in known), default=1.0) or 1.0
    step = round_step(top, most_rings=4)
    tall, foot, right = 150.0, 204.0, WIDTH - 14.0
    cell = (right - LEFT) / 12
    parts = []
    for ring in range(1, int(top / step + 1e-9) + 1):
        y = foot - tall * ring * step / top
        parts.append(stroke(f"M{LEFT:.1f} {y:.1f} H{right:.1f}", colour=HAIR, width=0.75))
        parts.append(text(LEFT - 8, y + 4, f"{ring * step:g}", size=12, anchor="end", colour=SOFT))
    for place, (mean, least, most) in enumerate(months):
        left = LEFT + place * cell
        if not isfinite(mean):
            parts.append(text(left + cell / 2, foot - 8, "?", size=13, anchor="middle", colour=SOFT))
            continue
        parts.append(
            filled(
                rectangle(left + cell * 0.22, foot - tall * mean / top, cell * 0.56, tall * mean / top),
                RAIN if years == 1 else STREAM,
            )
        )
        parts.append(
            stroke(
                path(
                    rectangle(left + cell * 0.22, foot - tall * mean / top, cell * 0.56, tall * mean / top),
                    close=True,
                ),
                colour=RAIN,
            )
        )
        if years > 1 and most > least:
            x = left + cell / 2
            low, high = foot - tall * least / top, foot - tall * most / top
            parts.append(
                stroke(
                    f"M{x:.1f} {low:.1f} V{high:.1f} M{x - 5:.1f} {low:.1f} H{x + 5:.1f} M{x - 5:.1f} {high:.1f} H{x + 5:.1f}",
                    width=1.6,
                )
            )
        if years == 1:
            parts.append(
                text(left + cell / 2, foot - tall * mean / top - 5, f"{mean:.0f}", size=12, anchor="middle")
            )
    parts.append(stroke(f"M{LEFT:.1f} {foot:.1f} H{right:.1f}", width=1.25))
    parts.append(month_letters(LEFT, right, foot + 17))
    note = "mean of the whole months known" + (f", stems least to most of {years} years" if years > 1 else "")
    parts.append(text(LEFT, 36, clean(note), size=12, colour=SOFT))
    wettest = max(range(12), key=lambda month: months[month][0] if isfinite(months[month][0]) else -1)
    driest = min(range(12), key=lambda month: months[month][0] if isfinite(months[month][0]) else 1e9)
    desc = (
        f"Rain by month: wettest {MONTH_NAMES[wettest]}, {months[wettest][0]:.0f} mm; driest {MONTH_NAMES[driest]}, "
        f"{months[driest][0]:.0f} mm."
        if known
        else "No whole month of rain is known."
    )
    return picture(
        text(10, 17, title, size=14, bold=True) + "".join(parts),
        width=WIDTH,
        height=foot + 26,
        title=title,
        desc=desc,
        prefix=prefix,
    )
