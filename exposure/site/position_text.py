"""Positions as people type them: degrees, or degrees with minutes and seconds, with a sign or a letter."""

import re
from math import isfinite

from exposure.checks import RefusalError

EXAMPLE = "48.44, -29.68"
LONGEST = 120  # characters of a position
_NUMBER = r"\d+(?:[.,]\d+)?"
_ANGLE = re.compile(
    rf"(?P<before>[NSEWnsew])?\s*(?P<sign>[+-])?\s*(?P<degrees>{_NUMBER})\s*(?:[°ºd:]|deg\.?|\s|$)?\s*"
    rf"(?:(?P<minutes>{_NUMBER})\s*(?:['′’m:]|min\.?|\s|$)\s*)?"
    rf"(?:(?P<seconds>{_NUMBER})\s*(?:\"|″|”|''|s|sec\.?|$)?\s*)?(?P<after>[NSEWnsew])?"
)
_MOST = {"latitude": 90.0, "longitude": 360.0}
_LETTERS = {"latitude": "NS", "longitude": "EW"}


def read_angle(text: object, which: str) -> float:
    """A latitude or longitude out of ``text``. [degree]

    Parameters
    ----------
    text
        Decimal degrees (point or comma), or degrees, minutes and seconds; south and west by sign or letter.
    which
        ``latitude`` or ``longitude``.

    Raises
    ------
    RefusalError
        When it is no angle, carries the other axis's letter, or lies beyond the globe.

    Examples
    --------
    >>> read_angle("48,44", "latitude"), read_angle("29° 40′ 48″ W", "longitude"), read_angle("S 12 30", "latitude")
    (48.44, -29.68, -12.5)
    """
    plain = " ".join(str(text).replace("\u2212", "-").replace("\u2013", "-").split())
    found = _ANGLE.fullmatch(plain) if len(plain) <= 60 else None
    if found is None:
        raise RefusalError(
            f"the {which} {plain[:40]!r}",
            f"degrees such as {'48.44' if which == 'latitude' else '-29.68'}, or 48° 26′ 24″ {_LETTERS[which][0]}",
            f"Correct the {which}.",
        )
    letter = (found["before"] or found["after"] or "").upper()
    if (found["before"] and found["after"]) or (letter and found["sign"]):
        raise RefusalError(f"the {which} {plain[:40]!r}", "one sign or one letter", f"Correct the {which}.")
    if letter and letter not in _LETTERS[which]:
        raise RefusalError(
            f"the {which} {plain[:40]!r} carries the letter {letter}",
            f"{' or '.join(_LETTERS[which])}, latitude before longitude",
            "Swap the two.",
        )
    value = _degrees(found, plain, which)
    value = -value if found["sign"] == "-" or letter in ("S", "W") else value
    if not isfinite(value) or not (
        -90 <= value <= 90 if which == "latitude" else -180 <= value <= _MOST[which]
    ):
        raise RefusalError(
            f"the {which} {plain[:40]!r}",
            "degrees from -90 to 90" if which == "latitude" else "degrees from -180 to 360",
            "Convert metres of a national grid to latitude and longitude (EPSG:4326) first."
            if abs(value) > 1000
            else "Swap the two, if latitude and longitude are mixed up."
            if which == "latitude" and abs(value) <= 360
            else f"Correct the {which}.",
        )
    return value


def _degrees(found: re.Match, plain: str, which: str) -> float:
    parts = [
        float(found[name].replace(",", ".")) for name in ("degrees", "minutes", "seconds") if found[name]
    ]
    if any(part % 1 for part in parts[:-1]) or any(part >= 60 for part in parts[1:]):
        raise RefusalError(
            f"the {which} {plain[:40]!r}",
            "whole degrees, then minutes and seconds below 60",
            f"Correct the {which}.",
        )
    return float(sum(part / 60**place for place, part in enumerate(parts)))


def read_position(text: str) -> tuple[float, float]:
    """Latitude and longitude as typed together. [degree]

    Raises
    ------
    RefusalError
        When there are not two angles, latitude first.

    Examples
    --------
    >>> read_position("48.44, -29.68"), read_position("48,44; -29,68"), read_position("48.44 N 29.68 W")
    ((48.44, -29.68), (48.44, -29.68), (48.44, -29.68))
    """
    halves = _halves(" ".join(text.split())) if len(text) <= LONGEST else None
    if halves is None or not all(re.search(r"\d", half) for half in halves):
        raise RefusalError(
            f"the position {text[:80]!r}", f"latitude and longitude, such as {EXAMPLE}", "Type two numbers."
        )
    latitude = read_angle(halves[0], "latitude")
    return latitude, read_angle(halves[1], "longitude")


def _halves(plain: str) -> tuple[str, str] | None:
    """The two angles of a position, apart; None when there are not two."""
    for mark in (";", ", ", ","):
        if plain.count(mark) == 1:
            one, other = plain.split(mark)
            return one, other
    lettered = re.fullmatch(r"(.*?[NSns])\s*(.*[EWew])", plain) or re.fullmatch(
        r"([NSns].*?)\s*([EWew].*)", plain
    )
    if lettered is not None:
        return lettered[1], lettered[2]
    words = plain.split(" ")
    if len(words) % 2 or not words[0]:
        return None
    half = len(words) // 2
    return " ".join(words[:half]), " ".join(words[half:])
