"""What the reader tells of roof and neighbours: how far the eaves reach, the pitch, which walls are gables, who stands near.

Derived from the designer's question which elevation is worst: each of these moves a figure, none of them can be seen
in an outline, and what is not told counts on the harder side. Kept among the answers in the address.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from exposure.page.choices.state import PageState, key_of

EAVES, PITCH, GABLES, NEAR = "eaves", "pitch", "gables", "near."
WIDEST_EAVES = 5000.0  # mm
PITCHES = 20.0, 75.0  # degrees; a lower pitch is a flat roof
FARTHEST = 200.0  # m; the table of obstructions ends at 120 m
APART = "+"  # between names of elevations


def number_told(state: PageState, name: str, low: float, high: float) -> float | None:
    """A number among the answers; None where it is not told or is none.

    Examples
    --------
    >>> number_told(PageState(details=(("eaves", "450"),)), EAVES, 0, 5000)
    450.0
    """
    text = dict(state.details).get(name)
    try:
        value = float(text) if text is not None else None
    except ValueError:
        return None
    return value if value is not None and low <= value <= high else None


def roof_words(state: PageState, roof: str, elevations: Sequence[str]) -> dict[str, Any]:
    """What is told of a roof, as a building's file spells it.

    Examples
    --------
    >>> told = PageState(details=(("eaves", "450"), ("gables", "north"), ("pitch", "40")))
    >>> roof_words(told, "gable", ["north", "east"])
    {'eaves': 450.0, 'pitch': 40.0, 'gables': ['north']}
    >>> roof_words(told, "flat", ["north", "east"])
    {}
    """
    if roof == "flat":
        return {}
    found: dict[str, Any] = {
        "eaves": number_told(state, EAVES, 0, WIDEST_EAVES),
        "pitch": number_told(state, PITCH, *PITCHES) if roof == "gable" else None,
        "gables": gables_told(state, elevations) or None if roof == "gable" else None,
    }
    return {name: value for name, value in found.items() if value is not None}


def gables_told(state: PageState, elevations: Sequence[str]) -> list[str]:
    """The elevations that are told to be gables."""
    keys = dict(state.details).get(GABLES, "").split(APART)
    return [name for name in elevations if key_of(name) in keys]


def near_told(state: PageState, elevations: Sequence[str]) -> dict[str, float]:
    """Distance to the nearest building at least as tall, by elevation. [m]"""
    found = {name: number_told(state, NEAR + key_of(name), 0, FARTHEST) for name in elevations}
    return {name: value for name, value in found.items() if value is not None}


def told_with(state: PageState, changes: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """The answers with ``changes`` among them; an empty one is taken out.

    Examples
    --------
    >>> told_with(PageState(details=(("eaves", "450"),)), {"eaves": "", "pitch": "40"})
    (('pitch', '40'),)
    """
    told = {**dict(state.details), **changes}
    return tuple(sorted((name, value) for name, value in told.items() if value))


def told_without_walls(state: PageState) -> tuple[tuple[str, str], ...]:
    """The answers without what was told of another building's roof and walls.

    Examples
    --------
    >>> told_without_walls(PageState(details=(("eaves", "450"), ("near.north", "12"), ("parapet", "yes"))))
    (('parapet', 'yes'),)
    """
    return tuple(
        (name, value)
        for name, value in state.details
        if name not in (EAVES, PITCH, GABLES) and not name.startswith(NEAR)
    )
