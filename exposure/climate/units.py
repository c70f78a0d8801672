"""Declared units of weather turned into ours: one explicit table, nothing guessed from the size of a number."""

from typing import NamedTuple

from exposure.checks import RefusalError


class Conversion(NamedTuple):
    """``value x scale + offset`` is in our unit; ``rate`` marks an amount of rain an hour, not in a step."""

    scale: float
    offset: float = 0.0
    rate: bool = False

    def apply(self, value):
        """Return ``value`` in our unit.

        Examples
        --------
        >>> conversion("degF", "temperature").apply(212.0)
        100.0
        """
        if self.scale == 1.0 and self.offset == 0.0:
            return value
        return value * self.scale + self.offset


# Exact by definition: the international mile, foot and inch, the nautical mile. Water: 1 kg on 1 m2 is 1 mm.
SPEED = {
    "m s-1": 1.0,
    "km h-1": 1 / 3.6,
    "mile h-1": 0.44704,
    "knot": 1852 / 3600,
    "ft s-1": 0.3048,
    "cm s-1": 0.01,
    "dm s-1": 0.1,
}
DEPTH = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "kg m-2": 1.0, "0.1 mm": 0.1, "0.01 in": 0.254}
RATE = {
    "mm h-1": 1.0,
    "mm s-1": 3600.0,
    "m s-1": 3.6e6,
    "kg m-2 s-1": 3600.0,
    "kg m-2 h-1": 1.0,
    "in h-1": 25.4,
    "m h-1": 1000.0,
    "cm h-1": 10.0,
    "mm d-1": 1 / 24,
    "kg m-2 d-1": 1 / 24,
}
ANGLE = {"degree": 1.0, "radian": 57.29577951308232, "10 degree": 10.0}
SHARE = {"%": 1.0, "1": 100.0}
LENGTH = {"m": 1.0, "ft": 0.3048, "km": 1000.0}

TABLE: dict[str, dict[str, Conversion]] = {
    "speed": {unit: Conversion(scale) for unit, scale in SPEED.items()},
    "rain": {unit: Conversion(scale) for unit, scale in DEPTH.items()}
    | {unit: Conversion(scale, rate=True) for unit, scale in RATE.items()},
    "direction": {unit: Conversion(scale) for unit, scale in ANGLE.items()},
    "temperature": {
        "degC": Conversion(1.0),
        "K": Conversion(1.0, -273.15),
        "degF": Conversion(5 / 9, -160 / 9),
        "0.1 degC": Conversion(0.1),
    },
    "share": {unit: Conversion(scale) for unit, scale in SHARE.items()},
    "length": {unit: Conversion(scale) for unit, scale in LENGTH.items()},
}
QUANTITY = {  # which kind of unit each term of the vocabulary takes
    "wind_speed": "speed",
    "wind_from_direction": "direction",
    "rain": "rain",
    "snowfall": "rain",
    "convective_rain": "rain",
    "air_temperature": "temperature",
    "dew_point_temperature": "temperature",
    "relative_humidity": "share",
}
_SPELLINGS = {  # other ways to write a unit, after _plain
    "m/s": "m s-1",
    "mps": "m s-1",
    "ms-1": "m s-1",
    "m.s-1": "m s-1",
    "meter/second": "m s-1",
    "meters/second": "m s-1",
    "metre/second": "m s-1",
    "km/h": "km h-1",
    "kph": "km h-1",
    "kmh": "km h-1",
    "kmh-1": "km h-1",
    "km/hr": "km h-1",
    "mph": "mile h-1",
    "mp/h": "mile h-1",
    "mi/h": "mile h-1",
    "miles/hour": "mile h-1",
    "kn": "knot",
    "kt": "knot",
    "kts": "knot",
    "knots": "knot",
    "ft/s": "ft s-1",
    "cm/s": "cm s-1",
    "0.1 m/s": "dm s-1",
    "0.1 m s-1": "dm s-1",
    "millimeter": "mm",
    "millimeters": "mm",
    "millimetre": "mm",
    "millimetres": "mm",
    "mm/hour": "mm h-1",
    "mm/h": "mm h-1",
    "mm/hr": "mm h-1",
    "mmh-1": "mm h-1",
    "mm hr-1": "mm h-1",
    "mm/s": "mm s-1",
    "mm/day": "mm d-1",
    "mm/d": "mm d-1",
    "mm day-1": "mm d-1",
    "kg/m2": "kg m-2",
    "kgm-2": "kg m-2",
    "l/m2": "mm",
    "l m-2": "mm",
    "kg/m2/s": "kg m-2 s-1",
    "kg/(m2s)": "kg m-2 s-1",
    "kgm-2s-1": "kg m-2 s-1",
    "inch": "in",
    "inches": "in",
    "in/h": "in h-1",
    "in/hr": "in h-1",
    "m of water equivalent": "m",
    "meter": "m",
    "meters": "m",
    "metre": "m",
    "metres": "m",
    "cm/h": "cm h-1",
    "m/h": "m h-1",
    "deg": "degree",
    "degrees": "degree",
    "degree_true": "degree",
    "degrees_true": "degree",
    "degrees true": "degree",
    "degree true": "degree",
    "°": "degree",
    "rad": "radian",
    "radians": "radian",
    "tens of degrees": "10 degree",
    "c": "degC",
    "°c": "degC",
    "celsius": "degC",
    "degc": "degC",
    "0.1 degc": "0.1 degC",
    "degf": "degF",
    "deg c": "degC",
    "deg_c": "degC",
    "degrees c": "degC",
    "degree_celsius": "degC",
    "degrees_celsius": "degC",
    "k": "K",
    "kelvin": "K",
    "f": "degF",
    "°f": "degF",
    "deg f": "degF",
    "fahrenheit": "degF",
    "degree_fahrenheit": "degF",
    "percent": "%",
    "pct": "%",
    "fraction": "1",
    "(0 - 1)": "1",
    "feet": "ft",
    "foot": "ft",
}


