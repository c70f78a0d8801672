"""The openings of a building as a list: windows and doors by elevation, with what the window offered is rated to."""

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from exposure.checks import RefusalError, check_between
from exposure.detail.window_class import rating_of

COLUMNS = ("elevation", "width", "height", "count")
KNOWN = (*COLUMNS, "door", "rated")
WORDS_OF_YOUR_OWN = ("name", "note", "")  # read by nobody; a trailing comma makes one without a name
LARGEST_LIST = 2_000_000  # characters of an openings list
MOST_OPENINGS = 10_000
SMALL = 250  # mm; a list of nothing larger holds centimetres; our choice


@dataclass(frozen=True)
class Opening:
    """Openings of one size on one elevation. Width and height in mm, the rating of the product offered in Pa."""

    elevation: str
    width: float
    height: float
    count: int = 1
    door: bool = False
    rated: float | None = None  # none: not known yet
    name: str = ""  # as a model calls it
    level: bool = False  # a door with a level threshold


def read_openings(text: str) -> tuple[Opening, ...]:
    r"""Openings from the text of a CSV file: elevation, width and height in mm, count, and door and rated if known.

    ``door`` is no, yes, or level for a door with a level threshold; rooflights are in no schedule and belong in no list.
    ``rated`` is what the window offered was tested to, in pascals or as a class
    (:func:`exposure.detail.window_class.rating_of`).

    Raises
    ------
    RefusalError
        For a missing column or one that nothing reads, a line that cannot be read, more than 10,000 openings, or sizes that look like
        centimetres.

    Examples
    --------
    >>> read_openings("elevation,width,height,count\nnorth,900,1200,2")[0].count
    2
    >>> read_openings("elevation,width,height,rated\nnorth,900,1200,E750")[0].rated
    750.0
    """
    if len(text) > LARGEST_LIST:
        raise RefusalError(
            f"the openings list holds {len(text):,} characters", f"at most {LARGEST_LIST:,}", "Shorten it."
        )
    plain = text.lstrip("\ufeff")
    first = plain.partition("\n")[0]
    comma = (
        ";" if ";" in first and "," not in first else ","
    )  # as spreadsheets write it where a comma is decimal
    reader = csv.DictReader(io.StringIO(plain), skipinitialspace=True, delimiter=comma)
    try:
        header = [str(name).strip().lower() for name in reader.fieldnames or ()]
        missing = [name for name in COLUMNS[:3] if name not in header]
        if missing:
            raise RefusalError(
                f"the openings list has the columns {', '.join(header[:10]) or 'none'}",
                f"{', '.join(COLUMNS)} ({missing[0]} is missing)",
                "Name the columns in the first line.",
            )
        unknown = next((name for name in header if name not in (*KNOWN, *WORDS_OF_YOUR_OWN)), None)
        if unknown is not None:
            raise RefusalError(
                f"the openings list has a column {unknown[:40]!r}, which nothing reads",
                f"{', '.join(KNOWN)}, and name or note for words of your own",
                "Leave it out, or name it as one of these; a level threshold is the word level in the column door.",
            )
        reader.fieldnames = header
        found: list[Opening] = []
        for row in reader:
            if not any((value or "").strip() for value in row.values() if isinstance(value, str)):
                continue
            found.append(_opening(row, reader.line_num))
            if sum(one.count for one in found) > MOST_OPENINGS:
                raise RefusalError(
                    f"more than {MOST_OPENINGS:,} openings", "a building's openings", "Correct the counts."
                )
    except csv.Error as error:
        raise RefusalError(
            f"the openings list cannot be read ({error})", "a CSV file", "Save it as CSV."
        ) from None
    if found and all(max(one.width, one.height) < SMALL for one in found):
        raise RefusalError(
            f"no opening of the list is {SMALL} mm wide or high: its sizes look like centimetres",
            "width and height in millimetres",
            "Write them in millimetres.",
        )
    return tuple(found)


def weakest_rating(openings: Sequence[Opening], otherwise: float | None) -> float | None:
    """The lowest rating among some openings [Pa]; None while that of one is not known.

    Parameters
    ----------
    otherwise
        Rating of those whose own is not listed, where it is known.

    Examples
    --------
    >>> weakest_rating([Opening("north", 900, 1200, rated=750.0), Opening("north", 900, 2100)], 600.0)
    600.0
    """
    known = [one.rated if one.rated is not None else otherwise for one in openings] or [otherwise]
    found = [one for one in known if one is not None]
    return min(found) if len(found) == len(known) else None


def _opening(row: Mapping[str | None, object], line: int) -> Opening:
    where = f"on line {line} of the openings list"
    if None in row:
        raise RefusalError(
            f"line {line} of the openings list has more cells than the first line",
            "one cell for each column",
            "Mend it.",
        )
    words = {str(key): str(value or "").strip() for key, value in row.items()}
    door = words.get("door", "").lower()
    if door not in ("", "yes", "no", "level", "true", "false", "0", "1"):
        raise RefusalError(
            f"door is {door[:20]!r} {where}", "yes, no, or level (a level threshold)", "Correct it."
        )
    count = _number(words.get("count") or "1", f"count {where}", 1, MOST_OPENINGS, "")
    if count != int(count):
        raise RefusalError(f"count is {count} {where}", "a whole number", "Correct it.")
    if not words["elevation"]:
        raise RefusalError(f"no elevation {where}", "the name of an elevation", "Fill it in.")
    return Opening(
        words["elevation"],
        _number(words["width"], f"width {where}", 100, 20_000, "mm"),
        _number(words["height"], f"height {where}", 100, 20_000, "mm"),
        int(count),
        door in ("yes", "level", "true", "1"),
        rating_of(words["rated"], f"rated {where}") if words.get("rated") else None,
        level=door == "level",
    )


def _number(text: str, name: str, low: float, high: float, unit: str) -> float:
    try:
        value = float(text)
    except ValueError:
        raise RefusalError(
            f"{name} is {text[:40]!r}", f"a number from {low:g} to {high:g} {unit}", "Correct it."
        ) from None
    return check_between(value, name, low, high, unit)
