"""Names of elevations one after another in a sentence, told apart even where a name holds a comma itself."""

from collections.abc import Iterable, Sequence


def in_turn(names: Sequence[str]) -> str:
    """Names in their order; each in quotation marks where one of them holds a comma.

    Examples
    --------
    >>> in_turn(["south", "west"])
    'south, then west'
    >>> in_turn(["south", "south, inner", "west"])
    '“south”, then “south, inner”, then “west”'
    """
    marked = [f"“{name}”" for name in names] if any("," in name for name in names) else names
    return ", then ".join(marked)


def names_listed(names: Iterable[str]) -> str:
    """Names in a row; where one holds a comma itself, parted by semicolons.

    Examples
    --------
    >>> names_listed(["north", "south"]), names_listed(["south-east, inner", "north"])
    ('north, south', 'south-east, inner; north')
    """
    given = list(names)
    return ("; " if any("," in one for one in given) else ", ").join(given)