def _plain(unit: str) -> str:
    """``unit`` in lower case, with one way of writing powers and spaces."""
    return " ".join(
        unit.replace("**", "").replace("^", "").replace("²", "2").replace("⁻", "-").split()
    ).lower()


def unit_name(unit: str) -> str:
    """Our spelling of ``unit``, or ``unit`` itself when it is not in the table.

    Examples
    --------
    >>> unit_name("m s**-1"), unit_name("mph"), unit_name("furlong")
    ('m s-1', 'mile h-1', 'furlong')
    """
    plain = _plain(unit)
    return _SPELLINGS.get(plain, plain)


def conversion(unit: str | None, quantity: str, *, name: str | None = None) -> Conversion:
    """How to turn a value in ``unit`` into ours: m s-1, degree, mm (in the hour), degC, %, m.

    Parameters
    ----------
    unit
        The declared unit, in any of the usual spellings; None or blank when none was declared.
    quantity
        Key of :data:`TABLE`: speed, direction, rain, temperature, share or length.
    name
        What the source calls the value, for the message.

    Raises
    ------
    RefusalError
        When no unit is declared or it does not belong to ``quantity``.

    Examples
    --------
    >>> conversion("mph", "speed").apply(10.0)
    4.4704
    >>> conversion("in", "rain").scale, conversion("kg m**-2 s**-1", "rain").rate
    (25.4, True)
    >>> conversion(None, "speed", name="wspd")
    Traceback (most recent call last):
    exposure.checks.RefusalError: wspd declares no unit; expected a unit of speed, such as m s-1, km h-1, mile h-1. Write the unit into the header or name it with the column, e.g. wspd [m s-1].
    """
    called = name or quantity
    known = TABLE[quantity]
    examples = ", ".join(list(known)[:3])
    ours = next(iter(known))
    if unit is None or not unit.strip():
        raise RefusalError(
            f"{called} declares no unit",
            f"a unit of {quantity}, such as {examples}",
            f"Write the unit into the header or name it with the column, e.g. {called} [{ours}].",
        )
    found = known.get(unit_name(unit))
    if found is None:
        raise RefusalError(
            f"{called} is in {unit[:40]!r}",
            f"a unit of {quantity}, such as {examples}",
            f"Convert it, or correct the header, e.g. {called} [{ours}].",
        )
    return found
