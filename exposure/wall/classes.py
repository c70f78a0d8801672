"""Exposure classes: from the wall spell index to sheltered, moderate, severe or very severe."""

from collections.abc import Sequence

import numpy as np

from exposure.tables import load_table

SHORT_MARGIN = 2.0  # a short record carries the lowest class or level where twice its figure stays in it: one year in twenty
# shows half of the 1-in-3 figure where yearly maxima scatter by a third about their mean (Gumbel); our choice


def class_names() -> list[str]:
    """The classes, mildest first."""
    return [name for _, name in class_limits()]


def class_limits() -> list[tuple[float, str]]:
    """Lower limit and name of each class, mildest first. [L m-2]

    Examples
    --------
    >>> class_limits()[1]
    (33.0, 'moderate')
    """
    return [(row["from"], row["class"]) for row in load_table("exposure_class")["row"]]


def exposure_class(wall_spell_index: float) -> str:
    """Class of a wall by its spell index (the wall's, never the airfield's). [L m-2]

    Limits from BS 8104:1992, PD 6697 and Approved Document C (from memory).

    Examples
    --------
    >>> exposure_class(56.4), exposure_class(56.5)
    ('moderate', 'severe')
    """
    if not wall_spell_index >= 0:
        message = f"a wall spell index of {wall_spell_index} has no class; expected zero or more L/m2."
        raise ValueError(message)
    return class_names()[int(class_numbers(np.array(wall_spell_index)))]


def class_numbers(wall_spell_index: np.ndarray) -> np.ndarray:
    """Place of each wall's class among :func:`class_names`, by its spell index of zero or more. [L m-2]

    Examples
    --------
    >>> class_numbers(np.array([0.0, 32.9, 33.0, 56.5, 400.0])).tolist()
    [0, 0, 1, 2, 3]
    """
    begins = [limit for limit, _ in class_limits()]
    return np.searchsorted(begins, wall_spell_index, side="right") - 1


def harder_class(one: str, other: str) -> str:
    """The harder of two classes."""
    return max(one, other, key=class_names().index)


def class_for_details(*, found: str, in_the_open: str, never_lowest: bool) -> str:
    """Class the details follow: shelter may buy one class and no more.

    Parameters
    ----------
    found
        Class of the wall with its neighbours standing.
    in_the_open
        Class of the same wall without them (a neighbour can be pulled down).
    never_lowest
        True for a record too short to carry the lowest class here.

    Examples
    --------
    >>> class_for_details(found="sheltered", in_the_open="severe", never_lowest=False)
    'moderate'
    """
    names = class_names()
    number = numbers_for_details(
        found=np.array(names.index(found)),
        in_the_open=np.array(names.index(in_the_open)),
        never_lowest=np.array(never_lowest),
    )
    return names[int(number)]


def numbers_for_details(
    *, found: np.ndarray, in_the_open: np.ndarray, never_lowest: np.ndarray
) -> np.ndarray:
    """As :func:`class_for_details` of many walls at once, by the classes' places among :func:`class_names`."""
    return np.maximum(np.maximum(found, in_the_open - 1), np.where(never_lowest, 1, 0))


def other_classes(found: str, reached: Sequence[str]) -> tuple[str, ...]:
    """Every class between ``found`` and those ``reached``, ``found`` left out, mildest first.

    Examples
    --------
    >>> other_classes("moderate", ("sheltered", "very severe"))
    ('sheltered', 'severe', 'very severe')
    """
    names = class_names()
    places = [names.index(name) for name in (found, *reached)]
    return tuple(name for name in names[min(places) : max(places) + 1] if name != found)


def with_way(found: str, other: str) -> str:
    """Another class and which way it lies.

    Examples
    --------
    >>> with_way("severe", "moderate"), with_way("severe", "very severe")
    ('moderate (milder)', 'very severe (harder)')
    """
    return f"{other} ({'harder' if harder_class(found, other) == other else 'milder'})"


def class_in_words(found: str, *, band: Sequence[str] = (), light_rain: str | None = None) -> str:
    """The class with every other it could be: by its band, and counting light rain; each with the way it lies.

    Examples
    --------
    >>> class_in_words("severe", band=("moderate", "severe"))
    'severe, could be moderate (milder)'
    >>> class_in_words("moderate", light_rain="severe")
    'moderate, could be severe (harder) counting light rain'
    """
    by_band = other_classes(found, band)
    others = [with_way(found, other) for other in by_band]
    if light_rain is not None and light_rain != found and light_rain not in by_band:
        others.append(f"{with_way(found, light_rain)} counting light rain")
    return found + (f", could be {' or '.join(others)}" if others else "")


def class_label(found: str, others: Sequence[str]) -> str:
    """The class where there is room for few words: on which side it may lie.

    Examples
    --------
    >>> class_label("severe", ("moderate",)), class_label("severe", ("very severe",)), class_label("severe", ())
    ('severe or milder', 'severe or harder', 'severe')
    >>> class_label("severe", ("moderate", "very severe"))
    'severe, either way'
    """
    if not others:
        return found
    harder = {harder_class(found, other) == other for other in others}
    return (
        f"{found}, either way"
        if len(harder) == 2
        else f"{found} or {'harder' if True in harder else 'milder'}"
    )
