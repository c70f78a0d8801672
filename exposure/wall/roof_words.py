"""What a building's file tells of its roof: form, gables, ridge, pitch and eaves, each said once."""

from collections.abc import Mapping
from typing import Any

from exposure.checks import RefusalError, check_between
from exposure.site.footprint import metres
from exposure.wall.roof import Roof

ROOF_KEYS = {"roof", "gables", "ridge_height", "pitch", "eaves"}


def roof_told(words: Mapping[str, Any]) -> Roof:
    """The roof as ``words``, the table of a building's file, tell it.

    The overhang of the eaves may stand at the top (``eaves``), under ``[details]``, or under ``[wall]`` for
    one elevation; the nearer to the elevation it is said, the more it counts.

    Raises
    ------
    RefusalError
        For a value that cannot be, or eaves told twice with different widths.

    Examples
    --------
    >>> roof_told({"roof": "gable", "gables": ["east"], "details": {"eaves": 300}}).eaves
    300.0
    """
    form = words.get("roof")
    if form is not None and not isinstance(form, str):
        raise RefusalError(
            f"roof is {form!r:.60}", 'one word, e.g. roof = "gable"', "Write gable, hip or flat; no table."
        )
    details = words.get("details")
    details = details if isinstance(details, Mapping) else {}
    own_eaves, own_ridges = _by_elevation(words.get("wall"), details.get("elevations"))
    return Roof(
        form,
        _gables(words.get("gables")),
        _height(words.get("ridge_height"), "ridge_height"),
        None if words.get("pitch") is None else check_between(words["pitch"], "pitch", 5, 75, "degrees"),
        _same(
            _width(words.get("eaves"), "eaves"), _width(details.get("eaves"), "eaves of the details"), "eaves"
        ),
        own_eaves,
        own_ridges,
    )


def _by_elevation(walls: object, details: object) -> tuple[dict[str, float], dict[str, float]]:
    """Eaves [mm] and ridges [m] of single elevations."""
    eaves: dict[str, float] = {}
    ridges: dict[str, float] = {}
    for name, own in _tables(walls):
        wide = _width(own.get("overhang"), f"overhang of {name}")
        high = _height(own.get("ridge_height"), f"ridge_height of {name}")
        if wide is not None:
            eaves[name] = wide
        if high is not None:
            ridges[name] = high
    for name, own in _tables(details):
        wide = _same(eaves.get(name), _width(own.get("eaves"), f"eaves of {name}"), f"eaves of {name}")
        if wide is not None:
            eaves[name] = wide
    return eaves, ridges


def _tables(given: object) -> list[tuple[str, Mapping]]:
    if not isinstance(given, Mapping):
        return []
    return [(str(name), own) for name, own in given.items() if isinstance(own, Mapping)]


def _gables(given: object) -> tuple[str, ...] | None:
    """Names of elevations from a list, or from one text with semicolons (a GeoPackage holds no lists)."""
    if given is None:
        return None
    if isinstance(given, str):
        given = [one.strip() for one in given.strip("[] ").replace('"', "").split(";") if one.strip()]
    if not isinstance(given, list) or not all(isinstance(one, str) for one in given):
        raise RefusalError(
            f"gables is {given!r:.60}", 'a list of elevations, e.g. gables = ["north-east"]', "Correct it."
        )
    return tuple(given)


def _width(given: Any, name: str) -> float | None:
    return None if given is None else check_between(given, name, 0, 5000, "mm")


def _height(given: Any, name: str) -> float | None:
    if given is None:
        return None
    high = metres(given)
    if high is None:
        raise RefusalError(f"{name} is {given!r:.40}", "metres, or a text such as '28 ft'", "Correct it.")
    return high


def _same(one: float | None, other: float | None, name: str) -> float | None:
    if one is not None and other is not None and one != other:
        raise RefusalError(f"{name} are told as {one:g} and as {other:g} mm", "one width", "Leave one out.")
    return other if one is None else one
