"""Exposure classes: from the wall spell index to sheltered, moderate, severe or very severe."""

from exposure.tables import load_table


def class_names() -> list[str]:
    """The classes, mildest first."""
    return [row["class"] for row in load_table("exposure_class")["row"]]


def exposure_class(wall_spell_index: float) -> str:
    """Class of a wall by its spell index (the wall's, never the airfield's). [L m-2]

    Limits from BS 8104:1992, PD 6697 and Approved Document C (from memory).

    Examples
    --------
    >>> exposure_class(56.4), exposure_class(56.5)
    ('moderate', 'severe')
    """
    for row in load_table("exposure_class")["row"]:
        if row["from"] <= wall_spell_index < row["to"]:
            return row["class"]
    message = f"a wall spell index of {wall_spell_index} has no class; expected zero or more L/m2."
    raise ValueError(message)


def harder_class(one: str, other: str) -> str:
    """The harder of two classes."""
    return max(one, other, key=class_names().index)


def class_for_details(*, found: str, in_the_open: str, indicative: bool) -> str:
    """Class the details follow: shelter may buy one class and no more; a short record never the lowest.

    Parameters
    ----------
    found
        Class of the wall with its neighbours standing.
    in_the_open
        Class of the same wall without them (a neighbour can be pulled down).
    indicative
        True for a typical year or fewer than ten years.

    Examples
    --------
    >>> class_for_details(found="sheltered", in_the_open="severe", indicative=False)
    'moderate'
    """
    names = class_names()
    least = max(names.index(in_the_open) - 1, 1 if indicative else 0)
    return names[max(names.index(found), least)]
