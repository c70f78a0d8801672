"""How figures are worded everywhere, on screen, paper, page and in the terminal: rounding, bands, units.

A no-break space stands before every unit, ranges say "to", negatives carry a true minus sign.
"""

from collections.abc import Callable
from functools import cache
from math import ceil, floor, isfinite

from exposure.tables import load_table

NO_BREAK = "\u00a0"
MINUS = "\u2212"
LITRES = "L/m²"
UNKNOWN = "not known"
THOUSAND = 1000  # from here litres are given to the nearest ten
TEN_PASCALS = 10.0  # pressures are given in tens, upward
ONE_AND_MORE = {  # units that are words, of one and of more
    "storeys": ("storey", "storeys"),
    "days": ("day", "days"),
    "openings": ("opening", "openings"),
    "layers": ("layer", "layers"),
}

Band = tuple[float, float]


def whole(value: float) -> str:
    """A whole number with thousands commas and a true minus sign.

    Examples
    --------
    >>> whole(1234.4), whole(-3.2), whole(-0.2)
    ('1,234', '−3', '0')
    """
    if not isfinite(value):
        return UNKNOWN
    number = floor(abs(value) + 0.5)
    sign = MINUS if value < 0 and number else ""
    return f"{sign}{number:,}"


def number(value: float | str, decimals: int = 0) -> str:
    """A number with thousands parted by commas and a true minus sign; text is left alone.

    Examples
    --------
    >>> number(1000), number(2.5, 1), number("3 to 5")
    ('1,000', '2.5', '3 to 5')
    """
    if isinstance(value, str):
        return value
    return f"{value:,.{decimals}f}".replace("-", "\u2212")


def counted(number: int, thing: str) -> str:
    """Say how many, in the singular for one.

    Examples
    --------
    >>> counted(1, "hour"), counted(2223, "hour"), counted(0, "place")
    ('1 hour', '2,223 hours', '0 places')
    """
    return f"{number:,} {thing}" if number == 1 else f"{number:,} {thing}s"


def amount(value: float | str, unit: str) -> str:
    """A value of the ladder with its unit.

    Examples
    --------
    >>> amount(25, "mm").replace(NO_BREAK, "_"), amount(1.5, "°").replace(NO_BREAK, "_")
    ('25_mm', '1.5°')
    """
    plain = value if isinstance(value, str) else f"{value:,.10g}"
    if unit == "of each type":
        return unit if plain == "1" else f"{plain}{NO_BREAK}{unit}"
    if unit in ONE_AND_MORE:
        return f"{plain}{NO_BREAK}{ONE_AND_MORE[unit][plain != '1']}"
    if unit == "°":
        return f"{plain}{unit}"
    return f"{plain}{NO_BREAK}{unit}" if unit else str(plain)


