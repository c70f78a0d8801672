"""Figures as a reader on site expects them: rounded, with a no-break space before the unit."""

from math import floor

SPACE = "\u00a0"


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
    shown = {"storeys": ("storey", "storeys"), "days": ("day", "days"), "openings": ("opening", "openings")}
    if unit == "of each type":
        return unit if plain == "1" else f"{plain}{SPACE}{unit}"
    if unit in shown:
        return f"{plain}{SPACE}{shown[unit][plain != '1']}"
    if unit == "°":
        return f"{plain}{unit}"
    return f"{plain}{SPACE}{unit}" if unit else str(plain)


def pascals(value: float) -> str:
    """A pressure to the nearest 10 Pa.

    Examples
    --------
    >>> pascals(138).replace(SPACE, "_")
    '140_Pa'
    """
    return f"{number(10 * floor(value / 10 + 0.5))}{SPACE}Pa"


def millimetres(value: float) -> str:
    """A length in whole millimetres."""
    return f"{number(floor(value + 0.5))}{SPACE}mm"


def litres(value: float) -> str:
    """Litres a square metre: whole, from 1,000 to the nearest 10, "under 1" below one.

    Examples
    --------
    >>> litres(69.6).replace(SPACE, "_"), litres(0.4).replace(SPACE, "_")
    ('70_L/m²', 'under 1_L/m²')
    """
    if value < 1:
        shown = "0" if value == 0 else "under 1"
    else:
        shown = number(10 * floor(value / 10 + 0.5) if value >= 1000 else floor(value + 0.5))
    return f"{shown}{SPACE}L/m²"


def listed(parts: list[str]) -> str:
    """Words in a row: a, b and c.

    Examples
    --------
    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
