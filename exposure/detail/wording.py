"""Figures as a reader on site expects them: rounded, with a no-break space before the unit."""

from collections.abc import Callable
from functools import cache
from math import floor

from exposure.tables import load_table

SPACE = "\u00a0"
THOUSAND = 1000  # from here litres are given to the nearest ten


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


def amount(value: float | str, unit: str) -> str:
    """A value of the ladder with its unit.

    Examples
    --------
    >>> amount(25, "mm").replace(SPACE, "_"), amount(1.5, "°").replace(SPACE, "_")
    ('25_mm', '1.5°')
    """
    plain = value if isinstance(value, str) else f"{value:,.10g}"
    shown = {
        "storeys": ("storey", "storeys"),
        "days": ("day", "days"),
        "openings": ("opening", "openings"),
        "layers": ("layer", "layers"),
    }
    if unit == "of each type":
        return unit if plain == "1" else f"{plain}{SPACE}{unit}"
    if unit in shown:
        return f"{plain}{SPACE}{shown[unit][plain != '1']}"
    if unit == "°":
        return f"{plain}{unit}"
    return f"{plain}{SPACE}{unit}" if unit else str(plain)


def pascals(value: float) -> str:
    """A pressure to the nearest 10 Pa; finer where that would carry it over a limit of a class or a level.

    Examples
    --------
    >>> [pascals(value).replace(SPACE, "_") for value in (138, 302, 300, 99.6, 100.2)]
    ['140_Pa', '302_Pa', '300_Pa', '100_Pa', '100.2_Pa']
    """
    for step, decimals in ((10, 0), (1, 0), (0.1, 1)):
        shown = step * floor(value / step + 0.5)
        if all((shown <= limit + 1e-9) == (value <= limit + 1e-9) for limit in _pressure_limits()):
            return f"{number(shown, decimals)}{SPACE}Pa"
    return f"{number(value, 3)}{SPACE}Pa"


@cache
def _pressure_limits() -> tuple[float, ...]:
    """Pressures above which a higher window class or level is asked. [Pa]"""
    classes = [float(row["pressure"]) for row in load_table("window_class")["row"]]
    above = [classes[-1] + 150 * step for step in range(1, 30)]  # E750 and the steps after it
    ladder = [float(row["pressure_to"]) for row in load_table("detail_level")["row"]]
    return tuple(sorted({*classes, *above, *(limit for limit in ladder if limit < 1e6)}))


def millimetres(value: float) -> str:
    """A length in whole millimetres."""
    return f"{number(floor(value + 0.5))}{SPACE}mm"


def litres(value: float) -> str:
    """Litres a square metre: whole, from 1,000 to the nearest 10, "under 1" below one.

    Examples
    --------
    >>> litres(69.6).replace(SPACE, "_"), litres(0.4).replace(SPACE, "_"), litres(32.6).replace(SPACE, "_")
    ('70_L/m²', 'under_1_L/m²', '32.6_L/m²')
    """
    return f"{litres_figure(value).replace(' ', SPACE)}{SPACE}L/m²"


def litres_figure(value: float, way: Callable[[float], float] = lambda shown: floor(shown + 0.5)) -> str:
    """The figure of litres a square metre without its unit, rounded by ``way``; never onto another class's side.

    Whole, from 1,000 to the nearest 10. Where rounding would carry a figure over a limit between two exposure
    classes, which are decided unrounded, decimals stay until it does not.

    Examples
    --------
    >>> litres_figure(69.7), litres_figure(0.4), litres_figure(1234.0), litres_figure(32.6), litres_figure(32.97)
    ('70', 'under 1', '1,230', '32.6', '32.97')
    >>> from math import ceil
    >>> litres_figure(56.7, way=floor), litres_figure(99.6, way=ceil)
    ('56.7', '99.6')
    """
    if 0 < value < 1:
        return "under 1"
    if value >= THOUSAND - 0.5:
        return number(10 * way(value / 10))
    for decimals in range(5):
        scale = 10.0**decimals
        shown = way(value * scale) / scale
        if all((shown < limit) == (value < limit) for limit in _class_limits()):
            return number(shown, decimals)
    return number(value, 5)


@cache
def _class_limits() -> tuple[float, ...]:
    """The figures at which a harder exposure class begins. [L m-2]"""
    return tuple(float(row["from"]) for row in load_table("exposure_class")["row"][1:])


def listed(parts: list[str]) -> str:
    """Words in a row: a, b and c.

    Examples
    --------
    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