def listed(parts: list[str]) -> str:
    """Words in a row: a, b and c.

    Examples
    --------
    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def litres(value: float | None) -> str:
    """Litres on a square metre, without the unit: whole, from 1,000 to the nearest ten, with a decimal near a class limit.

    Examples
    --------
    >>> litres(69.7), litres(0.4), litres(0.0), litres(1234.0)
    ('70', 'under 1', '0', '1,230')
    """
    if value is None or not isfinite(value):
        return UNKNOWN
    return litres_figure(value) if value >= 0 else whole(value)


def litres_figure(value: float, way: Callable[[float], float] = lambda shown: floor(shown + 0.5)) -> str:
    """The figure of litres a square metre without its unit, rounded by ``way``; never onto another class's side.

    Whole, from 1,000 to the nearest 10. Where rounding would carry a figure over a limit between two exposure
    classes, which are decided unrounded, one decimal stays, and just under the limit the rest is cut off.

    Examples
    --------
    >>> litres_figure(69.7), litres_figure(0.4), litres_figure(1234.0), litres_figure(32.6), litres_figure(32.97)
    ('70', 'under 1', '1,230', '32.6', '32.9')
    >>> from math import ceil
    >>> litres_figure(56.7, way=floor), litres_figure(99.6, way=ceil)
    ('56.7', '99.6')
    """
    if 0 < value < 1:
        return "under 1"
    if value >= THOUSAND - 0.5:
        return number(10 * way(value / 10))
    for decimals in (0, 1):
        scale = 10.0**decimals
        shown = way(value * scale) / scale
        if all((shown < limit) == (value < limit) for limit in _class_limits()):
            return number(shown, decimals)
    return number(floor(10 * value) / 10, 1)  # just under a limit


@cache
def _class_limits() -> tuple[float, ...]:
    """The figures at which a harder exposure class begins. [L m-2]"""
    return tuple(float(row["from"]) for row in load_table("exposure_class")["row"][1:])


def band_words(band: Band | None) -> str:
    """A band rounded outward, as ``58 to 84``, though never into another class; empty when there is none.

    Examples
    --------
    >>> band_words((58.6, 83.2)), band_words((1009.0, 1234.0)), band_words(None)
    ('58 to 84', '1,000 to 1,240', '')
    """
    if band is None or not all(isfinite(end) for end in band):
        return ""
    low, high = max(band[0], 0.0), max(band[1], 0.0)
    return f"{_outward(low, floor)} to {_outward(high, ceil)}"


def _outward(end: float, way: Callable[[float], float]) -> str:
    """An end of a band, rounded away from the figure; whole also below one."""
    return litres_figure(end, way) if end >= 1 else whole(way(end))


def litres_with_band(value: float | None, band: Band | None, *, unit: bool = True) -> str:
    """Figure, unit and its band right behind, held together on one line.

    Examples
    --------
    >>> litres_with_band(69.7, (58.6, 83.2)).replace(NO_BREAK, " ")
    '70 L/m² (58 to 84)'
    """
    words = litres(value)
    if unit and words != UNKNOWN:
        words += f" {LITRES}"
    behind = band_words(band)
    return (f"{words} ({behind})" if behind else words).replace(" ", NO_BREAK)


def figures_words(value: float | None, band: Band | None, unit: str) -> str:
    """Figure, any unit and band for a sentence read aloud.

    Examples
    --------
    >>> figures_words(412.0, (367, 466), "L/m² a year")
    '412 L/m² a year (367 to 466)'
    """
    behind = band_words(band)
    words = f"{litres(value)} {unit}"
    return f"{words} ({behind})" if behind else words


def pascals(value: float | None) -> str:
    """A pressure up to the next 10 Pa; no limit of a class or a level lies between, so it keeps both.

    Examples
    --------
    >>> [pascals(value).replace(NO_BREAK, "_") for value in (237.0, 302, 300, 99.6, 100.2)]
    ['240_Pa', '310_Pa', '300_Pa', '100_Pa', '110_Pa']
    >>> pascals(3.0).replace(NO_BREAK, " "), pascals(0.0).replace(NO_BREAK, " ")
    ('under 10 Pa', '0 Pa')
    """
    if value is None or not isfinite(value):
        return UNKNOWN
    if 0 < value < TEN_PASCALS:
        return f"under{NO_BREAK}10{NO_BREAK}Pa"
    return f"{whole(shown_pascals(value))}{NO_BREAK}Pa"


def shown_pascals(value: float) -> float:
    """The pressure that :func:`pascals` tells, as a number; one under 10 Pa is left as it is. [Pa]

    Examples
    --------
    >>> shown_pascals(237.0), shown_pascals(302.0), shown_pascals(3.0)
    (240.0, 310.0, 3.0)
    """
    return value if 0 < value < TEN_PASCALS else TEN_PASCALS * ceil(round(value / TEN_PASCALS, 6))


def pressure_band(band: Band) -> str:
    """Between what a pressure may lie, rounded outward to 10 Pa.

    Examples
    --------
    >>> pressure_band((112.0, 208.5)).replace(NO_BREAK, " "), pressure_band((50.0, float("nan"))).replace(NO_BREAK, " ")
    ('110 to 210 Pa', 'at least 50 Pa')
    """
    low = whole(TEN_PASCALS * floor(band[0] / TEN_PASCALS))
    if not isfinite(band[1]):
        return f"at least {low}{NO_BREAK}Pa"
    return f"{low} to {whole(TEN_PASCALS * ceil(band[1] / TEN_PASCALS))}{NO_BREAK}Pa"


def millimetres(value: float | None) -> str:
    """A length in whole millimetres.

    Examples
    --------
    >>> millimetres(24.4).replace(NO_BREAK, " ")
    '24 mm'
    """
    if value is None or not isfinite(value):
        return UNKNOWN
    return f"{whole(value)}{NO_BREAK}mm"


def metres(value: float | None, *, decimals: int = 1) -> str:
    """A length in metres.

    Examples
    --------
    >>> metres(5.6).replace(NO_BREAK, " "), metres(-3.0, decimals=0).replace(NO_BREAK, " ")
    ('5.6 m', '−3 m')
    """
    if value is None or not isfinite(value):
        return UNKNOWN
    return f"{value:,.{decimals}f}".replace("-", MINUS) + f"{NO_BREAK}m"


def percent(share: float | None) -> str:
    """A share from 0 to 1 as whole percent.

    Examples
    --------
    >>> percent(0.704).replace(NO_BREAK, " "), percent(0.001).replace(NO_BREAK, " ")
    ('70 %', 'under 1 %')
    """
    if share is None or not isfinite(share):
        return UNKNOWN
    if 0 < share < 0.01:
        return f"under{NO_BREAK}1{NO_BREAK}%"
    return f"{whole(100 * share)}{NO_BREAK}%"


def share_words(share: float | None, *, of: int = 100) -> str:
    """A share of resamples, as ``97 of 100``; certainty is only printed when it was every one.

    Examples
    --------
    >>> share_words(0.97), share_words(0.997), share_words(1.0), share_words(0.001)
    ('97 of 100', '99 of 100', '100 of 100', '1 of 100')
    """
    if share is None or not isfinite(share):
        return UNKNOWN
    count = floor(share * of + 0.5)
    if 0 < share < 1:
        count = min(max(count, 1), of - 1)
    return f"{count} of {of}"


def degrees(value: float) -> str:
    """A direction in whole degrees below 360.

    Examples
    --------
    >>> degrees(231.6), degrees(359.7)
    ('232°', '0°')
    """
    return f"{floor(value + 0.5) % 360}°"


def position(latitude: float, longitude: float) -> str:
    """A place on the globe in words that need no sign.

    Examples
    --------
    >>> position(-41.32, 12.08)
    '41.32° S, 12.08° E'
    """
    east = (longitude + 180) % 360 - 180
    return f"{abs(latitude):.2f}° {'S' if latitude < 0 else 'N'}, {abs(east):.2f}° {'W' if east < 0 else 'E'}"
