"""How figures are worded: rounding, bands, units and the factors that must multiply back to the printed answer.

A no-break space stands before every unit, ranges say "to", negatives carry a true minus sign.
"""

from collections.abc import Callable, Sequence
from decimal import Decimal
from itertools import accumulate
from math import ceil, floor, isfinite
from operator import mul

from exposure.detail import wording
from exposure.detail.wording import THOUSAND, litres_figure

NO_BREAK = "\u00a0"
MINUS = "\u2212"
LITRES = "L/m²"
UNKNOWN = "not known"
MOST_DECIMALS = 9  # of a factor or a start, where a figure lies on the very edge of rounding
FINE_DECIMALS = 5  # of a factor, that always do otherwise

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
    """A pressure to 10 Pa, finer beside a limit of a class or a level.

    Examples
    --------
    >>> pascals(237.0).replace(NO_BREAK, " "), pascals(3.0).replace(NO_BREAK, " ")
    ('240 Pa', 'under 10 Pa')
    """
    if value is None or not isfinite(value):
        return UNKNOWN
    if 0 < value < 10:
        return f"under{NO_BREAK}10{NO_BREAK}Pa"
    return wording.pascals(value)


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


def could_be_words(found: str, could_be: str | None) -> str:
    """The class, and the other one it may as well be.

    Examples
    --------
    >>> could_be_words("moderate", "severe"), could_be_words("severe", None)
    ('moderate, could be severe', 'severe')
    """
    return f"{found}, could be {could_be}" if could_be and could_be != found else found


def factor_words(factors: Sequence[float], starts: Sequence[tuple[float, float]] = ()) -> list[str]:
    """Factors with just enough figures that a pocket calculator reaches every printed figure of the chain.

    Two decimals each; where that does not multiply back, more figures for the factor that rounding bends most.
    A factor of 0.8326 in 412 x 0.83 x 1.1 x 1 x 0.4 gives 150.5 where 151 is printed; as 0.833 it gives 151.0.

    Parameters
    ----------
    factors
        The factors in order. [1]
    starts
        Of each row of figures: its start as printed and its true start. [L m-2]

    Examples
    --------
    >>> factor_words([0.8326, 1.10, 1.0, 0.4], [(412.0, 412.2)])
    ['0.833', '1.10', '1.00', '0.40']
    """
    decimals = [2] * len(factors)
    while True:
        printed = [round(value, places) for value, places in zip(factors, decimals, strict=True)]
        if all(_same_figures(typed, printed, true, factors) for typed, true in starts):
            break
        bend = [
            abs(shown / value - 1) if value and places < MOST_DECIMALS else 0.0
            for shown, value, places in zip(printed, factors, decimals, strict=True)
        ]
        worst = max(range(len(factors)), key=bend.__getitem__, default=0)
        if not bend or bend[worst] == 0.0:
            break
        decimals[worst] += 1
    return [f"{value:.{places}f}" for value, places in zip(factors, decimals, strict=True)]


def _same_figures(typed: float, printed: Sequence[float], true: float, factors: Sequence[float]) -> bool:
    """Whether typing the printed figures shows the same litres at every step as the true ones.

    In decimals, as a calculator works: 340 x 0.175 is 59.5 there, a hair less in binary.
    """
    shown = accumulate((Decimal(repr(float(one))) for one in (typed, *printed)), mul)
    meant = accumulate([true, *factors], mul)
    return all(litres(float(one)) == litres(other) for one, other in list(zip(shown, meant, strict=True))[1:])


def start_words(start: float, factors: Sequence[float]) -> tuple[str, float]:
    """The start of a chain as printed, whole unless whole numbers cannot lead to the printed figures.

    Returns
    -------
    tuple of str and float
        The words, and the number a reader types into a calculator.

    Examples
    --------
    >>> start_words(412.2, [1.0, 0.5])
    ('412', 412.0)
    >>> start_words(412.4, [3.0])  # 412 x 3 would be 1,236, printed 1,240; so is 1,237.2
    ('412', 412.0)
    >>> start_words(41.4, [3.0])  # 41 x 3 is 123, the answer is 124
    ('41.4', 41.4)
    """
    fine = [round(value, FINE_DECIMALS) for value in factors]
    for decimals in range(MOST_DECIMALS - 1):
        if decimals == 0:
            typed = float(10 * floor(start / 10 + 0.5) if start >= THOUSAND else floor(start + 0.5))
        else:
            typed = round(start, decimals)
        if _same_figures(typed, fine, start, factors):
            return f"{typed:,.{decimals}f}", typed
    return f"{start:,.{MOST_DECIMALS - 1}f}", start
